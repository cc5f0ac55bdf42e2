"""Whether a still that the listening page takes is the very frame on screen: 50 random times for each of four kinds of clip.

    python scripts/bench/grab.py [--each 50] [--seed 1]

Data: clips made here whose every picture carries its frame number as a bar code: constant and variable rate, landscape and portrait (by
rotation metadata), two copied into their proxy and two encoded anew, in one walk of four clips. The page is used as a person does: a tap on
the strip, single steps, playing; then the key that takes the picture. The number on screen is read back from the video element in Chromium.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import shutil

from playwright.sync_api import sync_playwright

from annotator.library import Library
from tests.server.browsing import served
from tests.server.grabbing import KINDS, grabs, make_walk


def main() -> None:
    """Print how many of the grabs agree, by kind and by the way to the frame."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--each", type=int, default=50)
    parser.add_argument("--seed", type=int, default=1)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder, Library(Path(folder) / "library") as library, sync_playwright() as playwright:
        name = make_walk(library, Path(folder))
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--disable-background-networking"])
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.set_default_timeout(300_000)
        with served(library) as address:
            found = list(grabs(page, library, address, name, wanted.each, wanted.seed))
        browser.close()
    all_of = Counter((one.kind, one.how) for one in found)
    agree = Counter((one.kind, one.how) for one in found if one.shown == one.kept)
    for kind in KINDS:
        ways = ", ".join(f"{how} {agree[kind, how]}/{all_of[kind, how]}" for how in ("sought", "stepped", "playing"))
        print(f"{kind}: {sum(agree[key] for key in agree if key[0] == kind)} of {wanted.each} ({ways})")
    for one in found:
        if one.shown != one.kept:
            print(f"  differs: {one.kind}, {one.how}: {one.shown} on screen, {one.kept} in the still")


if __name__ == "__main__":
    main()
