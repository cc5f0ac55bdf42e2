"""Classes of age and skill: what names one, and what it comes to for a thing. Plain English, no published source."""

from __future__ import annotations

import string
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.rules import draft
from annotator.rules.called import called_twice, named_at
from annotator.rules.classes import REST, rules_of
from annotator.rules.groups import named_in, opposite
from annotator.rules.reading import read_walk
from annotator.rules.runformat import find_format
from tests.rules.reading_of import rows, station_of, words_of

NAMES = [
    ("bars higher than two metres are out", []),
    ("the rungs smaller than one metre are in", []),
    ("the bars, everybody smaller than one metre forty may", ["smaller than one metre forty"]),
    ("for the under-tens", ["under-tens"]),
    ("eight and under can use it", ["eight-and-under"]),
    ("anybody under 12 years", ["under-twelves"]),
    ("who is over fifty-five may stand here", ["over-fifty-fives"]),
    ("children until nine years", ["under-nines"]),
    ("aged sixteen and over", ["sixteen-and-over"]),
    ("if you are in year one", ["year one"]),
    ("primary three and below", ["primary three and below"]),
    ("anybody under one meter forty", ["under one meter forty"]),
    ("the masters category", ["masters"]),
    ("the open class may not", ["open class"]),
    ("it is for the children's group", ["children"]),
    ("Apprentices, the cage is in for you.", ["apprentices"]),
    ("the chair folks leave the rungs out", ["chair folks"]),
    ("juniors and seniors may use it", ["juniors", "seniors"]),
    ("the over-sixties and under-eights may use it", ["over-sixties", "under-eights"]),
    ("anyone over 100 kilos stays off", ["over 100 kilos"]),
    ("anyone over two hundred and twenty five pounds stays off", ["over two hundred and twenty five pounds"]),
    ("the ladder juniors may use", ["juniors"]),
    ("today seniors may use it", ["seniors"]),
    ("\u0130t is for ladies above fifty", ["ladies above fifty"]),
    ("musicians get the rope, and the school kids may not", ["musicians", "school kids"]),
    ("if you're in the dance squad, the rail is out for you", ["dance squad"]),
    ("cub scouts and the venturers can hold it", ["cub scouts", "venturers"]),
    ("year sevens have the hoop", ["year-sevens"]),
    ("standard five, you leave the ring", ["standard five"]),
    ("the ladies and the men over sixty may sit", ["over-sixties"]),
    ("it is for children under forty kilos", ["children under forty kilos"]),
    ("wheelchair folk, the ramp is yours", ["wheelchair users"]),
    ("unless you're past seventy", ["over-seventies"]),
    ("if you've passed seventy the rail is yours", ["over-seventies"]),
    ("anyone who has turned sixty may sit", ["sixty-and-over"]),
    ("the sixties and over may sit", ["sixty-and-over"]),
    ("seventy or better, take the rail", ["seventy-and-over"]),
    ("kids nine and down may use it", ["nine-and-under"]),
    ("who hasn't turned twelve can use it", ["under-twelves"]),
    ("grade four or lower gets the crate", ["grade four or lower"]),
    ("grades five and below get the crate", ["grades five and below"]),
    ("years five and six get the crate", ["years five and six"]),
    ("the pole is there for ladies above fifty", ["ladies above fifty"]),
    ("the trainees under eighteen do it on the barrels", ["trainees under eighteen"]),
    ("the seniors over sixty may sit", ["seniors", "over-sixties"]),
    ("blokes over two hundred pounds get the ladder", ["blokes over two hundred pounds"]),
    ("the ladies and the over-forties may take the lip", ["ladies", "over-forties"]),
    ("the women and anybody under sixteen can pull", ["women", "under-sixteens"]),
    ("over-forties and ladies, you may pass", ["over-forties", "ladies"]),
    ("mature students may put their feet up", ["mature students"]),
    ("for Venture Scouts the rope is out", ["venture scouts"]),
    ("so the juniors may, and dear juniors, be quick", ["juniors", "juniors"]),
    ("class five and below can hold it", ["class five and below"]),
    ("the second grade and down get the net", ["second grade and down"]),
    ("eight-and-unders can use the horses", ["eight-and-under"]),
    ("it is for kids up to grade three", ["grade three and under"]),
    ("grade eights, you get the crate", ["grade eights"]),
    ("so for apprentices the cage is okay", ["apprentices"]),
    ("for possums noodles are okay", ["possums"]),
    ("for starters the mat is in", []),
    ("for hands the rail is fine", []),
    ("you have passed two bars", []),
    ("when you've reached ten bars you turn", []),
    ("you walk in the wine of tomorrow and the workers built it", []),
    ("under two metres of rope", []),
    ("the adults' final is tomorrow", []),
    ("the handles can be used", []),
    ("your hands may touch the wall", []),
    ("the bars, you can hold them", []),
    ("twelve steps up and over five bars", []),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in NAMES])
