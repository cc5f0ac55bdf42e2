"""Small stations for the tests of marks: one still of 400 x 300 and whatever surfaces and marks a test needs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from annotator.course import BlanketRule, Course, Mark, Said, Station, Still, Surface

WIDTH, HEIGHT = 400, 300
SAID_HANDS = Said(start=2.0, end=3.0, text="hands only on these")
SAID_UNNAMED = Said(start=0.5, end=1.5, text="if I don't name it, it's out")


def square(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def surface(id_: str, name: str, ruling: str = "in", **more: Any) -> Surface:
    said = (Said(start=4.0, end=5.0, text=f"the {name} is {ruling}"),)
    return Surface.model_validate({"id": id_, "name": name, "ruling": ruling, "said": said, "state": "accepted", **more})


def mark(id_: str, of: str, *rings: Sequence[tuple[float, float]], state: str = "accepted", **more: Any) -> Mark:
    shape: dict[str, Any] = {"rings": rings} if rings else {}
    return Mark.model_validate({"id": id_, "still": "s1", "surface": of, "state": state, **shape, **more})


def station(surfaces: Sequence[Surface], marks: Sequence[Mark], *, width: int = WIDTH, height: int = HEIGHT, **more: Any) -> Station:
    still = Still(id="s1", time_s=3.0, clip=1, pts=90, width=width, height=height, file="0" * 64, state="accepted")
    return Station.model_validate(
        {"id": "st1", "number": 1, "name": "swing rungs", "start": 0.0, "end": 9.0, "stills": (still,), "surfaces": tuple(surfaces)}
        | {"marks": tuple(marks), "state": "accepted", **more}
    )


def course(*blanket: BlanketRule, divisions: Sequence[str] = ()) -> Course:
    return Course(name="demo", title="Demo", order=("st1",), blanket=blanket, divisions=tuple(divisions))


UNNAMED_OUT = BlanketRule(rule="unnamed-out", said=(SAID_UNNAMED,), id="b1", state="accepted")
