"""Short films, one a station, with its captions and zones.

Zones are carried by machine from the stills to the frames, and only where that is certain; everywhere else the picture stays bare. Each
film says so. Faces are blurred unless a person chose otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from annotator.captions.burnt import Sheet
from annotator.captions.cue import Cue
from annotator.captions.cues import plan_cues
from annotator.captions.face_looks import FacesAt, faces_over
from annotator.captions.film import SHORT_SIDE_PX, Stretch, draw_film, film_size
from annotator.captions.overlaid import Carry, Picture, Post, ZoneTrack, certain_carry, marks_of
from annotator.captions.placing import placed, stands_at_top
from annotator.captions.setting import Setting, Wording
from annotator.captions.write import station_title
from annotator.captions.written_over import written_over
from annotator.course import Clip, Course, Mark, Station, Still, Word
from annotator.errors import InputError
from annotator.media import TimedLine, probe, read_frames
from annotator.units import Progress, clock

LEAD_S = 0.4  # shown before a station's first word and after its last
REACH_S = 12.0  # how far from a still its zones are carried at most
STEP_S = 3.0  # looked at at a time, outwards from the still, while the match is certain
POST_EVERY_S = 0.2  # a handheld camera moves evenly enough between two such moments
BATCH = 16  # frames in memory at once
CARRYING = 0.5  # of the work, as progress tells it

DRAFT_LABEL = "Draft, not an edition"
CARRIED_LABEL = "Placed by machine, some may be missing: the card decides"


def write_clip(
    course: Course,
    station: Station,
    source: Path,
    clip_start_s: float,
    out: Path,
    *,
    words: Sequence[Word] = (),
    stills: Mapping[str, Picture] | None = None,
    drafts: bool = False,
    show_faces: bool = False,
    faces: FacesAt | None = None,
    short_side: int = SHORT_SIDE_PX,
    carry: Carry = certain_carry,
    posts: Sequence[Post] | None = None,
    wording: Wording = "as spoken",
    in_picture: bool = False,
    spans: Sequence[tuple[float, float]] | None = None,
    progress: Progress | None = None,
) -> None:
    """The film of one station, from its clip of the walk.

    Parameters
    ----------
    source, clip_start_s
        The clip in which the station begins, and where that clip begins on the walk's time line, in seconds.
    words
        The walk's words (walk time); those of the station become captions that can be turned on.
    stills
        The full-size pictures of the stills whose marks are to be shown, by their ids.
    drafts
        Show drafted marks too, and label the film as a draft.
    show_faces
        Leave faces as they are: a person's recorded choice.
    faces
        Where they are in the clip, where that is kept; they are looked for here otherwise.
    short_side
        480 or 720 pixels.
    carry
        How marks get from a still to a frame.
    posts
        What `carry_beside_stills` gave for this station and clip, where that is kept; it is done here otherwise.
    wording
        Of the captions.
    in_picture
        The captions stand in the picture itself too; those that can be turned on are there either way.
    spans
        As in `plan_cues`.

    Raises
    ------
    InputError
        The station does not lie in this clip.
    UnreadableVideo
        The clip cannot be read.
    """
    info = probe(source)
    stretch = stretch_of(station, source, clip_start_s, info.duration_s)
    size = (info.width, info.height)
    first, last = halves(progress)
    if posts is None:
        posts = carry_beside_stills(station, stretch, clip_start_s, size, stills or {}, drafts=drafts, carry=carry, progress=first)
    else:
        last = progress
    looking, last = halves(last) if faces is None and not show_faces else (None, last)
    hidden = None if show_faces else (faces or faces_over(source, stretch.start_s, stretch.end_s, progress=looking)).at
    draft = (DRAFT_LABEL,) if drafts else ()
    drawn = film_size(info, short_side)
    lines = (station_title(station), *draft, CARRIED_LABEL)
    free = written_over(drawn, drawn, size, lines, at_top=stands_at_top(station))
    track = ZoneTrack(course, station, posts, size, drafts=drafts, kept_free=free)
    film_start_s, length_s = clip_start_s + stretch.start_s, stretch.end_s - stretch.start_s
    cues = _cues(station, words, film_start_s, length_s, Setting(wording, portrait=info.height > info.width), spans)
    draw_film(
        stretch,
        out,
        zones=track.at,
        labels=lambda shown: (station_title(station), *draft, *((CARRIED_LABEL,) if shown else ())),
        captions=[TimedLine(cue.start_s, cue.end_s, "\n".join(cue.lines)) for cue in cues],
        short_side=short_side,
        faces=hidden,
        canvas=Sheet(drawn, drawn, cues) if in_picture else None,
        progress=last,
    )


def stretch_of(station: Station, source: Path, clip_start_s: float, clip_length_s: float) -> Stretch:
    """The part of a clip that is a station's, with a little before and after; `InputError` where it does not lie in the clip."""
    start_s = max(0.0, station.start - clip_start_s - LEAD_S)
    end_s = min(clip_length_s, station.end - clip_start_s + LEAD_S)
    if end_s - start_s < 0.1:
        raise InputError(
            f"{station_title(station)} ({clock(station.start)} to {clock(station.end)}) does not lie in the clip {source.name!r}, which "
            f"begins at {clock(clip_start_s)} and lasts {clip_length_s:.0f} s. Check the station's times."
        )
    return Stretch(source, start_s, end_s)


