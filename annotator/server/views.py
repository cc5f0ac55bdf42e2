"""What the API shows and takes: the course's own models where they are enough, and around them what a page needs beside them.

Everything here is a plain value; the descriptions in the OpenAPI document, and the types of the staff pages, are made from it.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from annotator.course import Contact, Course, Edit, Finding, Ruling, Station, StationState
from annotator.pipeline import Wording
from annotator.server.jobs import JobKind, JobState
from annotator.server.uploads import UploadKind

LONGEST_TYPED = 20_000
"""Characters of one text field that are read at all; what a field may really have is said by the sentence that refuses it."""


def _whole(value: object) -> object:
    """JSON has one kind of number: 5.0 is the whole number 5."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


Whole = Annotated[int, BeforeValidator(_whole)]


class View(BaseModel):
    """Something shown. All fields are always there."""

    model_config = ConfigDict(frozen=True, json_schema_serialization_defaults_required=True)


class Body(BaseModel):
    """Something taken: strict, and nothing that is not described."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


# Shown


class JobView(View):
    """A piece of work and where it stands. `share` is 0 to 1 over all of it, `seconds_left` null until there is something to go by."""

    id: str
    kind: JobKind
    course: str | None
    state: JobState
    stopping: bool
    stage: str | None
    share: float
    seconds_left: float | None
    sentence: str | None
    edition: int | None


class JobsView(View):
    """The jobs of the last days, the oldest first."""

    jobs: list[JobView]


class PlateView(View):
    """A station in the row of plates."""

    id: str
    number: int
    name: str | None
    standing: StationState
    findings: int
    """How many findings of this station want a look, besides that it is not accepted yet."""


CourseStanding = Literal["taken in", "drafted", "ready", "published"]
"""Ready: nothing blocks publishing. Published: and the newest edition says what the course now says."""


class CourseRow(View):
    """A course in the list of courses. `picture` is the address of a still to know it by."""

    name: str
    title: str
    standing: CourseStanding
    length_s: float
    plates: list[PlateView]
    edition: int | None
    picture: str | None
    job: JobView | None


class CoursesView(View):
    """All courses, by title."""

    courses: list[CourseRow]


class OutputView(View):
    """One thing that came out of an edition: its kind, address and size."""

    kind: str
    address: str
    size_bytes: int | None


class EditionView(View):
    """A published edition. `outputs` is empty while they are being written."""

    number: int
    code: str
    who: str
    at: datetime
    outputs: list[OutputView]


class CourseView(View):
    """A course as it stands, with all that its page shows but its stations' sheets."""

    course: Course
    revision: int
    who: str
    at: datetime
    length_s: float
    plates: list[PlateView]
    findings: list[Finding]
    editions: list[EditionView]
    languages: list[str]
    """In which its outputs are written (BCP 47), the walk's own first where it is one of them."""
    unpublished: bool
    """Whether something differs from the newest edition (true where there is none)."""
    standing: CourseStanding
    job: JobView | None


class StationView(View):
    """A station as it stands."""

    station: Station
    revision: int
    who: str
    at: datetime
    standing: StationState


class StationsView(View):
    """The stations of a course in their order."""

    stations: list[StationView]


class FindingsView(View):
    """Every gap and contradiction of a course as it stands."""

    findings: list[Finding]


class OtherView(View):
    """Somebody else who has the course open, and at which station (by id)."""

    who: str
    station: str | None


class HereView(View):
    """Who else is here, and the revision of every document: by station id, "" for the course itself."""

    others: list[OtherView]
    revisions: dict[str, int]


class CourseRef(View):
    """A course by its name and title."""

    name: str
    title: str


class BinnedView(View):
    """A course in the bin: who put it there when, and until when it can be brought back. `job` is its removal for good, once asked for."""

    name: str
    title: str
    who: str
    at: datetime
    until: datetime
    stations: int
    length_s: float
    job: JobView | None


class BinView(View):
    """What lies in the bin."""

    courses: list[BinnedView]


class UploadView(View):
    """A file on its way in. After it was finished: what it is, and the courses that already hold the same file."""

    id: str
    kind: UploadKind
    name: str
    size: int
    offset: int
    finished: bool
    duration_s: float | None = None
    width: int | None = None
    height: int | None = None
    has_audio: bool | None = None
    cues: int | None = None
    remarks: list[str] = []
    already: list[CourseRef] = []


class TypedRule(View):
    """A rule for every station as it was understood."""

    rule: Literal["unnamed-out", "no-skip", "surface"]
    surface: str | None
    part: str | None
    ruling: Ruling | None
    contact: Contact | None
    divisions: dict[str, Ruling] | None


