"""How far a rule reaches, by patterns and language model together. Common sense as the measure, no published source."""

from __future__ import annotations

import numpy as np
import pytest

from annotator.course import BlanketRule, SheetSurface
from annotator.rules import draft, reach, sentences
from annotator.rules.encoder import Floats
from annotator.rules.phrases import Mention
from annotator.rules.reading import Line, read_walk
from annotator.rules.sentences import Leanings, Listened, listen
from tests.rules.reading_of import words_of


def walk(text: str) -> tuple[Line, ...]:
    return read_walk(words_of(text), ()).lines


class Sure(Listened):
    """A made-up reader that is asked of one phrase, or of one phrase beside one class."""

    def __new__(cls, *_: object) -> Sure:
        return object.__new__(cls)

    def __init__(self, lines: tuple[Line, ...], of_all: dict[str, tuple[float, float, float]], for_class: dict[str, tuple[float, float]]):
        n = len(lines)
        own = [(m, at) for at, line in enumerate(lines) for m in line.mentions]
        vectors = {(at, m.first): float(k) for k, (m, at) in enumerate(own)}
        none = np.zeros(n)
        object.__setattr__(self, "leanings", Leanings(none, none, none, np.zeros((n, 2))))
        object.__setattr__(self, "states", tuple(np.zeros((1, 1), dtype=np.float32) for _ in lines))
        object.__setattr__(self, "owners", tuple(np.zeros(1, dtype=np.int64) for _ in lines))
        object.__setattr__(self, "heads", {"asked": (own, of_all, for_class, vectors)})

    def mean(self, at: int, first: int, last: int) -> Floats | None:
        _, _, _, vectors = self.heads["asked"]  # type: ignore[misc]
        return np.array([vectors.get((at, first), -1.0)], dtype=np.float32)

    def shares(self, asked: str, vectors: Floats) -> Floats:
        own, of_all, for_class, _ = self.heads["asked"]  # type: ignore[misc]
        out = []
        for row in vectors:
            mention: Mention = own[int(row[0])][0]
            let, barred = for_class.get(mention.name, (0.0, 0.0))
            out.append(of_all.get(mention.name, (1.0, 0.0, 0.0)) if asked == "all" else (1 - let - barred, let, barred))
        return np.array(out, dtype=np.float32)

    def words(self, at: int, asked: str) -> dict[int, Floats]:
        return {}


RUDDER = "You will not lay a hand or a foot on a rudder. Sausages at one, with the onions."


def rule(lines: tuple[Line, ...], surface: str, ruling: str) -> BlanketRule:
    return BlanketRule(rule="surface", surface=surface, ruling=ruling, said=(lines[0].said,))


@pytest.mark.parametrize(
    ("share", "told", "expected"),
    [
        pytest.param((0.01, 0.0, 0.99), [], [("rudder", "out")], id="surely said, and no pattern told it"),
        pytest.param((0.3, 0.0, 0.7), [], [], id="only likely"),
        pytest.param((0.6, 0.1, 0.3), [("rudder", "out")], [("rudder", "out")], id="told by a pattern and not denied"),
        pytest.param((0.9995, 0.0, 0.0005), [("rudder", "out")], [], id="told by a pattern and surely nothing"),
        pytest.param((0.1, 0.02, 0.88), [("rudder", "in")], [("rudder", "out")], id="told by a pattern, and surely the other way"),
        pytest.param((0.1, 0.3, 0.6), [("rudder", "in")], [("rudder", "in")], id="told by a pattern, and perhaps the other way"),
    ],
)
def test_a_rule_for_all_is_what_pattern_and_model_come_to(
    share: tuple[float, float, float], told: list[tuple[str, str]], expected: list[tuple[str, str]]
) -> None:
    lines = walk(RUDDER)
    rules = reach.of_all([rule(lines, *each) for each in told], lines, Sure(lines, {"rudder": share}, {}))
    assert [(each.surface, each.ruling) for each in rules] == expected


def test_a_rule_that_is_taken_back_is_ruled_as_it_was_said_last() -> None:
    lines = walk("Any rudder is fine, wherever you are. Scratch what I said, rudders are out.")
    told = [rule(lines, "rudder", "out").model_copy(update={"said": tuple(line.said for line in lines)})]
    assert reach.of_all(told, lines, Sure(lines, {"rudder": (0.0, 1.0, 0.0), "rudders": (0.9, 0.0, 0.1)}, {})) == tuple(told)


