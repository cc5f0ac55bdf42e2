"""A small walk of our own (a drawn clip and its captions), a library of it taken in for real, and an app with its client."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Any

import av
import pytest
from flask.testing import FlaskClient
from flask_openapi3 import OpenAPI
from werkzeug.test import TestResponse

from annotator import pipeline
from annotator.library import Library
from annotator.server import Config, close, create_app
from tests.server.browsing import AXE, OpenPage, Serve, Served, knows_the_way, served
from tests.small_walk import draw_clip, write_captions

if TYPE_CHECKING:
    from playwright import sync_api


@pytest.fixture(scope="session")
def walk_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return draw_clip(tmp_path_factory.mktemp("walk") / "spring walk.mp4", 34)


@pytest.fixture(scope="session")
def half_clip(tmp_path_factory: pytest.TempPathFactory, walk_clip: Path) -> Path:
    """A clip whose file was cut off when it was copied; its index stands at the beginning, as a camera's streaming form has it."""
    folder = tmp_path_factory.mktemp("half")
    with av.open(str(walk_clip)) as source, av.open(str(folder / "whole.mp4"), "w", options={"movflags": "+faststart"}) as out:
        kept = out.add_stream_from_template(source.streams.video[0])
        for packet in source.demux(video=0):
            if packet.dts is not None:
                packet.stream = kept
                out.mux(packet)
    path = folder / "half walk.mp4"
    path.write_bytes((folder / "whole.mp4").read_bytes()[: (folder / "whole.mp4").stat().st_size * 6 // 10])
    return path


@pytest.fixture(scope="session")
def walk_captions(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_captions(tmp_path_factory.mktemp("walk") / "spring walk.vtt")


@pytest.fixture(scope="session")
def taken_in(tmp_path_factory: pytest.TempPathFactory, walk_clip: Path, walk_captions: Path) -> Path:
    """A library with one course that was really taken in and drafted, to be copied for each test that wants it."""
    root = tmp_path_factory.mktemp("drafted") / "library"
    with Library(root) as library:
        _draft(library, walk_clip, walk_captions)
    return root


def _draft(library: Library, walk_clip: Path, walk_captions: Path) -> str:
    name = pipeline.take_in(
        library, [walk_clip], title="Spring course", captions=[walk_captions], names=["stump hop", "rung bridge"], who="Ana"
    )
    pipeline.draft_course(library, name)
    return name


@pytest.fixture
def library(tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Library]:
    """An empty library; with the drafted course in it where the test asks for `drafted`."""
    if "drafted" in request.fixturenames:
        shutil.copytree(request.getfixturevalue("taken_in"), tmp_path / "library")
    with Library(tmp_path / "library") as opened:
        yield opened


@pytest.fixture
def drafted(library: Library) -> str:
    """The name of the drafted course in the library."""
    return library.courses()[0].doc.name


class WholeAnswers(FlaskClient):
    """A client that reads each answer to its end and closes it, as a browser does."""

    def open(self, *args: Any, **kwargs: Any) -> TestResponse:
        return super().open(*args, **{"buffered": True, **kwargs})


@pytest.fixture
def app(library: Library) -> Iterator[OpenAPI]:
    """An app that works on nothing by itself."""
    made = create_app(Config(library, work=False))
    made.test_client_class = WholeAnswers
    yield made
    close(made)


@pytest.fixture
def client(app: OpenAPI) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def working(library: Library) -> Iterator[FlaskClient]:
    """A client of an app that does its jobs."""
    made = create_app(Config(library))
    made.test_client_class = WholeAnswers
    yield made.test_client()
    close(made)


@pytest.fixture
def serve(library: Library) -> Iterator[Serve]:
    """Puts the test's library on a port; with `work` the app does its jobs."""
    with ExitStack() as stack:
        yield lambda *, work=False: Served(stack.enter_context(served(library, work=work)), library)


@pytest.fixture
def open_page(browser: sync_api.Browser) -> Iterator[OpenPage]:
    """Opens pages, each in a browser of its own; at the end none of them may have met an error in its scripts.

    `who` is somebody who said their name before and was shown around; `looked_at` by axe-core, which skips where that is not installed.
    """
    wrong: list[str] = []
    with ExitStack() as stack:

        def opened(width: int = 1280, *, who: str | None = None, looked_at: bool = False, **more: Any) -> sync_api.Page:
            if looked_at and not AXE.is_file():
                pytest.skip("axe-core is not installed: npm ci in web/")
            wishes = {"viewport": {"width": width, "height": 900}, "reduced_motion": "reduce", "bypass_csp": looked_at, **more}
            context = browser.new_context(**wishes)
            stack.callback(context.close)
            page = context.new_page()
            page.on("pageerror", lambda error: wrong.append(str(error)))
            if who is not None:
                knows_the_way(page, who)
            return page

        yield opened
    assert wrong == []
