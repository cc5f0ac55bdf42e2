"""Judge cards: every rule on them, under the right column, large enough, inside the paper, whatever the course holds."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from PIL import Image

from annotator.booklet import SHEETS, Booklet, Stamp, Wording, pages, write_cards
from annotator.booklet.columns import card_groups
from annotator.booklet.paper import FLOOR_PT, LEAST_PT, sheet_of
from annotator.course import Course, Station, Surface
from annotator.errors import InvalidEdit, NotReady, StageError
from tests.booklet.makers import AT, HEIGHT, WIDTH, DrawnPictures, outline_of_pdf, surface
from tests.booklet.on_paper import MM, Word, pictures_on, raw_text, run_together, sizes_of_type, text_of, words_of

ADDRESS = "https://lane.example/open"


@pytest.fixture(scope="module")
def cards(booklet: Booklet, pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_cards(booklet, pictures, tmp_path_factory.mktemp("cards") / "cards.pdf", address=ADDRESS)


def told_on(path: Path) -> set[str]:
    """Each list item, and each rule of those that run on in one line."""
    found: set[str] = set()
    for tag, text in outline_of_pdf(path):
        if tag in ("LBody", "P", "Span"):
            found |= {text, *text.split(" · ")}
    return {text.replace("\u200b", "") for text in found}


def full(station: Station, ins: int, outs: int, name: str = "padded block number", **more: Any) -> Station:
    many = [
        surface(f"x{ruling}{at}", f"{name} {at}", ruling=ruling) for ruling, count in (("in", ins), ("out", outs)) for at in range(count)
    ]
    return station.model_copy(update={"surfaces": (*station.surfaces, *many), **more})


def pages_of(path: Path) -> int:
    with pikepdf.open(path) as pdf:
        return len(pdf.pages)


# what stands on it


def test_a_card_holds_every_rule_of_its_station(cards: Path, booklet: Booklet) -> None:
    told = told_on(cards)
    for page in booklet.stations:
        shown = {rule.text for section in page.sections if section.key != "shown" for rule in section.rules} | {page.limbs.text}
        assert shown <= told
    assert {"You have 1 retry in your run.", "Ranking: furthest then fastest."} <= told


def test_each_rule_stands_in_the_column_of_what_it_rules(booklet: Booklet) -> None:
    beam = card_groups(booklet.stations[1])
    texts = {column: {key: [rule.text for rule in rules] for key, _, rules in groups} for column, groups in beam.items()}
    assert texts == {
        "in": {
            "in": ["Wooden beam"],
            "divisions": ["In play for under-tens: white rail"],
            "everywhere": ["Do not skip: platforms.", "In play: post pads (hands and feet)"],
        },
        "out": {"out": ["White rail"], "everywhere": ["Out of play: post pads, top"]},
    }


def test_the_columns_stand_beside_each_other_what_is_in_on_the_left(cards: Path) -> None:
    first = words_of(cards)[0]
    (in_plate,) = [word for word in first if word.text == "IN" and word.top > 300]
    (out_plate,) = [word for word in first if word.text == "OUT" and word.top > 300]
    tops = next(word for word in first if word.text == "tops" and word.top > 300)
    barrel = next(word for word in first if word.text == "barrel")
    assert in_plate.right < out_plate.left
    assert in_plate.left <= tops.left < out_plate.left <= barrel.left


@pytest.mark.parametrize("paper", SHEETS)
def test_every_sheet_has_its_true_size_and_its_cards(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path, paper: str) -> None:
    """ISO 216 and ANSI/ASME Y14.1 sizes, at 72 points an inch."""
    path = write_cards(booklet, pictures, tmp_path / "cards.pdf", paper, address=ADDRESS)
    sheet = sheet_of(paper)
    with pikepdf.open(path) as pdf:
        assert len(pdf.pages) == (3 if sheet.cards == 1 else 2)
        for page in pdf.pages:
            assert [float(side) for side in page.mediabox[2:]] == pytest.approx([sheet.width_mm * MM, sheet.height_mm * MM], abs=0.1)


def test_two_up_are_exact_halves_and_nothing_crosses_the_cut(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    """Half of A4 is A5 to half a millimetre (ISO 216), half of Letter is half Letter."""
    for paper, half in (("A4 two up", (148.5, 210)), ("Letter two up", (139.7, 215.9))):
        assert sheet_of(paper).card_mm == pytest.approx(half)
        path = write_cards(booklet, pictures, tmp_path / f"{paper}.pdf", paper, address=ADDRESS)
        for words in words_of(path):
            assert not [word.text for word in words if word.left < half[0] * MM < word.right]
        first = words_of(path)[0]
        sides = {word.text: word.left < half[0] * MM for word in first if word.text in ("Stepping", "Balance")}
        assert sides == {"Stepping": True, "Balance": False}


def test_with_backs_the_back_of_a_card_is_behind_it(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    """Turned over at the short edge the left half of a sheet's back lies behind the right half of its front."""
    long = [full(stations[0], 0, 30), *stations[1:]]
    path = write_cards(pages(course, long, stamp), pictures, tmp_path / "cards.pdf", "A4 two up", backs=True)
    middle = 148.5 * MM
    found = [(tuple(_names(page, 0, middle)), tuple(_names(page, middle, 1e9))) for page in words_of(path)]
    assert found == [
        (("Stepping",), ("Balance",)),
        (("Balance",), ("Stepping",)),
        (("Ring",), ()),
        ((), ("Ring",)),
    ]
    assert "Padded block number 29" in text_of(path, 2)