def test_what_the_model_takes_for_a_station_where_none_was_found_is_left_to_the_patterns() -> None:
    lines = walk(RUDDER)
    told, sure = [rule(lines, "rudder", "out")], Sure(lines, {"rudder": (0.9995, 0.0, 0.0005)}, {})
    never = np.full(len(lines), -9.0)
    inside = Leanings(never, -never, never, np.zeros((len(lines), 2)))
    object.__setattr__(sure, "leanings", inside)
    assert reach.of_all(told, lines, sure) == tuple(told)


def test_other_rules_for_all_are_left_alone() -> None:
    lines = walk(RUDDER)
    told = [BlanketRule(rule="unnamed-out"), BlanketRule(rule="no-skip", surface="rudder")]
    assert reach.of_all(told, lines, Sure(lines, {}, {})) == tuple(told)
    assert reach.of_all(told, lines, None) == tuple(told)


STOOL = "Hands on the rail. The stool is for the over-sixties and the juniors. The step you may use too."


def surfaces(*, divided: bool = False) -> tuple[SheetSurface, ...]:
    return (
        SheetSurface(name="rail", role="route", ruling="in", contact=("hands",)),
        SheetSurface(name="stool", role="route", ruling="in", divisions={"juniors": "out"} if divided else None),
        SheetSurface(name="step", role="finish", ruling="in"),
    )


def test_the_likeliest_thing_gets_its_classes_and_is_out_for_the_rest() -> None:
    lines = walk(STOOL)
    sure = Sure(lines, {}, {"stool": (0.9, 0.0), "rail": (0.55, 0.0), "step": (0.9, 0.0)})
    rail, stool, step = reach.for_classes(surfaces(), range(len(lines)), lines, sure)
    assert (stool.ruling, stool.divisions) == ("out", {"over-sixties": "in", "juniors": "in"})
    assert lines[1].said in stool.said
    assert (rail, step) == (surfaces()[0], surfaces()[2])  # one is less likely, the other an end


def test_what_a_thing_is_for_whom_stays_as_a_pattern_told_it() -> None:
    lines = walk(STOOL)
    told = surfaces(divided=True)
    read = reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.9, 0.0)}))
    assert read[1] == told[1]
    assert reach.for_classes(told, (), lines, Sure(lines, {}, {})) == told


def only_for(*keys: str) -> tuple[SheetSurface, ...]:
    rail, stool, step = surfaces()
    return (rail, stool.model_copy(update={"ruling": "out", "divisions": dict.fromkeys(keys, "in")}), step)


def test_a_class_that_is_listed_beside_one_that_a_pattern_told_is_ruled_alike() -> None:
    lines = walk(STOOL)
    told = only_for("juniors")
    assert (
        reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.6, 0.0)}))[1]
        == only_for("juniors", "over-sixties")[1]
    )
    assert reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.15, 0.05)})) == told  # too unsure
    assert reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.0, 0.9)})) == told  # ruled the other way


def test_a_class_that_the_model_sees_beside_a_thing_and_does_not_put_to_it_is_not_put() -> None:
    lines = walk(STOOL)
    told = only_for("juniors", "over-sixties")
    stool = reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.004, 0.0)}))[1]
    assert (stool.ruling, stool.divisions) == ("out", None)
    assert reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.01, 0.0)})) == told
    assert reach.for_classes(only_for("cubs"), range(len(lines)), lines, Sure(lines, {}, {})) == only_for("cubs")  # named nowhere near


def test_a_class_goes_from_a_thing_that_it_is_hardly_ruled_for_to_the_one_that_it_is() -> None:
    lines = walk(STOOL)
    rail, stool, step = only_for("juniors", "over-sixties")
    told = (rail.model_copy(update={"ruling": "out", "divisions": stool.divisions}), surfaces()[1], step)
    read = reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.9, 0.0), "rail": (0.02, 0.0)}))
    assert [each.divisions for each in read] == [None, stool.divisions, None]


