"""What single statements come to: statements that course directors make. Common practice, no published source."""

from __future__ import annotations

import pytest

from tests.rules.reading_of import rows, station_of

Row = tuple[str, str | None, str, str]


def _in(name: str, part: str | None = None) -> Row:
    return (name, part, "route", "in")


def _out(name: str, part: str | None = None) -> Row:
    return (name, part, "route", "out")


RULINGS = [
    ("The yellow beam is in play.", [_in("yellow beam")]),
    ("The yellow beam's out.", [_out("yellow beam")]),
    ("The chains are out of bounds.", [_out("chains")]),
    ("The posts are off limits.", [_out("posts")]),
    ("You may touch the ropes.", [_in("ropes")]),
    ("You are allowed to use the handles.", [_in("handles")]),
    ("You're not allowed to use the handles.", [_out("handles")]),
    ("The side rails are fair game.", [_in("side rails")]),
    ("Don't touch the frame.", [_out("frame")]),
    ("Please do not hold on to the crossbar.", [_out("crossbar")]),
    ("You must not step on the red mat.", [_out("red mat")]),
    ("You shouldn't grab the cable.", [_out("cable")]),
    ("Nobody touches the truss.", [_out("truss")]),
    ("Stay off the wooden boxes.", [_out("wooden boxes")]),
    ("Keep your hands off the net.", [_out("net")]),
    ("Keep away from the brackets.", [_out("brackets")]),
    ("Leave the ladder alone.", [_out("ladder")]),
    ("No touching the scaffold.", [_out("scaffold")]),
    ("The bolts aren't in play.", [_out("bolts")]),
    ("The uprights may not be used.", [_out("uprights")]),
    ("The uprights can be used.", [_in("uprights")]),
    ("The green blocks are legal, the grey blocks are not.", [_in("green blocks"), _out("grey blocks")]),
    ("Pegs and holes are fine.", [_in("pegs"), _in("holes")]),
    ("The tyres are all yours.", [_in("tyres")]),
    ("Feel free to use the blue rope.", [_in("blue rope")]),
    ("You can use anything except the black bar.", [_out("black bar")]),
    ("I don't want to see anyone on the railing.", [_out("railing")]),
    ("The orange handle is dead.", [_out("orange handle")]),
    ("The pads on the posts are in.", [_in("pads")]),
    ("Hands on the bars, feet on the boards.", [_in("bars"), _in("boards")]),
    ("Grab the ring, swing, and catch the second bar.", [_in("ring"), _in("bar")]),
    ("It's a climb up the cargo net.", [_in("cargo net")]),
    ("Then you go across the balance beam.", [_in("balance beam")]),
    ("There are three hanging bags and you bounce off them.", [_in("hanging bags")]),
    ("Work your way along the ledge.", [_in("ledge")]),
    ("The steel post is out, and so are the grey cables that hold the net up.", [_out("steel post"), _out("grey cables")]),
    ("The steel post is out. And so are the grey cables.", [_out("steel post"), _out("grey cables")]),
    ("The bench is in, and so is the ladder.", [_in("bench"), _in("ladder")]),
    ("The black cables are out, that's all just hardware.", [_out("black cables")]),
    ("Hands and feet, wherever you like on the ladder.", [_in("ladder")]),
    ("Your feet go flat on the green wall.", [_in("green wall")]),
    ("The pegs, all six, you take them left to right.", [_in("pegs")]),
    ("The pegs, all six. You take them in any order.", [_in("pegs")]),
    ("The chains are out. I'm holding the microphone in my left hand.", [_out("chains")]),
    ("You don't have to use the rope, but you can.", [_in("rope")]),
    ("Can you touch the beam? No, the beam is out.", [_out("beam")]),
    ("Is the wall in? Yes, the wall is in.", [_in("wall")]),
    ("The metal frame around the net is out.", [_out("metal frame")]),
    ("The rope that hangs from the top is in.", [_in("rope")]),
    ("The white poles count as out.", [_out("white poles")]),
    ("The lanes marked in red are forbidden.", [_out("lanes")]),
    ("That silver pipe there, that's not for you.", [_out("silver pipe")]),
    ("Anything on the truss is out.", [_out("truss")]),
    ("You are welcome to lean on the side wall.", [_in("side wall")]),
    ("Contact with the netting is a fail.", [_out("netting")]),
    ("If you touch the net you fail.", [_out("net")]),
    ("Touching the barrier means you're out.", [_out("barrier")]),
]  # fmt: skip

