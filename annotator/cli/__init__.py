"""The same job from a terminal: `annotator COMMAND`, one command a function.

group.py is `annotator` itself; drafting.py, writing.py, using.py and binning.py hold its commands and give them to it when imported.
"""

from annotator.cli import binning, drafting, using, writing
from annotator.cli.failing import default_library
from annotator.cli.group import main

__all__ = ["binning", "default_library", "drafting", "main", "using", "writing"]