class TypedRun(View):
    """How a run is counted, as it was understood."""

    retries: int | None
    ranking: str | None


class TypedView(View):
    """What was understood of a typed text. `name`: it only names a thing. `left`: the sentences of which nothing was understood.

    `may_be_name`: nothing was understood, and it may be a thing's name.
    """

    rules: list[TypedRule]
    format: TypedRun | None
    name: bool
    left: list[str]
    may_be_name: bool


# Taken


class BeginUpload(Body):
    """Announces a file: its name, and its size in bytes."""

    kind: UploadKind
    name: Annotated[str, Field(max_length=LONGEST_TYPED)]
    size: Annotated[Whole, Field(ge=0, le=2**53)]


class TakeIn(Body):
    """Takes in a walk from finished uploads: clips in the order of the walk; captions, where given, one a clip."""

    title: Annotated[str, Field(max_length=LONGEST_TYPED)] = ""
    clips: Annotated[list[str], Field(min_length=1, max_length=100)]
    captions: Annotated[list[str], Field(max_length=100)] = []
    names: Annotated[list[Annotated[str, Field(max_length=LONGEST_TYPED)]], Field(max_length=1000)] = []
    again: bool = False
    """Take it in although the same walk is here already."""


class AddClips(Body):
    """Adds finished uploads to a course, behind the clips that it has, and names to its names list; captions, where given, one a clip."""

    clips: Annotated[list[str], Field(min_length=1, max_length=100)]
    captions: Annotated[list[str], Field(max_length=100)] = []
    names: Annotated[list[Annotated[str, Field(max_length=LONGEST_TYPED)]], Field(max_length=1000)] = []


Key = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,79}$")]
"""What a page names itself, or a batch of changes, by; it makes them up."""
Revision = Annotated[Whole, Field(ge=1, le=2**53)]


class Edits(Body):
    """A person's changes, in order, all or none, made while looking at revision `base`.

    A `batch` that comes twice is done once. What the page `client` itself saved since `base` is no other person's change. `seen` has the
    revisions of further stations (by id) that the person was looking at.
    """

    base: Revision
    edits: Annotated[list[Edit], Field(min_length=1, max_length=1000)]
    client: Key | None = None
    batch: Key | None = None
    seen: Annotated[dict[Key, Revision], Field(max_length=1000)] = {}


class Undo(Body):
    """Takes a batch of changes back, as a batch of its own (which may be taken back again)."""

    of: Key
    client: Key | None = None
    batch: Key | None = None


class Here(Body):
    """A page that is open at a course, and at which of its stations (by id)."""

    client: Key
    station: Key | None = None
    gone: bool = False
    """It is being closed, so nobody need wait until it falls silent."""


class PutInBin(Body):
    """Puts a course in the bin, asked by the page `client`; with `anyway` also while work (which is stopped) or others are at it."""

    client: Key | None = None
    anyway: bool = False


class AcceptDrafts(Body):
    """Accepts what is drafted: of one station by its number, or of all stations and the course's own rules."""

    station: Annotated[Whole, Field(ge=1, le=10_000)] | None = None


class TypedText(Body):
    """What a person typed where a rule for every station is added."""

    text: Annotated[str, Field(min_length=1, max_length=LONGEST_TYPED)]


class Publish(Body):
    """Publishes an edition. `address` is where it will be read; it goes into QR codes."""

    address: Annotated[str, Field(max_length=500)] | None = None


class FacesInFilms(Body):
    """Leaves faces in the course's films as they are, and says why; null blurs them again."""

    because: Annotated[str, Field(max_length=500)] | None


class MakeFilms(Body):
    """Makes the films of an edition: one a station and, by choice, the whole walk. `lines` is the picture's shorter side."""

    lines: Annotated[Literal[480, 720], BeforeValidator(_whole)] = 480
    division: Annotated[str, Field(max_length=500)] | None = None
    wording: Wording = "as spoken"
    in_picture: bool = False
    """Captions stand in the picture itself too."""
    whole_walk: bool = True


class Nothing(Body):
    """Takes nothing: an empty JSON object."""


# Asked


class CoursePath(BaseModel):
    """A course by its short name."""

    course: str


class EditionPath(BaseModel):
    """An edition of a course by its number."""

    course: str
    number: Annotated[int, Field(ge=1, le=1_000_000)]


class StationPath(BaseModel):
    """A station by its id."""

    course: str
    station: str


class JobPath(BaseModel):
    """A job by its id."""

    job: str


class UploadPath(BaseModel):
    """An upload by its id."""

    upload: str
