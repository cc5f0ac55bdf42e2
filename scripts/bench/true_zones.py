"""How well the zones that follow from marks lie on the zones that follow from the true masks: in play, and expressly out of play.

The zones of the marks are the package's own (`annotator.marks.zones`). Those of the masks are made here from the rule alone, pixel by
pixel: what a part says wins over its whole; in play is what is in less what is out. Counted are the station's own surfaces that the still
shows, whether somebody marked them there or not; rules of every station only where somebody marked their things.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import cv2
import numpy as np

from annotator.course import Course, Ruling, Station
from annotator.marks import zones
from annotator.marks.outlines import Area, polygon_list
from scripts.bench.truths import Mask, WalkStill

SEEN_PX = 150
"""A surface of which a still shows less is not counted there."""


@dataclass(frozen=True)
class ZoneOverlap:
    """Of one still and division (None: the main one): intersection over union of both zones; None where neither side has one."""

    still: str
    division: str | None
    in_play: float | None
    out_of_play: float | None


def zone_overlaps(course: Course, station: Station, truths: dict[str, WalkStill]) -> Iterator[ZoneOverlap]:
    """The overlaps of every still that has marks, for the main rules and for each division that differs at this station."""
    differing = [each for each in course.divisions if any(each in (surface.divisions or {}) for surface in station.surfaces)]
    for still in station.stills:
        if not any(mark.still == still.id for mark in station.marks):
            continue
        truth = truths[still.id]
        for division in (None, *differing):
            made = zones(course, station, still.id, division, drafts=True)
            inside, outside = true_zones(station, truth, division)
            shape = truth.numbers.shape
            yield ZoneOverlap(
                still.id,
                division,
                overlap_of(raster_of(made.in_play, shape), inside),
                overlap_of(raster_of(made.out_of_play, shape), outside),
            )


def true_zones(station: Station, truth: WalkStill, division: str | None) -> tuple[Mask, Mask]:
    """What is in play and what is expressly out of play on a still, from the masks of the station's surfaces."""
    ruled: dict[tuple[str, str | None], tuple[Ruling, Mask]] = {}
    for surface in station.surfaces:
        mask = truth.mask_of(surface.name, surface.part)
        if mask.sum() >= SEEN_PX:
            ruling = (surface.divisions or {}).get(division, surface.ruling) if division else surface.ruling
            ruled[surface.name, surface.part] = ruling, mask
    zone: dict[Ruling, Mask] = {"in": np.zeros(truth.numbers.shape, bool), "out": np.zeros(truth.numbers.shape, bool)}
    for (name, part), (ruling, mask) in ruled.items():
        for (other, its), (ruled_so, its_mask) in ruled.items():
            if part is None and its is not None and other == name and ruled_so != ruling:
                mask = mask & ~its_mask
        zone[ruling] |= mask
    return zone["in"] & ~zone["out"], zone["out"]


def raster_of(found: Area, shape: tuple[int, ...]) -> Mask:
    """The pixels whose middle an area covers."""
    drawn = np.zeros((shape[0], shape[1]), np.uint8)
    for part in polygon_list(found):
        own = np.zeros_like(drawn)
        for at, ring in enumerate((part.exterior, *part.interiors)):
            points = np.rint((np.array(ring.coords) - 0.5) * 16).astype(np.int32)
            cv2.fillPoly(own, [points], 0 if at else 1, shift=4)
        drawn |= own
    return np.asarray(drawn > 0)


def overlap_of(one: Mask, other: Mask) -> float | None:
    """Intersection over union; None where both are empty."""
    both = int((one | other).sum())
    return float((one & other).sum() / both) if both else None
