"""The course as documents: one `Course`, and one `Station` each, so that two people can edit two stations at once.

Pure values. Where they are kept, with their revisions, is annotator/library; how they change is course/edits.py.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from annotator.course.base import Contact, Demonstration, Ident, Model, Overshoot, Role, Ruling, Said, Seconds, Share, State
from annotator.course.findings import Finding
from annotator.course.marks import Mark
from annotator.course.sheet import BlanketRule, RunFormat

StationState = Literal["drafted", "marked", "accepted", "signed"]
CourseState = Literal["taken in", "drafted", "published"]


class Clip(Model):
    """One video file of a walk. `start_s` is where it begins on the walk's time line; sizes are upright, after rotation."""

    number: Annotated[int, Field(ge=1)]
    title: str
    """The name of the file that was handed in, without its folder."""
    original: str
    """SHA-256 of the original file in the library."""
    start_s: Seconds
    duration_s: Seconds
    width: int
    height: int
    has_audio: bool
    captions: str | None = None
    """SHA-256 of the caption file that came with the clip, taken instead of recognition."""
    proxy: str | None = None
    """SHA-256 of the clip's proxy, the version that any browser plays, once it is made."""


class HeardName(Model):
    """A name that recognition probably got wrong: proposed with its reason, replaced only where a person says so."""

    heard: str
    name: str
    reason: str
    score: Share
    at: tuple[Seconds, ...]
    """Start times of the words heard so."""
    state: Literal["proposed", "accepted", "declined"] = "proposed"


class Surface(Model):
    """A thing at a station that an athlete could touch, and what holds for it there."""

    id: Ident
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
    state: State = "draft"


Pixels = Annotated[float, Field(allow_inf_nan=False)]
Box = tuple[Pixels, Pixels, Pixels, Pixels]
"""x0, y0, x1, y1 in pixels of a still."""


class FacesShown(Model):
    """A person's recorded choice to leave faces as they are, in the films or on one still, with who and why."""

    by: str
    because: Annotated[str, Field(min_length=1, max_length=500)]


Language = Annotated[str, Field(pattern=r"^[a-z]{2,3}(-[A-Za-z0-9]{2,8})*$", max_length=35)]
"""BCP 47, "es" or "pt-BR"."""


class Still(Model):
    """A frame taken from the walk: the last one shown at `time_s` (walk time). The picture is a lossless file of the library."""

    id: Ident
    time_s: Seconds
    clip: int
    pts: int
    width: int
    height: int
    file: str
    """SHA-256 of the lossless picture in the library."""
    why: str = ""
    """Why this frame was picked, in words."""
    faces: tuple[Box, ...] | None = None
    """What is blurred where the still is published; None until faces were looked for."""
    faces_by: str | None = None
    """Who looked at the picture and said that these boxes are its faces; None where only the program did."""
    faces_shown: FacesShown | None = None
    """The still is published without blurring; it is blurred without such a choice."""
    alt: dict[Language, str] = Field(default_factory=dict)
    """Words for those who cannot see it, by language, where a person wrote them; the others are made from its marks."""
    state: State = "draft"

    @model_validator(mode="before")
    @classmethod
    def _without_bare_choice(cls, data: Any) -> Any:
        """Stills once had a choice without who and why; it counts no more."""
        return {field: value for field, value in data.items() if field != "show_faces"} if isinstance(data, dict) else data


class Dismissal(Model):
    """A finding that a person looked at and put aside, with who and why."""

    kind: str
    surface: str | None = None
    by: str
    because: str


class Settled(Model):
    """A proposal of the machine that a person took out or changed into something else; drafting again does not bring it back."""

    what: Literal["station", "surface", "blanket"]
    name: str | None = None
    """The station's or surface's name; for a blanket rule its surface, or its kind where it has none."""
    part: str | None = None
    proposal: str | None = None
    """What was changed, word for word (`find.spelt`); None where the thing was taken out, whatever is said of it."""
    start: Seconds | None = None
    """A station's span, on the walk's time line."""
    end: Seconds | None = None
    of: str | None = None
    """The id of the station that a station went into; what is said in that span belongs to it."""


