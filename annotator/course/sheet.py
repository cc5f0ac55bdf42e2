"""The drafted sheet: what `annotator draft` prints and what a drafter returns. Ids, stills and marks come later, in course/document.py."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from annotator.course.base import Contact, Demonstration, Model, Overshoot, Role, Ruling, Said, Seconds, Share
from annotator.course.findings import Finding


class SheetSurface(Model):
    """A thing at a station that an athlete could touch, as drafted from the words."""

    name: str
    part: str | None = None
    role: Role = "route"
    ruling: Ruling = "in"
    contact: Contact | None = None
    overshoot: Overshoot | None = None
    divisions: dict[str, Ruling] | None = None
    optional: bool = False
    said: tuple[Said, ...] = ()
    confidence: Share | None = None


class SheetStation(Model):
    """One station as drafted: `number` is its place in order; what was not said is None."""

    number: Annotated[int, Field(ge=1)]
    name: str | None = None
    start: Seconds
    end: Seconds
    contact: Contact | None = None
    surfaces: tuple[SheetSurface, ...] = ()
    demonstration: Demonstration | None = None
    said: tuple[Said, ...] = ()
    """What says the name, the limbs of the whole station and the demonstration's result."""


class BlanketRule(Model):
    """A rule said once that holds at every station.

    `unnamed-out`: what is not named is out of play. `no-skip`: none of `surface` may be skipped. `surface`: that surface (or its part) is
    in or out of play everywhere. `id` ("b1", "b2", ...) is given when a course is made; marks may be tied to it.
    """

    rule: Literal["unnamed-out", "no-skip", "surface"]
    surface: str | None = None
    part: str | None = None
    ruling: Ruling | None = None
    contact: Contact | None = None
    divisions: dict[str, Ruling] | None = None
    said: tuple[Said, ...] = ()
    confidence: Share | None = None
    id: str | None = None
    state: Literal["draft", "accepted"] = "draft"


class RunFormat(Model):
    """How a run is counted; None where it was not said."""

    retries: Annotated[int, Field(ge=0)] | None = None
    ranking: str | None = None
    said: tuple[Said, ...] = ()


class Sheet(Model):
    """The whole drafted sheet of a walk."""

    stations: tuple[SheetStation, ...] = ()
    blanket: tuple[BlanketRule, ...] = ()
    format: RunFormat | None = None
    findings: tuple[Finding, ...] = ()
