"""Every word of structure that a reader sees, in one place, so that a translator has one list to work through.

In: a key and the values that go into it. Out: a sentence. Names of surfaces, stations and divisions stay as said and come in as values.
Which rule is told where is pages.py; nothing here knows a course.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

Forms = str | Mapping[str, str]
"""A message, or its forms by the plural categories of Unicode CLDR ("one", "other")."""

ENGLISH: dict[str, Forms] = {
    # the course
    "edition": "Edition {number} · code {code} · {date}",
    "draft": "Draft, not an edition",
    "course": "Course",
    "stations": "Stations",
    "station": "Station {number}",
    "station-named": "Station {number}: {name}",
    "no-name": "Name not said",
    "format": "How a run counts",
    "retries": {
        "zero": "No second try: the first fail ends your run.",
        "one": "You have {count} retry in your run.",
        "other": "You have {count} retries in your run.",
    },
    "retries-gap": "Retries: not said.",
    "ranking": "Ranking: {ranking}.",
    "ranking-gap": "Ranking: not said.",
    "station-count": {"one": "{count} station.", "other": "{count} stations, in order."},
    "everywhere": "At every station",
    "everywhere-note": "What is not named is out of play.",
    "division-list": "Divisions",
    "division-differs": "{division}: see {stations}.",
    "division-same": "{division}: no difference.",
    "default-rule": "What is not named is out of play.",
    "caution": (
        "These are contact rules, not a safety inspection. Follow the venue's staff, the equipment makers' instructions, "
        "qualified inspection and local codes."
    ),
    # a station
    "start": "Start",
    "in": "In play",
    "out": "Out of play",
    "finish": "Finish",
    "in-plate": "IN",
    "out-plate": "OUT",
    "out-note": "and everything not named here",
    "start-gap": "Start: not said.",
    "in-gap": "Nothing named.",
    "finish-gap": "Finish: not said.",
    "limbs:hands": "Hands only",
    "limbs:feet": "Feet only",
    "limbs:hands feet": "Hands and feet",
    "limbs-gap": "Hands or feet: not said",
    "touch:hands": "hands only",
    "touch:feet": "feet only",
    "touch:hands feet": "hands and feet",
    "thing": "{name}",
    "thing-part": "{name}, {part}",
    "thing-touch": "{thing} ({touch})",
    "thing-optional": "{thing}, your choice",
    "overshoot:allowed": "You may land past it.",
    "overshoot:not allowed": "Do not land past it.",
    "overshoot:gap": "Landing past it: not said.",
    "overshoot-of": "{thing}: {overshoot}",
    "no-skip": "Do not skip: {surface}.",
    "everywhere:in": "In play: {thing}",
    "everywhere:out": "Out of play: {thing}",
    "divisions": "Other divisions",
    "division:in": "In play for {division}: {thing}",
    "division:out": "Out of play for {division}: {thing}",
    "shown": "Shown in the walk",
    "shown:clear": "The run shown is clear.",
    "shown:fail": "The run shown is a fail.",
    "heard": "Said in the walk",
    "said-at": "said at {clock}",
    "hear": "Hear it",
    "next": "Next: {station}",
    "previous": "Back: {station}",
    "last": "This is the last station.",
    "way": "To the course",
    "turn": "Other stations",
    "not-accepted": "not yet agreed",
    # stills
    "alt": "{station}, as filmed at {clock}. {marked}",
    "alt-bare": "No marks yet.",
    "alt-in": "In play: {things}.",
    "alt-out": "Out of play: {things}.",
    "alt-where": "{thing}, {where}",
    "where:0,0": "top left",
    "where:1,0": "top middle",
    "where:2,0": "top right",
    "where:0,1": "left",
    "where:1,1": "middle",
    "where:2,1": "right",
    "where:0,2": "bottom left",
    "where:1,2": "bottom middle",
    "where:2,2": "bottom right",
    "no-still": "No picture yet.",
    "marks-switch": "Marks",
    "division-switch": "Division",
    "main-division": "Everyone else",
    "tap": "Tap the picture: in play or out?",
    "answer:in": "In play: {thing}.",
    "answer:out": "Out of play: {thing}.",
    "answer:unnamed": "Out of play: nothing is named here.",
    "answer:close": "Too close to call. Ask the judge with the whole picture.",
    # the walk's film
    "walk-of": "{title}: the walk",
    "walk-film": "The walk",
    "before-stations": "Before the first station",
    "rules-now": "Rules of the station being played",
    "captions": "Captions",
    "captions-off": "None",
    "wording:as spoken": "As spoken",
    "wording:clean": "Clean",
    "wording:children": "For children, slower to read",
    "speed": "Speed",
    "speed-of": "{times} ×",
    "no-words": "No words were heard in this walk, so it has no captions.",
    "station-film": "Station {number} alone, as a short film",
    "keys": "Keys",
    "keys-where": "They work while the film has the focus. Tab goes on from it to everything else.",
    "key:space": "Space",
    "key-does:space": "play, and stop for a moment",
    "key:arrows": "Arrow left, arrow right",
    "key-does:arrows": "a little back, a little on",
    "key:n": "N",
    "key-does:n": "next station",
    "key:b": "B",
    "key-does:b": "back to the beginning of the station, then to the one before",
    "key:c": "C",
    "key-does:c": "captions on and off",
    "key:speed": "S, F",
    "key-does:speed": "slower, faster",
    # cards, print, change slip
    "scan": "Scan for the station's page",
    "contents": "Contents",
    "judge-card": "Judge card",
    "epub-summary": "Every rule is in words; each picture has a text that tells what is marked, where, and how it is ruled.",
    "slip": "What changed",
    "slip-from": "From {old} to {new}",
    "slip-came": "New",
    "slip-went": "Gone",
    "slip-changed": "Changed",
    "slip-was": "was: {rule}",
    "slip-none": "No rule changed.",
    "slip-area-in": "now in play",
    "slip-area-out": "no longer in play",
    "slip-area": "{station}: the area in play changed here.",
    "slip-course": "The course",
}


@dataclass(frozen=True)
class Wording:
    """One language's messages.

    >>> Wording().say("station-named", number=3, name="Ring row")
    'Station 3: Ring row'
    >>> Wording().count("retries", 2)
    'You have 2 retries in your run.'
    """

    language: str = "en"
    direction: str = "ltr"
    messages: Mapping[str, Forms] = field(default_factory=lambda: ENGLISH, repr=False)

    def say(self, key: str, **values: object) -> str:
        """The message of that key with its values filled in. A key that is not in the list raises KeyError: that is a bug of ours."""
        form = self.messages[key]
        return (form if isinstance(form, str) else form["other"]).format(**values)

    def count(self, key: str, count: int) -> str:
        """The message in the form that the number asks for. English: one, other; "zero" where a message has its own form for none."""
        form = self.messages[key]
        if isinstance(form, str):
            return form.format(count=count)
        wanted = "zero" if count == 0 and "zero" in form else "one" if count == 1 else "other"
        return form[wanted].format(count=count)


def capital(text: str) -> str:
    """The first letter large, the others as they are.

    >>> capital("blue platform")
    'Blue platform'
    """
    return text[:1].upper() + text[1:]
