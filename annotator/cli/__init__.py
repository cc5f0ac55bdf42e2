"""The same job from a terminal: `annotator COMMAND`, one command a function (commands.py)."""

from annotator.cli.commands import main
from annotator.cli.failing import default_library

__all__ = ["default_library", "main"]
