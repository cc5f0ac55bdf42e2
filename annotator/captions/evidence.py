"""Where in a film each rule is said, as a metadata track: WebVTT cues whose text is JSON, one a rule and a span.

In: stations with their evidence, and where the film lies on the walk's time line. Out: spans in the time of the film.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from annotator.captions.write import stamp
from annotator.course import Ruling, Said, Station, Surface
from annotator.units import seconds_to_ms

LEAST_S = 0.1  # what begins at the very end of a film is not in it


@dataclass(frozen=True)
class Evidence:
    """Words that say a rule, from `start_s` until `end_s` of the film. `surface` is None for what holds for the whole station."""

    station: int
    surface: str | None
    name: str | None
    part: str | None
    ruling: Ruling | None
    start_s: float
    end_s: float
    text: str


def evidence_in(stations: Sequence[Station], film_start_s: float, length_s: float) -> tuple[Evidence, ...]:
    """The evidence of the stations' surfaces, names, limbs and demonstrations that lies in a film, in order of time.

    Parameters
    ----------
    film_start_s, length_s
        Where the film begins on the walk's time line, and how long it is. A span that reaches out of the film is cut to it.
    """
    found = []
    for station in stations:
        said: list[tuple[Surface | None, Said]] = [(None, one) for one in station.said]
        said += [(surface, one) for surface in station.surfaces for one in surface.said]
        for about, one in said:
            start_s, end_s = _within(one, film_start_s, length_s)
            if end_s - start_s < LEAST_S:
                continue
            told = Evidence(station.number, None, None, None, None, start_s, end_s, one.text)
            if about is not None:
                told = replace(told, surface=about.id, name=about.name, part=about.part, ruling=about.ruling)
            found.append(told)
    return tuple(sorted(found, key=lambda each: (each.start_s, each.end_s, each.station, each.surface or "")))


def _within(said: Said, film_start_s: float, length_s: float) -> tuple[float, float]:
    return max(0.0, said.start - film_start_s), min(length_s, said.end - film_start_s)


def write_evidence(evidence: Iterable[Evidence], film: str) -> str:
    """A WebVTT metadata track. Each cue's text has `at`, the address of its span in the film (W3C, "Media Fragments URI 1.0").

    >>> print(write_evidence([Evidence(1, "u1", "blue box", None, "in", 0.9, 2.5, "the blue box")], "station-1.mp4"))
    WEBVTT
    <BLANKLINE>
    1
    00:00:00.900 --> 00:00:02.500
    {"station":1,"surface":"u1","name":"blue box","part":null,"ruling":"in","text":"the blue box","at":"station-1.mp4#t=0.9,2.5"}
    <BLANKLINE>
    """
    blocks = ["WEBVTT\n"]
    for number, each in enumerate(evidence, 1):
        told = {
            "station": each.station,
            "surface": each.surface,
            "name": each.name,
            "part": each.part,
            "ruling": each.ruling,
            "text": each.text,
            "at": f"{film}#t={_seconds(each.start_s)},{_seconds(each.end_s)}",
        }
        # No arrow may stand in a cue's text; JSON has another way to write its last sign.
        payload = json.dumps(told, ensure_ascii=False, separators=(",", ":")).replace("-->", "--\\u003e")
        blocks.append(f"{number}\n{stamp(seconds_to_ms(each.start_s))} --> {stamp(seconds_to_ms(each.end_s))}\n{payload}\n")
    return "\n".join(blocks)


def _seconds(time_s: float) -> str:
    """Seconds to the millisecond, without needless noughts.

    >>> _seconds(12.3400001), _seconds(2.0)
    ('12.34', '2')
    """
    return f"{time_s:.3f}".rstrip("0").rstrip(".")