@pytest.mark.parametrize(
    ("said", "ruling", "divisions"),
    [
        ("If you're over sixty, or you're one of the cadets, the stool is yours.", "out", {"over-sixties": "in", "cadets": "in"}),
        ("Cadets may sit on the stool, and juniors too.", "out", {"cadets": "in", "juniors": "in"}),
        ("Juniors, so under twelve, may use the stool.", "out", {"juniors": "in"}),  # one class by two names
        ("Juniors do it without the stool.", "in", {"juniors": "out"}),
        ("The stool is yours, but not the juniors.", "in", {"juniors": "out"}),
        ("The stool isn't for the juniors.", "in", {"juniors": "out"}),
        ("For juniors that's dull, for them the stool is out.", "in", {"juniors": "out"}),
        ("Juniors may use the stool, for the others it is out.", "out", {"juniors": "in"}),
        ("Juniors may use the stool, the over-sixties as well.", "out", {"juniors": "in", "over-sixties": "in"}),
        ("Juniors may use the stool, as may the over-sixties.", "out", {"juniors": "in", "over-sixties": "in"}),
    ],
)
def test_classes_that_the_model_hears_are_put_as_the_line_tells_them(said: str, ruling: str, divisions: dict[str, str]) -> None:
    """Plain English; the made-up reader hears of every class that the stool is its own."""
    lines = walk(said)
    told = (SheetSurface(name="stool", role="route", ruling="out"),)
    read = reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": (0.9, 0.0)}))
    assert (read[0].ruling, read[0].divisions) == (ruling, divisions)


def test_a_thing_of_which_nothing_is_said_but_that_a_class_may_is_put_down() -> None:
    lines = walk("Over the barrels. Trainees under eighteen do it on the standing barrels, the tall ones.")
    barrels = (SheetSurface(name="barrels", part="hoops", role="route", ruling="out"),)
    read = reach.for_classes(barrels, range(len(lines)), lines, Sure(lines, {}, {"standing barrels": (0.95, 0.0)}))
    assert [(one.name, one.ruling, one.divisions) for one in read[1:]] == [("standing barrels", "out", {"trainees under eighteen": "in"})]
    assert read[1].said == (lines[1].said,)
    for known in (("standing barrels", None), ("barrels", "standing barrels"), ("tall standing barrels", None)):
        told = (SheetSurface(name=known[0], part=known[1], role="finish", ruling="in"),)
        assert reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"standing barrels": (0.95, 0.0)})) == told
    assert reach.for_classes(barrels, range(len(lines)), lines, Sure(lines, {}, {"standing barrels": (0.8, 0.0)})) == barrels


@pytest.mark.parametrize(
    ("said", "share", "ruling", "divisions"),
    [
        ("The stool, that is where the juniors go.", (0.97, 0.001), "out", {"juniors": "in"}),
        ("The stool, that is where the juniors go.", (0.9, 0.001), "in", {"juniors": "out"}),  # not sure enough
        ("The stool, that is where the juniors go.", (0.95, 0.02), "in", {"juniors": "out"}),  # perhaps kept from them
        ("The stool is prohibited for the juniors.", (0.97, 0.001), "in", {"juniors": "out"}),  # said outright
        ("Juniors do it without the stool.", (0.97, 0.001), "in", {"juniors": "out"}),
    ],
)
def test_a_class_that_a_pattern_keeps_out_may_where_the_model_is_sure_and_nothing_says_no_outright(
    said: str, share: tuple[float, float], ruling: str, divisions: dict[str, str]
) -> None:
    lines = walk(said)
    told = (SheetSurface(name="stool", role="route", ruling="in", divisions={"juniors": "out"}),)
    read = reach.for_classes(told, range(len(lines)), lines, Sure(lines, {}, {"stool": share}))
    assert (read[0].ruling, read[0].divisions) == (ruling, divisions)


