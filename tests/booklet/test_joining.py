"""Judge cards are kept one by one and joined: they look, read and are tagged as cards set in one go, for this edition and no other."""

from __future__ import annotations

import datetime as dt
import io
import shutil
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest

from annotator.booklet import Stamp, Wording, pages, write_cards
from annotator.booklet.paper import joining, print_jpeg, sheet_of
from annotator.booklet.paper.cards import Setting
from annotator.booklet.paper.joining import Piece, joined
from annotator.course import Course, Station
from annotator.errors import StageError
from annotator.recent import Recent
from tests.booklet.makers import AT, DrawnPictures, outline_of_pdf, surface
from tests.booklet.on_paper import drawn, text_of

ADDRESS = "https://lane.example/open"
LATER = Stamp(41, "Q9Z8Y7", AT + dt.timedelta(days=40))
EVEN_LATER = Stamp(42, "Q9Z8Y8", AT + dt.timedelta(days=41))


@pytest.fixture(scope="module")
def long_course(stations: Sequence[Station]) -> tuple[Station, ...]:
    """The first station goes on to a second card."""
    many = tuple(surface(f"x{at}", f"padded block number {at}") for at in range(14))
    first = stations[0].model_copy(update={"surfaces": (*stations[0].surfaces, *many)})
    return first, *stations[1:]


