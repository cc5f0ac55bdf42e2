"""Judge cards: a station a card, what is in and what is out as two columns, so large that they are read in two seconds at arm's length.

In: a `Booklet` and the published pictures. Out: a PDF. Here it is decided under which column each rule stands; templates/cards.typ sets the
type, never smaller than `LEAST_PT`, and goes on to a second card rather than leave a rule out.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import io
import json
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Final

from pikepdf import Pdf

from annotator.booklet.columns import card_groups
from annotator.booklet.keeping import keep, kept_bytes, link_kept, of_use, put, stage_name
from annotator.booklet.paper.codes import Code, code_of
from annotator.booklet.paper.cutting import cut, faces_of
from annotator.booklet.paper.joining import STUB, Piece, joined
from annotator.booklet.paper.sizes import MM, Sheet, sheet_of
from annotator.booklet.paper.told import booklet_data, rule_data, section_data, texts_of, words_data
from annotator.booklet.paper.typeset import refuse_missing_signs, render
from annotator.booklet.pictures import Pictures, print_jpeg, source_digest
from annotator.booklet.site.told import page_name
from annotator.booklet.values import Booklet, StationPage
from annotator.errors import NotReady
from annotator.fonts import common_signs
from annotator.recent import Recent

LEAST_PT: Final[Mapping[str, float]] = {"columns": 14.0, "also": 10.0, "small": 7.0}
"""The smallest type on an A5 card, in points: rules in the columns, rules that hold elsewhere or for divisions, caution and edition.

Other papers scale it by their size (A6: 9.9, 7.1), but nothing is set below 6.5. A line of 14 points has letters of 2.6 mm without
ascenders: 0.2 degrees at 70 cm, twice what a normal eye needs; common practice, no published source for cards.
"""
FLOOR_PT: Final = 6.5
CODE_MM, LEAST_CODE_MM = 20.0, 20.0
"""On A5; no code is smaller than the second, whatever the paper: a code of 17 mm was not read when turned and seen coarsely or blurred."""
_MARGIN_MM, _GUTTER_MM = 7.0, 3.0
"""Around a card and beside its code on A5, as the template has them."""


def write_cards(
    booklet: Booklet,
    pictures: Pictures,
    out_pdf: Path,
    paper: str = "A5",
    *,
    address: str | None = None,
    backs: bool = False,
    cache: Path | None = None,
    linked: bool = False,
) -> Path:
    """Write a judge card a station.

    Cards of a sheet "two up" stand left, then right, to be printed on one side and cut in the middle; a card that goes on to a second one
    has both on one sheet, so that it can be folded instead. With `backs` every card has a back (its second card, or its number as large as
    the card), in the order in which a printer turns the sheets over at their short edge, two up, or their long edge, one a page.

    Parameters
    ----------
    paper : str
        One of `SHEETS`.
    address : str, optional
        Where the booklet will be read; each card then carries a QR code to its station's page.
    cache : Path, optional
        A folder in which pictures made for print are kept.
    linked : bool
        Nobody will write in the file: it may be the one that is kept in `cache`, by another name.

    Raises
    ------
    InvalidEdit
        No such size.
    NotReady
        A name or a word holds a sign that no font here has.
    StageError
        A picture is missing or damaged.
    """
    sheet = sheet_of(paper)
    setting = Setting(booklet, pictures, sheet, address, cache)
    together = backs or sheet.cards > 1
    out_pdf.parent.mkdir(parents=True, exist_ok=True)
    if together or not linked or not setting.link_joined(out_pdf):
        put(out_pdf, setting.in_one(backs) if together else setting.joined())
    return out_pdf


def missing_cards(booklet: Booklet, pictures: Pictures, paper: str = "A5", *, address: str | None = None, cache: Path | None = None) -> int:
    """How many stations' cards `write_cards` would have to set; those that are kept are only joined. Parameters and errors as there."""
    return len(Setting(booklet, pictures, sheet_of(paper), address, cache).missing())


