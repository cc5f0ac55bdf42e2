"""A mark: an outline (or a line with a width) on a still, tied to one surface.

Coordinates are pixels of the upright full-size still, origin at its top left corner, x right, y down; pixel (0, 0) covers 0..1.
The first ring is the outline, further rings are holes. What follows from marks (zones, rulings, drawing) is annotator/marks.
"""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from annotator.course.base import Model, State

Coordinate = Annotated[float, Field(allow_inf_nan=False, ge=-1e6, le=1e6)]
Point = tuple[Coordinate, Coordinate]
Ring = Annotated[tuple[Point, ...], Field(min_length=3)]


class Mark(Model):
    """One outline on one still for one surface.

    Exactly one of `rings` (outline first, then holes) and `line` (with `width` in pixels) is set. `surface` is the id of a surface of the
    station ("u17") or of a blanket rule ("b3"). `origin` tells how it came to be; `confidence` is set where a machine made it.
    """

    id: str
    still: str
    surface: str
    rings: Annotated[tuple[Ring, ...], Field(min_length=1)] | None = None
    line: Annotated[tuple[Point, ...], Field(min_length=2)] | None = None
    width: Annotated[float, Field(gt=0, le=1e5)] | None = None
    state: State = "draft"
    origin: Literal["drawn", "snapped", "proposed", "carried"] = "drawn"
    confidence: Annotated[float, Field(ge=0, le=1)] | None = None

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if (self.rings is None) == (self.line is None):
            raise ValueError("a mark has either rings or a line, not both and not neither")
        if (self.line is None) != (self.width is None):
            raise ValueError("a line needs a width in pixels, and only a line has one")
        return self
