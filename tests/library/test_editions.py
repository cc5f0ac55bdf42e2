"""Editions: frozen, numbered, and with a code that tells whether two papers say the same."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from annotator.course import Course, HeardName, Said, Station
from annotator.errors import NotFound, NotReady
from annotator.library import Library, content_hash, short_code

Path_ = tuple[str | int, ...]

# What readers see of each model, and what they do not. A field that is in neither list makes a test fail: decide which it is.
SEEN = {
    "course": {"title", "divisions", "format", "blanket", "language", "translated"},
    "format": {"retries", "ranking", "said"},
    "blanket": {"rule", "surface", "part", "ruling", "contact", "divisions", "said"},
    "station": {"number", "name", "start", "end", "contact", "surfaces", "demonstration", "said", "stills", "marks"},
    "surface": {"name", "part", "role", "ruling", "contact", "overshoot", "divisions", "optional", "said"},
    "still": {"time_s", "width", "height", "file", "faces", "faces_shown", "alt"},
    "mark": {"still", "surface", "rings", "line", "width"},
}
UNSEEN = {
    "course": {"name", "clips", "names", "heard", "order", "words", "corrections", "read_with", "translations", "drafted"}
    | {
        "state",
        "dismissed",
        "format_by_hand",
        "settled",
        "last_station",
        "last_surface",
        "faces_shown",
    },  # faces_shown: films only, which no edition holds
    "format": set[str](),
    "blanket": {"id", "state", "confidence"},
    "station": {"id", "state", "accepted_by", "signed_by", "dismissed", "by_hand", "settled"},
    "surface": {"id", "state", "confidence"},
    "still": {"id", "clip", "pts", "why", "faces_by", "state"},
    "mark": {"id", "state", "origin", "confidence"},
}


def changed(doc: dict[str, Any], path: Path_, value: object) -> dict[str, Any]:
    """The same document with another value in one place."""
    key, rest = path[0], path[1:]
    copy: Any = doc.copy()
    copy[key] = changed(copy[key], rest, value) if rest else value
    return copy  # type: ignore[no-any-return]


CHANGES = [
    pytest.param("course", ("title",), "Summer Cup", id="title"),
    pytest.param("course", ("divisions",), [], id="divisions"),
    pytest.param("course", ("format", "retries"), None, id="retries"),
    pytest.param("course", ("format", "ranking"), "fastest", id="ranking"),
    pytest.param("course", ("language",), "fr", id="language"),
    pytest.param("course", ("translated",), [{"said": "net", "language": "es", "translation": "red"}], id="translated-names"),
    pytest.param("course", ("blanket", 1, "part"), None, id="blanket-part"),
    pytest.param("course", ("blanket", 1, "ruling"), "in", id="blanket-ruling"),
    pytest.param("course", ("blanket", 1, "surface"), "pads", id="blanket-surface"),
    pytest.param("course", ("blanket", 1, "contact"), ["hands"], id="blanket-contact"),
    pytest.param("course", ("blanket", 1, "divisions"), {"under-tens": "in"}, id="blanket-divisions"),
    pytest.param("station", ("number",), 9, id="number"),
    pytest.param("station", ("name",), "stump run", id="station-name"),
    pytest.param("station", ("start",), 9.5, id="hear-it-time"),
    pytest.param("station", ("contact",), ["hands", "feet"], id="limbs"),
    pytest.param("station", ("demonstration",), "fail", id="demonstration"),
    pytest.param("station", ("surfaces", 0, "name"), "red platform", id="surface-name"),
    pytest.param("station", ("surfaces", 0, "part"), None, id="surface-part"),
    pytest.param("station", ("surfaces", 0, "role"), "finish", id="role"),
    pytest.param("station", ("surfaces", 0, "ruling"), "out", id="ruling"),
    pytest.param("station", ("surfaces", 0, "contact"), None, id="surface-limbs"),
    pytest.param("station", ("surfaces", 0, "overshoot"), "not allowed", id="overshoot"),
    pytest.param("station", ("surfaces", 0, "divisions"), None, id="surface-divisions"),
    pytest.param("station", ("surfaces", 0, "optional"), True, id="optional"),
    pytest.param("station", ("surfaces", 0, "said", 0, "text"), "start on blue", id="said"),
    pytest.param("station", ("stills", 0, "file"), "0" * 64, id="picture"),
    pytest.param("station", ("stills", 0, "alt"), {"es": "Una plataforma a la izquierda."}, id="words-of-a-still"),
    pytest.param("station", ("stills", 0, "faces"), [[1, 2, 3, 4]], id="faces"),
    pytest.param("station", ("stills", 0, "faces_shown"), {"by": "Ana", "because": "both agreed"}, id="show-faces"),
    pytest.param("station", ("marks", 0, "rings", 0, 0), [1, 1.25], id="corner"),
    pytest.param("station", ("marks", 1, "width"), 10, id="line-width"),
    pytest.param("station", ("marks", 0, "surface"), "b2", id="mark-of-another-surface"),
    pytest.param("station", ("marks",), [], id="no-marks"),
]


@pytest.mark.parametrize(("kind", "path", "value"), CHANGES)
def test_what_readers_see_makes_the_content(library: Library, kind: str, path: Path_, value: object) -> None:
    course, stations = library.course("spring-cup").doc, [one.doc for one in library.stations("spring-cup")]
    before = content_hash(course, stations)
    if kind == "course":
        course = Course.model_validate(changed(course.model_dump(mode="json"), path, value))
    else:
        stations[0] = Station.model_validate(changed(stations[0].model_dump(mode="json"), path, value))
    assert content_hash(course, stations) != before


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60, deadline=None)
@given(who=st.text(max_size=5), draft=st.booleans(), share=st.floats(0, 1), ident=st.text("abcxyz", min_size=1, max_size=4))
def test_who_when_state_confidence_and_ids_are_not_content(library: Library, who: str, draft: bool, share: float, ident: str) -> None:
    course, stations = library.course("spring-cup").doc, [one.doc for one in library.stations("spring-cup")]
    before = content_hash(course, stations)
    state = {"state": "draft" if draft else "accepted"}
    other = [
        station.model_copy(
            update={
                "id": f"t{ident}",
                "accepted_by": who,
                "signed_by": who,
                **state,
                "surfaces": tuple(one.model_copy(update={"id": f"u{ident}", "confidence": share, **state}) for one in station.surfaces),
                "stills": tuple(one.model_copy(update={"id": f"s{ident}", "why": who, **state}) for one in station.stills),
                "marks": tuple(
                    one.model_copy(
                        update={
                            "id": one.id + ident,
                            "still": f"s{ident}",
                            "surface": one.surface if one.surface == "b2" else f"u{ident}",
                            "confidence": share,
                            **state,
                        }
                    )
                    for one in station.marks
                ),
            }
        )
        for station in stations
    ]
    assert content_hash(course.model_copy(update={"name": ident, "state": "published"}), other) == before
    assert short_code(course, other) == short_code(course, stations)


def test_every_field_of_the_models_is_decided_to_be_seen_or_not(library: Library) -> None:
    course, station = library.course("spring-cup").doc, library.stations("spring-cup")[0].doc
    models: dict[str, Any] = {
        "course": course,
        "format": course.format,
        "blanket": course.blanket[0],
        "station": station,
        "surface": station.surfaces[0],
        "still": station.stills[0],
        "mark": station.marks[0],
    }
    for name, model in models.items():
        assert set(type(model).model_fields) == SEEN[name] | UNSEEN[name], name
        assert not SEEN[name] & UNSEEN[name], name


@given(st.text(max_size=30))
def test_a_code_is_six_letters_and_digits_that_nobody_mixes_up(title: str) -> None:
    assert re.fullmatch("[A-HJ-NP-Z2-9]{6}", short_code(Course(name="a", title=title), ()))


def test_an_edition_stays_as_it_was_frozen(library: Library) -> None:
    first = library.freeze("spring-cup", "Dana")
    assert (first.number, first.who, len(first.code)) == (1, "Dana", 6)
    station = library.station("spring-cup", "t1")
    renamed = station.doc.model_copy(update={"name": "stump run"})
    library.save_station("spring-cup", renamed, station.revision, "Ben")
    library.save_course(library.course("spring-cup").doc.model_copy(update={"order": ("t1",)}), 1, "Ben")

    assert library.edition("spring-cup", 1) == first
    assert [one.doc.name for one in first.stations] == ["stump hop", "stump hop"]
    second = library.freeze("spring-cup", "Dana")
    assert (second.number, [one.doc.name for one in second.stations]) == (2, ["stump run"])
    assert second.code != first.code
    assert library.editions("spring-cup") == (first, second)
    with pytest.raises(NotFound, match=r"edition '3'. There is: 1, 2."):
        library.edition("spring-cup", 3)


def test_publishing_again_without_a_change_gives_the_same_edition(library: Library) -> None:
    first = library.freeze("spring-cup", "Dana")
    course = library.course("spring-cup")
    library.save_course(course.doc.model_copy(update={"state": "published"}), course.revision, "Dana")
    assert library.freeze("spring-cup", "Ben") == first


def test_what_no_reader_sees_makes_no_new_edition_and_what_stands_in_the_captions_does(library: Library) -> None:
    first = library.freeze("spring-cup", "Dana")
    station = library.station("spring-cup", "t1")
    surface = station.doc.surfaces[0].model_copy(update={"confidence": 0.1})
    signed = station.doc.model_copy(update={"surfaces": (surface, *station.doc.surfaces[1:]), "signed_by": "Ben"})
    library.save_station("spring-cup", signed, station.revision, "Ben")
    course = library.course("spring-cup")
    proposed = HeardName(heard="stomp hop", name="stump hop", reason="sounds alike", score=0.9, at=(1.0,))
    library.save_course(course.doc.model_copy(update={"heard": (proposed,)}), course.revision, "Ana")
    assert library.freeze("spring-cup", "Dana") == first
    course = library.course("spring-cup")
    taken = proposed.model_copy(update={"state": "accepted"})
    library.save_course(course.doc.model_copy(update={"heard": (taken,)}), course.revision, "Ana")
    second = library.freeze("spring-cup", "Dana")
    assert (second.number, second.code) == (2, first.code), "the pages say the same, the captions another name"


def test_going_back_to_the_old_rules_gives_the_old_code_under_a_new_number(library: Library) -> None:
    codes = [library.freeze("spring-cup", "Dana").code]
    for name in ("stump run", "stump hop"):
        now = library.station("spring-cup", "t1")
        library.save_station("spring-cup", now.doc.model_copy(update={"name": name}), now.revision, "Ben")
        codes.append(library.freeze("spring-cup", "Dana").code)
    assert codes[0] == codes[2] != codes[1]
    assert [one.number for one in library.editions("spring-cup")] == [1, 2, 3]


def draft_of(station: Station, part: str) -> Station:
    if part == "station":
        return station.model_copy(update={"state": "draft"})
    items = tuple(one.model_copy(update={"state": "draft"}) for one in getattr(station, part))
    return station.model_copy(update={part: items})


@pytest.mark.parametrize(
    ("part", "reason"),
    [
        pytest.param("station", r"Station 1 \(stump hop\): its name, limbs and demonstration are still a draft", id="station"),
        pytest.param("surfaces", r"“blue platform” \(top\) is still a draft", id="surface"),
        pytest.param("stills", "1 of its stills", id="still"),
        pytest.param("marks", "2 of its marks", id="marks"),
    ],
)
def test_nothing_unaccepted_reaches_an_edition(library: Library, part: str, reason: str) -> None:
    station = library.station("spring-cup", "t1")
    library.save_station("spring-cup", draft_of(station.doc, part), 1, "Ben")
    with pytest.raises(NotReady, match=reason):
        library.freeze("spring-cup", "Dana")
    assert library.editions("spring-cup") == ()


def test_a_draft_blanket_rule_and_a_lost_picture_stand_in_the_way(library: Library) -> None:
    course = library.course("spring-cup").doc
    library.save_course(course.model_copy(update={"blanket": (course.blanket[0].model_copy(update={"state": "draft"}),)}), 1, "Ben")
    library.files.path(library.station("spring-cup", "t2").doc.stills[0].file).unlink()
    with pytest.raises(NotReady) as caught:
        library.freeze("spring-cup", "Dana")
    assert caught.value.reasons == (
        "Blanket rule “unnamed-out” is still a draft.",
        "Station 2 (stump hop): the picture of still s2-1 is missing.",
    )


def test_a_course_without_stations_is_no_edition(tmp_path: Path) -> None:
    library = Library(tmp_path)
    library.add_course(Course(name="empty", title="Empty"), (), "Ana")
    with pytest.raises(NotReady, match="no station"):
        library.freeze("empty", "Dana")


def test_outputs_are_there_whole_or_not_at_all(library: Library) -> None:
    library.freeze("spring-cup", "Dana")
    with pytest.raises(ZeroDivisionError), library.outputs_writer("spring-cup", 1) as folder:
        (folder / "half").write_bytes(b"half")
        raise ZeroDivisionError
    place = library.outputs("spring-cup", 1)
    assert not place.exists()
    for text in ("first", "second"):
        with library.outputs_writer("spring-cup", 1) as folder:
            (folder / "booklet").mkdir()
            (folder / "booklet" / "index.html").write_text(text)
            assert not place.exists() or text == "second"
        assert (place / "booklet" / "index.html").read_text() == text
    assert [path.name for path in place.parent.iterdir()] == ["edition-1"]


@pytest.fixture
def cut_off(library: Library) -> Iterator[Callable[[str], Path]]:
    """A library whose outputs folder stands as a kill at some moment leaves it."""

    def leave(moment: str) -> Path:
        library.freeze("spring-cup", "Dana")
        with library.outputs_writer("spring-cup", 1) as folder:
            (folder / "page").write_text("old")
        place = library.outputs("spring-cup", 1)
        if moment in ("set aside", "in place"):
            place.rename(place.with_name(f".aside-{place.name}"))
        unfinished = place.with_name(".unfinished-0") if moment != "in place" else place
        unfinished.mkdir()
        (unfinished / "page").write_text("new")
        library.close()
        return library.root

    yield leave


@pytest.mark.parametrize(
    ("moment", "page"),
    [
        pytest.param("writing", "old", id="killed-while-writing"),
        pytest.param("set aside", "old", id="killed-between-the-two-renames"),
        pytest.param("in place", "new", id="killed-before-the-old-one-was-removed"),
    ],
)
def test_after_a_kill_the_outputs_are_the_old_or_the_new_ones(cut_off: Callable[[str], Path], moment: str, page: str) -> None:
    place = Library(cut_off(moment)).outputs("spring-cup", 1)
    assert (place / "page").read_text() == page
    assert [path.name for path in place.parent.iterdir()] == ["edition-1"]


def test_said_words_are_content_but_their_order_of_fields_is_not(library: Library) -> None:
    course = library.course("spring-cup").doc
    one = course.model_copy(update={"format": course.format and course.format.model_copy(update={"said": (_SAID,)})})
    again = Course.model_validate_json(one.model_dump_json())
    assert content_hash(one, ()) == content_hash(again, ()) != content_hash(course, ())


_SAID = Said(start=3, end=4.5, text="one retry, then your run is over")
