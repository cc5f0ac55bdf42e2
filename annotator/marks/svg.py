"""The overlay as SVG, complete in itself: to lay over an image on a page, or as an image of its own in print."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from typing import Literal
from xml.sax.saxutils import escape, quoteattr

from annotator import fonts
from annotator.course import Course, Station
from annotator.marks.looks import HATCH, INK, LEADER, PLATE_FRAME, PLATE_LINE, PLATE_PAD, PLATE_TEXT, WHITE, PlateWords, Stroke
from annotator.marks.overlays import LINE_SHARE, Overlay, OverlayItem, Told, overlay
from annotator.marks.plates import Plate, text_width

SVG_VERSION = "2"
"""Part of the name of a kept overlay; raise it when the same marks are drawn otherwise, here or where plates and outlines are placed."""
Widths = Literal["screen", "picture"]


def overlay_svg(
    course: Course,
    station: Station,
    still_id: str,
    *,
    division: str | None = None,
    plates: bool = True,
    drafts: bool = False,
    unit: float | None = None,
    widths: Widths = "screen",
    line_share: float = LINE_SHARE,
    words: PlateWords | None = None,
    tell: Told | None = None,
) -> str:
    """The marks of a still as one `<svg>` whose viewBox is the still's size.

    Parameters
    ----------
    unit, line_share, words, tell
        As `overlay`; `unit` is of text, hatch and (with `widths="picture"`) lines.
    widths : "screen" or "picture"
        "screen": lines keep their width at every zoom (`vector-effect`), for pages. "picture": lines scale with the picture, for print,
        EPUB and everything that does not know vector-effect.

    Raises
    ------
    NotFound, InvalidMark
        As `zones`.
    """
    found = overlay(
        course, station, still_id, division=division, plates=plates, drafts=drafts, unit=unit, line_share=line_share, words=words, tell=tell
    )
    return svg_of(found, widths=widths)


def svg_of(described: Overlay, *, widths: Widths = "screen") -> str:
    """An overlay as SVG; see `overlay_svg`. Ids are the same for the same still and division, and differ between any two others."""
    prefix = _prefix(described)
    width, height = described.size
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img" aria-labelledby="{prefix}-t">',
        f'<title id="{prefix}-t">{escape(described.title)}</title>',
    ]
    if any(item.look.hatch for item in described.items):
        lines.append(_hatch(prefix, described.unit))
    lines += [line for item in described.items for line in _item(item, prefix, described.line_unit, widths)]
    plates = [(plate, item) for item in described.items for plate in item.plates]
    lines += [_leader(plate, item, described.unit) for plate, item in plates if plate.leader is not None]
    lines += [_plate(plate, item, described.unit) for plate, item in plates]
    return "\n".join([*lines, "</svg>\n"])


def _item(item: OverlayItem, prefix: str, line_unit: float, widths: Widths) -> Iterator[str]:
    look = item.look
    path = " ".join("M" + "L".join(f"{_n(x)} {_n(y)}" for x, y in ring) + "Z" for rings in item.polygons for ring in rings)
    draft = ' data-draft="yes"' if item.draft else ""
    yield f'<g data-surface={quoteattr(item.surface)} data-ruling="{item.ruling}"{draft} fill="none" stroke-linejoin="round">'
    yield f"<title>{escape(item.title)}</title>"
    if look.fill is not None:
        yield f'<path d="{path}" fill="{look.fill}" fill-opacity="{look.fill_opacity:g}" fill-rule="evenodd"/>'
    if look.hatch:
        yield f'<path d="{path}" fill="url(#{prefix}-h)" fill-rule="evenodd"/>'
    for stroke in look.strokes:
        yield f'<path d="{path}" {_stroke(stroke, 1.0 if widths == "screen" else line_unit, item.thinned, widths)}/>'
    yield "</g>"


def _stroke(stroke: Stroke, scale: float, thinned: float, widths: Widths) -> str:
    dash = f' stroke-dasharray="{_n(stroke.dash[0] * scale)} {_n(stroke.dash[1] * scale)}"' if stroke.dash else ""
    fixed = ' vector-effect="non-scaling-stroke"' if widths == "screen" else ""
    return f'stroke="{stroke.colour}" stroke-width="{_n(stroke.width * scale * thinned)}"{dash}{fixed}'


def _hatch(prefix: str, unit: float) -> str:
    period, under, width = HATCH.period * unit, HATCH.under_width * unit, HATCH.width * unit
    return (
        f'<defs><pattern id="{prefix}-h" width="{_n(period)}" height="{_n(period)}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><rect width="{_n(under)}" height="{_n(period)}" fill="{HATCH.under_colour}" '
        f'fill-opacity="{HATCH.under_opacity:g}"/><rect x="{_n((under - width) / 2)}" width="{_n(width)}" height="{_n(period)}" '
        f'fill="{HATCH.colour}"/></pattern></defs>'
    )


def _leader(plate: Plate, item: OverlayItem, unit: float) -> str:
    """The line of a plate to its mark; all of them are drawn before any plate, so that none runs over words."""
    assert plate.leader is not None
    (x0, y0), (x1, y1) = plate.leader
    line = f'x1="{_n(x0)}" y1="{_n(y0)}" x2="{_n(x1)}" y2="{_n(y1)}"'
    return (
        f'<g aria-hidden="true" data-plate={quoteattr(item.surface)}><line {line} stroke="{WHITE}" stroke-width="{_n(2 * LEADER * unit)}"/>'
        f'<line {line} stroke="{INK}" stroke-width="{_n(LEADER * unit)}"/></g>'
    )


def _plate(plate: Plate, item: OverlayItem, unit: float) -> str:
    look = item.look
    line_width = PLATE_FRAME * unit
    frame = (
        f'<rect x="{_n(plate.x + line_width / 2)}" y="{_n(plate.y + line_width / 2)}" width="{_n(plate.width - line_width)}" '
        f'height="{_n(plate.height - line_width)}" fill="{look.ground}" stroke="{look.text}" stroke-width="{_n(line_width)}"/>'
    )
    texts = "".join(
        f'<text x="{_n(plate.x + PLATE_PAD * unit)}" y="{_n(baseline(plate, number, unit))}" fill="{look.text}" '
        f'font-family="{fonts.FAMILY}, sans-serif" font-weight="700" font-size="{_n(PLATE_TEXT * unit)}" '
        f'textLength="{_n(text_width(line, PLATE_TEXT * unit))}" lengthAdjust="spacingAndGlyphs">{escape(line)}</text>'
        for number, line in enumerate(plate.lines)
    )
    return f'<g aria-hidden="true" data-plate={quoteattr(item.surface)}>{frame}{texts}</g>'


def baseline(plate: Plate, number: int, unit: float) -> float:
    """Where the text of a plate's line (counted from 0) stands."""
    return plate.y + (PLATE_PAD / 2 + PLATE_LINE * number + PLATE_LINE * 0.77) * unit


def _prefix(described: Overlay) -> str:
    name = f"{described.still} {described.division or ''}".strip()
    plain = re.sub(r"[^A-Za-z0-9]+", "-", name)
    return f"o-{plain}-{hashlib.sha256(name.encode()).hexdigest()[:6]}"


def _n(value: float) -> str:
    """A number of at most two decimals: a hundredth of a pixel is nothing to see."""
    return f"{value:.2f}".rstrip("0").rstrip(".") if value else "0"