@dataclass(frozen=True)
class Setting:
    """What cards are set from. One a page, each station's are kept without edition and still, and joined; others are set in one go."""

    booklet: Booklet
    pictures: Pictures
    sheet: Sheet
    address: str | None
    cache: Path | None

    def in_one(self, backs: bool = False) -> bytes:
        """All cards in one go."""
        self._refuse_missing_signs(*self.booklet.stations)
        files: dict[str, bytes] = {}
        stations = [self._station(page, files) for page in self.booklet.stations]
        for page in self.booklet.stations:
            for still in page.stills[:1]:
                files[f"s{page.number}.jpg"] = print_jpeg(self.pictures.jpeg(still.id), self.cache)
        return render("cards.typ", {**self._data(), "stations": stations, "backs": backs}, files, self._when())

    def joined(self) -> bytes:
        """The cards of all stations, kept as they are: what was made ahead is the same file until the day or anything on it changes."""
        return kept_bytes(self._folder("joined"), self._joined_name(), self._joined)

    def link_joined(self, place: Path) -> bool:
        """Give what `joined` keeps a second name; False where that cannot be, or nothing is kept."""
        folder, name = self._folder("joined"), self._joined_name()
        if folder is None:
            return False
        if not (folder / name).exists():
            keep(folder / name, self._joined())
        try:
            return link_kept(folder, name, place)
        except FileNotFoundError:  # somebody emptied the folder just now
            return False

    def missing(self) -> list[StationPage]:
        """The stations whose cards would have to be set; none where they are joined already, or are set in one go whatever is kept."""
        folder = self._folder("joined")
        if self.sheet.cards > 1 or (folder is not None and (folder / self._joined_name()).exists()):
            return []
        self._refuse_missing_signs()
        return self._missing(self._names(self._lines()))

    def _folder(self, kind: str) -> Path | None:
        return None if self.cache is None else self.cache / kind

    def _joined_name(self) -> str:
        stations = [
            [page.key, self._address_of(page), [source_digest(self.pictures.jpeg(still.id)) for still in page.stills[:1]]]
            for page in self.booklet.stations
        ]
        return f"{stage_name('joined', self.sheet.name, self._data(), self._when(), stations)}.pdf"

    def _joined(self) -> bytes:
        """Put together from the cards that are kept and those that are set now."""
        self._refuse_missing_signs()
        lines = self._lines()
        margin = _MARGIN_MM * _scale(self.sheet) * MM
        pieces = []
        for page, (name, card) in zip(self.booklet.stations, self._cards(lines), strict=True):
            stills = [print_jpeg(self.pictures.jpeg(still.id), self.cache) for still in page.stills[:1]]
            pieces.append(Piece(name, card, lines.page_of[page.number], (margin, margin), *stills))
        return joined(lines.pdf, pieces, self._folder("leaves"))

    def _lines(self) -> _Lines:
        """The edition's line in each width that cards have for it; it is asked for twice, and set once."""
        widths = {page.number: self._line_mm(page) for page in self.booklet.stations}
        name = stage_name(self._data(), self._when(), list(widths.items()))
        return _lines_lately.get(name, lambda: self._set_lines(widths))

    def _set_lines(self, widths: Mapping[int, float]) -> _Lines:
        all_widths = list(dict.fromkeys(widths.values()))
        pdf = render("cards.typ", {**self._data(), "signs": common_signs(), "lines": all_widths}, {}, self._when())
        with Pdf.open(io.BytesIO(pdf)) as opened:
            rooms = {width: float(page.mediabox[3]) for width, page in zip(all_widths, opened.pages[1:], strict=True)}
            return _Lines(
                pdf,
                {number: 1 + all_widths.index(width) for number, width in widths.items()},
                {number: rooms[width] for number, width in widths.items()},
                faces_of(opened.pages[0].obj),
            )

    def _names(self, lines: _Lines) -> dict[int, str]:
        """The file name of each station's kept pages; the edition is not in it."""
        return {
            page.number: f"{stage_name('card', page.key, self.sheet.name, self._address_of(page), lines.rooms[page.number])}.pdf"
            for page in self.booklet.stations
        }

    def _missing(self, names: Mapping[int, str]) -> list[StationPage]:
        folder = self._folder("cards")
        return [page for page in self.booklet.stations if folder is None or not (folder / names[page.number]).exists()]

    def _cards(self, lines: _Lines) -> Iterator[tuple[str, Callable[[], bytes]]]:
        """Each station's own pages, with room left for the edition's line and a stub for a still; the edition is not on them.

        Those that are missing are set together where that gives the same as alone, and kept at once. Of the others some were read before:
        their name tells which they are.
        """
        names, rooms = self._names(lines), lines.rooms
        missing = self._missing(names)
        self._refuse_missing_signs(*missing)
        data = {page.number: self._bare(page, rooms[page.number]) for page in missing}
        usual = [page for page in missing if _is_usual(*data[page.number])]
        cards = self._set([data[page.number] for page in usual], lines.faces) if len(usual) > 1 else []
        made = {page.number: card for page, card in zip(usual, cards, strict=False) if card is not None}

        def make(page: StationPage) -> bytes:
            card = made.get(page.number)
            if card is None:
                (card,) = self._set([data.get(page.number) or self._bare(page, rooms[page.number])], None)
            assert card is not None
            return card

        folder = self._folder("cards")
        for page in self.booklet.stations:
            get = partial(kept_bytes, folder, names[page.number], partial(make, page))
            if page.number in data:
                card = get()
                name = names[page.number] if folder is not None else hashlib.sha256(card).hexdigest()
                yield name, partial(bytes, card)
            else:
                of_use(folder, names[page.number])
                yield names[page.number], get

    def _bare(self, page: StationPage, room: float) -> _Bare:
        """A station's data and files, with a stub for its still."""
        files: dict[str, bytes] = {}
        station = {**self._station(page, files), "room": room}
        still = station["still"] and {**station["still"], "file": STUB}
        return {**station, "still": still}, files

    def _set(self, cards: Sequence[_Bare], faces: Collection[str] | None) -> list[bytes | None]:
        """Some cards, each as a PDF of its own; None for those that would not be the same alone, where `faces` tells what those have."""
        stations = [station for station, _ in cards]
        data = {**self._data(), "signs": common_signs(), "sections": None, "stamp": "", "stations": stations}
        return cut(render("cards.typ", data, {name: file for _, files in cards for name, file in files.items()}, None), faces)

    def _refuse_missing_signs(self, *stations: StationPage) -> None:
        """Look at what stands on every card and at these stations, and where one is missing tell all; what is kept was looked at before."""
        try:
            refuse_missing_signs(self.booklet.title, texts_of(self.booklet, stations))
        except NotReady:
            refuse_missing_signs(self.booklet.title, texts_of(self.booklet))
            raise

    def _when(self) -> int | None:
        """The day that stands on the cards, as the file's own date: its first second, UTC."""
        if self.booklet.stamp is None:
            return None
        return int(dt.datetime.combine(self.booklet.stamp.at.date(), dt.time(), dt.UTC).timestamp())

    def _data(self) -> dict[str, Any]:
        none: dict[str, Any] = {"stations": [], "lines": [], "backs": False, "signs": ""}
        return {**booklet_data(self.booklet), **_card_words(self.booklet), **_sizes(self.sheet), **none}

    def _address_of(self, page: StationPage) -> str | None:
        return None if self.address is None else f"{self.address.rstrip('/')}/{page_name(page)}"

    def _code_mm(self, code: Code) -> float:
        return code.side_mm(max(LEAST_CODE_MM, CODE_MM * _scale(self.sheet)))

    def _line_mm(self, page: StationPage) -> float:
        """The width that the edition's line has on a station's cards: beside the code, where there is one."""
        scale, to = _scale(self.sheet), self._address_of(page)
        beside = 0.0 if to is None else self._code_mm(code_of(to)) + _GUTTER_MM * scale
        return self.sheet.card_mm[0] - 2 * _MARGIN_MM * scale - beside

    def _station(self, page: StationPage, files: dict[str, bytes]) -> dict[str, Any]:
        """A station as data for the template; what the data names goes into `files`, but for the still itself."""
        still = None
        if page.stills:
            first = page.stills[0]
            name = f"s{page.number}"
            files[f"{name}.svg"] = first.paper_overlays[""].encode()
            still = {"file": f"{name}.jpg", "overlay": f"{name}.svg", "alt": first.alt, "width": first.width, "height": first.height}
        to = self._address_of(page)
        code: Code | None = None if to is None else code_of(to)
        if code is not None:
            files[f"qr-{page.number}.svg"] = code.svg
        groups = card_groups(page)
        out = page.section("out")
        return {
            "room": None,
            "number": page.number,
            "name": words_data(page.name, page.name_spans),
            "limbs": rule_data(page.limbs),
            "start": section_data(page.section("start")),
            "finish": section_data(page.section("finish")),
            "note": None if out is None else out.note,
            "groups": {
                column: [{"key": key, "title": title, "rules": [rule_data(rule) for rule in rules]} for key, title, rules in own]
                for column, own in groups.items()
            },
            "still": still,
            "address": to,
            "qr": None if code is None else f"qr-{page.number}.svg",
            "qr_mm": None if code is None else self._code_mm(code),
            "qr_alt": self.booklet.wording.say("scan"),
        }


