"""What people do to a drafted course, each as one whole step over the library: decide, accept, mark, sign, and ask.

The changes themselves are pure (course/edits.py); here they meet the library, its revisions and the walk's clips.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from annotator.course import Clip, Course, Edit, Finding, Limb, Mark, Station, Still, apply, faces_to_look_at, read_edit
from annotator.errors import InputError, InvalidEdit, NotFound, UnreadableText
from annotator.library import Library
from annotator.marks import PointRuling, clashes, find_faces, read_marks, ruling_along, ruling_at, tie_marks
from annotator.media import grab, read_picture, write_picture
from annotator.pipeline.draft import read_again
from annotator.pipeline.originals import original
from annotator.pipeline.pictures import faces_in
from annotator.pipeline.readers import told_before_publishing
from annotator.pipeline.saving import Documents, change
from annotator.pipeline.windows import clip_at, free_still_id
from annotator.rules import check

CHOSEN = "chosen by a person"
MOST_PROBLEMS = 10  # more lines than this nobody reads


def findings(library: Library, name: str) -> tuple[Finding, ...]:
    """Every gap and contradiction of a course as it stands now, and what its readers would stumble over."""
    course, stations = documents(library, name, None)
    drawn = [finding for station in stations for finding in (*clashes(course, station), *faces_to_look_at(station))]
    return (*check(course, stations, drawn), *told_before_publishing(library, course, stations))


def decide(library: Library, name: str, edits: Sequence[Edit], *, who: str) -> None:
    """Apply a person's decisions in order, all or none. Where a name heard wrong was settled, the words are read again with it.

    Raises
    ------
    InvalidEdit
        One of them does not fit the course; nothing is saved then.
    """
    sound = with_sound_stills(library, name, edits)
    change(library, name, who, lambda course, stations: apply_all(course, stations, sound, who))
    after_edits(library, name, edits)


def apply_all(course: Course, stations: tuple[Station, ...], edits: Sequence[Edit], who: str) -> Documents:
    """The course and its stations after several edits in order; pure."""
    for edit in edits:
        course, stations = apply(course, stations, edit, who)
    return course, stations


def after_edits(library: Library, name: str, edits: Sequence[Edit]) -> None:
    """What follows from edits that were saved: where a name heard wrong was settled, the words are read again with it."""
    if any(edit.do in ("accept-name", "decline-name") for edit in edits):
        read_again(library, name)


def with_sound_stills(library: Library, name: str, edits: Sequence[Edit]) -> tuple[Edit, ...]:
    """The edits, with the faces that are found in each still that is put, whatever the edit says they are.

    Raises
    ------
    InvalidEdit
        A still's picture is not in the library, or its size, clip or moment is not the picture's.
    """
    clips = library.course(name).doc.clips if any(edit.do == "put-still" for edit in edits) else ()
    sound: list[Edit] = []
    for edit in edits:
        if edit.do == "put-still":
            wrong = _strange(library, edit.still, next((clip for clip in clips if clip.number == edit.still.clip), None))
            if wrong:
                raise InvalidEdit(edit.do, f"the still {edit.still.id!r} {wrong}.")
            edit = edit.model_copy(update={"still": edit.still.model_copy(update={"faces": faces_in(library, edit.still.file)})})
        sound.append(edit)
    return tuple(sound)


def _strange(library: Library, still: Still, clip: Clip | None) -> str | None:
    if clip is None:
        return f"is of clip {still.clip}, which the walk does not have"
    if not clip.start_s <= still.time_s <= clip.start_s + clip.duration_s or still.pts < 0:
        return f"is of {still.time_s:g} s, which is not in clip {clip.number}"
    if not library.files.has(still.file):
        return "names a picture that is not in the library"
    try:
        height, width = read_picture(library.files.path(still.file)).shape[:2]
    except InputError:
        return "names a file that is no picture"
    if (width, height) != (still.width, still.height):
        return f"is said to have {still.width} x {still.height} pixels; its picture has {width} x {height}"
    return None


def accept(library: Library, name: str, *, station: int | None = None, who: str) -> None:
    """Accept what is drafted, of one station (by its number) or of all with the course's own rules, as a person would on the page."""
    if station is not None:
        decide(library, name, [read_edit({"do": "accept", "station": station})], who=who)
        return
    numbers = [at.doc.number for at in library.stations(name)]
    edits = [read_edit({"do": "accept-course"}), *(read_edit({"do": "accept", "station": number}) for number in numbers)]
    decide(library, name, edits, who=who)


