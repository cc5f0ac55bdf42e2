"""The shipped typeface: the faces are there, are what their names say, and have the signs that the outputs use."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import ImageFont

from annotator import fonts


@pytest.mark.parametrize(
    ("path", "style"),
    [
        pytest.param(fonts.REGULAR, "Regular", id="regular"),
        pytest.param(fonts.ITALIC, "Italic", id="italic"),
        pytest.param(fonts.BOLD, "Bold", id="bold"),
        pytest.param(fonts.BOLD_ITALIC, "Bold Italic", id="bold-italic"),
    ],
)
def test_each_face_names_its_family_and_style(path: Path, style: str) -> None:
    assert ImageFont.truetype(path, 12).getname() == (fonts.FAMILY, style)


@pytest.mark.parametrize("sign", list("·?:,–éßñ’"))
def test_the_bold_face_has_the_signs_that_plates_use(sign: str) -> None:
    face = ImageFont.truetype(fonts.BOLD, 40)
    missing = face.getmask("\U0010fffd")
    drawn = face.getmask(sign)
    assert (drawn.size, bytes(drawn)) != (missing.size, bytes(missing))


def test_the_licence_comes_with_the_faces() -> None:
    assert "SIL Open Font License, Version 1.1" in (fonts.FOLDER / "OFL.txt").read_text(encoding="utf-8")
