"""The same job from a terminal: `annotator COMMAND`, one command a function.

group.py is `annotator` itself; drafting.py, writing.py and using.py hold its commands and give them to it when they are imported.
"""

from annotator.cli import drafting, using, writing
from annotator.cli.failing import default_library
from annotator.cli.group import main

__all__ = ["default_library", "drafting", "main", "using", "writing"]
