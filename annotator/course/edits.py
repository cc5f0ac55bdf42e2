"""Do one edit to a course and its stations: the same change on the staff pages and from a decisions file. Pure.

What a person sets counts as accepted by that person; who accepts last is who answers for the station, and another person signs.
Whatever changes a signed station takes its signature away; a change of a blanket rule takes all signatures away, since such a rule
holds at every station. A mere change of numbers does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from annotator.course import edit_kinds as kinds
from annotator.course.document import Course, Dismissal, Settled, Station, Surface
from annotator.course.edit_kinds import Edit
from annotator.course.faces import change_faces, with_known_faces
from annotator.course.find import blanket_of, label, same_name, spelt, station_at, surface_of, thing
from annotator.course.marks import Mark
from annotator.course.order import Documents, new_surface_id, reorder
from annotator.course.sheet import BlanketRule, RunFormat
from annotator.course.translations import translate, with_alt
from annotator.errors import InvalidEdit

Item = TypeVar("Item", Surface, BlanketRule)
CONFIRMED = "The ruling was set again as it stands."
"""Why a contradiction about a surface is put aside where a person sets the ruling that it has."""


def apply(course: Course, stations: Sequence[Station], edit: Edit, who: str) -> Documents:
    """The course and its stations, in order, after one edit by `who`. What was given stays as it was.

    An edit that says what already holds changes nothing. Raises `InvalidEdit`, with what there is, where the edit names something
    that is not there or that two things fit, and where it cannot be (a span that ends before it starts, the same person signing).
    """
    if not who.strip():
        raise InvalidEdit(edit.do, "nobody is named as the one who does it.")
    before = tuple(stations)
    if isinstance(edit, kinds.OfOrder):
        course, after = reorder(course, before, edit, who)
    elif isinstance(edit, kinds.OfNames):
        course, after = _settle_name(course, edit), before
    elif isinstance(edit, kinds.OfCourse):
        course, after = _change_course(course, edit), before
    elif isinstance(edit, kinds.OfBlanket):
        course, after = _change_blanket(course, before, edit)
    elif isinstance(edit, kinds.AcceptItem) and edit.station is None:
        course, after = _accept_rule(course, edit), before
    elif isinstance(edit, kinds.Dismiss) and edit.station is None:
        course, after = course.model_copy(update={"dismissed": _dismissed(course.dismissed, edit, edit.surface, who)}), before
    elif isinstance(edit, kinds.Sign) and edit.station is None:
        after = tuple(_sign(station, edit, who) for station in before)
    else:
        course, after = _change_station(course, before, edit, who)
    return with_divisions(course, after), after


def _change_station(course: Course, stations: tuple[Station, ...], edit: Any, who: str) -> Documents:
    old = station_at(stations, edit.station, edit.do)
    match edit:
        case kinds.Sign():
            return course, _instead(stations, old, _sign(old, edit, who))
        case kinds.Accept():
            new = _accept(old, who)
        case kinds.AcceptItem():
            new = _accept_item(old, edit)
        case kinds.Dismiss():
            about = surface_of(old, edit.surface, None, edit.do).id if edit.surface else None
            new = old.model_copy(update={"dismissed": _dismissed(old.dismissed, edit, about, who)})
            return course, _instead(stations, old, _touched(old, new, None))
        case kinds.AddSurface():
            course, new = _add_surface(course, stations, old, edit)
        case kinds.ChangeSurface():
            surface = surface_of(old, edit.surface, edit.part, edit.do)
            changed = _changed(surface, edit.set, edit.do)
            _no_twin(old, changed, edit.do)
            settled = _noted(old.settled, surface, changed)
            new = old.model_copy(update={"surfaces": _instead(old.surfaces, surface, changed), "settled": settled})
            if edit.set.model_fields_set == {"ruling"} and edit.set.ruling == surface.ruling and _contradicted(course, old):
                put_aside = kinds.Dismiss(do="dismiss", station=old.number, kind="contradiction", because=CONFIRMED)
                new = new.model_copy(update={"dismissed": _dismissed(old.dismissed, put_aside, surface.id, who)})
        case kinds.RemoveSurface():
            new = _without_surface(old, surface_of(old, edit.surface, edit.part, edit.do))
        case kinds.PutMark() | kinds.RemoveMark() | kinds.PutStill() | kinds.RemoveStill() | kinds.SetAlt():
            new = _change_pictures(course, old, edit)
        case kinds.SetFaces() | kinds.ShowFaces() | kinds.BlurFaces():
            new = change_faces(old, edit, who)
        case _:
            new = _change_head(old, edit)
    return course, _instead(stations, old, _touched(old, new, who))


def _contradicted(course: Course, station: Station) -> bool:
    """Whether something that was said about the station contradicts something else that was said."""
    return any(finding.kind == "contradiction" and finding.station == station.number for finding in course.drafted)


def _touched(old: Station, new: Station, who: str | None) -> Station:
    """The changed station without its signature; accepted by `who` where it was accepted. The old one where nothing changed."""
    if new == old:
        return old
    accepted = {"accepted_by": who} if who is not None and new.state == "accepted" else {}
    return new.model_copy(update={"signed_by": None, **accepted})


# The head of a station: name, limbs, span, demonstration


def _change_head(station: Station, edit: kinds.OfHead) -> Station:
    update: dict[str, object]
    match edit:
        case kinds.RenameStation():
            field, update = "name", {"name": edit.name and " ".join(edit.name.split())}
        case kinds.SetLimbs():
            field, update = "contact", {"contact": edit.limbs}
        case kinds.SetDemonstration():
            field, update = "demonstration", {"demonstration": edit.demonstration}
        case kinds.SetSpan():
            if edit.end < edit.start:
                raise InvalidEdit(edit.do, f"station {station.number} would end ({edit.end:g} s) before it starts ({edit.start:g} s).")
            field, update = "span", {"start": edit.start, "end": edit.end}
    if station.state == "draft":
        update["by_hand"] = tuple(dict.fromkeys((*station.by_hand, field)))
    return station.model_copy(update=update)


# Surfaces, stills and marks


def _add_surface(course: Course, stations: tuple[Station, ...], station: Station, edit: kinds.AddSurface) -> tuple[Course, Station]:
    if edit.surface.name is None:
        raise InvalidEdit(edit.do, "the surface needs a name.")
    if edit.id is None:
        course, name = new_surface_id(course, stations)
    elif any(one.id == edit.id for other in stations for one in other.surfaces) or edit.id[:1] in ("b", "t"):
        raise InvalidEdit(edit.do, f"the id {edit.id!r} is taken; choose another.")
    else:
        name = edit.id
    surface = Surface(id=name, state="accepted", **edit.surface.model_dump())
    _no_twin(station, surface, edit.do)
    return course, station.model_copy(update={"surfaces": (*station.surfaces, surface)})


def _no_twin(station: Station, surface: Surface, edit: str) -> None:
    for other in station.surfaces:
        alike = same_name(other.name, surface.name) and same_name(other.part, surface.part) and other.role == surface.role
        if alike and other.id != surface.id:
            what = thing(surface.name, surface.part)
            raise InvalidEdit(edit, f"station {station.number} has {what!r} as {other.role} already [{other.id}]; change that one.")


def _without_surface(station: Station, surface: Surface) -> Station:
    others = [one for one in station.surfaces if one is not surface and one.role == surface.role]
    told_twice = any(same_name(one.name, surface.name) and same_name(one.part, surface.part) for one in others)
    # Of two lines about one thing only what this one says was taken out; what is news about the thing still comes.
    note = Settled(what="surface", name=surface.name, part=surface.part, proposal=spelt(surface) if told_twice else None)
    return station.model_copy(
        update={
            "surfaces": tuple(one for one in station.surfaces if one is not surface),
            "marks": tuple(mark for mark in station.marks if mark.surface != surface.id),
            "settled": station.settled if note in station.settled else (*station.settled, note),
        }
    )


def _change_pictures(course: Course, station: Station, edit: kinds.OfPicture) -> Station:
    match edit:
        case kinds.PutStill():
            still = with_known_faces(edit.still.model_copy(update={"state": "accepted"}), station.stills)
            return station.model_copy(update={"stills": _put(station.stills, still)})
        case kinds.PutMark():
            return station.model_copy(update={"marks": _put(station.marks, _fitting(course, station, edit))})
        case kinds.RemoveMark():
            _known(edit, station, [mark.id for mark in station.marks])
            return station.model_copy(update={"marks": tuple(mark for mark in station.marks if mark.id != edit.id)})
        case kinds.SetAlt():
            _known(edit, station, [still.id for still in station.stills])
            return with_alt(station, edit)
        case kinds.RemoveStill():
            _known(edit, station, [still.id for still in station.stills])
            return station.model_copy(
                update={
                    "stills": tuple(still for still in station.stills if still.id != edit.id),
                    "marks": tuple(mark for mark in station.marks if mark.still != edit.id),
                }
            )


def _fitting(course: Course, station: Station, edit: kinds.PutMark) -> Mark:
    stills = [still.id for still in station.stills]
    if edit.mark.still not in stills:
        raise InvalidEdit(edit.do, f"station {station.number} has no still {edit.mark.still!r}. There is: {', '.join(stills) or 'none'}.")
    ids = [*(one.id for one in station.surfaces), *(rule.id for rule in course.blanket if rule.id)]
    if edit.mark.surface not in ids:
        raise InvalidEdit(edit.do, f"station {station.number} has no surface {edit.mark.surface!r}. There is: {', '.join(ids) or 'none'}.")
    return edit.mark.model_copy(update={"state": "accepted", "confidence": None})


def _known(edit: kinds.RemoveMark | kinds.RemoveStill | kinds.SetAlt | kinds.AcceptItem, station: Station, ids: Sequence[str]) -> None:
    name = edit.still if isinstance(edit, kinds.SetAlt) else edit.id
    if name not in ids:
        raise InvalidEdit(edit.do, f"station {station.number} has no {name!r}. There is: {', '.join(ids) or 'nothing'}.")


# Accepting, dismissing, signing


def _accept(station: Station, who: str) -> Station:
    if station.standing() in ("accepted", "signed"):
        return station
    items = {
        field: tuple(one.model_copy(update={"state": "accepted"}) for one in getattr(station, field))
        for field in ("surfaces", "stills", "marks")
    }
    return station.model_copy(update={**items, "state": "accepted", "accepted_by": who, "by_hand": ()})


def _accept_item(station: Station, edit: kinds.AcceptItem) -> Station:
    ids = [surface.id for surface in station.surfaces] + [still.id for still in station.stills] + [mark.id for mark in station.marks]
    _known(edit, station, ids)
    return station.model_copy(
        update={
            field: tuple(one.model_copy(update={"state": "accepted"}) if one.id == edit.id else one for one in getattr(station, field))
            for field in ("surfaces", "stills", "marks")
        }
    )


def _accept_rule(course: Course, edit: kinds.AcceptItem) -> Course:
    rule = blanket_of(course, edit.id, None, edit.do)
    return course.model_copy(update={"blanket": _instead(course.blanket, rule, rule.model_copy(update={"state": "accepted"}))})


def _dismissed(before: tuple[Dismissal, ...], edit: kinds.Dismiss, surface: str | None, who: str) -> tuple[Dismissal, ...]:
    if edit.kind in ("not-accepted", "not-signed"):
        what = "accept what is still a draft" if edit.kind == "not-accepted" else "let a second person sign"
        raise InvalidEdit(edit.do, f"“{edit.kind}” cannot be put aside; {what}.")
    others = tuple(one for one in before if (one.kind, one.surface) != (edit.kind, surface))
    return (*others, Dismissal(kind=edit.kind, surface=surface, by=who, because=edit.because))


def _sign(station: Station, edit: kinds.Sign, who: str) -> Station:
    if station.accepted_by is not None and same_name(station.accepted_by, who):
        raise InvalidEdit(edit.do, f"{who} accepted station {label(station)}; a second person signs it.")
    if station.model_copy(update={"signed_by": None}).standing() != "accepted":
        raise InvalidEdit(edit.do, f"station {label(station)} still has drafts; accept them first.")
    return station.model_copy(update={"signed_by": who})


# The course's own: names heard wrong, title, format, blanket rules


def _settle_name(course: Course, edit: kinds.OfNames) -> Course:
    fits = [one for one in course.heard if same_name(one.heard, edit.heard) and (edit.name is None or same_name(one.name, edit.name))]
    if len(fits) != 1:
        there = ", ".join(f"{one.heard!r} for {one.name!r}" for one in (fits or course.heard)) or "nothing"
        problem = "more than one proposal fits" if fits else "nothing of the kind was proposed"
        raise InvalidEdit(edit.do, f"{problem}: {edit.heard!r}" + (f" for {edit.name!r}" if edit.name else "") + f". There is: {there}.")
    state = "accepted" if isinstance(edit, kinds.AcceptName) else "declined"
    return course.model_copy(update={"heard": _instead(course.heard, fits[0], fits[0].model_copy(update={"state": state}))})


def _change_course(course: Course, edit: kinds.OfCourse) -> Course:
    match edit:
        case kinds.RenameCourse():
            return course.model_copy(update={"title": " ".join(edit.title.split())})
        case kinds.SetFormat():
            given: dict[str, object] = {field: getattr(edit, field) for field in ("retries", "ranking") if field in edit.model_fields_set}
            return course.model_copy(update={"format": (course.format or RunFormat()).model_copy(update=given), "format_by_hand": True})
        case kinds.Translate():
            return translate(course, edit)
        case kinds.AcceptCourse():
            rules = tuple(rule.model_copy(update={"state": "accepted"}) for rule in course.blanket)
            return course.model_copy(update={"blanket": rules, "format_by_hand": course.format is not None})


def _change_blanket(course: Course, stations: tuple[Station, ...], edit: kinds.OfBlanket) -> Documents:
    rules: tuple[BlanketRule, ...]
    settled = course.settled
    match edit:
        case kinds.AddBlanket():
            given = edit.rule.model_dump(exclude_unset=True)
            rule = _sound(BlanketRule(**{"rule": "surface", **given, "id": _rule_id(course, edit), "state": "accepted"}), edit.do)
            if any(_same_rule(rule, other) for other in course.blanket):
                raise InvalidEdit(
                    edit.do, f"there is a blanket rule {thing(rule.surface or rule.rule, rule.part)!r} already; change that one."
                )
            rules = (*course.blanket, rule)
        case kinds.ChangeBlanket():
            old = blanket_of(course, edit.blanket, edit.part, edit.do)
            new = _sound(_changed(old, edit.set, edit.do), edit.do)
            rules, settled = _instead(course.blanket, old, new), _noted(settled, old, new)
        case kinds.RemoveBlanket():
            old = blanket_of(course, edit.blanket, edit.part, edit.do)
            rules = tuple(rule for rule in course.blanket if rule is not old)
            settled = (*settled, Settled(what="blanket", name=old.surface or old.rule, part=old.part))
            stations = tuple(
                station.model_copy(update={"marks": tuple(mark for mark in station.marks if mark.surface != old.id)})
                for station in stations
            )
    if _content(rules) != _content(course.blanket):
        stations = tuple(station.model_copy(update={"signed_by": None}) for station in stations)
    return course.model_copy(update={"blanket": rules, "settled": settled}), stations


def _rule_id(course: Course, edit: kinds.AddBlanket) -> str:
    if edit.id is None:
        numbers = [int(rule.id[1:]) for rule in course.blanket if rule.id and rule.id[1:].isdigit()]
        return f"b{max(numbers, default=0) + 1}"
    if not edit.id.startswith("b-") or any(rule.id == edit.id for rule in course.blanket):
        raise InvalidEdit(edit.do, f"the id {edit.id!r} is taken, or does not begin with 'b-'; choose another.")
    return edit.id


def _content(rules: Sequence[BlanketRule]) -> list[dict[str, Any]]:
    return [rule.model_dump(exclude={"state", "confidence"}) for rule in rules]


def _sound(rule: BlanketRule, edit: str) -> BlanketRule:
    if rule.rule != "unnamed-out" and rule.surface is None:
        raise InvalidEdit(edit, f"a rule of the kind {rule.rule!r} needs a surface.")
    if rule.rule == "surface" and rule.ruling is None:
        raise InvalidEdit(edit, f"say whether {thing(rule.surface or '', rule.part)!r} is in or out.")
    return rule


def _same_rule(one: BlanketRule, other: BlanketRule) -> bool:
    return one.rule == other.rule and same_name(one.surface, other.surface) and same_name(one.part, other.part)


# Small things


def _noted(settled: tuple[Settled, ...], old: Surface | BlanketRule, new: Surface | BlanketRule) -> tuple[Settled, ...]:
    """The notes with what the old one said, where the new one says something else."""
    if spelt(old) == spelt(new):
        return settled
    what, name = ("surface", old.name) if isinstance(old, Surface) else ("blanket", old.surface or old.rule)
    note = Settled.model_validate({"what": what, "name": name, "part": old.part, "proposal": spelt(old)})
    return settled if note in settled else (*settled, note)


def _changed(item: Item, fields: kinds.SurfaceFields | kinds.BlanketFields, edit: str) -> Item:
    """The item with the fields that were given, accepted: a person set them. The machine's confidence no longer holds."""
    given = {field: getattr(fields, field) for field in fields.model_fields_set}
    if not given:
        raise InvalidEdit(edit, "“set” names nothing to change.")
    if isinstance(item, Surface) and given.get("name", item.name) is None:
        raise InvalidEdit(edit, "a surface needs a name.")
    same = all(getattr(item, field) == value for field, value in given.items())
    update = {"state": "accepted"} if same else {**given, "state": "accepted", "confidence": None}
    return item.model_copy(update=update)


_Any = TypeVar("_Any")


def _instead(items: tuple[_Any, ...], old: _Any, new: _Any) -> tuple[_Any, ...]:
    return tuple(new if one is old else one for one in items)


def _put(items: tuple[Any, ...], new: Any) -> tuple[Any, ...]:
    if any(one.id == new.id for one in items):
        return tuple(new if one.id == new.id else one for one in items)
    return (*items, new)


def with_divisions(course: Course, stations: Sequence[Station]) -> Course:
    """The course with the divisions for which some rule differs: those it had, in their order, then new ones."""
    ruled = [rule.divisions for rule in course.blanket]
    ruled += [surface.divisions for station in stations for surface in station.surfaces]
    used = dict.fromkeys(name for divisions in ruled for name in divisions or {})
    kept = tuple(name for name in course.divisions if name in used)
    names = (*kept, *(name for name in used if name not in kept))
    return course if names == course.divisions else course.model_copy(update={"divisions": names})
