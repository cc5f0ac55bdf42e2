"""Captions, chapters and the station list as text files. Values in, text out; nothing here touches a file.

Grammar of WebVTT: W3C, "WebVTT: The Web Video Text Tracks Format". SubRip has no standard; what pysrt reads is what we write.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from annotator.captions.cue import Cue
from annotator.captions.placing import BELOW_LABELS
from annotator.course import Station
from annotator.units import clock, seconds_to_ms

_AT_TOP = f" line:{BELOW_LABELS:.0%}"


def write_vtt(cues: Iterable[Cue]) -> str:
    """A WebVTT file. A cue that stands at the top has the line setting for it.

    >>> print(write_vtt([Cue(1000, 2500, ("A & B", "B --> C"))]))
    WEBVTT
    <BLANKLINE>
    1
    00:00:01.000 --> 00:00:02.500
    A &amp; B
    B --&gt; C
    <BLANKLINE>
    """
    blocks = ["WEBVTT\n"]
    for number, cue in enumerate(cues, 1):
        text = "\n".join(map(_vtt_text, _lines(cue)))
        blocks.append(f"{number}\n{stamp(cue.start_ms, '.')} --> {stamp(cue.end_ms, '.')}{_AT_TOP if cue.at_top else ''}\n{text}\n")
    return "\n".join(blocks)


def write_srt(cues: Iterable[Cue]) -> str:
    """A SubRip file. It knows no escapes: signs stand as they are.

    >>> print(write_srt([Cue(1000, 2500, ("Feet only.",))]))
    1
    00:00:01,000 --> 00:00:02,500
    Feet only.
    <BLANKLINE>
    """
    blocks = []
    for number, cue in enumerate(cues, 1):
        text = "\n".join(_lines(cue))
        blocks.append(f"{number}\n{stamp(cue.start_ms, ',')} --> {stamp(cue.end_ms, ',')}\n{text}\n")
    return "\n".join(blocks)


def station_title(station: Station) -> str:
    """How a station is called in a list.

    >>> station_title(Station(id="s01", number=1, name="stump hop", start=0, end=1))
    'Station 1: stump hop'
    """
    return f"Station {station.number}: {_one_line(station.name)}" if station.name else f"Station {station.number}"


def chapter_spans(stations: Sequence[Station], duration_s: float | None = None) -> tuple[tuple[int, int, str], ...]:
    """Start, end (milliseconds) and title of one chapter a station, in order of time, none overlapping.

    A chapter lasts until the next station begins, the last one until the walk ends, so that a player always stands in one.
    """
    ordered = sorted(stations, key=lambda station: (station.start, station.number))
    starts = [seconds_to_ms(station.start) for station in ordered]
    end = seconds_to_ms(max([duration_s or 0.0, *(station.end for station in ordered)], default=0.0))
    # Two stations that begin at one moment still need a chapter each: a millisecond apart.
    for at in range(1, len(starts)):
        starts[at] = max(starts[at], starts[at - 1] + 1)
    return tuple(
        (start, max(following, start + 1), station_title(station))
        for station, start, following in zip(ordered, starts, [*starts[1:], end][: len(starts)], strict=True)
    )


def write_chapters(stations: Sequence[Station], duration_s: float | None = None) -> str:
    """Chapters as WebVTT: one a station, plain text only, as the standard asks of chapter titles.

    >>> print(write_chapters([Station(id="s01", number=1, name="stump hop", start=62, end=98.5)], 120))
    WEBVTT
    <BLANKLINE>
    s01
    00:01:02.000 --> 00:02:00.000
    Station 1: stump hop
    <BLANKLINE>
    """
    ids = [station.id for station in sorted(stations, key=lambda station: (station.start, station.number))]
    blocks = ["WEBVTT\n"]
    for name, (start, end, title) in zip(ids, chapter_spans(stations, duration_s), strict=True):
        blocks.append(f"{_one_line(name).replace('-->', '')}\n{stamp(start, '.')} --> {stamp(end, '.')}\n{_vtt_text(title)}\n")
    return "\n".join(blocks)


def station_list(stations: Sequence[Station]) -> str:
    """The stations with the time at which each begins, a line each.

    >>> station_list([Station(id="s01", number=1, name="stump hop", start=62, end=98.5)])
    '1:02 Station 1: stump hop\\n'
    """
    return "".join(f"{clock(station.start)} {station_title(station)}\n" for station in sorted(stations, key=lambda one: one.number))


def stamp(ms: int, sign: str = ".") -> str:
    """A time as WebVTT writes it, or SubRip with its comma.

    >>> stamp(62_500)
    '00:01:02.500'
    """
    whole, thousandths = divmod(max(0, ms), 1000)
    minutes, seconds = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}{sign}{thousandths:03}"


def _lines(cue: Cue) -> list[str]:
    """Lines that hold something: a blank one would end the cue."""
    return [line for line in map(_one_line, cue.lines) if line]


def _one_line(text: str) -> str:
    """Text without line ends, other control characters or blanks at its ends."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _vtt_text(line: str) -> str:
    return line.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
