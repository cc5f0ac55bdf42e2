"""The still that the listening page takes is the very frame on screen. Peer: Chromium's own decoder, read back from the video element.

The long run (50 times for each of the four kinds) is scripts/bench/grab.py.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from annotator.library import Library
from tests.server.grabbing import KINDS, grabs, make_walk, served

if TYPE_CHECKING:
    from playwright import sync_api
else:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed; it drives the browser")
PAGES = Path(__file__).resolve().parents[2] / "annotator" / "server" / "static" / "app"

pytestmark = pytest.mark.skipif(not (PAGES / "index.html").is_file(), reason="the staff pages are not built: npm run build in web/")


def test_a_grabbed_still_is_the_frame_on_screen(library: Library, browser: sync_api.Browser, tmp_path: Path) -> None:
    name = make_walk(library, tmp_path)
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    with served(library) as address:
        found = list(grabs(page, library, address, name, each=3))
    page.close()
    assert len(found) == 3 * len(KINDS)
    assert [one for one in found if one.shown != one.kept] == []
    assert len({one.shown for one in found}) > len(KINDS), "several frames were looked at"
