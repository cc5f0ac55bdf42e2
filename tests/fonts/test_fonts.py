"""The shipped typeface: the faces are there, are what their names say, and have the signs that the outputs use."""

from __future__ import annotations

from pathlib import Path

import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st
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


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Ça va, Œuvre, ÿ, Straße, señor, São, Łódź, žluťoučký, İğdır, Ælfræd, ŵ, kōwhai", id="latin-of-europe"),
        pytest.param("Cầu thang đỏ, tấm thảm ở giữa", id="vietnamese"),
        pytest.param("Η μπλε πλατφόρμα: μόνο χέρια", id="greek"),
        pytest.param("Синий мостик, їжак, ўзбек, ќуќа, шыңжыр", id="cyrillic"),
        pytest.param("הקרש הכחול: רק ידיים", id="hebrew"),
        pytest.param("المنصة الزرقاء، پلتفرم، گ", id="arabic-and-persian"),
        pytest.param("€ £ ₺ ₽ № ™ – — … • “ ” „ ‚ ‹ ›", id="signs"),
    ],
)
def test_the_scripts_that_are_claimed_have_every_letter(text: str) -> None:
    assert not fonts.missing_signs(text)
    assert printed(text)


@pytest.mark.parametrize("text", ["\N{FIRE}", "青い台", "파란 발판", "\N{SNOWMAN}", "ก", "\x07", "\ue000"])
def test_signs_of_other_scripts_are_told_before_a_pdf_refuses_them(text: str) -> None:
    assert fonts.missing_signs(text) == set(text) - {" "}
    assert not printed(text)


@settings(max_examples=150, deadline=None)
@given(sign=st.characters(exclude_categories=("Cc", "Cs", "Co", "Cn")))
def test_a_sign_is_missing_exactly_where_the_typesetter_refuses_it(sign: str) -> None:
    """Against typst's own search for a face: it refuses a PDF/UA-1 with a sign that it cannot draw."""
    assert (not fonts.missing_signs(sign)) == printed(sign)


def printed(text: str) -> bool:
    faces = typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(fonts.FOLDER)])
    source = b'#set document(title: "x")\n#set text(font: "Atkinson Hyperlegible")\n#sys.inputs.d'
    try:
        typst.compile(source, font_paths=faces, sys_inputs={"d": text}, pdf_standards=["ua-1"])
    except typst.TypstError:
        return False
    return True


def test_the_licence_comes_with_the_faces() -> None:
    assert "SIL Open Font License, Version 1.1" in (fonts.FOLDER / "OFL.txt").read_text(encoding="utf-8")