@dataclass(frozen=True)
class _Lines:
    """The edition's lines as a PDF: which of its pages is each station's, the points that the line takes there, and the faces in it."""

    pdf: bytes
    page_of: Mapping[int, int]
    rooms: Mapping[int, float]
    faces: Collection[str]


_lines_lately: Recent[_Lines] = Recent(16)
_Bare = tuple[dict[str, Any], dict[str, bytes]]
"""A station as data for the template, and the files that it names."""


def _is_usual(station: Mapping[str, Any], files: Mapping[str, bytes]) -> bool:
    """Whether all signs of a card are common ones; where that is told wrongly, time is lost and nothing else."""
    texts = [json.dumps(station, ensure_ascii=False), *(file.decode() for name, file in files.items() if name.endswith(".svg"))]
    return all(sign in common_signs() or sign.isspace() for sign in set("".join(texts)))


def _scale(sheet: Sheet) -> float:
    """The card's size against A5."""
    width, height = sheet.card_mm
    return min(width / 148, height / 210)


def _sizes(sheet: Sheet) -> dict[str, Any]:
    scale = _scale(sheet)
    width, height = sheet.card_mm
    return {
        "card": {"width": width, "height": height},
        "sheet": {"width": sheet.width_mm, "height": sheet.height_mm, "cards": sheet.cards},
        "scale": scale,
        "least": {key: max(FLOOR_PT, size * scale) for key, size in LEAST_PT.items()},
    }


def _card_words(booklet: Booklet) -> dict[str, Any]:
    say = booklet.wording.say
    return {
        "card_of": say("card-of", number="{number}", count="{count}"),
        "goes_on": say("card-goes-on", number="{number}", count="{count}"),
    }
