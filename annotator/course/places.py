"""The places of a document that a person changes or looks at (a name, one surface, one mark, the order), and what differs by them.

Two people who change different places are in nobody's way; two who change one place have to choose. Taking a change back is the same
comparison the other way round. Pure. What changes a place is course/edits.py; whether a save is let through is annotator/server.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from annotator.course import edit_kinds as kinds
from annotator.course.document import Course, Dismissal, Station
from annotator.course.edit_kinds import Edit
from annotator.course.find import key
from annotator.errors import InvalidEdit

Doc = TypeVar("Doc", Course, Station)
_STANDING = {"state": "draft", "confidence": None}  # that somebody accepted a line does not change what it says
_ITEMS = {"surfaces": "surface", "stills": "still", "marks": "mark", "blanket": "rule"}
_HELD = frozenset({"name", "id", "number", "clips", "last_station", "last_surface"})  # no edit changes these, or the order does
_NOTES = frozenset({"settled", "dismissed", "by_hand", "said", "drafted", "divisions", "names", "heard", "translated"})


def contents(doc: Course | Station) -> dict[str, Any]:
    """What stands at each place of a document: "name", "limbs", "surface u3", "mark m1", "aside no-finish", "order".

    States, evidence and confidence are not told: a line that somebody accepts says the same as before. What a course has from its clips
    is not told either, since people do not change it.
    """
    told: dict[str, Any]
    if isinstance(doc, Station):
        told = {"name": doc.name, "limbs": doc.contact, "demonstration": doc.demonstration, "span": (doc.start, doc.end)}
        told["signature"] = doc.signed_by
        told |= {f"surface {one.id}": one.model_copy(update={**_STANDING, "said": ()}) for one in doc.surfaces}
        told |= {f"still {one.id}": one.model_copy(update={"state": "draft"}) for one in doc.stills}
        told |= {f"mark {one.id}": one.model_copy(update=_STANDING) for one in doc.marks}
    else:
        told = {"title": doc.title, "run": doc.format and doc.format.model_copy(update={"said": ()}), "order": doc.order}
        told |= {f"rule {one.id}": one.model_copy(update={**_STANDING, "said": ()}) for one in doc.blanket}
        told |= {f"name {key(one.said)} in {one.language}": one.translation for one in doc.translated}
        told |= {f"heard {one.heard} / {one.name}": one.state for one in doc.heard}
    return told | {_aside(one): one for one in doc.dismissed}


def _aside(one: Dismissal) -> str:
    return f"aside {one.kind}" + (f" {one.surface}" if one.surface else "")


def differing(before: Course | Station, after: Course | Station) -> frozenset[str]:
    """The places at which two states of one document differ.

    >>> one = Station(id="t1", number=1, start=0, end=9)
    >>> sorted(differing(one, one.model_copy(update={"name": "log hop", "number": 2, "state": "accepted"})))
    ['name']
    """
    old, new = contents(before), contents(after)
    return frozenset(place for place in old.keys() | new.keys() if (place in old) != (place in new) or old.get(place) != new.get(place))


def agreed(edit: Edit, doc: Course | Station) -> frozenset[str]:
    """The places that a person vouches for, or takes away, by an edit: nobody may have changed them unseen, though it changes no word."""
    match edit:
        case kinds.AcceptItem():
            return frozenset(place for place in contents(doc) if place.partition(" ")[2] == edit.id)
        case kinds.AcceptCourse():
            return frozenset(place for place in contents(doc) if place == "run" or place.startswith("rule "))
        case kinds.Accept() | kinds.Sign() | kinds.RemoveStation() | kinds.SplitStation() | kinds.MergeStations() | kinds.RetellStation():
            return frozenset(contents(doc)) if isinstance(doc, Station) else frozenset({"order"})
        case kinds.AddStation():
            return frozenset({"order"}) if isinstance(doc, Course) else frozenset()
        case kinds.SetFaces() | kinds.ShowFaces() | kinds.BlurFaces():
            return frozenset({f"still {edit.still}"})
    return frozenset()


def stations_of(edit: Edit) -> tuple[int, ...]:
    """The numbers of the stations that an edit names."""
    number = getattr(edit, "station", None)
    if number is None:
        return ()
    if isinstance(edit, kinds.MergeStations | kinds.RetellStation):
        return (number, number + 1 if edit.other is None else edit.other)
    return (number,)


def taken_back(before: Doc, after: Doc, now: Doc) -> Doc:
    """The document as it stands now without the change that led from `before` to `after`; what else changed since stays.

    Raises
    ------
    InvalidEdit
        Something that the change touched was changed again since.
    """
    update: dict[str, Any] = {}
    for field in type(before).model_fields:
        was, became, stands = (getattr(doc, field) for doc in (before, after, now))
        if was == became or (field in _HELD and not (field == "name" and isinstance(before, Station))):
            continue
        if field in _ITEMS:
            update[field] = _items_back(was, became, stands, _ITEMS[field])
        elif field in _NOTES and isinstance(stands, tuple):
            update[field] = _notes_back(was, became, stands)
        elif stands == became:
            update[field] = was
        elif field not in ("accepted_by", "signed_by", "state"):
            raise InvalidEdit("undo", f"somebody changed the {_PLAIN.get(field, field)} again since; look at it and change it by hand.")
    changed = now.model_copy(update=update)
    if isinstance(changed, Station) and isinstance(before, Station):
        alike = changed.model_copy(update={"signed_by": None}) == before.model_copy(update={"signed_by": None, "number": changed.number})
        return changed.model_copy(update={"signed_by": before.signed_by if alike else None})
    return changed


_PLAIN = {"contact": "limbs", "start": "span", "end": "span", "format": "run"}


def _items_back(was: Sequence[Any], became: Sequence[Any], stands: Sequence[Any], what: str) -> tuple[Any, ...]:
    old, new, here = ({one.id: one for one in items} for items in (was, became, stands))
    back = dict(here)
    for name in old.keys() | new.keys():
        if old.get(name) == new.get(name):
            continue
        if here.get(name) != new.get(name):
            raise InvalidEdit("undo", f"somebody changed the {what} {name} again since; look at it and change it by hand.")
        if name in old:
            back[name] = old[name]
        else:
            del back[name]
    places = {name: place for place, name in enumerate(old)}
    if set(back) == set(old):
        return tuple(back[name] for name in old)
    out = [back[name] for name in back if name in here]
    for name in (one for one in old if one in back and one not in here):  # what comes back stands where it stood
        at = next((k for k, one in enumerate(out) if places.get(one.id, -1) > places[name]), len(out))
        out.insert(at, back[name])
    return tuple(out)


def _notes_back(was: Iterable[Any], became: Sequence[Any], stands: Sequence[Any]) -> tuple[Any, ...]:
    was = tuple(was)
    kept = [one for one in stands if one in was or one not in became]
    return tuple(kept) + tuple(one for one in was if one not in became and one not in kept)
