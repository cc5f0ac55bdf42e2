"""What the tool offers for stills when asked: drafts for surfaces without marks, regions for words, snug outlines for rough ones."""

from __future__ import annotations

import json
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from annotator.course import Course, Mark, Point, Ring, Station, Still
from annotator.errors import NotFound
from annotator.library import Library, stage_key
from annotator.marks import Candidate, Snapped, alike, is_hollow, part_named, part_of, propose, propose_among, rule_items, snap
from annotator.media import read_picture
from annotator.pipeline.changes import free_mark_number
from annotator.pipeline.saving import Documents, change

OFFERS_VERSION = "11"
ALIKE_SHARE = 0.6
"""Of the best score: what a name in the plural means too, each region a mark of its own. Chosen on the demo's stills."""


def propose_marks(library: Library, name: str, *, station: int | None = None, who: str) -> int:
    """Put the likeliest region of each surface that has a colour word and no mark into the course, as a draft; return how many.

    Looked for on the station's stills, drawn snug where the offer has no doubt. A person accepts, mends or deletes each.

    Raises
    ------
    NotFound
        No such course or station.
    """
    course, stations = library.whole(name)
    known = [str(at.doc.number) for at in stations]
    if station is not None and str(station) not in known:
        raise NotFound("station", str(station), known)
    drafted = {at.doc.id: _proposed(library, course.doc, at.doc) for at in stations if station in (None, at.doc.number)}

    def with_drafts(course: Course, stations: tuple[Station, ...]) -> Documents:
        return course, tuple(_with(each, drafted.get(each.id, ())) for each in stations)

    if any(drafted.values()):
        change(library, name, who, with_drafts)
    return sum(len(marks) for marks in drafted.values())


def proposals(library: Library, still: Still, words: str) -> tuple[Candidate, ...]:
    """Regions of a still that a surface's words could mean, best first; nothing is put in."""
    return propose(read_picture(library.files.path(still.file)), words)


def offers(library: Library, still: Still, words: str, part: str | None = None) -> tuple[Candidate, ...]:
    """The regions of `proposals` as they can be offered to be taken as they are: drawn snug where that leaves no doubt.

    Only what scores near the best is drawn snug (`ALIKE_SHARE`). Of a part ("tops") what lies within the thing on that side of the edge
    that runs across it; nothing where none does, or where the part is no top and no side. Worked out once for a picture and its words;
    nothing is put in.
    """
    key = stage_key("offers", OFFERS_VERSION, still.file, words, part or "")
    kept = library.done("offers", key)
    if kept is None:
        picture = read_picture(library.files.path(still.file))
        kept = json.dumps(_offers(picture, words, part)).encode()
        library.mark_done("offers", key, kept)
    return tuple(Candidate(tuple(tuple((x, y) for x, y in ring) for ring in rings), score, why) for rings, score, why in json.loads(kept))


def _offers(picture: NDArray[np.uint8], words: str, part: str | None) -> list[tuple[Sequence[Ring], float, str]]:
    which = None if part is None else part_named(part)
    if part is not None and which is None:
        return []
    found = propose(picture, words)
    entries: list[tuple[Sequence[Ring], float, str]] = []
    for each in found:
        near = each.score >= ALIKE_SHARE * found[0].score
        offer = snap(picture, each.rings[0], holes=each.rings[1:]) if near else None
        rings = each.rings if offer is None or offer.rings is None or offer.doubt else offer.rings
        if which is None:
            entries.append((rings, each.score, each.why))
        elif near:
            piece = part_of(picture, rings[0], which)
            if piece is not None:
                entries.append(([piece], each.score, f"{each.why} {part}"))
    return entries


def snug(
    library: Library,
    still: Still,
    rough: Sequence[Point],
    *,
    holes: Sequence[Sequence[Point]] = (),
    width: float | None = None,
    words: str | None = None,
) -> Snapped | None:
    """A snug outline for a rough one (a box of two points, a tap of one, a line with a width) on a still; nothing is put in.

    Of a thing whose `words` tell that it has an opening (a frame, a ring) the opening is looked for.
    """
    picture = read_picture(library.files.path(still.file))
    return snap(picture, rough, holes=holes, width=width, opening=words is not None and is_hollow(words))


def like_it(
    library: Library, still: Still, piece: Sequence[Point], *, holes: Sequence[Sequence[Point]] = (), width: float | None = None
) -> tuple[Snapped, ...]:
    """The other pieces on a still that look like one that was marked, drawn snug; nothing is put in."""
    return alike(read_picture(library.files.path(still.file)), piece, holes=holes, width=width)


def _proposed(library: Library, course: Course, station: Station) -> tuple[Mark, ...]:
    marked = {mark.surface for mark in station.marks}
    pictures = [read_picture(library.files.path(still.file)) for still in station.stills]
    found: list[Mark] = []
    for item in rule_items(course, station):
        # What a part covers of its thing cannot be told from a colour.
        if item.part is not None or marked & {item.id, *item.replaces}:
            continue
        for at, candidate in propose_among(pictures, item.name, most=1):
            offer = snap(pictures[at], candidate.rings[0], holes=candidate.rings[1:])
            rings = candidate.rings if offer is None or offer.rings is None or offer.doubt else offer.rings
            mark_id = f"m{free_mark_number(station) + len(found)}"
            found.append(
                Mark(id=mark_id, still=station.stills[at].id, surface=item.id, rings=rings, origin="proposed", confidence=_share(candidate))
            )
    return tuple(found)


def _share(candidate: Candidate) -> float:
    return min(1.0, max(0.0, candidate.score))


def _with(station: Station, drafts: tuple[Mark, ...]) -> Station:
    """The station with the drafts for what nobody has marked meanwhile, on stills that are still there."""
    marked = {mark.surface for mark in station.marks}
    stills = {still.id for still in station.stills}
    news = [mark for mark in drafts if mark.surface not in marked and mark.still in stills]
    if not news:
        return station
    first = free_mark_number(station)
    numbered = tuple(mark.model_copy(update={"id": f"m{first + place}"}) for place, mark in enumerate(news))
    return station.model_copy(update={"marks": (*station.marks, *numbered), "signed_by": None})
