"""Documents with revisions: nothing lost, nothing saved over, nothing done twice."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from annotator.course import Course, Station
from annotator.errors import InvalidEdit, NotFound, StaleEdit
from annotator.library import Library, stage_key


def course(**changes: object) -> Course:
    return Course(name="spring-cup", title="Spring Cup", order=("t1", "t2")).model_copy(update=changes)


def station(number: int, **changes: object) -> Station:
    return Station(id=f"t{number}", number=number, start=number * 10.0, end=number * 10.0 + 9).model_copy(update=changes)


@pytest.fixture
def library(tmp_path: Path) -> Library:
    made = Library(tmp_path / "our library")
    made.add_course(course(), [station(1), station(2)], "Ana")
    return made


def test_a_course_comes_back_as_it_was_added(library: Library) -> None:
    found = library.course("spring-cup")
    assert found.doc == course()
    assert (found.revision, found.who, found.before) == (1, "Ana", None)
    assert timedelta(0) <= datetime.now(UTC) - found.at < timedelta(minutes=5)
    assert [one.doc for one in library.stations("spring-cup")] == [station(1), station(2)]
    assert [one.doc for one in library.courses()] == [course()]


def test_stations_come_in_the_order_of_the_course(library: Library) -> None:
    library.save_course(course(order=("t2", "t1")), 1, "Ben")
    assert [one.doc.id for one in library.stations("spring-cup")] == ["t2", "t1"]


def test_a_station_out_of_the_order_keeps_its_document(library: Library) -> None:
    library.save_course(course(order=("t2",)), 1, "Ben")
    assert library.station("spring-cup", "t1").doc == station(1)
    assert len(library.stations("spring-cup")) == 1


def test_every_save_is_a_revision_with_who_and_which_before(library: Library) -> None:
    library.save_station("spring-cup", station(1, name="stump hop"), 1, "Ben")
    library.save_station("spring-cup", station(1, name="stump run"), 2, "Cleo")
    history = library.history("spring-cup", "station", "t1")
    assert [(one.revision, one.before, one.who, one.doc.name) for one in history if isinstance(one.doc, Station)] == [
        (1, None, "Ana", None),
        (2, 1, "Ben", "stump hop"),
        (3, 2, "Cleo", "stump run"),
    ]
    assert library.revision("spring-cup", "station", "t1", 2) == history[1]


def test_the_second_of_two_edits_from_one_revision_is_refused_with_both_sides(library: Library) -> None:
    library.save_station("spring-cup", station(1, name="stump hop"), 1, "Ben")
    with pytest.raises(StaleEdit, match="started from revision 1, it is now 2") as caught:
        library.save_station("spring-cup", station(1, name="log run"), 1, "Cleo")
    assert caught.value.mine["name"] == "log run"
    assert caught.value.theirs["name"] == "stump hop"
    assert (caught.value.base, caught.value.current) == (1, 2)
    assert library.station("spring-cup", "t1").doc.name == "stump hop"


def test_edits_of_two_stations_from_one_moment_are_both_kept(library: Library) -> None:
    library.save_station("spring-cup", station(1, name="stump hop"), 1, "Ben")
    library.save_station("spring-cup", station(2, name="log run"), 1, "Cleo")
    assert [one.doc.name for one in library.stations("spring-cup")] == ["stump hop", "log run"]


def test_a_save_that_is_sent_twice_does_no_harm(library: Library) -> None:
    first = library.save_course(course(title="Summer Cup"), 1, "Ben")
    assert library.save_course(course(title="Summer Cup"), 1, "Ben") == first
    assert len(library.history("spring-cup")) == 2


def test_of_several_documents_all_are_saved_or_none(library: Library) -> None:
    library.save_station("spring-cup", station(2, name="log run"), 1, "Ben")
    with pytest.raises(StaleEdit):
        library.save_all(
            "spring-cup",
            (course(order=("t1", "t2", "t3")), 1),
            [(station(3), None), (station(1, name="x"), 1), (station(2, name="y"), 1)],
            "Cleo",
        )
    assert library.course("spring-cup").revision == 1
    assert [one.doc.name for one in library.stations("spring-cup")] == [None, "log run"]
    with pytest.raises(NotFound):
        library.station("spring-cup", "t3")

    whole, stations = library.save_all("spring-cup", (course(order=("t1", "t3")), 1), [(station(3), None)], "Cleo")
    assert (whole.revision, [one.doc.id for one in stations]) == (2, ["t1", "t3"])


@pytest.mark.parametrize("order", [pytest.param(("t1", "t9"), id="no-such-station"), pytest.param(("t1", "t1"), id="twice")])
def test_an_order_that_does_not_fit_the_stations_is_refused(library: Library, order: tuple[str, ...]) -> None:
    with pytest.raises(InvalidEdit, match=order[1]):
        library.save_course(course(order=order), 1, "Ben")
    assert library.course("spring-cup").revision == 1


def test_a_name_that_is_taken_is_refused(library: Library) -> None:
    with pytest.raises(InvalidEdit, match="'spring-cup' is taken"):
        library.add_course(course(), [station(1), station(2)], "Ben")
    assert library.free_name("Spring Cup!") == "spring-cup-2"


def test_a_course_that_is_not_there_is_named_with_those_that_are(library: Library) -> None:
    with pytest.raises(NotFound, match=r"no course 'winter-cup'. There is: spring-cup."):
        library.course("winter-cup")
    with pytest.raises(NotFound, match=r"no station 't9'. There is: t1, t2."):
        library.station("spring-cup", "t9")
    with pytest.raises(NotFound, match=r"revision of course spring-cup '7'. There is: 1."):
        library.revision("spring-cup", "course", "", 7)
    with pytest.raises(NotFound):
        library.save_course(course(name="winter-cup"), 1, "Ben")


def test_what_a_stage_did_is_known_after_opening_again(library: Library) -> None:
    key = stage_key("words", "1", "abc", {"hints": ()})
    assert library.done("words", key) is None
    library.mark_done("words", key, b"[1]")
    library.mark_done("words", key, b"[2]")
    library.close()
    again = Library(library.root)
    assert again.done("words", key) == b"[2]"
    assert again.done("rules", key) is None
    assert again.done("words", stage_key("words", "2", "abc", {"hints": ()})) is None


def test_many_threads_lose_no_edit(library: Library) -> None:
    """Each of 6 threads adds its mark to one title 10 times, trying again when it was too late: all 60 must be there."""

    def work(letter: str) -> None:
        for _ in range(10):
            while True:
                now = library.course("spring-cup")
                try:
                    library.save_course(now.doc.model_copy(update={"title": now.doc.title + letter}), now.revision, letter)
                    break
                except StaleEdit:
                    continue

    threads = [threading.Thread(target=work, args=(letter,)) for letter in "abcdef"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    title = library.course("spring-cup").doc.title.removeprefix("Spring Cup")
    assert {letter: title.count(letter) for letter in "abcdef"} == dict.fromkeys("abcdef", 10)
    assert len(library.history("spring-cup")) == 61
