"""Every command as a person types it: its exit status, and the words that they read. The course is a small one made from captions."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from click.testing import CliRunner, Result

from annotator.cli import main
from annotator.library import Library
from tests.small_walk import LATER, draw_clip, write_captions

DRAFT = "Draft, not an edition"
COMMANDS = sorted(main.commands)


def run(root: Path, *arguments: object) -> Result:
    """One command on a library; whatever comes, it is a sentence and never a trace."""
    done = CliRunner().invoke(main, ["--library", str(root), *map(str, arguments)])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    assert done.exit_code != 3 and "Traceback" not in done.output, done.output
    return done


@pytest.fixture(scope="module")
def walk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a clip, its captions, a names list, and marks."""
    folder = tmp_path_factory.mktemp("walk")
    draw_clip(folder / "walk.mp4", 34)
    write_captions(folder / "walk.vtt")
    (folder / "names.txt").write_text("stump hop\nrung bridge\n", "utf-8")
    marks = {
        "stills": [{"still": "s01-9", "station": 1, "time_s": 12.0}],
        "marks": [{"still": "s01-9", "station": 1, "surface": "blue platform", "rings": [[[20, 95], [90, 95], [90, 130], [20, 130]]]}],
    }
    (folder / "marks.json").write_text(json.dumps(marks), "utf-8")
    return folder


@pytest.fixture(scope="module")
def drafted_root(tmp_path_factory: pytest.TempPathFactory, walk: Path) -> Path:
    root = tmp_path_factory.mktemp("drafted") / "library"
    done = run(
        root, "add", walk / "walk.mp4", "--captions", walk / "walk.vtt", "--names", walk / "names.txt", "--title", "Spring", "--by", "Ana"
    )
    assert (done.exit_code, done.stdout) == (0, "spring\n")
    assert run(root, "mark", "spring", walk / "marks.json", "--by", "Ana").stdout == "1 marks on 1 stills are in spring.\n"
    return root


@pytest.fixture
def drafted(drafted_root: Path, tmp_path: Path) -> Path:
    """A library of its own with the drafted course."""
    return Path(shutil.copytree(drafted_root, tmp_path / "library"))