@pytest.fixture(scope="module")
def kept(
    course: Course, long_course: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """What is kept after the cards of one edition were written."""
    folder = tmp_path_factory.mktemp("kept")
    write_cards(pages(course, long_course, stamp), pictures, folder / "first.pdf", address=ADDRESS, cache=folder)
    return folder


@pytest.fixture(scope="module")
def later(
    course: Course, long_course: Sequence[Station], kept: Path, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory
) -> Path:
    """The same cards in a later edition."""
    out = tmp_path_factory.mktemp("later") / "cards.pdf"
    return write_cards(pages(course, long_course, LATER), pictures, out, address=ADDRESS, cache=kept)


def test_joined_cards_look_and_read_as_those_set_in_one_go(
    course: Course, long_course: Sequence[Station], pictures: DrawnPictures, later: Path, tmp_path: Path
) -> None:
    """As poppler draws and reads them. The edition's line is told last on each card; set in one go it stands within the foot."""
    setting = Setting(pages(course, long_course, LATER), pictures, sheet_of("A5"), ADDRESS, None)
    (tmp_path / "one.pdf").write_bytes(setting.in_one())
    pictured = [[np.asarray(page) for page in drawn(path, 50, tmp_path / path.stem)] for path in (later, tmp_path / "one.pdf")]
    assert [page.shape for page in pictured[0]] == [page.shape for page in pictured[1]]
    assert len(pictured[0]) == 4
    for one, other in zip(*pictured, strict=True):
        assert np.array_equal(one, other)
    assert sorted(outline_of_pdf(later)) == sorted(outline_of_pdf(tmp_path / "one.pdf"))


def test_a_later_edition_from_what_is_kept_is_the_one_that_is_made_anew(
    course: Course, long_course: Sequence[Station], pictures: DrawnPictures, later: Path, tmp_path: Path
) -> None:
    anew = write_cards(pages(course, long_course, LATER), pictures, tmp_path / "anew.pdf", address=ADDRESS)
    assert anew.read_bytes() == later.read_bytes()


@pytest.mark.parametrize(
    ("edition", "found"),
    [
        pytest.param(Stamp(LATER.number, LATER.code, LATER.at + dt.timedelta(hours=3)), True, id="later-that-day"),
        pytest.param(Stamp(LATER.number, LATER.code, LATER.at + dt.timedelta(days=1)), False, id="the-day-after"),
        pytest.param(Stamp(LATER.number + 1, LATER.code, LATER.at), False, id="another-number"),
    ],
)
def test_what_was_made_ahead_is_found_where_the_same_stands_on_it(
    course: Course,
    long_course: Sequence[Station],
    pictures: DrawnPictures,
    kept: Path,
    later: Path,
    tmp_path: Path,
    edition: Stamp,
    found: bool,
) -> None:
    made = set((kept / "joined").iterdir())
    out = write_cards(pages(course, long_course, edition), pictures, tmp_path / "cards.pdf", address=ADDRESS, cache=kept)
    assert (set((kept / "joined").iterdir()) == made) == found
    assert (out.read_bytes() == later.read_bytes()) == found
    anew = write_cards(pages(course, long_course, edition), pictures, tmp_path / "anew.pdf", address=ADDRESS)
    assert anew.read_bytes() == out.read_bytes()


def test_cards_that_nobody_writes_to_are_the_kept_ones(
    course: Course, long_course: Sequence[Station], kept: Path, later: Path, pictures: DrawnPictures, tmp_path: Path
) -> None:
    booklet = pages(course, long_course, LATER)
    made = [write_cards(booklet, pictures, tmp_path / f"{at}.pdf", address=ADDRESS, cache=kept, linked=True) for at in range(2)]
    over = write_cards(booklet, pictures, tmp_path / "plain.pdf", address=ADDRESS, cache=kept)
    two_up = write_cards(booklet, pictures, tmp_path / "sheets.pdf", "A4 two up", address=ADDRESS, cache=kept, linked=True)
    assert {file.read_bytes() for file in (*made, over)} == {later.read_bytes()}
    assert [file.stat().st_nlink for file in (*made, over, later, two_up)] == [3, 3, 1, 1, 1]
    write_cards(pages(course, long_course, EVEN_LATER), pictures, made[0], address=ADDRESS, cache=kept, linked=True)
    assert made[0].read_bytes() != later.read_bytes() == made[1].read_bytes(), (
        "what is written over one name leaves the others as they were"
    )
    shutil.rmtree(kept / "joined")
    again = write_cards(booklet, pictures, tmp_path / "again.pdf", address=ADDRESS, cache=kept, linked=True)
    assert again.read_bytes() == later.read_bytes() and again.stat().st_nlink == 2


def test_every_card_names_its_own_edition_and_no_other(later: Path, stamp: Stamp) -> None:
    for number in range(1, 5):
        text = text_of(later, number)
        assert text.count("Edition 41 · code Q9Z8Y7 · June 18, 2026") == 1
        assert stamp.code not in text


def test_one_changed_rule_sets_the_cards_of_its_station_and_no_others(
    course: Course, long_course: Sequence[Station], pictures: DrawnPictures, kept: Path, later: Path, tmp_path: Path
) -> None:
    before = {file.name: file.stat().st_mtime_ns for file in (kept / "cards").iterdir()}
    assert len(before) == 3
    first, second, third = long_course
    rail = second.surfaces[2].model_copy(update={"ruling": "in"})
    changed = second.model_copy(update={"surfaces": (*second.surfaces[:2], rail, *second.surfaces[3:])})
    out = write_cards(pages(course, (first, changed, third), LATER), pictures, tmp_path / "cards.pdf", address=ADDRESS, cache=kept)
    after = {file.name: file.stat().st_mtime_ns for file in (kept / "cards").iterdir()}
    assert len(after) == 4
    assert before.items() <= after.items()
    assert text_of(out, 3) != text_of(later, 3)
    assert text_of(out, 1) == text_of(later, 1)


@pytest.mark.parametrize("language", ["de", "es"])
def test_a_language_and_an_address_have_cards_of_their_own(
    course: Course, long_course: Sequence[Station], pictures: DrawnPictures, kept: Path, tmp_path: Path, language: str
) -> None:
    spoken = pages(course, long_course[1:2], LATER, wording=Wording(language))
    for address in (None, "https://lane.example/another"):
        made = [write_cards(spoken, pictures, tmp_path / "cards.pdf", address=address, cache=each).read_bytes() for each in (kept, None)]
        assert made[0] == made[1]


def test_all_that_is_marked_on_a_page_has_its_tag_and_every_tag_its_way_up(later: Path) -> None:
    """ISO 32000-1, 14.7.4: the parent tree names the element of each mark, and each element its parent."""
    with pikepdf.open(later) as pdf:
        assert pdf.check_pdf_syntax() == []
        tree = pdf.Root.StructTreeRoot
        flat = list(tree.ParentTree.Nums)
        numbers = dict(zip(map(int, flat[::2]), flat[1::2], strict=True))
        assert sorted(numbers) == list(range(int(tree.ParentTreeNextKey)))
        for page in pdf.pages:
            marks = [int(step.operands[1].MCID) for step in pikepdf.parse_content_stream(page) if _is_marked(step)]
            tags = numbers[int(page.obj.StructParents)]
            assert marks == sorted(set(marks)) == list(range(len(tags)))
            for number, tag in enumerate(tags):
                assert tag.Pg.objgen == page.obj.objgen
                assert number in [int(kid) for kid in tag.K if not isinstance(kid, pikepdf.Dictionary)]
        (document,) = tree.K
        seen = list(_below(document))
        assert {tag.objgen for tag in seen} >= {tag.objgen for tags in numbers.values() if isinstance(tags, pikepdf.Array) for tag in tags}
        notes = [note for page in pdf.pages for note in page.obj.get("/Annots", ())]
        assert len(notes) == 4  # the address on each card
        for note in notes:
            assert note.objgen in [kid.Obj.objgen for kid in numbers[int(note.StructParent)].K if isinstance(kid, pikepdf.Dictionary)]


def test_the_outline_has_each_station_in_order(later: Path) -> None:
    with pikepdf.open(later) as pdf, pdf.open_outline() as outline:
        links = [next(iter(item.obj.Dest)) for item in outline.root if item.obj is not None]
        assert [item.title for item in outline.root][:1] == ["Stepping boxes"]
        assert [item.title for item in outline.root if item.title in ("Balance beam", "Ring row")] == ["Balance beam", "Ring row"]
        places = [pdf.pages.index(pikepdf.Page(link)) for link in links]
        assert len(places) == len(outline.root)
        assert places == sorted(places)


def test_a_still_on_a_card_is_the_printed_picture_itself(later: Path, pictures: DrawnPictures) -> None:
    with pikepdf.open(later) as pdf:
        images = [
            [one for one in page.obj.Resources.XObject.values() if "/BitsPerComponent" in one] for page in pdf.pages if _pictured(page)
        ]
        assert [len(each) for each in images] == [1, 1]
        assert images[0][0].read_raw_bytes() == print_jpeg(pictures.jpeg("s01-1"))
        assert images[1][0].read_raw_bytes() == print_jpeg(pictures.jpeg("s02-1"))
        assert [(int(one.Width), int(one.Height)) for (one,) in images] == [(1280, 720)] * 2


def test_a_process_that_starts_joins_what_was_read_before_and_reads_no_card(
    course: Course, long_course: Sequence[Station], pictures: DrawnPictures, kept: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    anew = write_cards(pages(course, long_course, EVEN_LATER), pictures, tmp_path / "anew.pdf", address=ADDRESS)
    copied = Path(shutil.copytree(kept, tmp_path / "kept"))
    for card in (copied / "cards").iterdir():
        card.write_bytes(b"")
    monkeypatch.setattr(joining, "_leaves", Recent(1))
    out = write_cards(pages(course, long_course, EVEN_LATER), pictures, tmp_path / "out.pdf", address=ADDRESS, cache=copied)
    assert out.read_bytes() == anew.read_bytes()


def test_tags_that_are_not_known_are_refused_and_not_lost(later: Path) -> None:
    with pikepdf.open(later) as pdf:
        pdf.Root.StructTreeRoot.IDTree = pikepdf.Dictionary()
        out = io.BytesIO()
        pdf.save(out)
    with pytest.raises(StageError, match="IDTree"):
        joined(later.read_bytes(), [Piece("strange", out.getvalue, 0, (0.0, 0.0))])


def _is_marked(step: Any) -> bool:
    return str(step.operator) == "BDC" and "/MCID" in step.operands[1]


def _pictured(page: pikepdf.Page) -> bool:
    return "/XObject" in page.obj.Resources


def _below(tag: pikepdf.Object) -> Iterator[pikepdf.Object]:
    yield tag
    for kid in tag.get("/K", ()):
        if isinstance(kid, pikepdf.Dictionary) and kid.get("/S") is not None:
            assert kid.P.objgen == tag.objgen
            yield from _below(kid)
