"""The one description of what is drawn on a still: outlines with their style, and plates with their text and place.

svg.py writes it for pages, EPUB and print, paint.py draws it on a raster; neither decides anything. Geometry is in pixels of the still,
widths in screen pixels times `Overlay.unit`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from shapely.geometry import Polygon

from annotator.course import Course, Ruling, Station
from annotator.marks.items import RuleItem
from annotator.marks.looks import Look, PlateWords, Style, look_of
from annotator.marks.outlines import Area, polygon_list
from annotator.marks.plates import Plate, place_plates
from annotator.marks.zones import Marked, Zones, zones

Told = Callable[[RuleItem, Ruling], str]
"""What holds for a thing, in one sentence."""

Rings = tuple[tuple[tuple[float, float], ...], ...]

LANDSCAPE_SHOWN_PX = 480.0
PORTRAIT_SHOWN_PX = 400.0
LINE_SHARE = 0.75
"""Of the unit, for lines that scale with the picture: 0.6 mm for a line of 3 on a still printed 130 mm wide."""
_LEAST_DRAWN_PX2 = 1.0
_ROOM_FOR_LINES = 9.0
_THINNEST = 0.5


@dataclass(frozen=True)
class OverlayItem:
    """One surface as it is drawn: each of `polygons` is an outline and its holes, none closed by a repeated point."""

    surface: str
    style: Style
    ruling: Ruling
    draft: bool
    title: str
    polygons: tuple[Rings, ...]
    plates: tuple[Plate, ...] = ()
    thinned: float = 1.0
    """Lines are drawn at this share of their width, so that they do not hide a thin bar."""

    @property
    def look(self) -> Look:
        """How it is drawn."""
        return look_of(self.style, self.ruling, self.draft)


@dataclass(frozen=True)
class Overlay:
    """All that is drawn on one still, from the bottom up. `unit`: how many pixels of the still one screen pixel of line or text takes."""

    still: str
    division: str | None
    size: tuple[int, int]
    unit: float
    items: tuple[OverlayItem, ...]
    title: str = ""
    """All of it in words."""
    line_share: float = LINE_SHARE

    @property
    def line_unit(self) -> float:
        """Pixels of the still for one screen pixel of a line's width, where lines scale with the picture."""
        return self.unit * self.line_share


def overlay(
    course: Course,
    station: Station,
    still_id: str,
    *,
    division: str | None = None,
    plates: bool = True,
    drafts: bool = False,
    unit: float | None = None,
    line_share: float = LINE_SHARE,
    words: PlateWords | None = None,
    tell: Told | None = None,
    kept_free: Sequence[Polygon] = (),
) -> Overlay:
    """Describe what is drawn on a still.

    What is out is drawn without what is in play inside it; what is excepted lies over its whole. Start and finish come after the other
    surfaces in play, drafts last.

    Parameters
    ----------
    unit : float, optional
        Pixels of the still for one screen pixel. Without it: right for a still shown across a phone.
    line_share : float
        Of the unit, for lines that scale with the picture; 1 and more on paper, where they must be bold.
    words : PlateWords, optional
        The words on the plates in another language.
    tell : callable, optional
        What is said of each thing to those who cannot see it, in another language.
    kept_free : sequence of rectangles, optional
        Where something else will lie over the still, in its pixels; plates stand elsewhere while there is room.

    Raises
    ------
    NotFound, InvalidMark
        As `zones`.
    """
    found = zones(course, station, still_id, division, drafts=drafts)
    return overlay_of(found, still_id, plates=plates, unit=unit, line_share=line_share, words=words, tell=tell, kept_free=kept_free)


def overlay_of(
    found: Zones,
    still_id: str,
    *,
    plates: bool = True,
    unit: float | None = None,
    line_share: float = LINE_SHARE,
    words: PlateWords | None = None,
    tell: Told | None = None,
    kept_free: Sequence[Polygon] = (),
) -> Overlay:
    """As `overlay`, from the still's zones for the division: they are the same in every language, and on paper."""
    division = found.division
    width, height = found.size
    scale = unit if unit is not None else width / (LANDSCAPE_SHOWN_PX if width >= height else PORTRAIT_SHOWN_PX)
    said, told = words or PlateWords(), tell or RuleItem.sentence
    drawn: list[tuple[OverlayItem, tuple[str, ...], Area]] = []
    for marked, shape in zip(found.marked, found.shown, strict=True):
        ruling = marked.item.ruling_for(division)
        parts = [part for part in polygon_list(shape) if part.area >= _LEAST_DRAWN_PX2]
        if not parts:
            continue
        style = _style(marked, ruling, found.marked, division)
        item = OverlayItem(
            surface=marked.item.id,
            style=style,
            ruling=ruling,
            draft=marked.draft,
            title=told(marked.item, ruling),
            polygons=tuple(_rings(part) for part in parts),
            thinned=_thinned(parts, scale * line_share),
        )
        drawn.append((item, _plate_text(marked.item, style, marked.draft, said), shape))
    order = ("in play", "start", "finish", "out of play", "excepted part")
    drawn.sort(key=lambda entry: (entry[0].draft, order.index(entry[0].style)))
    items = tuple(item for item, _, _ in drawn)
    if plates:
        placed = place_plates([(shape, lines) for _, lines, shape in drawn], found.size, scale, kept_free)
        items = tuple(replace(item, plates=own) for item, own in zip(items, placed, strict=True))
    title = " ".join(dict.fromkeys(item.title for item in items)) or said.nothing
    return Overlay(still_id, division, found.size, scale, items, title, line_share)


def overlay_items(
    course: Course, station: Station, still_id: str, *, division: str | None = None, drafts: bool = False
) -> tuple[OverlayItem, ...]:
    """The items of `overlay`, with their plates."""
    return overlay(course, station, still_id, division=division, drafts=drafts).items


def _style(marked: Marked, ruling: Literal["in", "out"], all_marked: Sequence[Marked], division: str | None) -> Style:
    item = marked.item
    if ruling == "in":
        return "in play" if item.role == "route" else item.role
    whole_is_in = any(
        other.item.part is None and other.item.thing == item.thing and other.item.ruling_for(division) == "in" for other in all_marked
    )
    return "excepted part" if item.part is not None and whole_is_in else "out of play"


def _plate_text(item: RuleItem, style: Style, draft: bool, words: PlateWords) -> tuple[str, ...]:
    limbs = {"hands": words.hands, "feet": words.feet}
    lines: list[str]
    if style in ("out of play", "excepted part"):
        lines = [f"{words.out_of_play}: {item.part}" if item.part else words.out_of_play]
    elif style == "finish":
        past = {"allowed": words.overshoot_allowed, "not allowed": words.overshoot_not_allowed}
        lines = [words.finish, *([past[item.overshoot]] if item.overshoot else [])]
    else:
        head = words.start if style == "start" else words.in_play
        lines = [f"{head} · {', '.join(limbs[limb] for limb in item.limbs)}" if item.limbs else head]
    if draft:
        lines[0] = f"{lines[0]} {words.draft}"
    return tuple(lines)


def _thinned(parts: Sequence[Polygon], line_unit: float) -> float:
    """Full width where the largest part has room for its lines, down to half on a thin one."""
    largest = max(parts, key=lambda part: part.area)
    width = largest.area / max(largest.length / 2, 1e-9)  # the width of a long strip
    return min(1.0, max(_THINNEST, width / (2 * _ROOM_FOR_LINES * line_unit)))


def _rings(part: Polygon) -> Rings:
    rings = (part.exterior, *part.interiors)
    return tuple(tuple((float(x), float(y)) for x, y in ring.coords[:-1]) for ring in rings)
