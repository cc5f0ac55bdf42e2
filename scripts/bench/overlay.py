"""Marks as drawn: whether labels cover each other or a marked edge, whether SVG and raster agree, and how long each takes.

    python scripts/bench/overlay.py [--shots FOLDER]

Data: the demo's 14 marked stills (their true marks) and 200 random layouts (seeded; 3 to 12 marks of any size, bars among them, some over
the edge). Labels: share of plates that overlap another plate, or a marked edge (as drawn, with its line's width). "Room": the same share
over plates for which some place on a fine grid would have been free of plates and edges. Agreement: Chromium draws the SVG over the still,
the raster is painted on the same still; differing pixels are those more than 60 grey levels apart. Time: as a ratio to writing the same
still as JPEG in the same run.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import Image
from shapely.geometry import box
from shapely.ops import unary_union

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from annotator import fonts
from annotator.course import BlanketRule, Course, Mark, Station, Still, Surface
from annotator.errors import InvalidMark
from annotator.marks import Overlay, area, overlay, paint, svg_of
from annotator.marks.plates import place_plates

SAMPLE = Path(__file__).resolve().parents[2] / "sample_media"
LAYOUTS = 200
FAR = 60
GRID = 48


def demo() -> list[tuple[Course, Station, str, NDArray[np.uint8]]]:
    """The demo's stills with their true marks, each surface ruled as its answers say."""
    gold = json.loads((SAMPLE / "truth" / "gold.json").read_text("utf-8"))
    told = json.loads((SAMPLE / "marks.json").read_text("utf-8"))
    found = []
    for entry in told["stills"]:
        sheet = next(one for one in gold["stations"] if one["number"] == entry["station"])
        rules = [one for one in gold["blanket"] if one["rule"] == "surface"]
        ruled: dict[tuple[str, str | None], dict[str, Any]] = {(one["surface"], one.get("part")): one for one in rules}
        ruled |= {(one["name"], one.get("part")): one for one in sheet["surfaces"]}
        surfaces: dict[tuple[str, str | None], Surface] = {}
        marks = []
        for number, mark in enumerate(one for one in told["marks"] if one["still"] == entry["still"]):
            key = (mark["surface"], mark.get("part"))
            said = ruled.get(key) or ruled.get((key[0], None)) or {}
            if key not in surfaces:
                surfaces[key] = Surface(
                    id=f"u{len(surfaces)}",
                    name=key[0],
                    part=key[1],
                    role=said.get("role", "route"),
                    ruling=said.get("ruling", "out"),
                    contact=said.get("contact"),
                    overshoot=said.get("overshoot"),
                    state="accepted",
                )
            shape = {name: mark[name] for name in ("rings", "line", "width") if name in mark}
            marks.append(
                Mark.model_validate(
                    {"id": f"m{number}", "still": entry["still"], "surface": surfaces[key].id, "state": "accepted", **shape}
                )
            )
        picture = np.asarray(Image.open(SAMPLE / "truth" / f"{entry['still']}.png").convert("RGB"))
        if _is_mask(picture):
            picture = _frame(entry)
        height, width = picture.shape[:2]
        still = Still(id=entry["still"], time_s=entry["time_s"], clip=1, pts=0, width=width, height=height, file="0" * 64, state="accepted")
        there = Station(
            id=f"t{entry['station']}",
            number=entry["station"],
            name=sheet["name"],
            start=0,
            end=1,
            contact=sheet.get("contact"),
            surfaces=tuple(surfaces.values()),
            stills=(still,),
            marks=tuple(marks),
            state="accepted",
        )
        blanket = (BlanketRule(rule="unnamed-out", id="b1", state="accepted"),)
        found.append((Course(name="demo", title="Demo", blanket=blanket, order=(there.id,)), there, still.id, picture))
    return found


def _is_mask(picture: NDArray[np.uint8]) -> bool:
    return len(np.unique(picture[..., 0])) < 64


