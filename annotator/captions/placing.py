"""Where captions stand: at the bottom of the picture, or at its top at a station whose marks lie where the captions would be.

In: cues, and stations with their stills and marks. Out: cues that say where they stand. Captions must not lie over other important content
(47 CFR 79.1(j)(2)); here that is what is in play.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shapely.geometry import box

from annotator.captions.cue import Cue
from annotator.course import Station
from annotator.errors import InvalidMark
from annotator.marks import area

BAND = 0.22
"""Share of the picture's height that two lines of captions and their margin take."""
BELOW_LABELS = 0.2
"""At the top the labels of a film stand above the captions, so far down."""


def placed(cues: Sequence[Cue], stations: Sequence[Station]) -> tuple[Cue, ...]:
    """The cues with `at_top` set at stations where more of the marks would be hidden at the bottom than at the top.

    A cue before the first station or after the last one stays at the bottom, and so does everything where nothing is marked.
    """
    tops = [(station.start, station.end) for station in stations if stands_at_top(station)]
    return tuple(replace(cue, at_top=any(start <= cue.start_s < end for start, end in tops)) for cue in cues)


def stands_at_top(station: Station) -> bool:
    """Whether captions of a station hide less of its marks at the top of the picture than at the bottom."""
    hidden_above = hidden_below = 0.0
    stills = {still.id: still for still in station.stills}
    for mark in station.marks:
        still = stills.get(mark.still)
        if still is None:
            continue
        try:
            outline = area(mark)
        except InvalidMark:
            continue
        width, height = still.width, still.height
        above = box(0, BELOW_LABELS * height, width, (BELOW_LABELS + BAND) * height)
        hidden_above += outline.intersection(above).area / (width * height)
        hidden_below += outline.intersection(box(0, (1 - BAND) * height, width, height)).area / (width * height)
    return hidden_below > hidden_above