def sign(library: Library, name: str, *, station: int | None = None, who: str) -> tuple[int, ...]:
    """Sign one station (by its number), or all that are accepted, as the second person; return the numbers that were signed.

    Raises
    ------
    InvalidEdit
        A station is not accepted, or `who` accepted it; nothing is signed then.
    """
    numbers = tuple(at.doc.number for at in library.stations(name)) if station is None else (station,)
    decide(library, name, [read_edit({"do": "sign", "station": number}) for number in numbers], who=who)
    return numbers


def grab_still(library: Library, course: Course, time_s: float, still_id: str, why: str) -> Still:
    """The frame shown at a walk time as a still, kept in the library without loss."""
    clip = clip_at(course.clips, time_s)
    frame = grab(original(library, clip), max(0.0, time_s - clip.start_s))
    height, width = frame.image.shape[:2]
    return Still(
        id=still_id,
        time_s=clip.start_s + frame.time_s,
        clip=clip.number,
        pts=frame.pts,
        width=width,
        height=height,
        file=library.files.put(write_picture(frame.image, ".png"), ".png"),
        why=why,
        faces=find_faces(frame.image),
    )


def marks_from(library: Library, name: str, path: Path, *, who: str) -> tuple[int, int]:
    """Read stills and marks from a marks file into a course, as drafts; return how many stills and marks there are in it.

    A still of the file is the frame shown at its time. Stills that a machine picked for the same station, and that nobody marked or
    accepted, make way. Marks find their surface by id, or by name and part, among the station's surfaces and the blanket rules.
    Reading the same file again changes nothing.

    Raises
    ------
    UnreadableText, NotFound
        The file, one of its marks, or a name in it does not fit; the message lists each, and nothing is saved then.
    """
    wanted = read_marks(path)

    def with_marks(course: Course, stations: tuple[Station, ...]) -> Documents:
        by_number = {station.number: station for station in stations}
        ids: dict[str, str] = {}
        for entry in wanted.stills:
            if entry.station not in by_number:
                raise NotFound("station", str(entry.station), [str(number) for number in by_number])
            elsewhere = [still for other in by_number.values() if other.number != entry.station for still in other.stills]
            station = by_number[entry.station]
            by_number[entry.station], ids[entry.still] = _with_still(library, course, station, elsewhere, entry.still, entry.time_s)
        strange = sorted({mark.station for mark in wanted.marks} - set(by_number))
        if strange:
            raise NotFound("station", str(strange[0]), [str(number) for number in by_number])
        problems: list[str] = []
        for number, station in by_number.items():
            tied = tie_marks(wanted.marks, course, station, stills=ids, first=free_mark_number(station))
            problems += tied.problems
            news = tuple(mark for mark in tied.marks if not any(_same_outline(mark, other) for other in station.marks))
            drafts = tuple(mark.model_copy(update={"state": "draft"}) for mark in news)
            signed = None if drafts else station.signed_by
            by_number[number] = station.model_copy(update={"marks": (*station.marks, *drafts), "signed_by": signed})
        if problems:
            raise UnreadableText(path, _listed(problems))
        return course, tuple(by_number[station.number] for station in stations)

    change(library, name, who, with_marks)
    return len(wanted.stills), len(wanted.marks)


def _listed(problems: Sequence[str]) -> str:
    """Problems with marks as lines, one for each thing that is wrong, however many marks have it."""
    first: dict[str, str] = {}
    for problem in problems:
        first.setdefault(problem.partition(" (")[2] or problem, problem)
    lines = list(first.values())
    more = f"\n  and {len(lines) - MOST_PROBLEMS} more" if len(lines) > MOST_PROBLEMS else ""
    return f"{len(problems)} marks do not fit the course." + "".join(f"\n  {line}" for line in lines[:MOST_PROBLEMS]) + more


