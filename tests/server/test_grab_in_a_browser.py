"""The still that the listening page takes is the very frame on screen. Peer: Chromium's own decoder, read back from the video element.

The long run (50 times for each of the four kinds) is scripts/bench/grab.py.
"""

from __future__ import annotations

from pathlib import Path

from annotator.library import Library
from tests.server.browsing import BUILT, OpenPage, Serve
from tests.server.grabbing import KINDS, grabs, make_walk

pytestmark = BUILT


def test_a_grabbed_still_is_the_frame_on_screen(library: Library, serve: Serve, open_page: OpenPage, tmp_path: Path) -> None:
    name = make_walk(library, tmp_path)
    found = list(grabs(open_page(), library, serve().address, name, each=3))
    assert len(found) == 3 * len(KINDS)
    assert [one for one in found if one.shown != one.kept] == []
    assert len({one.shown for one in found}) > len(KINDS), "several frames were looked at"