@pytest.fixture(scope="module")
def published(drafted_root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course with its first edition; for reading only."""
    root = Path(shutil.copytree(drafted_root, tmp_path_factory.mktemp("published") / "library"))
    assert run(root, "accept", "spring", "--by", "Ana").exit_code == 0
    assert run(root, "publish", "spring", "--by", "Ben").exit_code == 0
    return root


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_explains_itself(tmp_path: Path, command: str) -> None:
    done = run(tmp_path / "library", command, "--help")
    assert done.exit_code == 0
    assert (main.commands[command].help or "no help").split("\n")[0] in " ".join(done.output.split()), (
        "the whole sentence stands in its help"
    )
    assert not (tmp_path / "library").exists(), "asking for help makes nothing"


REFUSALS: dict[str, tuple[tuple[object, ...], int, str]] = {
    "unknown course": (("check", "nope"), 2, "There is no course 'nope'. There is: spring."),
    "unknown course to publish": (("publish", "nope"), 2, "There is no course 'nope'."),
    "unknown course to pack": (("pack", "nope", "-o", "{out}"), 2, "There is no course 'nope'."),
    "unknown edition": (("booklet", "spring", "--edition", "3", "-o", "{out}"), 2, "There is no edition '3'."),
    "unknown station to accept": (("accept", "spring", "--station", "9"), 2, "there is no station 9"),
    "unknown station to ask": (
        ("ask", "spring", "--station", "9", "--still", "s01-9", "--at", "1,1"),
        2,
        "There is no station '9'. There is: 1, 2.",
    ),
    "unknown still": (("ask", "spring", "--station", "1", "--still", "x", "--at", "1,1"), 2, "There is no still 'x'."),
    "unknown division": (
        ("ask", "spring", "--station", "1", "--still", "s01-9", "--at", "1,1", "--division", "x"),
        2,
        "There is no division 'x'.",
    ),
    "a point outside": (("ask", "spring", "--station", "1", "--still", "s01-9", "--at", "999,1"), 2, "320 x 180 pixels"),
    "no number": (("ask", "spring", "--station", "1", "--still", "s01-9", "--at", "nan,nan"), 2, "outside the still"),
    "no point": (("ask", "spring", "--station", "1", "--still", "s01-9", "--at", "here"), 2, "such as 640,360"),
    "a still without marks": (("ask", "spring", "--station", "2", "--still", "s02-1", "--at", "1,1"), 2, "Nothing is marked"),
    "publish a draft": (("publish", "spring"), 1, "Mend these first:"),
    "slip of nothing": (("slip", "spring", "-o", "{out}"), 2, "a change slip needs two"),
    "sign a draft": (("sign", "spring", "--by", "Ben"), 2, "accept them first"),
    "replay without marks": (("replay", "spring", "--station", "2", "{walk}/walk.mp4", "-o", "{out}"), 2, "has no marks yet"),
    "replay of text": (("replay", "spring", "--station", "1", "{walk}/walk.vtt", "-o", "{out}"), 2, "It is a text file"),
    "marks that are none": (("mark", "spring", "{walk}/walk.mp4"), 2, "Cannot read 'walk.mp4'"),
    "decisions that are none": (("mend", "spring", "{walk}/walk.mp4"), 2, "Cannot read 'walk.mp4'"),
    "a clip that is none": (("add", "{walk}/walk.vtt"), 2, "It is a text file, not a film."),
    "a clip that is not there": (("add", "{walk}/none.mp4"), 2, "There is no such file."),
    "a folder for a clip": (("add", "{walk}"), 2, "It is a folder."),
    "a clip of 0 bytes": (("add", "{walk}/empty.mp4"), 2, "empty"),
    "a letter named as a clip": (("add", "{walk}/letter.mp4"), 2, "It is a text file"),
    "a clip without an index": (("add", "{walk}/cut.mp4"), 2, "cut off"),
    "one clip twice": (("add", "{walk}/walk.mp4", "{walk}/walk.mp4"), 2, "is the same recording as clip 1"),
    "too many captions": (
        ("add", "{walk}/other.mp4", "--captions", "{walk}/walk.vtt", "--captions", "{walk}/walk.vtt"),
        2,
        "1 clips but 2",
    ),
    "captions that are not there": (("add", "{walk}/other.mp4", "--captions", "{walk}/none.vtt"), 2, "Cannot read 'none.vtt'"),
    "a title too long": (("add", "{walk}/other.mp4", "--title", "x" * 10_000), 2, "The title has 10000 characters; use at most 120."),
    "a clip for a course that is not there": (("add", "{walk}/other.mp4", "--to", "nope"), 2, "There is no course 'nope'."),
    "a title for a course that has one": (("add", "{walk}/other.mp4", "--to", "spring", "--title", "X"), 2, "this one has its own"),
    "a text file for a course": (("add", "{walk}/walk.vtt", "--to", "spring"), 2, "It is a text file, not a film."),
    "removing what is not there": (("remove", "nope"), 2, "There is no course 'nope'. There is: spring."),
    "removing for good what is not there": (("remove", "nope", "--for-good", "--yes"), 2, "There is no course 'nope'."),
    "bringing back what is not in the bin": (("bring-back", "spring"), 2, "There is no course in the bin 'spring'."),
    "a pack that is none": (("unpack", "{walk}/walk.mp4"), 2, "Cannot unpack 'walk.mp4'"),
    "a pack that is not there": (("unpack", "{walk}/none.zip"), 2, "none.zip"),
    "a sheet of nothing": (("draft", "{walk}/none.vtt"), 2, "Cannot read 'none.vtt'"),
    "a sheet into a folder": (("draft", "{walk}/walk.vtt", "-o", "{walk}"), 2, "is a folder; this output is a file"),
    "cards on strange paper": (("cards", "spring", "-o", "{out}", "--paper", "Z9"), 2, "there is no such size. Choose one of: A4,"),
    "cards into a folder": (("cards", "spring", "-o", "{walk}"), 2, "is a folder; this output is a file"),
    "print into a folder": (("print", "spring", "-o", "{walk}"), 2, "is a folder; this output is a file"),
    "epub into a folder": (("epub", "spring", "-o", "{walk}"), 2, "is a folder; this output is a file"),
    "a pack into a folder": (("pack", "spring", "-o", "{walk}"), 2, "is a folder; this output is a file"),
    "a booklet into a file": (("booklet", "spring", "-o", "{walk}/walk.vtt"), 2, "is a file; this output is a folder"),
    "captions into a file": (("captions", "spring", "-o", "{walk}/walk.vtt"), 2, "is a file; this output is a folder"),
    "cards under a file": (("cards", "spring", "-o", "{walk}/walk.vtt/cards.pdf"), 2, "leads through a file"),
}


@pytest.fixture(scope="module")
def untouched(drafted_root: Path, walk: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library that only refused commands meet, so that all of them may share it."""
    draw_clip(walk / "other.mp4", 3, shade=150)
    (walk / "empty.mp4").touch()
    (walk / "letter.mp4").write_text("Dear committee, the film follows.\n" * 40, "utf-8")
    (walk / "cut.mp4").write_bytes(b"\0\0\0\x20ftypisom\0\0\x02\0isomiso2avc1mp41" + b"\0\x10\0\0mdat" + b"\x5a" * 4000)
    return Path(shutil.copytree(drafted_root, tmp_path_factory.mktemp("untouched") / "library"))


@pytest.mark.parametrize(("arguments", "status", "words"), REFUSALS.values(), ids=REFUSALS.keys())
def test_a_refusal_says_what_is_wrong_and_changes_nothing(
    untouched: Path, walk: Path, tmp_path: Path, arguments: tuple[object, ...], status: int, words: str
) -> None:
    before = _state(untouched)
    done = run(untouched, *(str(each).replace("{walk}", str(walk)).replace("{out}", str(tmp_path / "out")) for each in arguments))
    assert (done.exit_code, done.stdout) == (status, "")
    assert words in " ".join(done.stderr.split())
    assert _state(untouched) == before and not (tmp_path / "out").exists()


def _state(root: Path) -> Any:
    with Library(root) as library:
        assert library.verify() == ()
        return [(library.whole(at.doc.name), library.editions(at.doc.name)) for at in library.courses()]


def test_an_empty_library_says_what_comes_first(tmp_path: Path) -> None:
    done = run(tmp_path / "library", "list")
    assert done.exit_code == 2 and "Take in a walk first: annotator add CLIP..." in done.stderr


@pytest.mark.parametrize("kind", ["booklet", "cards", "print", "epub", "clips"])
def test_a_course_without_stations_writes_nothing(tmp_path: Path, walk: Path, kind: str) -> None:
    (tmp_path / "hello.vtt").write_text("WEBVTT\n\n00:00.000 --> 00:01.000\nHello.\n", "utf-8")
    root = tmp_path / "library"
    assert run(root, "add", walk / "walk.mp4", "--captions", tmp_path / "hello.vtt", "--title", "Hello", "--no-proxy").exit_code == 0
    refused = run(root, "publish", "hello")
    assert refused.exit_code == 1 and "there is no station yet" in refused.stderr
    done = run(root, kind, "hello", "-o", tmp_path / "out")
    assert done.exit_code == 2 and "has no station yet, so there is no" in done.stderr


def test_the_same_walk_again_goes_on_with_the_same_course(drafted: Path, walk: Path) -> None:
    before = _state(drafted)
    done = run(drafted, "add", walk / "walk.mp4", "--title", "Other")
    assert (done.exit_code, done.stdout) == (0, "spring\n")
    assert "already in the library as 'spring'" in done.stderr and "stay as they were" in done.stderr
    assert _state(drafted) == before


def test_a_clip_that_was_forgotten_is_added_to_its_course(drafted: Path, walk: Path, tmp_path: Path) -> None:
    forgotten, captions = draw_clip(tmp_path / "later.mp4", 12, shade=180), write_captions(tmp_path / "later.vtt", LATER)
    (names := tmp_path / "names.txt").write_text("tall wall\n", "utf-8")
    assert run(drafted, "accept", "spring", "--by", "Ana").exit_code == 0
    before = _state(drafted)[0][0]
    for told in ("", "1 of these clips were in 'spring' already"):
        done = run(drafted, "add", forgotten, "--to", "spring", "--captions", captions, "--names", names, "--by", "Ana")
        assert (done.exit_code, done.stdout) == (0, "spring\n")
        assert told in done.stderr
        course, stations = _state(drafted)[0][0]
        assert [clip.title for clip in course.doc.clips] == ["walk.mp4", "later.mp4"] and all(clip.proxy for clip in course.doc.clips)
        assert [at.doc.name for at in stations] == ["stump hop", "rung bridge", "tall wall"]
        assert stations[:2] == before[1]


def test_a_course_goes_into_the_bin_comes_back_and_is_removed_for_good(drafted: Path) -> None:
    before = _state(drafted)
    done = run(drafted, "remove", "spring", "--by", "Ana")
    assert done.exit_code == 0 and done.stdout.startswith("spring is in the bin until 20")
    assert "Ana put the course 'spring' in the bin. Bring it back" in run(drafted, "check", "spring").stderr
    assert "lies in the bin" in run(drafted, "list").stderr
    assert "put there by Ana  Spring" in run(drafted, "bin").stdout
    assert run(drafted, "bring-back", "spring").stdout == "spring\n"
    assert _state(drafted) == before and run(drafted, "bin").stdout == ""
    asked = CliRunner().invoke(main, ["--library", str(drafted), "remove", "spring", "--for-good"], input="n\n")
    assert asked.exit_code == 1 and "Delete 'Spring' for good: 1 clips, 2 stations, all editions? Nothing brings it back." in asked.output
    assert _state(drafted) == before
    assert run(drafted, "remove", "spring", "--for-good", "--yes").stdout.startswith("spring is removed for good.")
    with Library(drafted) as library:
        assert (library.courses(), library.in_bin(), list(library.files.all()), library.verify()) == ((), (), [], ())


@pytest.mark.parametrize(
    ("given", "title", "name"),
    [
        ("  Spring \n Cup ", "Spring Cup", "spring-cup"),
        ("   ", "walk", "walk"),
        ("\x01\x02", "walk", "walk"),
        ("🧗 Übung", "🧗 Übung", "ubung"),
        ("<b>&amp; {{7*7}} #[x] $x$", "<b>&amp; {{7*7}} #[x] $x$", "b-and-amp-7-7-x-x"),
    ],
    ids=["spaces", "nothing", "control characters", "emoji and accents", "markup"],
)
def test_a_title_is_kept_as_plain_text(tmp_path: Path, walk: Path, given: str, title: str, name: str) -> None:
    root = tmp_path / "library"
    done = run(root, "add", walk / "walk.mp4", "--captions", walk / "walk.vtt", "--title", given, "--no-proxy")
    assert (done.exit_code, done.stdout) == (0, f"{name}\n")
    assert run(root, "list").stdout == f"{name}  drafted  no edition  {title}\n"


@pytest.mark.parametrize("name", ["a walk, part 1.mp4", "Übung März.mp4", "🧗‍♀️ 🎉.mp4", "-o.mp4", "12:30.mp4", "100%.mp4", "ring'\".mp4"])
def test_a_clip_may_have_any_name(tmp_path: Path, walk: Path, name: str) -> None:
    shutil.copy(walk / "walk.mp4", tmp_path / name)
    root = tmp_path / "library"
    assert run(root, "add", "--captions", walk / "walk.vtt", "--no-proxy", "--", tmp_path / name).exit_code == 0
    with Library(root) as library:
        assert library.courses()[0].doc.clips[0].title == name


def test_broken_captions_are_told_and_what_can_be_read_is_used(tmp_path: Path, walk: Path) -> None:
    (tmp_path / "broken.srt").write_text(
        "1\n00:00:00,000 --> 00:00:06,000\nStation one is the ring. You start on blue.\n\n2\n00:00:19 -> garbage\nlost words\n",
        "utf-8",
    )
    done = run(tmp_path / "library", "add", walk / "walk.mp4", "--captions", tmp_path / "broken.srt", "--no-proxy")
    assert done.exit_code == 0 and "Line 6: its time '00:00:19 -> garbage' cannot be read" in done.stderr


def test_a_sheet_is_drafted_without_a_library(tmp_path: Path, walk: Path) -> None:
    root = tmp_path / "library"
    printed = run(root, "draft", walk / "walk.vtt", "--names", walk / "names.txt")
    assert printed.exit_code == 0 and not root.exists()
    sheet = json.loads(printed.stdout)
    assert [station["name"] for station in sheet["stations"]] == ["stump hop", "rung bridge"]
    assert [(each["name"], each["role"], each["ruling"]) for each in sheet["stations"][0]["surfaces"]] == [
        ("blue platform", "start", "in"),
        ("stumps", "route", "in"),
        ("red frame", "route", "out"),
        ("green platform", "finish", "in"),
    ]
    assert (sheet["stations"][1]["contact"], sheet["format"]["ranking"]) == (["hands"], "furthest then fastest")
    assert {"rule", "said"} <= set(sheet["blanket"][0])
    assert run(root, "draft", walk / "walk.vtt", "--names", walk / "names.txt", "-o", tmp_path / "sheet.json").stdout == ""
    assert (tmp_path / "sheet.json").read_text("utf-8") == printed.stdout


def test_what_blocks_is_listed_and_gives_status_1(drafted: Path) -> None:
    listed, as_json = run(drafted, "check", "spring"), run(drafted, "check", "spring", "--json")
    assert listed.exit_code == as_json.exit_code == 1
    found = json.loads(as_json.stdout)
    assert {finding["severity"] for finding in found} >= {"blocks"}
    assert {"kind", "station", "about", "severity", "said"} <= set(found[0])
    assert len(listed.stdout.splitlines()) == len(found) + 1
    assert all(finding["about"] in listed.stdout for finding in found)
    assert listed.stdout.splitlines()[0].startswith("BLOCKS ")


def test_a_course_is_accepted_signed_and_published_once(drafted: Path) -> None:
    assert run(drafted, "accept", "spring", "--station", 1, "--by", "Ana").stdout == "Accepted: station 1 of spring.\n"
    assert run(drafted, "accept", "spring", "--by", "Ana").stdout == "Accepted: all stations of spring.\n"
    own = run(drafted, "sign", "spring", "--by", "Ana")
    assert own.exit_code == 2 and "a second person signs it" in own.stderr
    assert run(drafted, "sign", "spring", "--by", "Ben").stdout == "Signed by Ben: station 1, station 2.\n"
    assert run(drafted, "check", "spring").exit_code == 0
    first = run(drafted, "publish", "spring", "--by", "Ben")
    assert first.exit_code == 0 and first.stdout.startswith("Edition 1, code ")
    folder = Path(first.stdout.splitlines()[1])
    assert {path.name for path in folder.iterdir()} == {
        "booklet",
        "booklet.html",
        "judge-cards.pdf",
        "booklet.pdf",
        "booklet.epub",
        "captions",
        *("es", "fr", "de", "pt"),
    }
    again = run(drafted, "publish", "spring", "--by", "Ben")
    assert (again.exit_code, again.stdout) == (0, first.stdout)
    code = first.stdout.split()[3]
    assert code in (folder / "booklet" / "station-1.html").read_text("utf-8")
    assert run(drafted, "list").stdout == f"spring  published  edition 1 ({code})  Spring\n"
    assert (
        run(drafted, "booklet", "spring", "--edition", 2, "-o", drafted.parent / "out").stderr.strip()
        == "There is no edition '2'. There is: 1."
    )


def _text(path: Path) -> str:
    """Everything that a reader of an output sees, as far as it can be read without a viewer."""
    if path.is_dir():
        return "".join(each.read_text("utf-8") for each in sorted(path.rglob("*.html")))
    with zipfile.ZipFile(path) as book:
        return "".join(book.read(name).decode() for name in book.namelist() if name.endswith("html"))


@pytest.mark.parametrize("kind", ["booklet", "epub"])
def test_pages_say_whether_they_are_a_draft(drafted: Path, published: Path, tmp_path: Path, kind: str) -> None:
    of_draft, of_edition = tmp_path / "draft", tmp_path / "edition"
    assert run(drafted, kind, "spring", "-o", of_draft).exit_code == 0
    assert run(published, kind, "spring", "-o", of_edition, "--edition", 1).exit_code == 0
    assert DRAFT in _text(of_draft) and DRAFT not in _text(of_edition)
    assert "Edition 1" in _text(of_edition)


@pytest.mark.parametrize("kind", ["cards", "print"])
def test_papers_say_whether_they_are_a_draft(drafted: Path, published: Path, tmp_path: Path, kind: str) -> None:
    of_draft, of_edition = tmp_path / "draft.pdf", tmp_path / "edition.pdf"
    assert run(drafted, kind, "spring", "-o", of_draft).exit_code == 0
    assert run(published, kind, "spring", "-o", of_edition, "--edition", 1).exit_code == 0
    assert DRAFT in _pdf_words(of_draft) and DRAFT not in _pdf_words(of_edition)
    assert "Edition 1" in _pdf_words(of_edition)


@pytest.mark.parametrize(("wish", "size_mm"), [((), (148, 210)), (("--paper", "a4"), (210, 297))], ids=["usual", "A4"])
def test_cards_come_on_the_paper_that_is_wanted(drafted: Path, tmp_path: Path, wish: tuple[str, ...], size_mm: tuple[int, int]) -> None:
    assert run(drafted, "cards", "spring", "-o", tmp_path / "cards.pdf", *wish).exit_code == 0
    with pikepdf.open(tmp_path / "cards.pdf") as pdf:
        box = pdf.pages[0].mediabox
        assert [float(box[2]) / 72 * 25.4, float(box[3]) / 72 * 25.4] == pytest.approx(size_mm, abs=0.5)


def test_cards_two_up_with_backs_in_spanish_say_how_to_print_them(drafted: Path, tmp_path: Path) -> None:
    out = tmp_path / "cards.pdf"
    done = run(drafted, "cards", "spring", "-o", out, "--paper", "A4 two up", "--backs", "--language", "es")
    assert done.exit_code == 0
    assert "Print on both sides, turned over at the short edge, at actual size, and cut along the dashed line." in done.stderr
    assert "Lo que no se nombra no vale." in _pdf_words(out)
    with pikepdf.open(out) as pdf:
        assert len(pdf.pages) % 2 == 0
    assert run(drafted, "cards", "spring", "-o", out, "--language", "xx").exit_code == 2


def test_a_wall_sheet_needs_the_address_that_it_leads_to(published: Path, tmp_path: Path) -> None:
    out = tmp_path / "wall.pdf"
    without = run(published, "wall", "spring", "--edition", 1, "-o", out)
    assert without.exit_code == 2 and "needs the address" in without.stderr and not out.exists()
    assert run(published, "wall", "spring", "--edition", 1, "-o", out, "--address", "https://lane.example/open").exit_code == 0
    assert "https://lane.example/open" in _pdf_words(out) and "Edition 1" in _pdf_words(out)


def _pdf_words(path: Path) -> str:
    """The words on the pages, as a PDF reader of another maker (pdftotext of Poppler) finds them."""
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not on this machine")
    return " ".join(subprocess.run(["pdftotext", str(path), "-"], capture_output=True, check=True, text=True).stdout.split())


def test_captions_of_a_course_are_written(published: Path, tmp_path: Path) -> None:
    done = run(published, "captions", "spring", "--edition", 1, "-o", tmp_path / "out")
    assert done.exit_code == 0
    assert {".vtt", ".srt"} <= {path.suffix for path in (tmp_path / "out").iterdir()}


def test_a_clip_a_station_is_written(drafted: Path, tmp_path: Path) -> None:
    assert run(drafted, "clips", "spring", "-o", tmp_path / "out").exit_code == 0
    assert len(list((tmp_path / "out").glob("*.mp4"))) == 2


def test_the_ruling_at_a_point_is_told_with_its_words(drafted: Path) -> None:
    asked = ("ask", "spring", "--station", 1, "--still", "s01-9", "--at")
    on, off = run(drafted, *asked, "50,110"), run(drafted, *asked, "300,10")
    assert on.exit_code == off.exit_code == 0
    assert on.stdout.startswith("IN PLAY. ") and 'said at 0:10: "' in on.stdout
    assert off.stdout.startswith("OUT OF PLAY. ")
    answer = json.loads(run(drafted, *asked, "50,110", "--json").stdout)
    assert (answer["ruling"], answer["surface"]["name"]) == ("in play", "blue platform")
    assert answer["because"] in on.stdout


def test_a_line_and_a_foot_print_are_ruled_as_a_whole(drafted: Path) -> None:
    asked = ("ask", "spring", "--station", 1, "--still", "s01-9")
    along = run(drafted, *asked, "--at", "45,105", "--at", "60,115")
    assert along.exit_code == 0 and along.stdout.startswith("IN PLAY. ")
    foot = [part for corner in ("45,105", "60,105", "60,115", "45,115") for part in ("--at", corner)]
    assert run(drafted, *asked, *foot).stdout.startswith("IN PLAY. ")
    over = run(drafted, *asked, "--at", "50,110", "--at", "300,10")
    assert over.stdout.startswith("TOO CLOSE TO CALL. This reaches over the edge")


def test_marks_are_proposed_as_drafts_for_what_has_none(drafted: Path, tmp_path: Path) -> None:
    root = Path(shutil.copytree(drafted, tmp_path / "copy"))
    told = run(root, "mark", "spring", "--propose", "--station", 1, "--by", "Ana")
    assert told.exit_code == 0 and "as drafts" in told.stdout
    with Library(root) as library:
        marks = [mark for at in library.stations("spring") for mark in at.doc.marks if mark.origin == "proposed"]
    assert marks and {mark.state for mark in marks} == {"draft"}
    assert run(root, "mark", "spring", "--propose", "--station", 1).stdout.startswith("0 marks"), "what has a draft is let be"
    assert run(root, "mark", "spring").exit_code == 2
    assert run(root, "mark", "spring", "--propose", "--station", 9).exit_code == 2


def test_the_ruling_of_an_edition_depends_on_the_limb_that_touches(published: Path, tmp_path: Path) -> None:
    root = Path(shutil.copytree(published, tmp_path / "library"))
    still = {"still": "s01-8", "station": 1, "time_s": 20.0}
    stumps = {"still": "s01-8", "station": 1, "surface": "stumps", "rings": [[[120, 30], [200, 30], [200, 60], [120, 60]]]}
    (tmp_path / "marks.json").write_text(json.dumps({"stills": [still], "marks": [stumps]}), "utf-8")
    asked = ("ask", "spring", "--station", 1, "--still", "s01-8", "--at", "160,45")
    assert run(root, "mark", "spring", tmp_path / "marks.json", "--by", "Ana").exit_code == 0
    assert run(root, *asked, "--edition", 1).exit_code == 2, "the first edition knows nothing of it"
    assert run(root, "accept", "spring", "--by", "Ana").exit_code == 0
    assert run(root, "publish", "spring", "--by", "Ben").stdout.startswith("Edition 2, ")
    assert run(root, *asked, "--edition", 2, "--limb", "foot").stdout.startswith("IN PLAY.")
    assert run(root, *asked, "--edition", 2, "--limb", "hand").stdout.startswith("OUT OF PLAY.")


def test_a_pack_comes_back_byte_for_byte(published: Path, tmp_path: Path) -> None:
    first, second, other = tmp_path / "one.zip", tmp_path / "two.zip", tmp_path / "other"
    done = run(published, "pack", "spring", "-o", first)
    assert done.exit_code == 0 and "It holds the clips as filmed" in done.stderr
    assert run(other, "unpack", first).stdout == "spring\n"
    assert run(other, "unpack", first).stdout == "spring-2\n", "its name is taken now"
    assert run(other, "pack", "spring", "-o", second).exit_code == 0
    with zipfile.ZipFile(first) as one, zipfile.ZipFile(second) as two:
        assert one.namelist() == two.namelist()
        assert all(one.read(name) == two.read(name) for name in one.namelist())
    for there in (published / "outputs").rglob("*"):
        if there.is_file():
            assert (other / there.relative_to(published)).read_bytes() == there.read_bytes()


def test_a_pack_without_originals_says_nothing_of_them(published: Path, tmp_path: Path, walk: Path) -> None:
    done = run(published, "pack", "spring", "--without-originals", "-o", tmp_path / "one.zip")
    assert done.exit_code == 0 and done.stderr == ""
    original = (walk / "walk.mp4").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as pack:
        assert all(pack.read(name) != original for name in pack.namelist())


@pytest.fixture
def broken(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A mistake of ours, put into one step."""

    def breaks(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a mistake")

    monkeypatch.setattr("annotator.pipeline.findings", breaks)
    yield


@pytest.mark.usefixtures("broken")
def test_a_mistake_of_ours_is_a_sentence_and_its_trace_is_kept(drafted: Path) -> None:
    done = CliRunner().invoke(main, ["--library", str(drafted), "check", "spring"])
    assert done.exit_code == 3
    assert "This is a mistake in the program" in done.stderr and "Traceback" not in done.stderr
    assert "ZeroDivisionError: a mistake" in (drafted / "mistake.txt").read_text("utf-8")


def test_who_has_read_enough_is_told_nothing(drafted: Path) -> None:
    """As with `annotator list | head -0`: the pipe is closed before anything was printed."""
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-m", "annotator.cli", "--library", str(drafted), "list"]
    done = subprocess.run(command, stdout=write, stderr=subprocess.PIPE, text=True, check=False)
    os.close(write)
    assert done.stderr == ""
