"""Objects of a PDF as text with gaps: what is written into another file is what was read, whatever stands in its strings."""

from __future__ import annotations

import io

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Object, Pdf

from annotator.booklet.paper.pdf_text import END, Gap, Met, at, file_of, taken


@pytest.mark.parametrize(
    "words",
    [
        "50 % of 12 0 R",
        "a (b) \\ )( c%b",
        "/AtLine0 <0a> %(",
        "Ωμέγα ½ ))",
        "\x00\x01%\r\n",
    ],
)
def test_words_are_read_from_the_new_file_as_they_were(words: str) -> None:
    with Pdf.new() as pdf:
        below = pdf.make_indirect(Dictionary(Alt=pikepdf.String(words), Bytes=pikepdf.String(words.encode("utf-16-be"))))
        stream = pdf.make_stream(b"q %b Q", {"/Told": below})
        top = pdf.make_indirect(Dictionary(Type=Name.Catalog, Pages=Dictionary(Type=Name.Pages, Kids=[], Count=0), One=below, Two=stream))
        texts, (led,) = taken(pdf, [top], lambda _: None)
    stands: dict[Gap, bytes] = {number: b"%d 0 R" % (number + 1) for number in range(len(texts))}
    made = file_of([text.filled(stands) for text in texts], stands[led], stands[led], b"a")
    with Pdf.open(io.BytesIO(made)) as pdf:
        assert str(pdf.Root.One.Alt) == words
        assert bytes(pdf.Root.One.Bytes) == words.encode("utf-16-be")
        assert pdf.Root.Two.read_raw_bytes() == b"q %b Q"
        assert pdf.Root.Two.Told.objgen == pdf.Root.One.objgen


def test_a_place_is_filled_as_a_value_and_as_entries() -> None:
    with Pdf.new() as pdf:
        told = Dictionary({"/A": Array([1, at("More"), 2]), "/AtRest": END, "/Z": at("Number")})
        text = Met(pdf, lambda _: None).text(told)
    assert sorted(map(str, text.gaps)) == ["More", "Number", "Rest"]
    filled = text.filled({"More": b"7 8", "Rest": b"/Q true", "Number": b"9"})
    assert filled.split() == b"<< /A [ 1 7 8 2 ] /Q true /Z 9 >>".split()


def test_what_is_known_elsewhere_is_not_taken_along() -> None:
    with Pdf.new() as pdf:
        face = pdf.make_indirect(Dictionary(Type=Name.Font, Below=pdf.make_indirect(Dictionary(Size=1))))
        page = pdf.make_indirect(Dictionary(Font=face, Again=face))

        def known(one: Object) -> str | None:
            return "Face" if one.objgen == face.objgen else None

        texts, led = taken(pdf, [page, face], known)
    assert led == [0, "Face"]
    assert [text.gaps for text in texts] == [("Face", "Face")]


def test_the_identifier_tells_apart_what_differs_in_a_long_object_only() -> None:
    def named(picture: bytes) -> bytes:
        with Pdf.new() as pdf:
            top = pdf.make_indirect(Dictionary(Type=Name.Catalog, Pages=Dictionary(Type=Name.Pages, Kids=[], Count=0)))
            texts, _ = taken(pdf, [top, pdf.make_stream(picture)], lambda _: None)
        stands: dict[Gap, bytes] = {0: b"1 0 R", 1: b"2 0 R"}
        with Pdf.open(io.BytesIO(file_of([text.filled(stands) for text in texts], b"1 0 R", b"1 0 R", b"a"))) as pdf:
            first, second = pdf.trailer.ID
            assert bytes(first) == b"a"
            return bytes(second)

    assert named(b"x" * 100_000) == named(b"x" * 100_000)
    assert named(b"x" * 100_000) != named(b"x" * 99_999 + b"y")