PARTS = [
    ("The stumps, tops only.", [_in("stumps", "tops")]),
    ("Only the top of the wall is in.", [_in("wall", "top")]),
    ("The wall is in, but not the top.", [_in("wall"), _out("wall", "top")]),
    ("You can use the windows, all of them except the top.", [_in("windows"), _out("windows", "top")]),
    ("The top of the pads is out.", [_out("pads", "top")]),
    ("You may hold the rims of the buckets.", [_in("buckets", "rims")]),
    ("The board is in, both sides of it.", [_in("board")]),
    ("The edges of the boxes are out.", [_out("boxes", "edges")]),
    ("The back of the panel is off limits.", [_out("panel", "back")]),
    ("The pads are in, except for the caps.", [_in("pads"), _out("pads", "caps")]),
]  # fmt: skip

STARTS = [
    ("You start on the blue box. ", [("blue box", None, "start", "in")]),
    ("The start is the wooden deck.", [("wooden deck", None, "start", "in")]),
    ("Your starting point is the white line.", [("white line", None, "start", "in")]),
    ("Begin with both feet on the red mat.", [("red mat", None, "start", "in")]),
    ("The red mat is your start.", [("red mat", None, "start", "in")]),
    ("Set off from the low bench.", [("low bench", None, "start", "in")]),
    ("Everybody starts behind the yellow line.", [("yellow line", None, "start", "in")]),
    ("We start from the tall crate.", [("tall crate", None, "start", "in")]),
    ("From the grey platform you swing along the rope.", [("grey platform", None, "start", "in"), _in("rope")]),
    ("Standing on the green tile, you reach for the ring.", [("green tile", None, "start", "in"), _in("ring")]),
    ("The athlete stands on the round podium to begin.", [("round podium", None, "start", "in")]),
]  # fmt: skip

FINISHES = [
    ("You finish on the blue mat.", [("blue mat", None, "finish", "in")]),
    ("The finish is the steel platform.", [("steel platform", None, "finish", "in")]),
    ("It ends on the brown box.", [("brown box", None, "finish", "in")]),
    ("End on the pink step.", [("pink step", None, "finish", "in")]),
    ("The black deck is the finish.", [("black deck", None, "finish", "in")]),
    ("Both feet on the square tile and you're done.", [("square tile", None, "finish", "in")]),
    ("Once you're on the far deck, that's it.", [("far deck", None, "finish", "in")]),
    ("Your finish is over there, the green bench.", [("green bench", None, "finish", "in")]),
    ("You complete it by landing on the crash mat.", [("crash mat", None, "finish", "in")]),
    ("Hit the buzzer to stop the clock.", [("buzzer", None, "finish", "in")]),
    ("Ring the bell at the top.", [("bell", None, "finish", "in")]),
    ("Finish on the red box or the blue box, either one.", [("red box", None, "finish", "in"), ("blue box", None, "finish", "in")]),
]  # fmt: skip

CORRECTED = [
    ("You start on the red, sorry, the orange box.", [("orange box", None, "start", "in")]),
    ("The yellow pegs, no, hang on, not yellow, the white pegs are in.", [_in("white pegs")]),
    ("The rail is in. No, scratch that, the rail is out.", [_out("rail")]),
    ("On your sheet it says the rail is in. Forget the sheet, the rail is out.", [_out("rail")]),
    ("You finish on the, um, the tall, no, the low platform.", [("low platform", None, "finish", "in")]),
]  # fmt: skip


