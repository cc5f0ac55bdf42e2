"""What a demonstration came to, told by what happened, and who is called to show one."""

from __future__ import annotations

import pytest

from annotator.rules.demonstration import calls_somebody, shown_between
from annotator.rules.reading import read_walk
from tests.rules.reading_of import station_of, words_of

STATION = "You start on the red box. Walk along the beam. The posts are out. You finish on the blue mat."
SHOWN = [
    ("Martin, go, let them see. You heard the splash? That one is a foul, so please don't copy Martin.", "fail"),
    ("Lisa, my dear, you come. Yes, she has done it properly.", "clear"),
    ("Thomas, go through it. Yep. Like that.", "clear"),
    ("Go ahead, Peter. Oof, nope, he sat right down on the ring.", "fail"),
    ("Anna, do that one as well. Well good, no complaints.", "clear"),
    ("Sarah will show. There was nothing wrong with it.", "clear"),
    ("Susan, watch the kettle. You can lean on the beam, it is good wood.", None),
    ("Martin, come on. The posts are wrong for leaning on.", None),
]


@pytest.mark.parametrize(("said", "result"), [pytest.param(*case, id=case[0]) for case in SHOWN])
def test_who_is_called_by_name_shows_it_and_what_happens_tells_the_result(said: str, result: str | None) -> None:
    assert station_of(f"{STATION} {said}").demonstration == result


def test_a_call_is_short_and_by_name() -> None:
    def calls(said: str) -> bool:
        return calls_somebody(read_walk(words_of(said), ()).lines[0].skeleton)

    assert calls("Thomas, go through it.")
    assert calls("Off you go then, Anna.")
    assert not calls("Walk along the beam, please.")
    assert not calls("Thomas built this whole thing last summer, with nothing but his own two hands and a saw.")


def test_what_is_told_before_the_last_request_is_not_watched() -> None:
    said = "The school let us have it. You hang from the bar, hands only. Anna, off you go. She slipped, so that is a fail."
    skeletons = [line.skeleton for line in read_walk(words_of(said), ()).lines]
    assert shown_between(skeletons) == frozenset({3})


def test_a_fall_of_another_day_told_by_the_sentence_that_asks_is_no_demonstration_to_watch() -> None:
    said = "The bench is out. Our second horn has shown it before, and he fell on the nose, you saw it, so now you know how not."
    skeletons = [line.skeleton for line in read_walk(words_of(said), ()).lines]
    assert shown_between(skeletons) == frozenset()