class TranslatedName(Model):
    """What a surface, a part, a station, a division or a ranking is called in another language, wherever the course says it."""

    said: str
    """The name as it stands in the course; case and spaces aside."""
    language: Language
    translation: str


class Station(Model):
    """One obstacle of the course with its sheet, stills and marks."""

    id: Ident
    number: Annotated[int, Field(ge=1)]
    name: str | None = None
    start: Seconds
    end: Seconds
    contact: Contact | None = None
    surfaces: tuple[Surface, ...] = ()
    demonstration: Demonstration | None = None
    said: tuple[Said, ...] = ()
    stills: tuple[Still, ...] = ()
    marks: tuple[Mark, ...] = ()
    state: State = "draft"
    """Accepted: a person agreed to name, limbs, demonstration and span. Surfaces, marks and stills carry their own state."""
    accepted_by: str | None = None
    signed_by: str | None = None
    dismissed: tuple[Dismissal, ...] = ()
    by_hand: tuple[Literal["name", "contact", "demonstration", "span"], ...] = ()
    """What a person set while the rest was still a draft; drafting again leaves these as they are."""
    settled: tuple[Settled, ...] = ()

    def standing(self) -> StationState:
        """Where the station stands: drafted, marked, accepted or signed. A draft that came after the signature has to be accepted anew."""
        items: tuple[Station | Surface | Mark | Still, ...] = (self, *self.surfaces, *self.marks, *self.stills)
        if all(item.state == "accepted" for item in items):
            return "accepted" if self.signed_by is None else "signed"
        return "marked" if self.marks else "drafted"


class TranslatedCaptions(Model):
    """A caption file of the walk in another language, as somebody translated it."""

    language: Language
    file: str
    """SHA-256 of the file in the library."""


class Course(Model):
    """What is briefed: stations in order, run format, blanket rules, divisions, and the walk they come from."""

    name: str
    """Short name for addresses and commands: a-z, 0-9 and hyphens."""
    title: str
    language: Language = "en"
    """The language that the walk is spoken in, and so that of every name that was said."""
    clips: tuple[Clip, ...] = ()
    names: tuple[str, ...] = ()
    """The names list: what staff typed in before the walk."""
    heard: tuple[HeardName, ...] = ()
    order: tuple[str, ...] = ()
    """The ids of the stations, in order."""
    blanket: tuple[BlanketRule, ...] = ()
    format: RunFormat | None = None
    divisions: tuple[str, ...] = ()
    """Divisions for which a rule differs; the main division has no name here."""
    words: str | None = None
    """SHA-256 of the walk's words as they were heard (JSON list of words on the walk's time line) in the library."""
    corrections: str | None = None
    """SHA-256 of what people wrote in place of words that were heard (JSON list of corrections) in the library."""
    read_with: str | None = None
    """The corrections with which the rules were last read; where they are others than `corrections`, words changed since."""
    translations: tuple[TranslatedCaptions, ...] = ()
    """Captions in other languages, one file a language."""
    translated: tuple[TranslatedName, ...] = ()
    """What names that were said are called in other languages; each once a language."""
    faces_shown: FacesShown | None = None
    """Films show faces as they are; they are blurred without such a choice. Stills have a choice of their own."""
    drafted: tuple[Finding, ...] = ()
    """What the drafter reported about the words as heard."""
    state: CourseState = "taken in"
    dismissed: tuple[Dismissal, ...] = ()
    format_by_hand: bool = False
    """A person set or accepted the format; drafting again leaves it as it is."""
    settled: tuple[Settled, ...] = ()
    last_station: Annotated[int, Field(ge=0)] = 0
    """The highest number given in a station's id ("t8") so far: no id is given twice, since documents of stations stay."""
    last_surface: Annotated[int, Field(ge=0)] = 0
    """The same for the ids of surfaces ("u17")."""