MORE: list[tuple[str, list[Row]]] = [
    ("The wall you can use, the fence you can't.", [('wall', None, 'route', 'in'), ('fence', None, 'route', 'out')]),
    ("What's not in play is the legs of the table.", [('table', 'legs', 'route', 'out')]),
    ("Touch the mats and your run is over.", [('mats', None, 'route', 'out')]),
    ("The lower beam is only there to look at, you can't use it.", [('lower beam', None, 'route', 'out')]),
    ("Use the pegs, not the holes.", [('pegs', None, 'route', 'in'), ('holes', None, 'route', 'out')]),
    ("Neither the cable nor the frame is in play.", [('cable', None, 'route', 'out'), ('frame', None, 'route', 'out')]),
    ("The cable and the frame are both out.", [('cable', None, 'route', 'out'), ('frame', None, 'route', 'out')]),
    ("We don't count the ladder, so stay off it.", [('ladder', None, 'route', 'out')]),
    ("Please ignore the ladder, it belongs to the hall.", [('ladder', None, 'route', 'out')]),
    ("The black tape marks the edge, beyond it the board is out.", [('board', None, 'route', 'out')]),
    ("You're welcome to use the wall on the left.", [('wall', None, 'route', 'in')]),
    ("Blue handles good, red handles bad.", [('blue handles', None, 'route', 'in'), ('red handles', None, 'route', 'out')]),
    ("Only the white holds are live.", [('white holds', None, 'route', 'in')]),
    ("The trusses aren't part of the obstacle.", [('trusses', None, 'route', 'out')]),
    ("You'll need to climb the rope.", [('rope', None, 'route', 'in')]),
    ("Traverse the hanging rings.", [('hanging rings', None, 'route', 'in')]),
    ("Make your way over the wooden barrels.", [('wooden barrels', None, 'route', 'in')]),
    ("Bounce off the trampoline and grab the bar.", [('trampoline', None, 'route', 'in'), ('bar', None, 'route', 'in')]),
    ("The athlete swings from ring to ring.", [('ring', None, 'route', 'in')]),
    ("No part of your body may touch the water tank.", [('water tank', None, 'route', 'out')]),
    ("Holding the cable is not allowed.", [('cable', None, 'route', 'out')]),
    ("Using the frame is forbidden.", [('frame', None, 'route', 'out')]),
    ("It's not permitted to hold the frame.", [('frame', None, 'route', 'out')]),
    ("There's no touching of the side walls.", [('side walls', None, 'route', 'out')]),
    ("You can't go anywhere near the curtain.", [('curtain', None, 'route', 'out')]),
    ("I'd like you to start on the carpet.", [('carpet', None, 'start', 'in')]),
    ("Okay so start is the big cube.", [('big cube', None, 'start', 'in')]),
    ("You'll be starting from the red disc.", [('red disc', None, 'start', 'in')]),
    ("Take your place on the green square mat.", [('green square mat', None, 'start', 'in')]),
    ("The obstacle starts at the silver line.", [('silver line', None, 'start', 'in')]),
    ("You end up on the soft mat.", [('soft mat', None, 'finish', 'in')]),
    ("The obstacle is complete when both feet are on the grey deck.", [('grey deck', None, 'finish', 'in')]),
    ("The obstacle ends when you touch the far post.", [('far post', None, 'finish', 'in')]),
    ("Once both feet are down on the tall box you've cleared it.", [('tall box', None, 'finish', 'in')]),
    ("Dismount to the blue mat and you're finished.", [('blue mat', None, 'finish', 'in')]),
    ("You're done when you're standing on the tall bench.", [('tall bench', None, 'finish', 'in')]),
    ("Get to the top deck to complete it.", [('top deck', None, 'finish', 'in')]),
    ("Slap the red button to stop your time.", [('red button', None, 'finish', 'in')]),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in RULINGS + PARTS + MORE])
def test_a_statement_about_a_thing_gives_its_ruling_and_part(said: str, expected: list[Row]) -> None:
    assert rows(said) == expected


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in STARTS + FINISHES])
def test_a_statement_about_where_one_starts_or_ends_gives_the_role(said: str, expected: list[Row]) -> None:
    assert rows(said) == expected


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in CORRECTED])
def test_of_a_correction_only_the_corrected_version_stays(said: str, expected: list[Row]) -> None:
    assert rows(said) == expected


