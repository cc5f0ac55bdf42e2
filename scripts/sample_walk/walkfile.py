"""Read a walk file: what is said on a walk, sentence by sentence, and the rules that a careful listener would write down.

In: YAML text. Out: frozen values. The plain keys are those of any walk file; `clips`, `clip`, `look`, `still` and `act` direct the camera
of the demo walk and may be left out. Nothing here speaks or draws.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import yaml

Shape = Literal["landscape", "portrait"]

SENTENCE_PAUSE_S = 0.3
SECTION_PAUSE_S = 1.4

SECTION_KINDS = ("opening", "blanket", "station", "link", "closing")


class WalkFileError(ValueError):
    """The walk file can't be used; the message says where and what to change."""


@dataclass(frozen=True)
class Sentence:
    """One spoken sentence, and what the camera and the demonstrator do while it is said and in the pause after it."""

    text: str
    pause_s: float
    look: str | None = None
    still: int | None = None
    act: str | None = None


@dataclass(frozen=True)
class Section:
    """A run of sentences about one thing; `station` is the number of the station it speaks about, None elsewhere."""

    kind: str
    clip: int
    station: int | None
    say: tuple[Sentence, ...]
    gold: dict[str, Any] | None


@dataclass(frozen=True)
class ClipPlan:
    """The file that a part of the walk is filmed into."""

    file: str
    shape: Shape


@dataclass(frozen=True)
class Walk:
    """A whole walk file."""

    title: str
    rate: float
    seed: int
    glossary: tuple[str, ...]
    format: dict[str, Any] | None
    blanket: tuple[dict[str, Any], ...]
    gaps: tuple[dict[str, Any], ...]
    settled: tuple[dict[str, Any], ...]
    """What people settle about the gaps afterwards: a surface with the number of its `station`."""
    clips: tuple[ClipPlan, ...]
    sections: tuple[Section, ...]

    def stations(self) -> tuple[Section, ...]:
        """The sections that are stations, in order."""
        return tuple(section for section in self.sections if section.station is not None)


def read_walk(path: Path) -> Walk:
    """Read the walk file at `path`. Raises `WalkFileError` with the place of the first thing that is wrong."""
    try:
        document = yaml.safe_load(path.read_text(encoding="utf-8"))
    except yaml.YAMLError as exc:
        raise WalkFileError(f"{path.name} is not YAML: {exc}. Mend the line it names.") from exc
    return parse_walk(document, path.name)


def parse_walk(document: Any, name: str = "the walk file") -> Walk:
    """The walk in an already loaded YAML `document`; `name` is used in messages."""
    if not isinstance(document, dict) or "title" not in document or not document.get("sections"):
        raise WalkFileError(f"{name} needs a title and sections")
    voice = document.get("voice") or {}
    sections: list[Section] = []
    clip, number = 1, 0
    for index, raw in enumerate(document["sections"], start=1):
        where = f"{name}, section {index}"
        kind = raw.get("kind")
        if kind not in SECTION_KINDS:
            raise WalkFileError(f"{where}: kind is {kind!r}; use one of {', '.join(SECTION_KINDS)}")
        clip = int(raw.get("clip", clip))
        if kind == "station":
            number += 1
        say = _sentences(raw.get("say"), where)
        sections.append(Section(kind, clip, number if kind == "station" else None, say, raw.get("gold")))
    return Walk(
        title=str(document["title"]),
        rate=float(voice.get("rate", 1.0)),
        seed=int(voice.get("seed", 1)),
        glossary=tuple(document.get("glossary") or ()),
        format=document.get("format"),
        blanket=tuple(document.get("blanket") or ()),
        gaps=tuple(document.get("gaps") or ()),
        settled=tuple(document.get("settled") or ()),
        clips=tuple(ClipPlan(c["file"], c["shape"]) for c in document.get("clips") or ()),
        sections=tuple(sections),
    )


def _sentences(raw: Any, where: str) -> tuple[Sentence, ...]:
    if not raw:
        raise WalkFileError(f"{where} says nothing: give it a list of sentences under say")
    found: list[Sentence] = []
    for place, item in enumerate(raw, start=1):
        fields: dict[str, Any] = {"text": item} if isinstance(item, str) else item
        if not isinstance(fields, dict) or not fields.get("text"):
            raise WalkFileError(f"{where}, sentence {place} has no text (a sentence that holds a colon needs quotes)")
        usual = SECTION_PAUSE_S if place == len(raw) else SENTENCE_PAUSE_S
        found.append(
            Sentence(
                text=str(fields["text"]),
                pause_s=float(fields.get("pause", usual)),
                look=fields.get("look"),
                still=fields.get("still"),
                act=fields.get("act"),
            )
        )
    return tuple(found)
