"""Judge cards set by a second process while this one makes pages, so that Python's lock keeps neither waiting.

In: what cards are made of. Out: nothing but what is kept (`cache`, `drawn`): `write_cards` then finds it there. The second process is a
help and no more: where it cannot start or breaks off, `write_cards` does that work itself. It ends with the process that started it.

The two talk by pipes: a pickle of what is wanted goes in, and a line comes out for each language that is done.
"""

from __future__ import annotations

import logging
import os
import pickle
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from annotator.booklet.pages import pages
from annotator.booklet.paper.cards import missing_cards, write_cards
from annotator.booklet.values import Booklet, Stamp
from annotator.booklet.wording import Wording
from annotator.course import Course, Station

WORTH_CARDS = 24
"""A process takes about as long to start as two dozen cards to set."""
_LOOK_S = 0.05
_LOG = logging.getLogger(__name__)


@dataclass(frozen=True)
class CardsWanted:
    """What `write_cards` takes, for some languages, in a form that travels. `stills`: the published picture of each still."""

    course: Course
    stations: tuple[Station, ...]
    stamp: Stamp | None
    languages: tuple[str, ...]
    stills: Mapping[str, Path]
    paper: str
    address: str | None
    drawn: Path
    cache: Path

    def jpeg(self, still_id: str) -> Path:
        """As `Pictures` asks for it."""
        return self.stills[still_id]

    def booklet(self, language: str) -> Booklet:
        """The course in one of the languages."""
        return pages(self.course, self.stations, self.stamp, wording=Wording(language), drawn=self.drawn)

    def are_worth_a_process(self, one: Booklet) -> bool:
        """Whether so many cards are missing, as far as `one` of the booklets tells, and there is a second processor to set them."""
        if _processors() < 2 or len(self.languages) * len(self.stations) < WORTH_CARDS:
            return False
        return missing_cards(one, self, self.paper, address=self.address, cache=self.cache) * len(self.languages) >= WORTH_CARDS


def _processors() -> int:
    """How many this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


CardsWait = Callable[[str, Callable[[], None]], None]
"""Returns when the cards of a language are kept, or will not be; meanwhile it calls what it is given now and then."""


@contextmanager
def cards_aside(wanted: CardsWanted) -> Iterator[CardsWait]:
    """Have the cards set by a second process until the block ends, language by language in their order."""
    done = {language: threading.Event() for language in wanted.languages}
    process = _started()

    def talk() -> None:
        with suppress(OSError, KeyError):  # it ended, or it is not ours
            if process is not None and process.stdin is not None and process.stdout is not None:
                pickle.dump(wanted, process.stdin)
                process.stdin.flush()  # and left open: where it closes, this process is gone
                for line in process.stdout:
                    done[line.decode().strip()].set()
        for each in done.values():
            each.set()

    def wait(language: str, check: Callable[[], None]) -> None:
        while not done[language].wait(_LOOK_S):
            check()

    talker = threading.Thread(target=talk, name="cards aside", daemon=True)
    talker.start()
    try:
        yield wait
    finally:
        if process is not None:
            process.kill()
            process.wait()
        talker.join()
        for pipe in (process.stdin, process.stdout) if process else ():
            with suppress(OSError):  # what was not written yet has nobody to read it
                if pipe is not None:
                    pipe.close()


def _started() -> subprocess.Popen[bytes] | None:
    """The second process, or None where there is none to be had."""
    root = str(Path(__file__).resolve().parents[3])
    env = {**os.environ, "PYTHONPATH": os.pathsep.join([root, *filter(None, [os.environ.get("PYTHONPATH")])])}
    command = [sys.executable, "-c", f"from {__name__} import serve; serve()"]
    try:
        return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=env)
    except OSError as error:
        _LOG.info("no second process for the cards: %s", error)
        return None


def serve() -> None:
    """What the second process does: all overlays first, which e-books take too, then each language's cards."""
    wanted = pickle.load(sys.stdin.buffer)
    threading.Thread(target=_end_with_the_other, daemon=True).start()
    booklets = [wanted.booklet(language) for language in wanted.languages]
    _draw(booklets)
    with tempfile.TemporaryDirectory(prefix="booklet-") as folder:
        for booklet in booklets:
            write_cards(booklet, wanted, Path(folder) / "cards.pdf", wanted.paper, address=wanted.address, cache=wanted.cache)
            sys.stdout.write(f"{booklet.wording.language}\n")
            sys.stdout.flush()


def _draw(booklets: Sequence[Booklet]) -> None:
    """Have every overlay of the cards drawn and kept."""
    for booklet in booklets:
        for page in booklet.stations:
            for still in page.stills[:1]:
                still.paper_overlays[""]


def _end_with_the_other() -> None:
    """End at once when nobody can hear this process any more."""
    sys.stdin.buffer.read()
    os._exit(0)
