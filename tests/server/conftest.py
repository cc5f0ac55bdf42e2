"""A small walk of our own (a drawn clip and its captions), a library of it taken in for real, and an app with its client."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from flask_openapi3 import OpenAPI
from werkzeug.test import TestResponse

from annotator import pipeline
from annotator.library import Library
from annotator.media import open_writer
from annotator.server import Config, close, create_app

SAID = (
    ("Welcome to the walk of the spring course. What we do not name is out of play.", 4.0),
    ("You may try one failed station again, and the furthest, then fastest wins.", 4.0),
    ("Station one is the stump hop. You start on the blue platform.", 4.0),
    ("Feet only on the stumps.", 2.5),
    ("The red frame is out.", 2.5),
    ("You finish on the green platform, and you may not land past it.", 4.0),
    ("Station two is the rung bridge. You start on the green platform.", 4.0),
    ("Hands only on the rungs.", 2.5),
    ("You finish on the landing mat.", 3.0),
)


def draw_clip(path: Path, seconds: float, *, shade: int = 210, rate: int = 8) -> Path:
    """A hall of three coloured blocks with something that moves, `seconds` long, without sound."""
    height, width = 180, 320
    hall = np.full((height, width, 3), shade, np.uint8)
    hall[120:, :] = (150, 140, 120)
    hall[95:130, 20:90] = (20, 60, 190)
    hall[95:130, 230:300] = (30, 140, 60)
    hall[30:60, 120:200] = (190, 40, 40)
    with open_writer(path, width, height) as film:
        for at in range(int(seconds * rate)):
            image = hall.copy()
            left = 40 + at % 200
            image[70:95, left : left + 12] = (240, 200, 150)
            film.write(image, at / rate)
    return path


def write_captions(path: Path) -> Path:
    """What is said on the walk, as WebVTT."""
    lines, start = ["WEBVTT", ""], 0.5
    for text, seconds in SAID:
        lines += [f"{_stamp(start)} --> {_stamp(start + seconds - 0.2)}", text, ""]
        start += seconds
    path.write_text("\n".join(lines), "utf-8")
    return path


def _stamp(seconds: float) -> str:
    return f"00:{int(seconds // 60):02}:{seconds % 60:06.3f}"


@pytest.fixture(scope="session")
def walk_clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return draw_clip(tmp_path_factory.mktemp("walk") / "spring walk.mp4", 34)


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
