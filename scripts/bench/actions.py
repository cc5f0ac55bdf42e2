"""Count what a person does to mark each station of the demo in a real browser, and how well the marks lie on the true masks.

    .venv/bin/python scripts/bench/actions.py LIBRARY [--pages FOLDER] [--trace-error PX]

LIBRARY is a library with the demo published from its decisions; it is copied, and in the copy nothing is marked or accepted: the draft is
right, the marking is all to do. Counted: each press, tap, drag, choice from a list and key that is no text, from the station's plate to its
acceptance. The person is played from the masks: takes what is proposed where it lies right (overlap of `RIGHT` with the mask), draws the
rest in the order of the sheet, each place off by a normal error: thin bars in one stroke along them, around their bends too, everything
else in one go along its outline. Where an edge is dotted, with the pieces that look alike, it is taken if it lies no worse than what was
drawn (what is wrong among the pieces is tapped away first). A surface is marked on the first still that shows it.
"""

from __future__ import annotations

import argparse
import math
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray
from playwright.sync_api import Page, sync_playwright
from skimage.graph import MCP
from skimage.morphology import skeletonize

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator import pipeline
from annotator.course import Course, Mark, Station, Surface
from annotator.library import Library
from annotator.marks import area
from scripts.bench.marking import BROWSER, served
from scripts.bench.truths import Mask, WalkStill, pieces, walk_stills

RIGHT = 0.85
SEEN_PX = 150
THIN_PX = 9.0
STEP_PX = 10.0
WRONG = 0.3
"""A piece that looks alike and overlaps no true piece by this is none."""
MARKED = 0.5
BETTER = 0.02
"""By so much an edge must be better to be worth a key."""
LEAST_PX = 60
CRUMB = 0.05
"""Of a surface: what is smaller is not drawn."""
PATIENCE_MS = 180_000


@dataclass
class Person:
    """Somebody at the page of one station, who counts what they do."""

    page: Page
    rng: np.random.Generator
    error_px: float
    done: list[str] = field(default_factory=list)
    still: WalkStill | None = None

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
    parser.add_argument("--stations", type=int, nargs="*", help="these only")
    given = parser.parse_args()
    truths = {still.name: still for still in walk_stills()}
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        root = Path(folder) / "library"
        shutil.copytree(given.library, root)
        with Library(root) as library:
            name = unmarked(library)
            with served(library, given.pages) as address, sync_playwright() as player:
                browser = player.chromium.launch(executable_path="/usr/bin/chromium", args=BROWSER)
                context = browser.new_context(viewport={"width": 1280, "height": 1000}, reduced_motion="reduce")
                context.add_init_script("localStorage.setItem('annotator who', 'bench')")
                context.set_default_timeout(PATIENCE_MS)
                page = context.new_page()
                page.goto(f"{address}/course/{name}")
                for station in [at.doc for at in library.stations(name) if not given.stations or at.doc.number in given.stations]:
                    person = Person(page, np.random.default_rng(station.number), given.trace_error)
                    mark_station(person, station, truths)
                    after = next(at.doc for at in library.stations(name) if at.doc.id == station.id)
                    report(after, person.done, truths)
                browser.close()