def test_a_class_is_known_by_how_it_is_named(said: str, expected: list[str]) -> None:
    assert [one.key for one in named_in(said)] == expected


@pytest.mark.parametrize(
    ("one", "other", "expected"),
    [
        ("over-twelves", "under-twelves", True), ("thirteen-and-over", "twelve-and-under", True), ("eight-and-over", "under-eights", True),
        ("over-sixties", "under-twelves", False), ("under-tens", "under-twelves", False), ("juniors", "seniors", False),
    ],
)  # fmt: skip
def test_two_ages_are_opposite_where_one_is_what_the_other_leaves_over(one: str, other: str, expected: bool) -> None:
    assert opposite(one, other) is opposite(other, one) is expected


CALLED_TWICE = [
    ("If you're in sixth grade you can use the rail, sixth graders only.", ["sixth graders"]),
    ("The rail is only for you if you're a grandma or a grandpa, grandparents get it.", ["grandparents"]),
    ("Pupils have the rope, so under twelve years, and pupils alone.", ["pupils"]),
    ("Youngsters, like up to grade three, can put a foot there.", ["grade three and under"]),
    ("The little ones, of less than eight years, can hug the lions.", ["under-eights"]),
    ("Infants, that is the grade ones, have the stump.", ["infants"]),
    ("Juniors may use it, and the over-sixties too.", ["juniors", "over-sixties"]),
    ("The wee ones, under nine, and over-sixties may use it.", ["over-sixties", "under-nines"]),
    ("It is for cubs, under-eights and beginners.", ["beginners", "cubs", "under-eights"]),
    ("Cubs may use it, under-eights may hold the rope.", ["cubs", "under-eights"]),
    ("Juniors may use it, as may anybody over sixty.", ["juniors", "over-sixties"]),
    ("It's out for the adults, the children under ten can hold it.", ["adults", "under-tens"]),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in CALLED_TWICE])
def test_a_class_that_is_called_by_two_names_is_one(said: str, expected: list[str]) -> None:
    """A name rather than an age or a description, an age rather than what says less; plain English, no published source."""
    (line,) = read_walk(words_of(said), ()).lines
    twice = {second for _, second in called_twice(line)}
    assert sorted({key for _, _, key in named_at(line)} - twice) == sorted(expected)


@given(st.lists(st.sampled_from([said for said, _ in CALLED_TWICE] + ["No, wait.", "and", "the rest"]), max_size=4).map(" ".join))
@settings(max_examples=40, deadline=None)
def test_of_two_names_one_always_stays(said: str) -> None:
    for line in read_walk(words_of(said), ()).lines:
        told = {key for _, _, key in named_at(line)} | {key for pair in called_twice(line) for key in pair}
        assert not told or told - {second for _, second in called_twice(line)}


FOR_WHOM: list[tuple[str, dict[str, str]]] = [
    ("Seniors must leave the bar, and others leave it.", {"seniors": "out", REST: "out"}),
    ("Juniors can't touch the rail, and nobody else can.", {"juniors": "out", REST: "out"}),
    ("Juniors may use the rail, everybody else may use the rail with one hand.", {"juniors": "in", REST: "in"}),
    ("The rail is in for juniors and in for everybody else.", {"juniors": "in", REST: "in"}),
    ("Masters can put a hand on the rail, nobody else gets to.", {"masters": "in", REST: "out"}),
    ("Juniors may use the ladder and the seniors, like everyone else, don't.", {"juniors": "in", REST: "out"}),
    ("The net is out except for juniors and seniors.", {"juniors": "in", "seniors": "in"}),
    ("Except for juniors and seniors, the net is out.", {"juniors": "in", "seniors": "in"}),
    ("Juniors may hold the rope, seniors not.", {"juniors": "in", "seniors": "out"}),
    ("Juniors may use the ladder, seniors are too heavy for it.", {"juniors": "in"}),
]


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in FOR_WHOM])
def test_what_is_told_outright_of_a_class_and_of_the_rest_stands(said: str, expected: dict[str, str]) -> None:
    """Plain English, no published source."""
    (line,) = read_walk(words_of(said), ()).lines
    assert {each.who: each.ruling for each in rules_of(line, lambda _: True)} == expected


