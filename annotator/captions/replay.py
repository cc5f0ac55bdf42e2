"""A judge's own clip of an attempt, from another camera place, with a station's zones laid over it wherever that is certain.

Each moment is matched to the stills themselves; where that fails for a moment, to the moment before. Everywhere else the picture stays bare
and says so. Faces are blurred unless a person chose otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from shapely import affinity
from shapely.geometry import box

from annotator.captions.clips import CARRIED_LABEL, DRAFT_LABEL, batches, halves, shown_marks
from annotator.captions.face_looks import faces_over
from annotator.captions.film import Stretch, draw_film, film_size, label_size, labelled
from annotator.captions.overlaid import Carry, Picture, Post, ZoneTrack, certain_carry
from annotator.captions.write import station_title
from annotator.course import Course, Mark, Station, Still
from annotator.errors import InputError
from annotator.marks import blur, find_faces, paint
from annotator.media import grab, probe, write_picture
from annotator.units import Progress

REPLAY_EVERY_S = 0.4
LEAST_SHOWN_S = 0.4  # a clip that matches for less is not matched
MOST_ALONE = 3  # moments in a row that only the moment before confirms
MOST_STILLS = 4
LEAST_SURE = 0.85
QUALITY = 88
UNMATCHED_LABEL = "No certain match here: zones not shown"


def sure_carry(marks: Sequence[Mark], source: Picture, targets: Sequence[Picture]) -> tuple[tuple[Mark, ...], ...]:
    """Carrying from another camera place: only what is surer than between moments of one walk."""
    return certain_carry(marks, source, targets, least_confidence=LEAST_SURE)


def write_replay(
    course: Course,
    station: Station,
    stills: Mapping[str, Picture],
    clip: Path,
    out: Path,
    *,
    drafts: bool = False,
    show_faces: bool = False,
    short_side: int = 720,
    carry: Carry = sure_carry,
    progress: Progress | None = None,
) -> str:
    """Write the marked clip, and beside it up to `MOST_STILLS` marked stills of it ("NAME-1.jpg" and on).

    Returns
    -------
    str
        What was written, in a sentence or two: over how much of the clip zones are shown, and which stills there are.

    Raises
    ------
    InputError
        The station has no marks to lay over a clip, or no stretch of the clip matches one of its stills: nothing is written then.
    """
    info = probe(clip)
    usable = [still for still in station.stills if still.id in stills and shown_marks(station, still, drafts)]
    if not usable:
        raise InputError(f"{station_title(station)} has no accepted marks on a still, so there are no zones to lay over a clip.")
    stretch = Stretch(clip, 0.0, info.duration_s)
    first, last = halves(progress)
    posts = _posts(station, usable, stills, stretch, drafts, carry, first)
    size, drawn, draft = (info.width, info.height), film_size(info, short_side), (DRAFT_LABEL,) if drafts else ()
    label = box(0, 0, *label_size((*draft, CARRIED_LABEL), drawn))
    free = affinity.scale(label, size[0] / drawn[0], size[1] / drawn[1], origin=(0, 0))
    track = ZoneTrack(course, station, posts, size, drafts=drafts, kept_free=(free,))
    if track.shown_s < LEAST_SHOWN_S:
        raise InputError(
            f"Cannot match {clip.name!r} to the stills of {station_title(station)}: nothing was written. Film from about where the "
            "walk was filmed, with the obstacle as large in the picture, and try again."
        )
    looking, last = halves(last) if not show_faces else (None, last)
    hidden = None if show_faces else faces_over(clip, 0.0, info.duration_s, progress=looking).at
    draw_film(
        stretch,
        out,
        zones=track.at,
        labels=lambda shown: (*draft, CARRIED_LABEL if shown else UNMATCHED_LABEL),
        short_side=short_side,
        faces=hidden,
        progress=last,
    )
    written = _write_stills(clip, out, track, [post.time_s for post in posts if post.marks], (*draft, CARRIED_LABEL), show_faces)
    return (
        f"Zones of {station_title(station)} are shown over {track.shown_s:.1f} of {info.duration_s:.1f} s; "
        f"the rest of the clip matches no still with certainty. Stills: {', '.join(path.name for path in written)}."
    )


def _write_stills(
    clip: Path, out: Path, track: ZoneTrack, times_s: Sequence[float], labels: tuple[str, ...], show_faces: bool
) -> list[Path]:
    """Marked stills at moments that matched, evenly over the clip."""
    step = max(1, len(times_s) // MOST_STILLS)
    written: list[Path] = []
    for time_s in times_s[step // 2 :: step][:MOST_STILLS]:
        over = track.at(time_s)
        if over is None:  # the moments on both sides did not match: too little to be shown
            continue
        picture = grab(clip, time_s).image
        if not show_faces:
            picture = blur(picture, find_faces(picture, turned=True))
        path = out.with_name(f"{out.stem}-{len(written) + 1}.jpg")
        path.write_bytes(write_picture(labelled(paint(picture, over), labels), ".jpg", quality=QUALITY))
        written.append(path)
    return written


def _posts(
    station: Station,
    usable: Sequence[Still],
    stills: Mapping[str, Picture],
    stretch: Stretch,
    drafts: bool,
    carry: Carry,
    progress: Progress | None,
) -> list[Post]:
    """Each moment as the first still shows it that matches, the still of the moments before being asked first."""
    posts: list[Post] = []
    order = list(usable)
    before: tuple[Post, Picture, int] | None = None  # the last moment with marks, and how many since a still confirmed one
    for times, pictures in batches(stretch.path, stretch.start_s, stretch.end_s, REPLAY_EVERY_S):
        found: dict[int, Post] = {}
        for still in tuple(order):
            left = [at for at in range(len(times)) if at not in found]
            tried = carry(shown_marks(station, still, drafts), stills[still.id], [pictures[at] for at in left])
            found |= {at: Post(times[at], still.id, marks) for at, marks in zip(left, tried, strict=True) if marks}
        if found:
            order.sort(key=lambda still: -sum(post.still == still.id for post in found.values()))
        for at, (time_s, picture) in enumerate(zip(times, pictures, strict=True)):
            post, alone = found.get(at), 0
            if post is None and before is not None and before[2] < MOST_ALONE:
                post, alone = Post(time_s, before[0].still, _from_before(before[0].marks, before[1], picture, carry)), before[2] + 1
            post = post or Post(time_s, order[0].id, ())
            before = (post, picture, alone) if post.marks else None
            posts.append(post)
        if progress:
            progress(min(1.0, (times[-1] - stretch.start_s) / max(0.1, stretch.end_s - stretch.start_s)))
    return posts


def _from_before(marks: tuple[Mark, ...], before: Picture, now: Picture, carry: Carry) -> tuple[Mark, ...]:
    """Marks carried from one moment to the next; those that have left the picture are gone."""
    return carry(marks, before, [now])[0]
