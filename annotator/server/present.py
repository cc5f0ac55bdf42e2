"""Who has which course open: told by each open page every few seconds, kept in memory, and forgotten soon after it falls silent."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

SILENT_S = 12.0  # pages tell it every two seconds; a browser slows the timers of a tab that nobody sees
MOST_PAGES = 500


@dataclass(frozen=True)
class Page:
    """One open page: where it is, whose it is, and until when that is believed."""

    course: str
    station: str | None
    who: str
    until: float


@dataclass
class Present:
    """The open pages by the names they gave themselves. Safe to share between threads."""

    clock: Callable[[], float] = time.monotonic
    _pages: dict[str, Page] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def here(self, client: str, course: str, station: str | None, who: str, *, gone: bool = False) -> tuple[Page, ...]:
        """Note that a page is open, or `gone`; return the others that are open at the same course, by name."""
        now = self.clock()
        with self._lock:
            self._pages = {name: page for name, page in self._pages.items() if page.until > now and name != client}
            others = tuple(page for page in self._pages.values() if page.course == course)
            if not gone and len(self._pages) < MOST_PAGES:
                self._pages[client] = Page(course, station, who, now + SILENT_S)
        return _by_name(others)

    def others(self, client: str | None, course: str) -> tuple[Page, ...]:
        """The pages that are open at a course, but for that one."""
        now = self.clock()
        with self._lock:
            found = [page for name, page in self._pages.items() if page.course == course and name != client and page.until > now]
        return _by_name(found)


def _by_name(pages: Iterable[Page]) -> tuple[Page, ...]:
    return tuple(sorted(pages, key=lambda page: (page.who, page.station or "")))
