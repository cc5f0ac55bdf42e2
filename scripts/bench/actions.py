"""Count what a person does in a real browser from the drafted demo to one that is ready to sign, and how well its zones lie.

    .venv/bin/python scripts/bench/actions.py LIBRARY [--pages FOLDER] [--trace-error PX] [--other-hall FOLDER]

LIBRARY is a library with the demo published from its decisions; it is copied, and in the copy nothing is marked or accepted: the draft is
right, the marking is all to do. Counted: each press, tap, drag, choice from a list and key that is no text. The run begins on the course's
page, which counts for the course, and ends where every station waits for a signature only.

The person is played from the masks: says of what is proposed which is wrong and takes the rest at one go, or takes the right ones one by
one where that is less (right: an overlap of `RIGHT` with the mask), draws the others in the order of the sheet, each place off by a normal
error: thin bars in one stroke along them, around their bends too, everything else in one go along its outline; what the page aims at comes
first. A dotted edge that is worse than what was drawn is refused, a dotted bar made as wide as the thing where that shows; else going on
takes it. Of pieces that look alike what is wrong is tapped away before the rest is taken. A
surface is marked on the first still that shows it; a still that is marked at all is marked whole.

With `--other-hall` (a folder made by scripts/make_other_hall.py) two stations of that hall come after the demo's eight: a course of ten.

Told of each station: the actions, the overlap of its zones with those of the masks (true_zones.py), and of each surface with its mask.
"""

from __future__ import annotations

import argparse
import logging
import re
import shutil
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator import pipeline
from annotator.course import Course, Station, Surface
from annotator.library import Library
from annotator.marks import area
from scripts.bench.marking import BROWSER, served
from scripts.bench.strokes import Stroke, strokes
from scripts.bench.ten_stations import add_two_stations
from scripts.bench.true_zones import SEEN_PX, raster_of, zone_overlaps
from scripts.bench.truths import Mask, WalkStill, pieces, walk_stills

RIGHT = 0.85
WRONG = 0.3
"""A piece that looks alike and overlaps no true piece by this is none."""
MARKED = 0.5
BETTER = 0.02
"""By so much an edge must be better to be worth a key."""
WIDER = 0.05
"""By so much of its surface a bar of another width must be better to be worth its slider."""
PATIENCE_MS = 180_000


@dataclass
class Person:
    """Somebody at the page of one station, who counts what they do."""

    page: Page
    rng: np.random.Generator
    error_px: float
    done: list[str] = field(default_factory=list)
    still: WalkStill | None = None
    waits: bool = False
    """A dotted edge is better than what was drawn last; going on takes it."""

    def press(self, what: str, name: str | re.Pattern[str]) -> None:
        self.page.get_by_role("button", name=name).first.click()
        self.done.append(what)

    def drag(self, what: str, spots: NDArray[np.float64]) -> None:
        self.page.get_by_text("All saved").wait_for()  # a person is slower than what a save moves on the page
        board = self.page.locator(".board.marking")
        board.evaluate("board => scrollTo(0, scrollY + board.getBoundingClientRect().top - 120)")  # clear of the row of plates
        shown = board.bounding_box()
        assert shown is not None and self.still is not None
        height, width = self.still.numbers.shape
        places = spots * [shown["width"] / width, shown["height"] / height] + [shown["x"], shown["y"]]
        self.page.mouse.move(*places[0])
        self.page.mouse.down()
        for place in places[1:]:
            self.page.mouse.move(*place)
        self.page.mouse.up()
        self.done.append(what)

    def off(self, spots: NDArray[np.float64]) -> NDArray[np.float64]:
        """Where a hand goes that means these places."""
        return spots + self.rng.normal(0, self.error_px, spots.shape)

    def aim(self, surface: Surface) -> None:
        """Choose what is drawn next, where it is not chosen already."""
        choice = self.page.get_by_role("combobox", name="Which thing is marked next")
        if choice.input_value() != surface.id:
            choice.select_option(surface.id)
            self.done.append("choose the thing")

    def way(self, name: str) -> None:
        choice = self.page.get_by_role("radio", name=name, exact=True)
        if not choice.is_checked():
            choice.check()
            self.done.append(f"choose {name}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("library", type=Path)
    parser.add_argument("--pages", type=Path, help="the folder of the built staff pages; the package's own where it is left out")
    parser.add_argument("--trace-error", type=float, default=1.5, help="deviation of each corner of what is drawn, in pixels at 960 wide")
    parser.add_argument("--other-hall", type=Path, help="two stations of this hall as well")
    parser.add_argument("--stations", type=int, nargs="*", help="these only")
    given = parser.parse_args()
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    truths = {still.name: still for still in walk_stills()}
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        root = Path(folder) / "library"
        shutil.copytree(given.library, root)
        with Library(root) as library:
            if given.other_hall:
                truths |= add_two_stations(library, library.courses()[0].doc.name, given.other_hall)
            name = unmarked(library)
            with served(library, given.pages) as address, sync_playwright() as player:
                browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=BROWSER)
                context = browser.new_context(viewport={"width": 1280, "height": 1000}, reduced_motion="reduce")
                context.add_init_script("localStorage.setItem('annotator who', 'bench')")
                context.set_default_timeout(PATIENCE_MS)
                page = context.new_page()
                page.goto(f"{address}/course/{name}")
                if not given.stations:
                    whole = Person(page, np.random.default_rng(0), given.trace_error)
                    whole.press("accept the rules of every station", "Accept these rules")
                    page.get_by_text("All saved").wait_for()
                    print(f"the course: {len(whole.done)} actions ({', '.join(whole.done)})", flush=True)
                for station in [at.doc for at in library.stations(name) if not given.stations or at.doc.number in given.stations]:
                    person = Person(page, np.random.default_rng(station.number), given.trace_error)
                    mark_station(person, station, truths)
                    after = next(at.doc for at in library.stations(name) if at.doc.id == station.id)
                    report(library.course(name).doc, after, person.done, truths)
                left = sorted({each.kind for each in pipeline.findings(library, name) if each.severity == "blocks"})
                print(f"keeps the course from being published: {', '.join(left) or 'nothing'}")
                browser.close()


