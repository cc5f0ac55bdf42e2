"""A small invented course, drawn stills for it, and what the booklet's tests share. No photograph: shapes of plain colour."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from annotator.booklet import Booklet, Stamp, WalkClip, pages, write_site
from annotator.course import BlanketRule, Clip, Course, RunFormat, Station
from tests.booklet.makers import AT, HEIGHT, WIDTH, DrawnPictures, box, said, still, surface


@pytest.fixture(scope="session")
def stamp() -> Stamp:
    return Stamp(3, "7KQ2MX", AT)


@pytest.fixture(scope="session")
def stations() -> tuple[Station, ...]:
    """Three stations: one plain, one with a division's difference and a part, one with gaps."""
    boxes = Station(
        id="s01", number=1, name="stepping boxes", start=60, end=98, contact=("feet",), state="accepted", demonstration="clear",
        said=(said(62, "first one, this is the stepping boxes"),),
        surfaces=(
            surface("u1", "red mat", role="start", said=(said(64, "You start with both feet on the red mat."),)),
            surface("u2", "blue boxes", part="tops", contact=("feet",), said=(said(67, "only the tops, the sides are out"),)),
            surface("u3", "blue boxes", part="sides", ruling="out", said=(said(67, "only the tops, the sides are out"),)),
            surface("u4", "blue barrel", ruling="out", said=(said(72.4, "the blue barrel is out, leave it alone"),)),
            surface("u5", "green platform", role="finish", overshoot="not allowed", said=(said(77, "you finish on the green platform"),)),
        ),
        stills=(still("s01-1", 68.2),),
        marks=(
            box("m1", "s01-1", "u1", 40, 560, 260, 680), box("m2", "s01-1", "u2", 330, 430, 560, 480),
            box("m3", "s01-1", "u3", 330, 480, 560, 620), box("m4", "s01-1", "u4", 640, 250, 760, 430),
            box("m5", "s01-1", "u5", 900, 480, 1240, 640), box("m6", "s01-1", "b3", 590, 60, 630, 640),
            box("m7", "s01-1", "b4", 590, 60, 630, 90),
        ),
    )  # fmt: skip
    beam = Station(
        id="s02", number=2, name="balance beam", start=100, end=150, contact=("feet",), state="accepted",
        surfaces=(
            surface("u1", "green platform", role="start"),
            surface("u2", "wooden beam", contact=("feet",), said=(said(110, "walk the wooden beam, end to end, feet only"),)),
            surface("u3", "white rail", ruling="out", divisions={"under-tens": "in"}, said=(said(121, "for under-tens it is in"),)),
            surface("u4", "white mat", role="finish", overshoot="allowed"),
        ),
        stills=(still("s02-1", 112.0), still("s02-2", 130.5)),
        marks=(
            box("m1", "s02-1", "u2", 200, 400, 1100, 450), box("m2", "s02-1", "u3", 200, 250, 1100, 270),
            box("m3", "s02-2", "u4", 700, 500, 1200, 690),
        ),
    )  # fmt: skip
    rings = Station(
        id="s03", number=3, name="ring row", start=152, end=190, contact=("hands",), state="accepted", demonstration="fail",
        surfaces=(
            surface("u1", "white mat", role="start"),
            surface("u2", "red rings", contact=("hands", "feet"), optional=True),
            surface("u3", "white ropes", ruling="out"),
        ),
    )  # fmt: skip
    return boxes, beam, rings


@pytest.fixture(scope="session")
def course() -> Course:
    clip = Clip(number=1, title="walk.mp4", original="0" * 64, start_s=0, duration_s=140, width=WIDTH, height=HEIGHT, has_audio=True)
    return Course(
        name="lane-open", title="Saltmarsh Lane Open", order=("s01", "s02", "s03"), divisions=("under-tens", "adults"),
        clips=(clip, clip.model_copy(update={"number": 2, "start_s": 140.0, "duration_s": 60.0})),
        format=RunFormat(retries=1, ranking="furthest then fastest", said=(said(20, "You get one retry, one for the whole run"),)),
        blanket=(
            BlanketRule(rule="unnamed-out", id="b1", state="accepted", said=(said(30, "if I don't name it, it's out"),)),
            BlanketRule(rule="no-skip", surface="platforms", id="b2", state="accepted"),
            BlanketRule(rule="surface", surface="post pads", ruling="in", contact=("hands", "feet"), id="b3", state="accepted"),
            BlanketRule(rule="surface", surface="post pads", part="top", ruling="out", id="b4", state="accepted"),
        ),
    )  # fmt: skip


@pytest.fixture(scope="session")
def pictures(tmp_path_factory: pytest.TempPathFactory, stations: Sequence[Station]) -> DrawnPictures:
    folder = tmp_path_factory.mktemp("published")
    colours = ("#a33", "#36c", "#25a", "#158", "#4a6", "#999", "#777", "#876")
    for station in stations:
        for one in station.stills:
            image = Image.new("RGB", (WIDTH, HEIGHT), "#b8b2a6")
            draw = ImageDraw.Draw(image)
            draw.rectangle((0, 500, WIDTH, HEIGHT), fill="#cdbf9f")
            for at, mark in enumerate(mark for mark in station.marks if mark.still == one.id):
                assert mark.rings is not None
                draw.polygon(list(mark.rings[0]), fill=colours[at % len(colours)])
            exif = Image.Exif()
            exif[0x010F] = "Invented camera maker"
            image.save(folder / f"{one.id}.jpg", quality=92, exif=exif)
    return DrawnPictures(folder)


@pytest.fixture(scope="session")
def booklet(course: Course, stations: Sequence[Station], stamp: Stamp) -> Booklet:
    return pages(course, stations, stamp)


@pytest.fixture(scope="session")
def site(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The booklet written once; the browser tests only read it."""
    folder = tmp_path_factory.mktemp("a booklet, für alle")
    write_site(booklet, pictures, folder, walk={1: WalkClip("walk/clip-1.mp4", "walk/captions.vtt")}, address="https://lane.example/open/")
    return folder