def _names(words: Sequence[Word], left: float, right: float) -> list[str]:
    return [word.text for word in words if left <= word.left < right and word.text in ("Stepping", "Balance", "Ring")]


def test_the_number_on_a_back_is_as_wide_as_a_hand(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    """An adult's hand is 74 to 97 mm broad (5th to 95th percentile of women and men, DIN 33402-2, as quoted in secondary texts)."""
    path = write_cards(pages(course, stations, stamp), pictures, tmp_path / "cards.pdf", "A5", backs=True)
    pages_words = words_of(path)
    assert len(pages_words) == 6
    for at in (1, 3, 5):
        number = max(pages_words[at], key=lambda word: word.area)
        assert number.text == str(at // 2 + 1)
        assert max(number.right - number.left, 0.68 * number.size) / MM >= 74


@pytest.mark.parametrize(("paper", "least_mm"), [("A4", 74), ("Letter", 70), ("A5", 56), ("half Letter", 53), ("A6", 39)])
def test_the_number_on_a_front_is_as_tall_as_a_hand_is_broad_or_what_the_card_has_room_for(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path, paper: str, least_mm: float
) -> None:
    """Where the rules leave room; digits are 0.68 of their type high. The hand: as above. With three digits the name keeps its room."""
    few = [stations[2], stations[2].model_copy(update={"id": "s99", "number": 128})]
    path = write_cards(pages(course, few, stamp), pictures, tmp_path / "cards.pdf", paper)
    one, three = words_of(path)
    number = max(one, key=lambda word: word.size)
    assert number.text == "3"
    assert 0.68 * number.size / MM >= least_mm
    wide = max(three, key=lambda word: word.size)
    (name,) = [word for word in three if word.text == "Ring"]
    assert wide.text == "128"
    assert wide.shared(name) == 0
    assert wide.right < name.left < name.right < sheet_of(paper).card_mm[0] * MM


# how large


@pytest.mark.parametrize("paper", SHEETS)
def test_no_type_is_smaller_than_said(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path, paper: str
) -> None:
    crowded = [full(stations[0], 20, 20), full(stations[1], 1, 1), stations[2]]
    path = write_cards(pages(course, crowded, stamp), pictures, tmp_path / "cards.pdf", paper, address=ADDRESS)
    scale = min(sheet_of(paper).card_mm[0] / 148, sheet_of(paper).card_mm[1] / 210)
    least = max(FLOOR_PT, LEAST_PT["columns"] * scale)
    with pikepdf.open(path) as pdf:
        assert min(size for page in pdf.pages for size in sizes_of_type(page)) >= max(FLOOR_PT, LEAST_PT["small"] * scale) - 0.01
    rules = [word for words in words_of(path) for word in words if word.text in ("Padded", "barrel")]
    assert len(rules) == 43
    assert min(word.size for word in rules) >= least - 0.05


def test_where_there_is_room_the_rules_are_larger(cards: Path) -> None:
    (barrel,) = [word for word in words_of(cards)[0] if word.text == "barrel"]
    assert barrel.size >= 16


def test_what_does_not_fit_goes_on_to_a_second_card_that_says_so(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    path = write_cards(pages(course, [full(stations[0], 0, 40)], stamp), pictures, tmp_path / "cards.pdf")
    assert pages_of(path) == 2
    assert "More rules: card 2 of 2." in text_of(path, 1)
    assert "Card 2 of 2" in text_of(path, 2)
    items = [text for tag, text in outline_of_pdf(path) if tag == "LBody"]
    assert [text for text in items if text.startswith("Padded")] == [f"Padded block number {at}" for at in range(40)]


def test_a_card_that_goes_on_has_both_on_one_sheet(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path
) -> None:
    long = [stations[0], full(stations[1], 0, 30), stations[2]]
    path = write_cards(pages(course, long, stamp), pictures, tmp_path / "cards.pdf", "A4 two up")
    found = [tuple(word.text for word in words if word.text in ("Stepping", "Balance", "Ring")) for words in words_of(path)]
    assert found == [("Stepping",), ("Balance", "Balance"), ("Ring",)]


@pytest.mark.parametrize("paper", ["A5", "A6", "half Letter"])
@pytest.mark.parametrize("upright", [False, True], ids=["lying", "upright"])
def test_the_marks_of_a_still_print_at_six_tenths_of_a_millimetre(
    course: Course, stations: Sequence[Station], stamp: Stamp, tmp_path: Path, paper: str, upright: bool
) -> None:
    """Measured on the overlay that is printed, at the size of the still on the card."""
    size = (HEIGHT, WIDTH) if upright else (WIDTH, HEIGHT)
    stills = tuple(one.model_copy(update={"width": size[0], "height": size[1]}) for one in stations[0].stills)
    Image.new("RGB", size, "#998877").save(tmp_path / "s01-1.jpg")
    booklet = pages(course, [stations[0].model_copy(update={"stills": stills})], stamp)
    path = write_cards(booklet, DrawnPictures(tmp_path), tmp_path / "cards.pdf", paper, address=ADDRESS)
    with pikepdf.open(path) as pdf:
        assert len(pdf.pages) == 1
        (place,) = pictures_on(pdf.pages[0])
        high = float(pdf.pages[0].mediabox[3])
        wide = float(pdf.pages[0].mediabox[2])
    assert place[0] >= 0 and place[1] >= 0 and place[0] + place[2] <= wide and place[1] + place[3] <= high
    assert place[2 if not upright else 3] >= 0.5 * (wide if not upright else high), "the larger side of the still takes half the page"
    svg = booklet.stations[0].stills[0].paper_overlays[""]
    colour, keyline = ([width * place[2] / size[0] / MM for width in stroke_widths(svg, of)] for of in ("#D55E00", "#(?:FFFFFF|1D2329)"))
    assert max(colour) >= 0.599 and min(keyline) >= 0.599
    assert min(colour) >= 0.299, "on a bar that is thinner than its outlines they are halved, or they would hide it"


def stroke_widths(svg: str, colours: str) -> list[float]:
    """The widths of outlines in these colours, in pixels of the still; leaders and frames of plates are no paths."""
    return [float(width) for width in re.findall(rf'<path [^>]*stroke="{colours}" stroke-width="([\d.]+)"', svg)]


# whatever it holds

LATIN = st.text("abcdefghijklmnopqrstuvwxyzABCäößéñçø 0123456789", min_size=1, max_size=200)
WITHOUT_BLANKS = st.text("abcdefgW", min_size=80, max_size=200)
RIGHT_TO_LEFT = st.lists(st.sampled_from(["טבעות", "אדומות", "الحبل", "جدار", "קיר"]), min_size=1, max_size=20).map(" ".join)
NAMES = st.one_of(LATIN.filter(str.strip), WITHOUT_BLANKS, RIGHT_TO_LEFT)
SURFACES = st.builds(
    Surface,
    id=st.uuids().map(str),
    name=NAMES,
    part=st.none() | NAMES,
    role=st.sampled_from(["route", "route", "route", "start", "finish"]),
    ruling=st.sampled_from(["in", "out"]),
    contact=st.sampled_from([None, ("hands",), ("feet",)]),
    divisions=st.none() | st.just({"under-tens": "in", "adults": "out"}),
    state=st.just("accepted"),
)


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck), phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(
    surfaces=st.lists(SURFACES, max_size=8),
    more=st.integers(0, 40),
    name=st.none() | NAMES,
    number=st.sampled_from([1, 12, 118]),
    with_still=st.sampled_from(["none", "lying", "upright"]),
    paper=st.sampled_from(list(SHEETS)),
)
def test_nothing_is_cut_off_or_covered_and_no_rule_is_missing(
    course: Course,
    stations: Sequence[Station],
    surfaces: list[Surface],
    more: int,
    name: str | None,
    number: int,
    with_still: str,
    paper: str,
) -> None:
    size = (HEIGHT, WIDTH) if with_still == "upright" else (WIDTH, HEIGHT)
    stills = (
        () if with_still == "none" else tuple(one.model_copy(update={"width": size[0], "height": size[1]}) for one in stations[0].stills)
    )
    base = stations[0].model_copy(update={"stills": stills, "marks": (), "surfaces": tuple(surfaces), "name": name, "number": number})
    booklet = pages(course, [full(base, more // 2, more - more // 2)], Stamp(3, "7KQ2MX", AT))
    with tempfile.TemporaryDirectory() as folder:
        Image.new("RGB", size, "#998877").save(Path(folder) / "s01-1.jpg")
        path = write_cards(booklet, DrawnPictures(Path(folder)), Path(folder) / "cards.pdf", paper, address=ADDRESS)
        told = run_together(raw_text(path))
        for rule in (rule for section in booklet.stations[0].sections if section.key != "shown" for rule in section.rules):
            wanted = re.findall(r"\w+", rule.text) if any("\u0590" <= sign <= "\u06ff" for sign in rule.text) else [rule.text]
            assert all(run_together(part) in told for part in wanted), rule.text
        sheet = sheet_of(paper)
        for page in words_of(path):
            words = [word for word in page if not re.search(r"[\u0590-\u1fff]", word.text)]  # those are boxes of another face
            for at, word in enumerate(words):
                ink = word.ink
                assert ink.left >= -0.1 and ink.top >= -0.1, word
                assert ink.right <= sheet.width_mm * MM + 0.1 and ink.bottom <= sheet.height_mm * MM + 0.1, word
                assert not (ink.left < sheet.width_mm * MM / sheet.cards < ink.right) or sheet.cards == 1, word
                assert not [(word, other) for other in words[at + 1 :] if ink.shared(other.ink) > 0.02 * ink.area]


# languages, and what is refused


@pytest.mark.parametrize("language", ["es", "fr", "de", "pt"])
def test_a_card_in_another_language_fits_as_well(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, tmp_path: Path, language: str
) -> None:
    booklet = pages(course, stations, stamp, wording=Wording(language))
    path = write_cards(booklet, pictures, tmp_path / "cards.pdf", address=ADDRESS)
    assert pages_of(path) == 3
    with pikepdf.open(path) as pdf:
        assert str(pdf.Root.Lang) == language
    assert booklet.default_rule in text_of(path, 1)
    assert {page.limbs.text for page in booklet.stations} <= told_on(path)


def test_an_unknown_paper_is_refused_with_those_there_are(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    with pytest.raises(InvalidEdit, match=r"no such size. Choose one of: A4, A5, A6, Letter, half Letter, A4 two up, Letter two up"):
        write_cards(booklet, pictures, tmp_path / "cards.pdf", "B5")
    assert not (tmp_path / "cards.pdf").exists()


def test_a_sign_that_cannot_be_printed_is_refused_with_the_words_it_stands_in(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path: Path
) -> None:
    odd = stations[0].model_copy(update={"name": "fire 💥 net"})
    with pytest.raises(NotReady) as refused:
        write_cards(pages(course, [odd]), pictures, tmp_path / "cards.pdf")
    assert "'Fire 💥 net' holds the sign 💥 (collision symbol), which cannot be printed. Write it in letters." in refused.value.reasons
    assert not (tmp_path / "cards.pdf").exists()


def test_a_missing_picture_is_named_before_anything_is_written(booklet: Booklet, tmp_path: Path) -> None:
    with pytest.raises(StageError, match=r"'s01-1\.jpg' cannot be read"):
        write_cards(booklet, DrawnPictures(tmp_path), tmp_path / "out.pdf")
    assert not (tmp_path / "out.pdf").exists()


def test_pictures_made_for_print_are_kept_and_used_again(booklet: Booklet, pictures: DrawnPictures, tmp_path: Path) -> None:
    cache = tmp_path / "kept"
    once = write_cards(booklet, pictures, tmp_path / "1.pdf", cache=cache).read_bytes()
    kept = {file.name: file.stat().st_mtime_ns for file in cache.glob("*.jpg")}
    assert len(kept) == 2
    assert write_cards(booklet, pictures, tmp_path / "2.pdf", cache=cache).read_bytes() == once
    assert {file.name: file.stat().st_mtime_ns for file in cache.glob("*.jpg")} == kept