def free_mark_number(station: Station) -> int:
    """One more than the highest number of a mark's id."""
    return 1 + max((int(mark.id[1:]) for mark in station.marks if mark.id[:1] == "m" and mark.id[1:].isdecimal()), default=0)


def _same_outline(one: Mark, other: Mark) -> bool:
    return all(getattr(one, field) == getattr(other, field) for field in ("still", "surface", "rings", "line", "width"))


def _with_still(
    library: Library, course: Course, station: Station, elsewhere: Sequence[Still], wanted: str, time_s: float
) -> tuple[Station, str]:
    """The station with the frame shown at that time as a still, and the still's id there."""
    still = grab_still(library, course, time_s, wanted, CHOSEN)
    there = next((each for each in station.stills if (each.clip, each.pts) == (still.clip, still.pts)), None)
    marked = {mark.still for mark in station.marks}
    if there is not None:
        if there.id in marked or there.state == "accepted" or there.why == CHOSEN:
            return station, there.id
        chosen = there.model_copy(update={"why": CHOSEN})  # so that the next still of the file does not make it go
        return station.model_copy(update={"stills": tuple(chosen if each is there else each for each in station.stills)}), there.id
    kept = tuple(each for each in station.stills if each.id in marked or each.state == "accepted" or each.why == CHOSEN)
    taken = {each.id for each in (*kept, *elsewhere)}
    free = wanted if wanted not in taken else free_still_id(station, taken)
    return station.model_copy(update={"stills": (*kept, still.model_copy(update={"id": free}))}), free


def ask(
    library: Library,
    name: str,
    station: int,
    still: str,
    *points: tuple[float, float],
    limb: Limb | None = None,
    division: str | None = None,
    edition: int | None = None,
) -> PointRuling:
    """The ruling of a still, with its evidence: of an edition, or of the course as it stands now (drafts included).

    One point asks about it, two about the line between them, three and more about the region that they enclose (a whole foot print).

    Raises
    ------
    NotFound
        No such station, still, division or edition.
    InputError
        Nothing is marked on the still yet, no point was given, or one lies outside it.
    """
    course, stations = documents(library, name, edition)
    here = next((each for each in stations if each.number == station), None)
    if here is None:
        raise NotFound("station", str(station), [str(each.number) for each in stations])
    picture = next((each for each in here.stills if each.id == still), None)
    if picture is None:
        raise NotFound("still", still, [each.id for each in here.stills])
    if division is not None and division not in course.divisions:
        raise NotFound("division", division, course.divisions)
    for x, y in points:
        if not (0 <= x <= picture.width and 0 <= y <= picture.height):
            raise InputError(f"The point {x:g},{y:g} lies outside the still, which is {picture.width} x {picture.height} pixels.")
    if not points:
        raise InputError("No point was given. Ask at one, along two, or about the region of three and more.")
    if not any(mark.still == still for mark in here.marks):
        raise InputError(f"Nothing is marked on the still {still} yet, so it cannot say what is in play there.")
    drafts = edition is None
    if len(points) == 1:
        return ruling_at(course, here, still, points[0], limb=limb, division=division, drafts=drafts)
    return ruling_along(course, here, still, points, region=len(points) > 2, limb=limb, division=division, drafts=drafts)


def documents(library: Library, name: str, edition: int | None) -> tuple[Course, tuple[Station, ...]]:
    """The course and its stations as they stand, or as an edition pinned them."""
    if edition is None:
        course, stations = library.whole(name)
        return course.doc, tuple(at.doc for at in stations)
    frozen = library.edition(name, edition)
    return frozen.course.doc, tuple(at.doc for at in frozen.stations)


def ruling_as_json(answer: PointRuling) -> dict[str, Any]:
    """The answer to a point as the API and `annotator ask --json` give it."""
    item = answer.surface
    return {
        "ruling": answer.ruling,
        "because": answer.because,
        "surface": None if item is None else {"id": item.id, "name": item.name, "part": item.part},
        "said": [said.model_dump() for said in answer.said],
        "distance_px": answer.distance_px,
    }