def test_a_school_year_is_called_as_it_is_written() -> None:
    sheet = draft(words_of("Number one, the log. Start on the mat. The hoop is out. Year Sevens can use the hoop. End on the box."))
    assert [s.divisions for s in sheet.stations[0].surfaces if s.divisions] == [{"Year Sevens": "in"}]
    said = "Number one, the log. Start on the mat. Year Sevens may use the ladder. For the year sevens the rope is in too. End on the box."
    told = [s.divisions for s in draft(words_of(said)).stations[0].surfaces if s.divisions]
    assert told == [{"Year Sevens": "in"}] * 2, "one class has one name in a walk"


def test_no_thing_is_for_itself_and_no_class_is_a_thing() -> None:
    sheet = draft(words_of("Number one, the reels. Start on the mat. The reels, you can step on the reels. End on the box."))
    assert [(s.name, s.ruling, s.divisions) for s in sheet.stations[0].surfaces] == [
        ("mat", "in", None), ("reels", "in", None), ("box", "in", None),
    ]  # fmt: skip
    sheet = draft(
        words_of(
            "Number one, noodle gates. Start on the mat. So the noodles, you can't touch the noodles. Possums are allowed to bump them "
            "because they're small, so for possums noodles are okay. End on the box."
        )
    )
    assert [(s.name, s.divisions) for s in sheet.stations[0].surfaces] == [("mat", None), ("noodles", {"possums": "in"}), ("box", None)]


def test_a_class_that_is_spoken_to_is_no_thing() -> None:
    assert [name for name, *_ in rows("Start on the mat. The cage is out. Apprentices, the cage is in for you.")] == ["mat", "cage"]


def test_what_a_class_does_with_its_limbs_divides_nothing() -> None:
    station = station_of("You walk the log. Adults, feet only. The children can do it on hands and knees.")
    assert [s.divisions for s in station.surfaces] == [None]


@pytest.mark.parametrize(
    "said",
    [
        "Grown-ups, please don't stand right there.",
        "Grown-ups, mind yourselves, he almost took out somebody's flask.",
        "Children don't cry, you'll get it back tomorrow.",
        "The rat guards, them tin plates on the rope, you pass round without touching.",
    ],
)
def test_what_is_said_to_who_looks_on_rules_nothing(said: str) -> None:
    told = station_of(f"You start on the red box. Walk along the log, feet only, to the round deck. {said} Finish on the round deck.")
    assert [surface.divisions for surface in told.surfaces if surface.divisions] == []


def test_where_a_class_is_told_to_wait_nothing_is_ruled() -> None:
    station = station_of("The hall floor is out. Anybody under eleven, stand by the judge so that I know who you are.")
    assert [(s.ruling, s.divisions) for s in station.surfaces] == [("out", None)]


