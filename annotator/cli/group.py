"""The command `annotator` itself, and what its commands share: the library they open, who does something, and options.

Results go to standard output, progress (meter.py) and what went wrong (failing.py) to standard error.
"""

from __future__ import annotations

import getpass
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from annotator import __version__
from annotator.cli.failing import Commands, default_library
from annotator.process import settle

existing = click.Path(path_type=Path)
by_option = click.option("--by", help="Who does this; your user name where it is left out.")
edition_option = click.option("--edition", type=int, help="The edition to write; the course as it stands now where it is left out.")
output_option = click.option("-o", "--output", "output", required=True, type=existing, help="Where to write it.")


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="annotator")
@click.option("--library", type=click.Path(path_type=Path, file_okay=False), help="Folder in which the courses live.")
@click.pass_context
def main(ctx: click.Context, library: Path | None) -> None:
    """Turn a filmed walk of an obstacle course into rules that everybody applies the same way.

    These are contact rules, not a safety inspection: follow the venue's staff, the makers of the equipment, qualified inspection and
    local codes.
    """
    settle()
    ctx.obj = library or default_library()


@contextmanager
def open_library(root: Path) -> Iterator[Any]:
    from annotator.library import Library  # loads the database layer only for commands that need it

    with Library(root) as library:
        yield library


def who_of(given: str | None) -> str:
    if given:
        return given
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "staff"
