"""Two stations of the other invented hall beside the demo's eight, so that a course of ten can be marked by a played person.

The pictures of the other hall (scripts/make_other_hall.py) are filmed as a third clip that shows each still for a second; the stations are
put in as a right draft would have them: their things by the names that are said there, roles and rulings as written here before anything
was marked on them. The first two stations of that hall are taken, not the two that go best.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from annotator import pipeline
from annotator.course import Clip, Course, Station, Still, Surface
from annotator.library import Library
from annotator.media import open_writer, probe
from scripts.bench.truths import WalkStill, walk_stills

SHOWN_S = 1.0
RATE = 15
DRAFTS = {
    1: (
        ("small white box", "start", "in"),
        ("orange blocks", "route", "in"),
        ("big red cube", "route", "in"),
        ("small red cube", "route", "out"),
        ("teal mat", "finish", "in"),
        ("grey pipe", "route", "out"),
    ),
    2: (
        ("purple platform", "start", "in"),
        ("green bars", "route", "in"),
        ("black frame", "route", "out"),
        ("yellow hoops", "route", "in"),
        ("pink mat", "finish", "in"),
    ),
}
"""By station of the other hall: name, role, ruling."""


def add_two_stations(library: Library, name: str, folder: Path) -> dict[str, WalkStill]:
    """Put the other hall's first two stations at the end of a course; their stills with truth, by the ids that they have there.

    `folder` holds what scripts/make_other_hall.py drew; the film is written into it.
    """
    shown = [still for still in walk_stills(folder) if still.station in DRAFTS]
    film = folder / "other-hall.mp4"
    height, width = shown[0].numbers.shape
    with open_writer(film, width, height, end_s=1 / RATE) as writer:
        for place, still in enumerate(shown):
            for frame in range(int(SHOWN_S * RATE)):
                writer.write(still.picture, place * SHOWN_S + frame / RATE)
    course = library.course(name).doc
    last = course.clips[-1]
    facts = probe(film)
    clip = Clip(
        number=last.number + 1,
        title=film.name,
        original=library.files.put(film, film.suffix),
        start_s=last.start_s + last.duration_s,
        duration_s=facts.duration_s,
        width=facts.width,
        height=facts.height,
        has_audio=facts.has_audio,
    )
    longer = course.model_copy(update={"clips": (*course.clips, clip)})
    pipeline.change(library, name, "bench", lambda _, stations: (longer, stations))
    truths, added = {}, []
    for number in DRAFTS:
        place = len(course.order) + number
        stills: list[Still] = []
        for at, still in enumerate(shown):
            if still.station == number:
                own = f"s{place:02}-{len(stills) + 1}"
                stills.append(pipeline.grab_still(library, longer, clip.start_s + (at + 0.5) * SHOWN_S, own, ""))
                truths[own] = replace(still, name=own, station=place)
        start = clip.start_s + next(at for at, still in enumerate(shown) if still.station == number) * SHOWN_S
        added.append(
            Station(
                id=f"t{course.last_station + number}",
                number=place,
                name=f"other hall {number}",
                start=start,
                end=start + len(stills) * SHOWN_S,
                contact=("hands", "feet"),
                surfaces=tuple(
                    Surface.model_validate({"id": f"u{each}", "name": thing, "role": role, "ruling": ruling})
                    for each, (thing, role, ruling) in enumerate(DRAFTS[number], 1)
                ),
                stills=tuple(stills),
            )
        )

    def with_them(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        order = (*course.order, *(each.id for each in added))
        return course.model_copy(update={"order": order, "last_station": course.last_station + len(added)}), (*stations, *added)

    pipeline.change(library, name, "bench", with_them)
    return truths