def test_a_class_is_called_by_all_its_words_where_the_model_takes_them_for_its_name() -> None:
    """Patterns know the juniors only; which words before it are of the name, the model hears."""
    lines = walk("The stool is for the county navy juniors.")
    words = [token.low for token in lines[0].skeleton.sentence.tokens]

    class Hears(Sure):
        name = ("county", "navy", "juniors")

        def words(self, at: int, asked: str) -> dict[int, Floats]:
            likely, none = np.array([0.75, 0.25, 0.0], np.float32), np.array([0.9, 0.1, 0.0], np.float32)
            return {k: likely if word in self.name else none for k, word in enumerate(words)}

    class Crowd(Hears):
        name = ("little", "navy", "juniors")

    told = (SheetSurface(name="stool", role="route", ruling="out", divisions={"juniors": "in"}),)
    asked = {"stool": (0.9, 0.0)}
    assert reach.for_classes(told, (0,), lines, Hears(lines, {}, asked))[0].divisions == {"county navy juniors": "in"}
    lines = walk("The stool is for the little navy juniors.")
    words = [token.low for token in lines[0].skeleton.sentence.tokens]
    assert reach.for_classes(told, (0,), lines, Crowd(lines, {}, asked))[0].divisions == {"juniors": "in"}


@pytest.mark.parametrize(
    ("said", "run", "expected"),
    [
        ("Staff and volunteers who work here do without the stool.", "staff and volunteers who work here", ["staff", "volunteers"]),
        ("The postman or the neighbours can sit on the stool.", "postman or the neighbours", ["neighbours", "postman"]),
        ("Dwellers of hill or harbour can use the stool.", "dwellers of hill or harbour", ["dwellers of hill or harbour"]),
    ],
)
def test_names_in_one_run_of_words_are_one_class_each(said: str, run: str, expected: list[str]) -> None:
    """What "of" leads on to is of one name, whatever "or" stands in it."""
    lines = walk(said)
    words = [token.low for token in lines[0].skeleton.sentence.tokens]
    first = " ".join(words).index(run)
    at = len(" ".join(words)[:first].split())

    class Hears(Sure):
        def words(self, _: int, asked: str) -> dict[int, Floats]:
            sure, none = np.array([0.0, 1.0, 0.0], np.float32), np.array([1.0, 0.0, 0.0], np.float32)
            return {k: sure if at <= k < at + len(run.split()) else none for k, _ in enumerate(words)}

    named = [key for _, _, key in reach._classes(lines[0], 0, Hears(lines, {}, {}))]
    assert sorted(named) == expected


def test_a_class_that_is_called_by_two_names_is_put_once() -> None:
    lines = walk("If you're in sixth grade you can use the stool, sixth graders only.")
    told = only_for("in sixth grade", "sixth graders")
    assert reach.for_classes(told, (0,), lines, Sure(lines, {}, {"stool": (0.9, 0.0)})) == only_for("sixth graders")


def test_a_class_that_the_model_hears_is_written_in_whole_words_whatever_signs_are_in_it() -> None:
    lines = walk("The old-timers may sit, and & too, 100% of them.")
    words = [token.low for token in lines[0].skeleton.sentence.tokens]

    class Hears(Sure):
        def words(self, at: int, asked: str) -> dict[int, Floats]:
            sure, none = np.array([0.0, 1.0, 0.0], np.float32), np.array([1.0, 0.0, 0.0], np.float32)
            return {k: sure if word in ("timers", "&", "%") else none for k, word in enumerate(words)}

    named = reach._classes(lines[0], 0, Hears(lines, {}, {}))
    assert "old-timers" in [key for _, _, key in named]
    assert all(0 <= first <= last < len(words) for first, last, _ in named)


COURSE = (
    "Morning all, and welcome to the boatyard. There's no charge for the toilets and the tea is good. Any rudder that you meet is out. "
    "Right then, number one, the trailers. You start on the slipway post. Go over the trailers, hands and feet. You're done on the blue "
    "mat. Number two, the net. Start on the blue mat. Climb the net, hands and feet. The finish is the hut step."
)


def ruled_for_all() -> list[tuple[str | None, str | None]]:
    return [(each.surface, each.ruling) for each in draft(words_of(COURSE)).blanket]


def test_small_talk_that_sounds_like_a_rule_is_none() -> None:
    assert ruled_for_all() == [("rudder", "out")]


def test_without_the_model_the_patterns_decide_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sentences, "model", lambda: None)
    assert listen([line.skeleton.sentence for line in walk(COURSE)]) is None
    assert ruled_for_all() == [("tea", "in"), ("rudder", "out")]
