"""What a check reports: a gap or a contradiction, with its evidence, in a sentence that a volunteer understands."""

from __future__ import annotations

from typing import Literal

from annotator.course.base import Model, Said

Severity = Literal["blocks", "warning", "note"]

FindingKind = Literal[
    # said, or not said (the drafter)
    "no-start",
    "no-finish",
    "no-contact",
    "contradiction",
    "not-as-everywhere",
    "no-station",
    "other-language",
    "number-disagrees",
    "finish-is-not-next-start",
    "no-overshoot",
    "name-for-two-things",
    "name-heard-wrong",
    "goes-on",
    "told-again",
    # marks and acceptance (the check on a course)
    "not-accepted",
    "no-still",
    "surface-without-mark",
    "mark-without-surface",
    "mark-outside-still",
    "marks-disagree",
    "not-signed",
    "sign-not-in-font",
    "picture-gone",
    "line-too-long",
    "division-same",
    "faces-not-looked-at",
]


class Finding(Model):
    """One gap or contradiction. `station` is the station's number, None for the course as a whole."""

    kind: FindingKind
    station: int | None
    about: str
    severity: Severity = "warning"
    said: tuple[Said, ...] = ()
    surface: str | None = None
    """The id of the surface that it is about, once ids are given."""
    instead: str | None = None
    """The name that the words give the surface now, where they read another one."""
    other: str | None = None
    """The id of another station that it is about as well."""
    across: bool = False
    """A drafted one that lies between this station and its neighbour or a rule for the whole course; the check finds it anew."""
