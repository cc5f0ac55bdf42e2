"""What a sentence speaks about: phrases as a listener writes them down. Common sense as the measure, no published source."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from annotator.rules.articles import leaves_out_articles
from annotator.rules.phrases import Spotted
from annotator.rules.reading import read_walk
from annotator.rules.skeleton import Skeleton
from annotator.rules.text import Sentence
from tests.rules.reading_of import words_of


def phrases(text: str) -> list[str]:
    """The phrases of the text; a part stands before its thing: "rim / tyre"."""
    lines = read_walk(words_of(text), ()).lines
    return [f"{m.part} / {m.name}" if m.part else m.name for line in lines for m in line.mentions]


CASES = [
    pytest.param("You sit on the sack of oats.", ["sack of oats"], id="what a thing holds"),
    pytest.param("Climb the ladder of rope.", ["ladder of rope"], id="what a thing is made of"),
    pytest.param("The rim of the tyre is out.", ["rim / tyre"], id="a part of a thing"),
    pytest.param("The rim of the sack of oats is out.", ["rim / sack of oats"], id="a part of a thing that holds something"),
    pytest.param("Only one of them is in.", [], id="one of them"),
    pytest.param("The trolley thing is out.", ["trolley"], id="a thing with a vague word behind it"),
    pytest.param("Bench one, walk. Bench two, crawl.", ["bench one", "bench two"], id="numbered things"),
    pytest.param("Start from the bench one sees over there.", ["bench"], id="one as a pronoun"),
    pytest.param("Axles, springs, all of that is out.", ["axles", "springs"], id="a plural that opens a sentence"),
    pytest.param("You may hold on to the headrest.", ["headrest"], id="a noun that ends like a superlative"),
    pytest.param("And the discs spin, so watch out.", ["discs"], id="a verb that looks like a noun"),
    pytest.param("You land on the bath towel.", ["bath towel"], id="a thing of a kind, by a word that is mostly no thing"),
    pytest.param("The fence ties are out.", ["fence ties"], id="things of a kind that hold others"),
    pytest.param("Ring it from the stage.", ["stage"], id="a word that is mostly no thing, where one comes off it"),
    pytest.param("At this stage I say nothing of that point.", [], id="the same word of time"),
    pytest.param("Mind your body weight and your left foot.", [], id="what belongs to the body"),
    pytest.param("Stand on the petrol can.", ["petrol can"], id="a can"),
    pytest.param("The rope can be held.", ["rope"], id="what can be done"),
    pytest.param("Side rail can, top rail cannot.", ["side rail", "top rail"], id="what is allowed, by one word"),
    pytest.param("Off t'barrel an' along t'kerb.", ["barrel", "kerb"], id="an article written together with its noun"),
    pytest.param("Nobody holds the pipe, he climbs the wall.", ["pipe", "wall"], id="who does it is part of no phrase"),
    pytest.param("You stand on the yellow spot.", ["yellow spot"], id="a place that is marked out, told by its colour"),
    pytest.param("From the first spot you have a good view.", [], id="a place told by no colour"),
    pytest.param("The water is also no.", ["water"], id="what is mostly no thing, ruled by the way"),
    pytest.param("There are four gates laid end to end.", ["gates", "end"], id="a participle behind a plural"),
    ("The tiller arm is out, feet on the barrier arm.", ["tiller arm", "barrier arm"]),
    ("Over the flywheel housing you may, and you finish on the hatch coaming.", ["flywheel housing", "hatch coaming"]),
    ("Tailboard, permitted, winch, prohibited. Chimney, warm, no.", ["tailboard", "winch", "chimney"]),
    ("Arms up, your left arm stays on the rail.", ["rail"]),
    ("Finish is the salt box, the green one.", ["green salt box"]),
    ("Climb on from the pallet that is green.", ["green pallet"]),
    ("You climb on the frame, hands and feet, the wooden frame.", ["wooden frame", "wooden frame"]),
    ("There are five boxes, the one that's painted green.", ["boxes"]),
    ("Feet on the bar, which is fine.", ["bar"]),
    ("The strip is out, and the house too.", ["strip", "house"]),
]


@pytest.mark.parametrize(("text", "expected"), CASES)
def test_phrases_are_what_a_listener_would_write_down(text: str, expected: list[str]) -> None:
    assert phrases(text) == expected


WITHOUT = "From cupboard you go to tyre. On tyre only foot. Pillow is good. Then you jump to mattress and finish is bell on pole."
WITH = (
    "From the cupboard you go to the tyre. On the tyre only a foot. The pillow is good. Then jump to the mattress, and the bell is the end."
)


def test_a_noun_alone_is_a_thing_where_the_speaker_leaves_articles_out() -> None:
    assert {"cupboard", "pillow", "mattress"} <= set(phrases(WITHOUT))
    assert "spinach" in phrases(WITHOUT + " Spinach in bowl.")
    assert "spinach" not in phrases(WITH + " Spinach in the bowl.")


@pytest.mark.parametrize(("text", "expected"), [(WITHOUT, True), (WITH, False), ("From tyre to net.", False), ("", False)])
def test_a_speaker_is_judged_by_enough_nouns(text: str, expected: bool) -> None:
    lines = read_walk(words_of(text), ()).lines
    assert leaves_out_articles(line.skeleton.sentence for line in lines) is expected


SPOTTED = [
    pytest.param("On the white cushion stands one ready.", "white cushion", "stands", ["white cushion"], id="a verb behind a thing"),
    pytest.param("Kick off on the esky.", "esky", "", ["esky"], id="a noun taken for another word"),
    pytest.param("We don't touch the heater covers.", "heater covers", "", ["heater covers"], id="a noun taken for a verb"),
    pytest.param("Palm on a painted hand.", "painted hand", "", ["painted hand"], id="a word that is mostly no thing"),
    pytest.param("Silencer no, it's dirty.", "silencer", "", ["silencer"], id="a bare noun"),
    pytest.param("That copper strip is out.", "copper", "strip", ["copper strip"], id="a noun behind a thing stays with it"),
]


@pytest.mark.parametrize(("text", "things", "others", "expected"), SPOTTED)
def test_words_that_are_known_to_be_of_a_thing_make_a_phrase(text: str, things: str, others: str, expected: list[str]) -> None:
    class Ear:
        def spot(self, sentences: Sequence[Sentence]) -> list[Spotted]:
            lows = [[token.low for token in sentence.tokens] for sentence in sentences]
            return [
                Spotted(*(frozenset(k for k, low in enumerate(each) if low in words.split()) for words in (things, others)))
                for each in lows
            ]

        def wholes(self, skeletons: Sequence[Skeleton]) -> Sequence[Skeleton]:
            return skeletons

    lines = read_walk(words_of(text), (), Ear()).lines
    assert [m.name for line in lines for m in line.mentions] == expected


def test_a_verb_written_together_with_a_noun_leaves_the_noun() -> None:
    assert "drawbar" in phrases("Mind you, the drawbar'll knock your teeth out.")
    assert "leaves" in phrases("And t' leaves'll poison thee, so they're out as well.")
