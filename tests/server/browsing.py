"""What the tests in a real browser share: the app on a port of this machine, keys, and looking at every state with axe-core.

A module with such tests says `pytestmark = BUILT`. The fixtures `serve` and `open_page` are in conftest.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any, Final, Literal, cast

import pytest
from werkzeug.serving import WSGIRequestHandler, make_server

from annotator.course import Station
from annotator.library import Library
from annotator.server import Config, close, create_app

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIApplication, WSGIEnvironment
    from playwright import sync_api

WEB: Final = Path(__file__).resolve().parents[2] / "web"
AXE: Final = WEB / "node_modules" / "axe-core" / "axe.min.js"
PAGES: Final = WEB.parent / "annotator" / "server" / "static" / "app"
RULES: Final = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
MOST_TABS: Final = 160

BUILT = pytest.mark.skipif(not (PAGES / "index.html").is_file(), reason="the staff pages are not built: npm run build in web/")

Look = tuple[int, Literal["light", "dark"]]
LOOKS: Final[tuple[Look, ...]] = ((360, "dark"), (1280, "light"))
"""Widths and colours at which axe-core looks: the page itself is the same, what it may break is not."""
SHOW: Final = "place => place ? document.querySelector(place).scrollIntoView({block: 'center'}) : scrollTo(0, 0)"
"""What stays at the top of the screen covers other things at some places of the page; nobody is meant to press them there."""
SETTLE: Final = "() => document.getAnimations().filter(a => a instanceof CSSTransition).forEach(a => a.finish())"
"""Colours that still go over from light to dark are at their end: nobody reads half-way."""
STAND_STILL: Final = """() => new Promise((done) => {
  let before = "", looks = 0;
  const look = () => {
    const places = [...document.querySelectorAll("button, a, input, select, textarea")].map((each) => each.getBoundingClientRect());
    const now = places.map((place) => [place.x, place.y, place.width, place.height].join()).join(" ");
    if (now === before || ++looks > 40) return done();
    before = now;
    setTimeout(() => requestAnimationFrame(look), 50);
  };
  look();
})"""
"""What can be pressed has found its place at a new width: nobody presses before that."""
WIDTHS: Final = (320, 2560)
"""Where a page must not run out of the screen either."""


@dataclass(frozen=True)
class Served:
    """The app on a port, with the library that it serves."""

    address: str
    library: Library

    @property
    def name(self) -> str:
        """Of the only course."""
        return self.library.courses()[0].doc.name

    @property
    def course(self) -> str:
        """The address of the only course."""
        return f"{self.address}/course/{self.name}"

    def station(self, number: int = 1) -> Station:
        return self.library.stations(self.name)[number - 1].doc


ANSWER: Final = "annotator.tests.answer"


class _Answer:
    """What an app answers; closing it twice does no more than closing it once."""

    def __init__(self, pieces: Iterable[bytes]) -> None:
        self.pieces: Iterable[bytes] | None = pieces

    def __iter__(self) -> Iterator[bytes]:
        return iter(self.pieces or ())

    def close(self) -> None:
        pieces: Any = self.pieces
        self.pieces = None
        if hasattr(pieces, "close"):
            pieces.close()


class _Handler(WSGIRequestHandler):
    """Closes what an answer reads from, also where the browser reset the connection: then the library itself leaves it open."""

    def run_wsgi(self) -> None:
        try:
            super().run_wsgi()
        finally:
            answer = self.environ.pop(ANSWER, None)
            if answer is not None:
                answer.close()


def _noted(app: WSGIApplication) -> WSGIApplication:
    """The app, whose answer stands in the request's own environment until it was sent."""

    def answered(environ: WSGIEnvironment, start_response: StartResponse) -> Iterable[bytes]:
        environ[ANSWER] = _Answer(app(environ, start_response))
        return cast("Iterable[bytes]", environ[ANSWER])

    return answered


@contextmanager
def served(library: Library, *, work: bool = False, port: int = 0) -> Iterator[str]:
    """The app on a port of this machine, a free one where none is given; with `work` it does its jobs."""
    app = create_app(Config(library, work=work))
    try:
        with on_a_port(app, port) as found:
            yield f"http://127.0.0.1:{found}"
    finally:
        close(app)


@contextmanager
def on_a_port(app: WSGIApplication, port: int = 0) -> Iterator[int]:
    server = make_server("127.0.0.1", port, _noted(app), threaded=True, request_handler=_Handler)
    thread = Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server.server_port
    finally:
        server.shutdown()
        thread.join(10)
        server.server_close()


Serve = Callable[..., Served]
OpenPage = Callable[..., "sync_api.Page"]


def knows_the_way(page: sync_api.Page, who: str) -> None:
    """Somebody who said their name before, and was shown around."""
    page.context.add_init_script(f"localStorage.setItem('annotator who', '{who}'); localStorage.setItem('annotator tour', 'seen')")


def all_saved(page: sync_api.Page) -> None:
    page.get_by_text("All saved").wait_for()


def soon(page: sync_api.Page, holds: Callable[[], bool]) -> None:
    """Waits until something is so, however slow the machine is."""
    for _ in range(3000):
        if holds():
            return
        page.wait_for_timeout(100)
    assert holds()


def tab_to(page: sync_api.Page, name: str) -> None:
    """Press Tab until the thing that holds the focus has this label or text."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        told = page.evaluate(
            "() => { const e = document.activeElement;"
            " return e.getAttribute('aria-label') ?? e.labels?.[0]?.innerText ?? e.innerText ?? ''; }"
        )
        if " ".join(told.split()) == name:
            return
    raise AssertionError(f"Tab does not reach {name!r}")


def clean(page: sync_api.Page, state: str, within: str | None = None) -> None:
    """No rule of axe-core is broken and nothing runs out of the screen, at every width and in both colours; with `within` axe-core looks
    at that part alone, where the rest was looked at before.

    The context needs `bypass_csp`: the test puts axe-core into the page, which the pages' own policy rightly forbids to anyone else.
    """
    before: Any = page.viewport_size
    for width, scheme in LOOKS:
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 900})
        page.evaluate(SHOW, within)
        page.evaluate(SETTLE)
        page.evaluate(STAND_STILL)
        if not page.evaluate("'axe' in window"):
            page.evaluate(AXE.read_text("utf-8"))
        found = page.evaluate("([place, rules]) => axe.run(place ?? document, {runOnly: rules})", [within, RULES])
        told = [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]]
        assert told == [], f"{state}, {width} px, {scheme}: {told}"
        _fits(page, state)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        _fits(page, state)
    page.set_viewport_size(before)


def _fits(page: sync_api.Page, state: str) -> None:
    wider = page.evaluate("document.documentElement.scrollWidth - innerWidth")
    assert wider <= 0, f"{state} is {wider} px wider than the screen of {page.viewport_size}"
