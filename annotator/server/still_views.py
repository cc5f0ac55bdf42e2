"""What the API shows and takes about a still: rulings, snug edges, pieces, proposals, carried marks, and what is asked for.

As views.py: plain values, from which the OpenAPI document and the types of the staff pages are made.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from annotator.course import Limb, Mark, Point, Ring, Role, Ruling, Said
from annotator.server.views import Body, View


class SurfaceView(View):
    """The surface (or blanket rule) that decides at a point."""

    id: str
    name: str
    part: str | None
    role: Role | None
    ruling: Ruling
    blanket: bool


class RulingView(View):
    """The answer at a point of a still, with its evidence. `distance_px` is how far the nearest edge is that would change it."""

    ruling: Literal["in play", "out of play", "too close to call"]
    because: str
    surface: SurfaceView | None
    said: list[Said]
    distance_px: float | None


class SnugView(View):
    """A snug outline with holes, or a snug line with its width, to be offered; `offered` is false where what was drawn had better stay.

    `overlap` is intersection over union with what was drawn; `doubt` says why it may be worse.
    """

    offered: bool
    rings: list[Ring] | None
    line: list[Point] | None
    width: float | None
    overlap: float | None
    doubt: str | None


class PieceView(View):
    """One piece of a thing of which there are several: an outline with its holes, or a line with a width."""

    rings: list[Ring] | None
    line: list[Point] | None
    width: float | None


class PiecesView(View):
    """The other pieces that look like one that was marked, from left to right; empty where none does."""

    pieces: list[PieceView]


class ProposalView(View):
    """A region that a surface's words could mean: outline, then holes; `score` is a weight from 0 to 1, no probability."""

    rings: list[Ring]
    score: float
    why: str


class ProposalsView(View):
    """Regions of a still, best first; empty where the words name no colour or the still has none of it."""

    proposals: list[ProposalView]


class AltView(View):
    """The words for those who cannot see a still, by language, as they are made from its marks; what a person wrote is the still's own."""

    made: dict[str, str]


class CarriedView(View):
    """Marks of another still as they would lie on this one, with the ids of the marks that they come from; nothing is put in.

    `withheld` are ids of marks whose place here is not certain, `there` of marks whose surface is marked here already.
    """

    marks: list[Mark]
    withheld: list[str]
    there: list[str]


class Rough(BaseModel):
    """What was drawn roughly, in pixels of the full-size still: an outline with its holes; two points for a box, one for a tap.

    With a width: a line along a thin bar.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False)  # JSON has no pairs, only lists

    points: Annotated[list[Point], Field(min_length=1, max_length=100_000)]
    holes: Annotated[list[Annotated[list[Point], Field(min_length=3, max_length=100_000)]], Field(max_length=100)] = []
    width: Annotated[float, Field(gt=0, le=1e4, allow_inf_nan=False)] | None = None
    words: Annotated[str, Field(max_length=200)] | None = None
    """What it is; of a frame or ring the opening is looked for."""


class Carry(Body):
    """From which still of the station marks are carried to this one; some of them by their ids, or all (null)."""

    still: Annotated[str, Field(max_length=500)]
    marks: Annotated[list[Annotated[str, Field(max_length=500)]], Field(min_length=1, max_length=10_000)] | None = None


class StillPath(BaseModel):
    """A still by its id."""

    course: str
    station: str
    still: str


class PictureQuery(BaseModel):
    """How wide the picture is wanted, in pixels; the next larger size that is kept is given, at most the still's own."""

    width: Annotated[int, Field(ge=1, le=10_000)] = 1280


class OverlayQuery(BaseModel):
    """For which division the zones are drawn."""

    division: str | None = None


class RulingQuery(BaseModel):
    """A point in pixels of the full-size still, from its top left corner; a limb and a division where they matter."""

    x: Annotated[float, Field(allow_inf_nan=False, ge=-1e6, le=1e6)]
    y: Annotated[float, Field(allow_inf_nan=False, ge=-1e6, le=1e6)]
    limb: Limb | None = None
    division: str | None = None


class WordsQuery(BaseModel):
    """The words of a surface, with its colour."""

    words: Annotated[str, Field(min_length=1, max_length=200)]
    part: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    """Which part of it: its top, its sides."""