def unmarked(library: Library) -> str:
    """The one course of the library as a right draft that nobody has marked or accepted, rules of every station included; its name."""
    name = library.courses()[0].doc.name

    def drafted(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        def fresh(items: tuple[Any, ...], **more: object) -> tuple[Any, ...]:
            return tuple(each.model_copy(update={"state": "draft", **more}) for each in items)

        drafts = {"blanket": fresh(course.blanket), "format_by_hand": False}
        return course.model_copy(update=drafts), tuple(
            each.model_copy(
                update={
                    "marks": (),
                    "state": "draft",
                    "accepted_by": None,
                    "signed_by": None,
                    "surfaces": fresh(each.surfaces),
                    "stills": fresh(each.stills, faces_by=None),
                }
            )
            for each in stations
        )

    pipeline.change(library, name, "bench", drafted)
    return name


def mark_station(person: Person, station: Station, truths: dict[str, WalkStill]) -> None:
    """From the course's page, or where the last station led, to its acceptance."""
    page = person.page
    title = page.get_by_role("heading", name=re.compile(re.escape(station.name or ""), re.IGNORECASE), level=1)
    if not page.url.endswith(f"/{station.number}"):
        page.locator("a.plate").nth(station.number - 1).click()
        person.done.append("open the station")
    title.wait_for()
    left = list(station.surfaces)
    for still in station.stills:
        truth = truths[still.id]
        shown = page.locator(f".leaf-stills .board img[src*='/stills/{still.id}/']")
        if not shown.count():
            page.locator(f".other-stills button:has(img[src*='/stills/{still.id}/'])").click()
            person.done.append("open the other still")
        shown.first.wait_for()
        seen = [each for each in station.surfaces if truth.mask_of(each.name, each.part).sum() >= SEEN_PX]
        if any(each in left for each in seen):
            person.still = truth
            page.wait_for_timeout(400)
            page.get_by_text("Looking for regions").wait_for(state="detached", timeout=120_000)
            draw(person, take_proposed(person, seen))
            left = [each for each in left if each not in seen]
        person.press("faces", "I looked: no face is left outside a box")
    person.press("accept and go on", re.compile(f"^Accept station {station.number} and go"))
    title.wait_for(state="detached")
    page.get_by_text("All saved").wait_for()


def take_proposed(person: Person, seen: list[Surface]) -> list[Surface]:
    """Take what lies right; give back what must be drawn."""
    assert person.still is not None
    offered = set(person.page.locator("[data-offer]").evaluate_all("all => all.map(each => each.dataset.offer)"))
    right = {each.id for each in seen if each.id in offered and lies_right(person, each)}
    wrong = offered - right
    if right and len(wrong) + 1 < len(right):
        for thing in sorted(wrong):
            person.page.locator(f".mark-list li[data-thing={thing}]").get_by_text("Not this").click()
            person.done.append("not this")
    if right and (not wrong or len(wrong) + 1 < len(right)):
        person.press("take all", re.compile("^Take (all|the)"))
    else:
        for surface in seen:
            if surface.id in right:
                person.press("take it", re.compile(f"^Take it: {re.escape(full_name(surface))}$"))
    return [each for each in seen if each.id not in right]


def full_name(surface: Surface) -> str:
    return f"{surface.part} of the {surface.name}" if surface.part else surface.name


def lies_right(person: Person, surface: Surface) -> bool:
    """Whether what is offered for a surface covers it."""
    assert person.still is not None
    paths = person.page.locator(f"[data-offer={surface.id}]").evaluate_all(
        "all => all.map(each => each.querySelector('path').getAttribute('d'))"
    )
    drawn = np.zeros(person.still.numbers.shape, np.uint8)
    for path in paths:
        rings = [[[float(n) for n in spot.split()] for spot in ring.split("L")] for ring in re.findall(r"M([^MZ]+)Z", path)]
        own = np.zeros_like(drawn)
        cv2.fillPoly(own, [np.rint(np.array(ring) - 0.5).astype(np.int32) for ring in rings], 1)
        drawn |= own
    return bool(paths) and overlap(drawn > 0, person.still.mask_of(surface.name, surface.part)) >= RIGHT


def overlap(one: Mask, other: Mask) -> float:
    return float((one & other).sum() / max(1, (one | other).sum()))


def draw(person: Person, surfaces: list[Surface]) -> None:
    """Draw each piece of each surface that is not marked yet, what the page aims at first, and take what is dotted then."""
    assert person.still is not None
    masks = {each.id: person.still.mask_of(each.name, each.part) for each in surfaces}
    left = [(each, piece) for each in surfaces for piece in strokes(masks[each.id])]
    while left:
        aimed = person.page.get_by_role("combobox", name="Which thing is marked next").input_value()
        surface, piece = next((each for each in left if each[0].id == aimed), left[0])
        left = [each for each in left if each[1] is not piece]
        if (piece.mask & marked(person, surface)).sum() > MARKED * piece.mask.sum():
            continue
        person.aim(surface)
        person.way("a bar or rope" if piece.thin else "an outline")
        person.drag(f"draw {full_name(surface)}", person.off(piece.spots))
        take_dotted(person, surface, masks[surface.id], piece)
    if person.waits:
        press_key(person, "Enter", "take the last edge")


def take_dotted(person: Person, surface: Surface, truth: Mask, piece: Stroke) -> None:
    """Leave out what is wrong among the pieces that look alike, then take the rest with the edge; refuse an edge worse than what was drawn.

    An edge alone that is better and leaves no doubt is taken by going on (`Person.waits`)."""
    page = person.page
    page.get_by_text("All saved").wait_for()
    page.locator(".hand-near[data-seeking]").wait_for(state="detached")
    edges, others = ([shape_of(path, truth.shape) for path in dotted(person, what)] for what in ("edge", "piece"))
    wrong = [at for at, shape in enumerate(others, 1) if max((overlap(shape, each) for each in pieces(truth)), default=0.0) < WRONG]
    near = grown_box(piece.mask)
    drawn = overlap(marked(person, surface) & near, truth & near)
    gain = max((overlap(edge & near, truth & near) - drawn for edge in edges), default=0.0)
    doubtful = not piece.thin and page.locator(".hand-layer [data-seen=edge][data-doubt]").count() > 0
    person.waits = False
    if piece.thin and edges:
        gain = max(gain, widen(person, truth & near, near, float(piece.mask.sum() / truth.sum())) - drawn)
    if len(wrong) < len(others) - len(wrong):
        for place in wrong:
            page.get_by_role("button", name=f"Piece {place} of {len(others)} that look like it").click()
            person.done.append("leave out")
        press_key(person, "Enter", "take the edge and like it")
    elif gain > BETTER and others:
        person.press("take the edge", "Only the edge")
    elif gain > BETTER and doubtful:
        press_key(person, "Enter", "take the doubtful edge")
    elif gain < -BETTER and not doubtful:
        press_key(person, "Escape", "keep mine")
    else:
        person.waits = gain > BETTER
    page.get_by_text("All saved").wait_for()


def widen(person: Person, truth: Mask, near: Mask, part: float) -> float:
    """Draw the dotted bar as wide as the thing where that helps, with the slider beside it; the overlap that it has then.

    `part`: how much of its surface the piece is.
    """

    def share() -> float:
        edge = shape_of(" ".join(dotted(person, "edge")), truth.shape)
        return overlap(edge & near, truth)

    slider = person.page.get_by_label("How wide")
    before, best = float(slider.input_value()), share()
    widths = {}
    for width in np.arange(2.0, min(40.0, 3 * before), 0.5):
        slider.fill(str(width))
        widths[float(width)] = share()
    width = max(widths, key=lambda each: widths[each])
    helps = part * (widths[width] - best) > WIDER
    slider.fill(str(width if helps else before))
    if helps:
        person.done.append("set the width")
    return widths[width] if helps else best


def press_key(person: Person, key: str, what: str) -> None:
    person.page.locator(".board.marking").focus()
    person.page.keyboard.press(key)
    person.done.append(what)
    person.waits = False
    person.page.get_by_text("All saved").wait_for()


def dotted(person: Person, what: str) -> list[str]:
    """The edge or the pieces that are dotted, as paths."""
    found: list[str] = person.page.locator(f".hand-layer [data-seen={what}] path.snug").evaluate_all(
        "all => all.map(each => each.getAttribute('d'))"
    )
    return [path for path in found if path]


def shape_of(path: str, shape: tuple[int, ...]) -> Mask:
    drawn = np.zeros((shape[0], shape[1]), bool)
    for ring in re.findall(r"M([^MZ]+)Z", path):
        own = np.zeros(drawn.shape, np.uint8)
        spots = np.array([[float(n) for n in spot.split()] for spot in ring.split("L")])
        cv2.fillPoly(own, [np.rint((spots - 0.5) * 16).astype(np.int32)], 1, shift=4)
        drawn ^= own > 0
    return drawn


def marked(person: Person, surface: Surface) -> Mask:
    """What the marks of a surface cover on the still that is open."""
    assert person.still is not None
    found = person.page.locator(f".board.marking [data-mark][data-surface={surface.id}]").evaluate_all(
        "all => all.map(each => each.querySelector('path.line').getAttribute('d'))"
    )
    drawn = np.zeros(person.still.numbers.shape, bool)
    for path in found:
        drawn |= shape_of(path, drawn.shape)
    return drawn


def grown_box(mask: Mask) -> Mask:
    rows, columns = np.nonzero(mask)
    found = np.zeros_like(mask)
    found[max(0, rows.min() - 8) : rows.max() + 9, max(0, columns.min() - 8) : columns.max() + 9] = True
    return found


def report(course: Course, station: Station, done: list[str], truths: dict[str, WalkStill]) -> None:
    kinds = ", ".join(f"{kind} {done.count(kind)}" if done.count(kind) > 1 else kind for kind in dict.fromkeys(done))
    missing = [full_name(each) for each in station.surfaces if not any(mark.surface == each.id for mark in station.marks)]
    print(f"station {station.number}: {len(done)} actions ({kinds}); not marked: {', '.join(missing) or 'none'}; {station.standing()}")
    for each in zone_overlaps(course, station, truths):
        of = f"{each.still}{f', {each.division}' if each.division else ''}"
        print(f"    zones on {of}: in play {_told(each.in_play)}, out of play {_told(each.out_of_play)}")
    overlaps = sorted(surface_overlaps(station, truths))
    short = ", ".join(f"{name} {share:.2f}" for share, name in overlaps if share < RIGHT) or "none"
    shares = [share for share, _ in overlaps]
    print(f"    surfaces: at least {min(shares):.2f}, mean {np.mean(shares):.2f}; under {RIGHT}: {short}", flush=True)


def _told(share: float | None) -> str:
    return "none" if share is None else f"{share:.2f}"


def surface_overlaps(station: Station, truths: dict[str, WalkStill]) -> list[tuple[float, str]]:
    """Of each surface on each still where it is marked: overlap with its mask, name."""
    overlaps = []
    for surface in station.surfaces:
        for still in sorted({mark.still for mark in station.marks if mark.surface == surface.id}):
            truth = truths[still]
            drawn = np.zeros(truth.numbers.shape, bool)
            for mark in station.marks:
                if mark.surface == surface.id and mark.still == still:
                    drawn |= raster_of(area(mark), truth.numbers.shape)
            overlaps.append((overlap(drawn, truth.mask_of(surface.name, surface.part)), full_name(surface)))
    return overlaps


if __name__ == "__main__":
    main()
