"""How a command ends that could not do its work: one sentence on standard error, and an exit status.

1  something blocks publication    2  the person can mend it    3  a mistake of ours; its trace is kept beside the courses
"""

from __future__ import annotations

import os
import sys
import traceback
from pathlib import Path
from typing import Any

import click

from annotator import __version__
from annotator.errors import AnnotatorError, NotReady


def default_library() -> Path:
    """Where courses live when nobody says otherwise: the checkout's `library` folder, or `annotator-library` in the person's home.

    The environment variable ANNOTATOR_LIBRARY goes before both.
    """
    named = os.environ.get("ANNOTATOR_LIBRARY")
    if named:
        return Path(named)
    checkout = Path(__file__).resolve().parents[2]
    return checkout / "library" if (checkout / "pyproject.toml").is_file() else Path.home() / "annotator-library"


class Commands(click.Group):
    """Prints our own errors as one sentence instead of a traceback."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except NotReady as refused:
            click.echo(str(refused), err=True)
            ctx.exit(1)
        except AnnotatorError as error:
            click.echo(str(error), err=True)
            ctx.exit(2)
        except BrokenPipeError:
            raise  # who reads what is printed has read enough (`| head`): click ends without a word
        except OSError as error:
            click.echo(f"The disk or a file is in the way: {error}. Nothing that was saved before is lost.", err=True)
            ctx.exit(2)
        except (click.ClickException, click.exceptions.Exit, click.Abort):
            raise
        except Exception as error:  # the last net under a command: a person gets a sentence, whoever mends it gets the rest
            click.echo(_our_fault(error, ctx.obj), err=True)
            ctx.exit(3)


def _our_fault(error: Exception, root: Path | None) -> str:
    """What to say of an error that nobody foresaw; its trace goes to a file beside the courses, or below the sentence."""
    trace = "".join(traceback.format_exception(error))
    first = "This is a mistake in the program, not in what you did. What was done before it is kept; running the command again goes on."
    try:
        kept = (root or default_library()) / "mistake.txt"
        kept.write_text(f"annotator {__version__}: {' '.join(sys.argv[1:2])}\n{trace}", "utf-8", errors="replace")
    except OSError:
        return f"{first}\n{trace}"
    return f"{first} If it comes again, hand the file {kept} to whoever looks after the program."