def _frame(entry: dict[str, Any]) -> NDArray[np.uint8]:
    from annotator.media import grab

    truth = json.loads((SAMPLE / "truth" / "stills.json").read_text("utf-8"))
    one = next(each for each in truth["stills"] if each["still"] == entry["still"])
    clip = next(each for each in truth["clips"] if each["number"] == one["clip"])
    return grab(SAMPLE / clip["file"], one["clip_time_s"]).image


def random_layout(rng: np.random.Generator) -> tuple[list[tuple[Any, tuple[str, ...]]], tuple[int, int]]:
    """Marks of random places and sizes on a landscape or portrait still, with the words that plates carry."""
    size = (1280, 720) if rng.random() < 0.5 else (720, 1280)
    words = [("IN · hands",), ("OUT",), ("START",), ("FINISH", "DO NOT LAND PAST"), ("OUT: top",), ("IN · hands, feet",)]
    marks = []
    for number in range(int(rng.integers(3, 13))):
        x, y = rng.uniform(0, size[0]), rng.uniform(0, size[1])
        mark: dict[str, Any] = {"id": f"m{number}", "still": "s", "surface": "u", "state": "accepted"}
        if rng.random() < 0.3:
            angle, length = rng.uniform(0, np.pi), rng.uniform(60, 500)
            mark |= {"line": [[x, y], [x + length * np.cos(angle), y + length * np.sin(angle)]], "width": rng.uniform(4, 24)}
        else:
            turns = np.sort(rng.uniform(0, 2 * np.pi, int(rng.integers(4, 12))))
            far = rng.uniform(20, 220) * rng.uniform(0.6, 1.0, len(turns))
            mark["rings"] = [np.stack([x + far * np.cos(turns), y + far * np.sin(turns) * rng.uniform(0.4, 1)], 1).tolist()]
        try:
            shape = area(Mark.model_validate(mark), size)
        except InvalidMark:  # outside the still
            continue
        marks.append((shape, words[int(rng.integers(len(words)))]))
    return marks, size


def count(shapes: Sequence[Any], plates: Sequence[Any], size: tuple[int, int], unit: float) -> dict[str, int]:
    """Of the plates: how many there are, cover another, cover a marked edge, and of the last how many need not have."""
    edges = unary_union([shape.boundary.buffer(3 * unit) for shape in shapes])
    boxes = [plate.box for plate in plates]
    over = [any(one.intersection(other).area > 0 for j, other in enumerate(boxes) if i != j) for i, one in enumerate(boxes)]
    on_edge = [one.intersects(edges) for one in boxes]
    needless = 0
    for i, one in enumerate(boxes):
        if not (on_edge[i] or over[i]):
            continue
        x0, y0, x1, y1 = one.bounds
        width, height = x1 - x0, y1 - y0
        xs, ys = np.meshgrid(np.linspace(0, max(0, size[0] - width), GRID), np.linspace(0, max(0, size[1] - height), GRID))
        places = shapely.box(xs.ravel(), ys.ravel(), xs.ravel() + width, ys.ravel() + height)
        taken = unary_union([edges, *(other for j, other in enumerate(boxes) if j != i)])
        shapely.prepare(taken)
        needless += bool((~shapely.intersects(taken, places)).any())
    return {"plates": len(boxes), "over a plate": sum(over), "on an edge": sum(on_edge), "though there was room": needless}