def unmarked(library: Library) -> str:
    """The one course of the library as a right draft that nobody has marked or accepted; its name."""
    name = library.courses()[0].doc.name

    def drafted(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        def fresh(items: tuple[Any, ...], **more: object) -> tuple[Any, ...]:
            return tuple(each.model_copy(update={"state": "draft", **more}) for each in items)

        return course, tuple(
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
    """From the station's plate to its acceptance."""
    page = person.page
    page.locator("a.plate").nth(station.number - 1).click()
    person.done.append("open the station")
    page.get_by_role("heading", name=re.compile(re.escape(station.name or ""), re.IGNORECASE)).first.wait_for()
    left = list(station.surfaces)
    for place, still in enumerate(station.stills):
        if place:
            page.locator(".other-stills button").nth(place).click()
            person.done.append("open the other still")
        truth = truths[still.id]
        seen = [each for each in left if truth.mask_of(each.name, each.part).sum() >= SEEN_PX]
        if seen:
            page.locator(".board.marking .stage img").wait_for()
            person.still = truth
            page.wait_for_timeout(400)
            page.get_by_text("Looking for regions").wait_for(state="detached", timeout=120_000)
            rest = take_proposed(person, seen)
            draw(person, rest)
            left = [each for each in left if each not in seen]
        person.press("faces", "I looked: no face is left outside a box")
    person.press("accept", re.compile(f"^Accept station {station.number}"))
    page.get_by_text("All saved").wait_for()


def take_proposed(person: Person, seen: list[Surface]) -> list[Surface]:
    """Take what lies right; give back what must be drawn."""
    assert person.still is not None
    offered = set(person.page.locator("[data-offer]").evaluate_all("all => all.map(each => each.dataset.offer)"))
    right = {each.id for each in seen if each.id in offered and lies_right(person, each)}
    if offered and offered == right:
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
    """Draw each piece of each surface that is not marked yet, and take what is dotted then."""
    assert person.still is not None
    for surface in surfaces:
        truth = person.still.mask_of(surface.name, surface.part)
        for piece in strokes(truth):
            if (piece.mask & marked(person, surface)).sum() > MARKED * piece.mask.sum():
                continue
            person.aim(surface)
            person.way("a bar or rope" if piece.thin else "an outline")
            person.drag(f"draw {full_name(surface)}", person.off(piece.spots))
            take_dotted(person, surface, truth, piece)


def take_dotted(person: Person, surface: Surface, truth: Mask, piece: Stroke) -> None:
    """Leave out what is wrong among the pieces that look alike, then take the rest with the edge, if that is better than what was drawn."""
    page = person.page
    page.get_by_text("All saved").wait_for()
    page.locator(".hand-near[data-seeking]").wait_for(state="detached")
    edges, others = ([shape_of(path, truth.shape) for path in dotted(person, what)] for what in ("edge", "piece"))
    wrong = [at for at, shape in enumerate(others, 1) if max((overlap(shape, each) for each in pieces(truth)), default=0.0) < WRONG]
    near = grown_box(piece.mask)
    drawn = overlap(marked(person, surface) & near, truth & near)
    better = any(overlap(edge & near, truth & near) > drawn + BETTER for edge in edges)
    if len(wrong) < len(others) - len(wrong):
        for place in wrong:
            page.get_by_role("button", name=f"Piece {place} of {len(others)} that look like it").click()
            person.done.append("leave out")
        page.locator(".board.marking").focus()
        page.keyboard.press("Enter")
        person.done.append("take the edge and like it")
    elif better and others:
        person.press("take the edge", "Only the edge")
    elif better:
        page.locator(".board.marking").focus()
        page.keyboard.press("Enter")
        person.done.append("take the edge")
    page.get_by_text("All saved").wait_for()


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


@dataclass(frozen=True, eq=False)
class Stroke:
    """One drag: the pixels that it is for, whether with the bar, and where it goes."""

    mask: Mask
    thin: bool
    spots: NDArray[np.float64]


def strokes(truth: Mask) -> list[Stroke]:
    """How a person draws a surface: thin pieces along their middle, each branch once, others around; crumbs are left."""
    found = []
    for piece in pieces(truth, max(LEAST_PX, int(CRUMB * truth.sum()))):
        middle, size, turn = cv2.minAreaRect(np.argwhere(piece)[:, ::-1].astype(np.float32))
        if min(size) + 1 <= THIN_PX and max(size) > 3 * min(size):
            found.append(Stroke(piece, True, ends(middle, size, turn)))
        elif piece.sum() <= THIN_PX * skeletonize(piece).sum() and not enclosing(piece):  # type: ignore[no-untyped-call]
            found += branches(piece, int(CRUMB * truth.sum()))
        else:
            found.append(Stroke(piece, False, outline(piece)))
    return sorted(found, key=lambda each: -int(each.mask.sum()))


def branches(piece: Mask, crumb_px: int) -> Iterator[Stroke]:
    """A thin thing as the longest way through it, then the longest through what is left."""
    spots = along(piece)
    path = np.zeros(piece.shape, np.uint8)
    cv2.polylines(path, [np.rint(spots - 0.5).astype(np.int32)], False, 1, int(THIN_PX) + 2)
    covered = piece & (path > 0)
    yield Stroke(covered, True, spots)
    for rest in pieces(piece & ~covered, max(LEAST_PX, crumb_px)):
        yield from branches(rest, crumb_px)


def enclosing(piece: Mask) -> bool:
    """Whether it runs around something."""
    count, _ = cv2.connectedComponents(np.pad((~piece).astype(np.uint8), 1, constant_values=1))
    return bool(count > 2)


def along(piece: Mask) -> NDArray[np.float64]:
    """The longest way through a thin thing, along its middle, with a place every few pixels."""
    bones = skeletonize(piece)  # type: ignore[no-untyped-call]
    spots = np.argwhere(bones)
    cost = np.where(bones, 1.0, np.inf)
    end = tuple(spots[0])
    way: list[tuple[int, int]] = []
    for _ in range(2):  # the farthest from anywhere is one end, the farthest from there the other
        search = MCP(cost, fully_connected=True)
        far, _ = search.find_costs([end])
        far[~np.isfinite(far)] = -1
        other = np.unravel_index(int(far.argmax()), far.shape)
        way = search.traceback(other)
        end = (int(other[0]), int(other[1]))
    line = np.array(way, np.float64)[:, ::-1] + 0.5
    return np.vstack([line[:: int(STEP_PX)], line[-1:]])


def ends(middle: Any, size: Any, turn: float) -> NDArray[np.float64]:
    along = math.radians(turn if size[0] >= size[1] else turn + 90)
    half = np.array([math.cos(along), math.sin(along)]) * (max(size) + 1) / 2
    centre = np.array(middle) + 0.5
    return np.array([centre - half, centre, centre + half])


def outline(piece: Mask) -> NDArray[np.float64]:
    """The outer outline with a place every few pixels."""
    contours, _ = cv2.findContours(piece.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    line = max(contours, key=len)[:, 0].astype(np.float64) + 0.5
    corners = cv2.approxPolyDP(line.astype(np.float32), 1.5, True)[:, 0].astype(np.float64)
    spots: list[NDArray[np.float64]] = []
    for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        count = max(1, int(np.hypot(*(other - one)) / STEP_PX))
        spots += [one + (other - one) * at / count for at in range(count)]
    return np.array(spots)


def report(station: Station, done: list[str], truths: dict[str, WalkStill]) -> None:
    overlaps = []
    for surface in station.surfaces:
        stills = {mark.still for mark in station.marks if mark.surface == surface.id}
        for still in sorted(stills):
            truth = truths[still]
            drawn = np.zeros(truth.numbers.shape, bool)
            for mark in station.marks:
                if mark.surface == surface.id and mark.still == still:
                    drawn |= raster(mark, truth.numbers.shape)
            overlaps.append((overlap(drawn, truth.mask_of(surface.name, surface.part)), full_name(surface)))
    short = ", ".join(f"{name} {share:.2f}" for share, name in overlaps if share < RIGHT) or "none"
    kinds = ", ".join(f"{kind} {done.count(kind)}" if done.count(kind) > 1 else kind for kind in dict.fromkeys(done))
    missing = [full_name(each) for each in station.surfaces if not any(mark.surface == each.id for mark in station.marks)]
    print(
        f"station {station.number}: {len(done)} actions ({kinds}); overlap at least {min((one for one, _ in overlaps), default=0):.2f}, "
        f"mean {np.mean([one for one, _ in overlaps]) if overlaps else 0:.2f}; under {RIGHT}: {short}; "
        f"not marked: {', '.join(missing) or 'none'}; {station.standing()}",
        flush=True,
    )


def raster(mark: Mark, shape: tuple[int, ...]) -> Mask:
    """The pixels whose middle a mark covers, by a raster eight times as fine."""
    found = area(mark)
    drawn = np.zeros((shape[0], shape[1]), np.uint8)
    for part in getattr(found, "geoms", [found]):
        for at, ring in enumerate((part.exterior, *part.interiors)):
            points = np.rint((np.array(ring.coords) - 0.5) * 16).astype(np.int32)
            cv2.fillPoly(drawn, [points], 0 if at else 1, shift=4)
    return np.asarray(drawn > 0)


if __name__ == "__main__":
    main()
