"""Evidence quotes the words as they now read: with names that were heard wrong and agreed to, and with what people corrected. Pure.

In: the documents, and the words as they once read and as they read now. What was heard itself stays as it is, in a file of its own.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from typing import Any

from annotator.course import Course, HeardName, Said, Station, Word
from annotator.speech import Correction, corrected

_CLOSE_S = 1e-6


def quoted_as_they_read(
    course: Course, stations: tuple[Station, ...], heard: Sequence[Word], corrections: Sequence[Correction]
) -> tuple[Course, tuple[Station, ...]]:
    """The documents with evidence quoting the words as they read now, whenever and with whatever names it was quoted. Pure.

    Evidence that is no reading of its span (somebody's own words, another hearing of the walk) stays as it is.
    """
    now = corrected(heard, course.heard, corrections)
    words = _Words(now)
    other = [said for said in _evidence(course, stations) if said.text != words.between(said)]
    if not other:
        return course, stations
    accepted = tuple(name.model_copy(update={"state": "accepted"}) for name in course.heard)
    told = [name for name in course.heard if any(said.start <= at <= said.end for said in other for at in name.at)]
    names = [(), accepted, *(_turned(course.heard, name) for name in told)]
    return requoted(course, stations, [heard, *(corrected(heard, each, corrections) for each in names)], now)


def _evidence(course: Course, stations: Sequence[Station]) -> Iterator[Said]:
    surfaces = (surface for station in stations for surface in station.surfaces)
    items: tuple[Any, ...] = (*stations, *surfaces, *course.blanket, *course.drafted, *([] if course.format is None else [course.format]))
    return (said for item in items for said in item.said)


def _turned(names: Sequence[HeardName], one: HeardName) -> tuple[HeardName, ...]:
    """The names with that one settled the other way."""
    other = one.model_copy(update={"state": "declined" if one.state == "accepted" else "accepted"})
    return tuple(other if name is one else name for name in names)


def requoted(
    course: Course, stations: tuple[Station, ...], before: Sequence[Sequence[Word]], after: Sequence[Word]
) -> tuple[Course, tuple[Station, ...]]:
    """The documents with evidence that quoted the words as they once read quoting them as they read now. Pure.

    Only the text changes, and only where it was the very words of its span in one of the readings `before`; what a rule says, who
    accepted it and who signed stay.
    Evidence whose words were all left out keeps them: a rule without words would look as if nobody had said it.
    """
    old, new = [_Words(words) for words in before], _Words(after)

    def quoted(said: tuple[Said, ...]) -> tuple[Said, ...]:
        return tuple(
            one.model_copy(update={"text": new.between(one)})
            if new.between(one) not in ("", one.text) and any(one.text == words.between(one) for words in old)
            else one
            for one in said
        )

    def requote(item: Any) -> Any:
        said = quoted(item.said)
        return item if said == item.said else item.model_copy(update={"said": said})

    changed = []
    for station in stations:
        surfaces = tuple(requote(surface) for surface in station.surfaces)
        now = requote(station)
        changed.append(now if surfaces == station.surfaces else now.model_copy(update={"surfaces": surfaces}))
    update: dict[str, object] = {"blanket": tuple(requote(rule) for rule in course.blanket)}
    update |= {
        "format": None if course.format is None else requote(course.format),
        "drafted": tuple(requote(one) for one in course.drafted),
    }
    return course.model_copy(update=update), tuple(changed)


class _Words:
    """Words that can be asked for a span."""

    def __init__(self, words: Sequence[Word]) -> None:
        self._words, self._starts = words, [word.start for word in words]

    def between(self, span: Said) -> str:
        first = bisect_left(self._starts, span.start - _CLOSE_S)
        last = bisect_right(self._starts, span.end + _CLOSE_S)
        return " ".join(word.text for word in self._words[first:last] if word.end <= span.end + _CLOSE_S)