def drawn_by_chromium(pages: Sequence[tuple[Overlay, NDArray[np.uint8]]], folder: Path) -> list[tuple[NDArray[np.uint8], float]]:
    """Each still with its SVG over it as Chromium shows it at the still's size, and how long a picture of it took."""
    from playwright.sync_api import sync_playwright

    style = f"@font-face{{font-family:'{fonts.FAMILY}';font-weight:700;src:url({fonts.BOLD.as_uri()})}}body{{margin:0}}"
    found = []
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path="/usr/bin/chromium" if Path("/usr/bin/chromium").exists() else None)
        for number, (what, picture) in enumerate(pages):
            Image.fromarray(picture).save(folder / f"{number}.png")
            lay = f"svg,img{{position:absolute;inset:0;width:{what.size[0]}px;height:{what.size[1]}px}}"
            html = f"<style>{style}{lay}</style><img src='{number}.png'>{svg_of(what, widths='picture')}"
            (folder / f"{number}.html").write_text(html, "utf-8")
            view = browser.new_page(viewport={"width": what.size[0], "height": what.size[1]})
            view.goto((folder / f"{number}.html").as_uri())
            view.evaluate("document.fonts.ready")
            started = time.perf_counter()
            view.screenshot(path=str(folder / f"{number}-drawn.png"))
            took = time.perf_counter() - started
            view.close()
            found.append((np.asarray(Image.open(folder / f"{number}-drawn.png").convert("RGB")), took))
        browser.close()
    return found


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--shots", type=Path, help="where to put the pictures")
    folder = parser.parse_args().shots
    total: dict[str, int] = {}
    times: dict[str, list[float]] = {"describe": [], "SVG text": [], "paint": [], "JPEG": []}
    stills = demo()
    pages = []
    for course, station, still, picture in stills:
        overlay(course, station, still)
        started = time.perf_counter()
        what = overlay(course, station, still)
        times["describe"].append(time.perf_counter() - started)
        started = time.perf_counter()
        svg_of(what)
        times["SVG text"].append(time.perf_counter() - started)
        paint(picture, what)
        started = time.perf_counter()
        painted = paint(picture, what)
        times["paint"].append(time.perf_counter() - started)
        started = time.perf_counter()
        cv2.imencode(".jpg", picture)
        times["JPEG"].append(time.perf_counter() - started)
        pages.append((what, picture, painted))
        shapes = [unary_union([shapely.Polygon(rings[0], rings[1:]) for rings in item.polygons]) for item in what.items]
        for name, value in count(shapes, [plate for item in what.items for plate in item.plates], what.size, what.line_unit).items():
            total[name] = total.get(name, 0) + value
    print(f"demo, {len(stills)} stills: {total}")
    total, took = {}, []
    rng = np.random.default_rng(4)
    for _ in range(LAYOUTS):
        marks, size = random_layout(rng)
        unit = size[0] / (480 if size[0] > size[1] else 400)
        started = time.perf_counter()
        placed = place_plates(marks, size, unit)
        took.append(time.perf_counter() - started)
        for name, value in count([shape for shape, _ in marks], [one for own in placed for one in own], size, 0.75 * unit).items():
            total[name] = total.get(name, 0) + value
        assert all(box(-1e-6, -1e-6, size[0] + 1e-6, size[1] + 1e-6).covers(one.box) for own in placed for one in own)
    print(f"random, {LAYOUTS} layouts: {total}; placing them {np.median(took) * 1e3:.1f} ms (median), {max(took) * 1e3:.0f} ms (longest)")
    jpeg = float(np.median(times["JPEG"]))
    for name, each in times.items():
        print(f"{name}: {np.median(each) * 1e3:.1f} ms (median), {np.median(each) / jpeg:.1f} x writing the JPEG")
    if folder is None:
        return
    folder.mkdir(parents=True, exist_ok=True)
    for (what, _, painted), (drawn, shot_s) in zip(
        pages, drawn_by_chromium([(what, picture) for what, picture, _ in pages], folder), strict=True
    ):
        apart = np.abs(drawn.astype(int) - painted.astype(int)).max(axis=2)
        lumps = cv2.erode((apart > FAR).astype(np.uint8), np.ones((4, 4), np.uint8)).sum()
        differ = f"{(apart > FAR).mean():.3%} of the pixels differ, in lumps of 4 x 4: {lumps}"
        print(f"{what.still}: {differ}; picture by Chromium {shot_s * 1e3:.0f} ms")
        Image.fromarray(painted).save(folder / f"{what.still}-painted.png")


if __name__ == "__main__":
    main()