def station_span(station: Station, clip: Clip) -> tuple[float, float]:
    """From when until when on the walk's time line a station's film is, if it lies in this clip."""
    start_s, end_s = max(0.0, station.start - clip.start_s - LEAD_S), min(clip.duration_s, station.end - clip.start_s + LEAD_S)
    return clip.start_s + start_s, clip.start_s + max(start_s, end_s)


def carry_beside_stills(
    station: Station,
    stretch: Stretch,
    clip_start_s: float,
    size: tuple[int, int],
    stills: Mapping[str, Picture],
    *,
    drafts: bool = False,
    carry: Carry = certain_carry,
    progress: Progress | None = None,
) -> list[Post]:
    """Each still's marks on the frames of a clip around its moment, outwards for as long as the match is certain.

    `size` is the clip's; stills of another size are of another clip. The posts can be kept and handed to `write_clip`.
    """
    usable = [still for still in station.stills if still.id in stills and shown_marks(station, still, drafts)]
    moments = sorted((still.time_s - clip_start_s, still.id, still) for still in usable)
    moments = [entry for entry in moments if stretch.start_s <= entry[0] < stretch.end_s and stills[entry[1]].shape[1::-1] == size]
    posts: list[Post] = []
    for at, (moment_s, name, still) in enumerate(moments):
        # Two stills share the time between them.
        from_s = max(stretch.start_s, moment_s - REACH_S, (moments[at - 1][0] + moment_s) / 2 if at else 0.0)
        until_s = min(stretch.end_s, moment_s + REACH_S, (moment_s + moments[at + 1][0]) / 2 if at + 1 < len(moments) else stretch.end_s)
        marks = shown_marks(station, still, drafts)
        own: dict[float, Post] = {}
        for way, limit_s in ((-1, from_s), (1, until_s)):
            edge_s, sure = moment_s, True
            while sure and edge_s * way < limit_s * way:
                further_s = way * min(way * limit_s, way * edge_s + STEP_S)
                piece = _carried_over(marks, stills[name], name, stretch, min(edge_s, further_s), max(edge_s, further_s), carry)
                own |= {post.time_s: post for post in piece}
                edge_s, sure = further_s, all(post.marks for post in piece)
        posts.extend(_run_around(list(own.values()), moment_s))
        if progress:
            progress((at + 1) / len(moments))
    return posts


def _carried_over(
    marks: tuple[Mark, ...], picture: Picture, still: str, stretch: Stretch, from_s: float, until_s: float, carry: Carry
) -> list[Post]:
    """The marks of a still on the frames of a piece of a clip."""
    return [
        Post(max(from_s, time_s), still, there)
        for times, pictures in batches(stretch.path, from_s, until_s, POST_EVERY_S)
        for time_s, there in zip(times, carry(marks, picture, pictures), strict=True)
    ]


def _run_around(posts: Sequence[Post], moment_s: float) -> list[Post]:
    """The posts around a moment up to the first uncertain one on each side."""
    ordered = sorted(posts, key=lambda post: post.time_s)
    earlier = [post for post in ordered if post.time_s <= moment_s]
    later = [post for post in ordered if post.time_s > moment_s]
    kept: list[Post] = []
    for side in (earlier[::-1], later):
        for post in side:
            kept.append(post)
            if not post.marks:
                break
    return sorted(kept, key=lambda post: post.time_s)


def batches(path: Path, start_s: float, end_s: float, step_s: float) -> Iterator[tuple[list[float], list[Picture]]]:
    """Full-size frames at even steps with their times, a few at a time."""
    times: list[float] = []
    pictures: list[Picture] = []
    for frame in read_frames(path, start_s, end_s, step_s=step_s):
        times.append(frame.time_s)
        pictures.append(frame.image)
        if len(times) == BATCH:
            yield times, pictures
            times, pictures = [], []
    if times:
        yield times, pictures


def shown_marks(station: Station, still: Still, drafts: bool) -> tuple[Mark, ...]:
    """The marks of a still that a film may show."""
    return tuple(mark for mark in marks_of(station, still) if drafts or mark.state == "accepted")


def _cues(
    station: Station,
    words: Sequence[Word],
    film_start_s: float,
    length_s: float,
    setting: Setting,
    spans: Sequence[tuple[float, float]] | None,
) -> list[Cue]:
    """The station's words as captions in the time of its film."""
    own = [word for word in words if film_start_s <= word.start < film_start_s + length_s]
    first_ms, length_ms = round(film_start_s * 1000), round(length_s * 1000)
    cues = []
    for cue in placed(plan_cues(own, [station], setting, spans=spans), [station]):
        start_ms, end_ms = max(0, cue.start_ms - first_ms), min(length_ms, cue.end_ms - first_ms)
        if end_ms > start_ms:
            cues.append(replace(cue, start_ms=start_ms, end_ms=end_ms))
    return cues


def halves(progress: Progress | None) -> tuple[Progress | None, Progress | None]:
    """Progress of the carrying and of the drawing, as one rising share."""
    if progress is None:
        return None, None
    tell = progress
    return (lambda share: tell(CARRYING * share)), (lambda share: tell(CARRYING + (1 - CARRYING) * share))
