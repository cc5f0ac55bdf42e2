"""Cards that are missing are set together and cut: each is what it is alone, whatever else is set with it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pikepdf
import pytest

from annotator.booklet import Stamp, pages, write_cards
from annotator.course import Course, Station
from annotator.fonts import common_signs
from tests.booklet.makers import DrawnPictures
from tests.booklet.on_paper import text_of

ODD = "Ωμέγα ½ fi 1⁄2"
"""Letters of another face than the booklet's own, and signs of its own that are drawn otherwise together than apart."""


@pytest.fixture(scope="module")
def odd_course(stations: Sequence[Station]) -> tuple[Station, ...]:
    """The middle station is named with signs that are not common, the last one with what its own face may put together."""
    first, second, third = stations
    return first, second.model_copy(update={"name": ODD}), third.model_copy(update={"name": "fit ffl 1/2 2nd"})


@pytest.fixture(scope="module")
def together(
    course: Course, odd_course: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """What is kept after all cards were missing."""
    folder = tmp_path_factory.mktemp("together")
    write_cards(pages(course, odd_course, stamp), pictures, folder / "cards.pdf", cache=folder)
    return folder


@pytest.mark.parametrize("missing", [[0], [1], [2], [0, 1], [1, 2], [0, 2]])
def test_a_card_is_the_same_whatever_is_set_with_it(
    course: Course,
    odd_course: Sequence[Station],
    stamp: Stamp,
    pictures: DrawnPictures,
    together: Path,
    tmp_path: Path,
    missing: Sequence[int],
) -> None:
    files = {file.name: file.read_bytes() for file in (together / "cards").iterdir()}
    assert len(files) == 3
    (tmp_path / "cards").mkdir()
    gone = {sorted(files)[at] for at in missing}
    for name, data in files.items():
        if name not in gone:
            (tmp_path / "cards" / name).write_bytes(data)
    out = write_cards(pages(course, odd_course, stamp), pictures, tmp_path / "cards.pdf", cache=tmp_path)
    assert {file.name: file.read_bytes() for file in (tmp_path / "cards").iterdir()} == files
    assert out.read_bytes() == (together / "cards.pdf").read_bytes()


def test_signs_that_are_not_common_are_on_their_card(together: Path) -> None:
    text = text_of(together / "cards.pdf", 2)
    assert "Ωμέγα" in text
    assert not set("έγα") & set(common_signs())


def test_faces_stand_in_the_file_once(together: Path) -> None:
    """As PDF counts them: two weights of the booklet's own face for all cards, and those of the one card with more."""
    with pikepdf.open(together / "cards.pdf") as pdf:
        shown = [{str(face.BaseFont): face.objgen for face in page.obj.Resources.Font.values()} for page in pdf.pages]
        first, second, third = shown
        assert first == third
        assert all("Atkinson" in name for name in first)
        assert any("NotoSans" in name for name in second)
        files = [one for one in pdf.objects if isinstance(one, pikepdf.Dictionary) and one.get("/Type") == "/FontDescriptor"]
        assert len(files) <= len({name for each in shown for name in each})