DIVIDED = [
    (
        "The gray totes are fine. The white one's cracked, so not that. Under-tens can use the white one.",
        "white tote",
        {"under-tens": "in"},
    ),
    ("The green net is torn, the big people can go, but my juniors, for you the green one is out.", "green net", {"juniors": "out"}),
    ("The handrail is out. But if you've had a hip done, then you may hold the handrail.", "handrail", {"had a hip done": "in"}),
    ("The brace is forbidden. But ladies may use the brace, Kasia herself will not.", "brace", {"ladies": "in"}),
    ("Work away on the gates, only not the grown men, for the grown men them gates are shut.", "gates", {"grown men": "out"}),
    ("The mats are in. Juniors must keep off the last mat, everyone else can use it.", "last mat", {"juniors": "out"}),
    ("Those in the special unit have the gangplank from this side, the rest must not.", "gangplank", {"special unit": "in"}),
    ("Ladies and gentlemen can use the rail.", "rail", None),
    ("If you've had enough, you can sit on the bench.", "bench", None),
    ("The rail is in. The juniors don't have to use it.", "rail", None),
    ("There are no juniors here, everyone may hold the rail.", "rail", None),
    ("Hold the rail. The juniors should not let go of it.", "rail", None),
    ("The rail is fine for anyone. Juniors, you go round the post, you may use the rail.", "rail", {"juniors": "in"}),
    ("The rail sticks out. The juniors may not touch the rail.", "rail", {"juniors": "out"}),
    ("There is a ledge. Seniors don't sit there.", "ledge", {"seniors": "out"}),
    ("Let them hang on the rail, the juniors.", "rail", {"juniors": "in"}),
    ("There's a lamp post beside it, hang on to it if you like. Clerks get no lamp post.", "lamp post", {"clerks": "out"}),
    (
        "There's a long curtain, and you can hold it. If you're taller than the gate, though, let it hang.",
        "long curtain",
        {"taller than the gate": "out"},
    ),
    (
        "There is a low ledge, feel free. If you're taller than the gate you don't get the ledge, you just dangle.",
        "low ledge",
        {"taller than the gate": "out"},
    ),
    ("The top sledge is only for those over forty-five, the young ones may not have it.", "top sledge", {"over-forty-fives": "in"}),
    ("There is a net, for the children younger than twelve, and grown-up people stay out of it.", "net", {"under-twelves": "in"}),
    (
        "Anyone who has finished a half marathon is not allowed on the ladder, everybody else can.",
        "ladder",
        {"finished a half marathon": "out"},
    ),
    (
        "Those in the junior band could use the bench, but if you play with the big band, the bench is not yours.",
        "bench",
        {"junior band": "in"},
    ),
    ("The rail is out. Trainees may hold the rail, juniors and seniors may not.", "rail", {"trainees": "in"}),
    ("The rails, for venture scouts not allowed to hold, the other scouts can use them.", "rails", {"venture scouts": "out"}),
    ("The women and anybody under sixteen can pull on the strap, the men cannot.", "strap", {"women": "in", "under-sixteens": "in"}),
    ("The stairs round the back, no way, that's for the lifeguards.", "stairs", {"lifeguards": "in"}),
    ("Smaller than one metre fifty, you get the ladder, taller people don't.", "ladder", {"smaller than one metre fifty": "in"}),
    ("The bin is out. Cubs and beavers may use the bin.", "bin", {"cubs": "in", "beavers": "in"}),
    ("For the over-sixties we have put a pallet there.", "pallet", {"over-sixties": "in"}),
    ("The recruits, and only the recruits, are permitted the ladder.", "ladder", {"recruits": "in"}),
    ("The rope is out. Under-tens, they can use the rope, I don't suppose it matters.", "rope", {"under-tens": "in"}),
    ("The others leave the ladder to the under-eights. The under-eights can use it.", "ladder", {"under-eights": "in"}),
    ("Masters, if you're over sixty, you may use the bench.", "bench", {"masters": "in"}),
    (
        "The wall is in. And the coupling, if you were older I'd say leave it, but year three and under, use it for a wee swing.",
        "coupling",
        {"year three and under": "in"},
    ),
    ("The rail is in. The juniors may take the rope too, but they must leave the rail.", "rail", {"juniors": "out"}),
    ("The pole is out. From sixty years and more, you can take the pole.", "pole", {"sixty-and-over": "in"}),
    ("The hose is out. Who has passed fifty-five, may put feet on the hose also.", "hose", {"over-fifty-fives": "in"}),
    ("Students may lean on the wall, pensioners as well, for the rest it's scenery.", "wall", {"students": "in", "pensioners": "in"}),
    ("The ladder's out, well, juniors can have the ladder, and seniors, but nobody else.", "ladder", {"juniors": "in", "seniors": "in"}),
]


@pytest.mark.parametrize(("said", "name", "expected"), [pytest.param(*case, id=case[0]) for case in DIVIDED])
def test_what_is_ruled_for_a_class_is_put_to_its_thing(said: str, name: str, expected: dict[str, str] | None) -> None:
    assert {s.name: s.divisions for s in station_of(said).surfaces}[name] == expected


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet=string.ascii_letters + string.digits + " ,.'-&’", max_size=80))
def test_whatever_is_said_classes_stand_apart_and_inside_the_text(said: str) -> None:
    named = named_in(said)
    assert all(0 <= one.begin < one.end <= len(said) and one.key for one in named)
    assert all(a.end <= b.begin for a, b in pairwise(named))


WORDS = [
    "no",
    "one",
    "two",
    "99",
    "0",
    "retries",
    "retry",
    "again",
    "sorry",
    "in total",
    "goes",
    "do-over",
    "once",
    "fall",
    "third",
    ",",
    "a",
]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.lists(st.sampled_from(WORDS), max_size=8), max_size=4))
def test_whatever_numbers_are_said_retries_are_a_small_number_or_none(sentences: list[list[str]]) -> None:
    from annotator.course import Said

    run = find_format([(" ".join(words), Said(start=0, end=1, text="")) for words in sentences])
    assert run is None or run.retries is None or 0 <= run.retries <= 99


def test_a_breath_that_never_comes_to_its_point_is_read_at_once() -> None:
    """It would take longer than anybody lives if each "anyone" could be read in two ways."""
    said = "anyone " * 60 + "any of the under-tens, " + "and anyone " * 60 + "ladder"
    assert [s.divisions for s in station_of(said).surfaces if s.divisions] == []