OVERSHOOTS = [
    ("You finish on the blue mat, and you can run straight past it.", "allowed"),
    ("You finish on the blue mat. If you overshoot it, no problem.", "allowed"),
    ("You finish on the blue mat, you may run off it.", "allowed"),
    ("You finish on the blue mat. Overshooting is fine.", "allowed"),
    ("You finish on the blue mat and you must stop on it.", "not allowed"),
    ("You finish on the blue mat. If you go past it, that's a fail.", "not allowed"),
    ("You finish on the blue mat. Do not overshoot it.", "not allowed"),
    ("You finish on the blue mat, no overshooting.", "not allowed"),
    ("You finish on the blue mat, overshooting permitted.", "allowed"),
    ("You finish on the blue mat. If you tumble off it, so what.", "allowed"),
    ("You finish on the blue mat. Running past the mat is not an error.", "allowed"),
    ("You finish on the blue mat, and there you stop dead.", "not allowed"),
    ("You finish on the blue mat. Dead stop.", "not allowed"),
    ("You finish on the blue mat. Don't pass the mat.", "not allowed"),
    ("You finish on the blue mat and you have to stay on it.", "not allowed"),
    ("You finish on the blue mat.", None),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in OVERSHOOTS])
def test_what_is_said_of_going_past_the_finish(said: str, expected: str | None) -> None:
    assert [s.overshoot for s in station_of(said).surfaces if s.role == "finish"] == [expected]


LIMBS = [
    ("Hands only on this one.", ("hands",)),
    ("It's feet only.", ("feet",)),
    ("Only your hands.", ("hands",)),
    ("You can use your hands and your feet.", ("hands", "feet")),
    ("No hands here.", ("feet",)),
    ("No feet allowed.", ("hands",)),
    ("Hands, feet, whatever you like.", ("hands", "feet")),
    ("Just your feet, please.", ("feet",)),
    ("Hands or feet, both are fine.", ("hands", "feet")),
    ("With hands and feet.", ("hands", "feet")),
    ("Dry your hands before you go.", None),
    ("He went down on one hand.", None),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in LIMBS])
def test_the_limbs_that_a_statement_allows(said: str, expected: tuple[str, ...] | None) -> None:
    assert station_of(said).contact == expected


CLASSES = [
    ("Under-tens may use the white pegs, everybody else may not.", "white pegs", "out", {"under-tens": "in"}),
    ("The step stool is only for eight and under.", "step stool", "out", {"eight-and-under": "in"}),
    ("Kids under twelve can use the rail, nobody else.", "rail", "out", {"under-twelves": "in"}),
    ("The short bar is for the under-eights only.", "short bar", "out", {"under-eights": "in"}),
    ("Ten and over may not use the ladder.", "ladder", "in", {"ten-and-over": "out"}),
    ("Juniors may use the ladder, everyone else may not.", "ladder", "out", {"juniors": "in"}),
]  # fmt: skip


@pytest.mark.parametrize(("said", "name", "ruling", "divisions"), [pytest.param(*case, id=case[0]) for case in CLASSES])
def test_a_rule_for_a_class_differs_from_everybody_elses(said: str, name: str, ruling: str, divisions: dict[str, str]) -> None:
    [surface] = station_of(said).surfaces
    assert (surface.name, surface.ruling, surface.divisions) == (name, ruling, divisions)


SHOWN = [
    ("Show us, Nell. [6] Beautiful, that's a clear.", "clear"),
    ("Off you go. [7] Oh no, he's down, that's a fail.", "fail"),
    ("Can you demonstrate? [6] Well done, clean run.", "clear"),
    ("Watch this. [6] Ah, bad luck, she touched the floor.", "fail"),
    ("If you touch the floor, that's a fail.", None),
    ("Walk along the beam, well, mind your step.", None),
    ("So, just to be clear, the boards are in.", None),
    ("Let me be clear, the boards are in.", None),
    ("The boards are in, is that clear?", None),
    ("We want this to be clean, wipe your shoes.", None),
    ("Sam was clear there, well done.", "clear"),
]  # fmt: skip


@pytest.mark.parametrize(("said", "expected"), [pytest.param(*case, id=case[0]) for case in SHOWN])
def test_a_demonstration_is_clear_or_failed_only_where_one_was_shown(said: str, expected: str | None) -> None:
    assert station_of(said).demonstration == expected
