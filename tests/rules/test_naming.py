"""Which name of the list a station bears, however it is said; and what a speaker counts stations by."""

from __future__ import annotations

from annotator.course import Word
from annotator.rules import draft
from annotator.rules.counting import as_station, counting_word

_END = " Walk along it with your feet. The ropes are out. You finish on the {} mat."


def _names(said: str, names: list[str]) -> list[str | None]:
    words = [Word(start=i * 0.4, end=i * 0.4 + 0.35, text=t) for i, t in enumerate(said.split())]
    return [station.name for station in draft(words, names).stations]


def _walk(*openings: str) -> str:
    colours = ("red", "blue", "green", "white", "yellow", "grey", "brown")
    return " ".join(f"Station {n}, {opening} You start on the {colours[k]} box.{_END.format(colours[k + 1])}"
                    for k, (n, opening) in enumerate(zip(("one", "two", "three", "four", "five"), openings, strict=False)))  # fmt: skip


def test_the_words_of_a_name_may_stand_in_another_order() -> None:
    names = ["barrel row", "crate hop", "tyre swing"]
    told = _walk("the row of the barrels.", "and here comes the hop on the crates.", "we swing on some tyres.")
    assert _names(told, names) == names


def test_a_name_may_be_shortened() -> None:
    assert _names(_walk("the cart climb.", "the long net."), ["net crawl", "hay cart climb"]) == ["hay cart climb", "net crawl"]


def test_where_the_list_runs_as_the_walk_does_a_name_between_two_is_known() -> None:
    told = _walk("log walk.", "something new this year.", "ring swing.", "bale hop.", "pole slide.")
    names = ["log walk", "the spider", "ring swing", "bale hop", "pole slide"]
    assert _names(told, names) == names
    assert _names(told, ["ring swing", "the spider", "log walk", "pole slide", "bale hop"])[1] is None


def test_a_station_said_to_have_no_name_gets_none() -> None:
    told = _walk("log walk.", "this one hasn't got a name.", "ring swing.", "bale hop.", "pole slide.")
    assert _names(told, ["log walk", "the spider", "ring swing", "bale hop", "pole slide"])[1] is None


def test_a_word_counted_up_through_the_walk_means_station() -> None:
    sentences = [
        text for n in ("one", "two", "four", "five") for text in (f"sign number {n} is the net.", "start here.", "use it.", "stop.")
    ]
    assert counting_word(sentences) == "sign"
    assert counting_word([f"crate {n}." for n in ("one", "two", "three", "four")]) is None
    assert counting_word(["box one.", "box two.", "box three.", "box four."] * 2) is None
    assert as_station("the last sign, a road sign", "sign") == "the last station, a road sign"


def test_stations_counted_by_another_word_are_told_apart() -> None:
    told = _walk("log walk.", "ring swing.", "bale hop.", "pole slide.").replace("Station", "Game")
    assert _names(told, ["bale hop", "log walk", "pole slide", "ring swing"]) == ["log walk", "ring swing", "bale hop", "pole slide"]
