"""The commands as somebody types them: exit status, what is printed, and that nothing ends in a traceback.

On a small course whose words come from captions, so that no recognition is needed; the clip is made here.
"""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from click.testing import CliRunner, Result

from annotator.cli import main

CAPTIONS = """WEBVTT

00:00.000 --> 00:02.000
If I don't name it, it's out. You get one retry.

00:02.000 --> 00:07.000
Station one is the beam walk. You start on the red box. You walk the yellow beam, feet only.

00:07.000 --> 00:12.000
The chains are out. You finish on the blue mat, and you may land past it.
"""
MARKS = {
    "stills": [{"still": "s01-1", "station": 1, "time_s": 5.02}],
    "marks": [
        {"still": "s01-1", "station": 1, "surface": "yellow beam", "part": None, "rings": [[[20, 20], [100, 20], [100, 60], [20, 60]]]}
    ],
}


def film(path: Path, seconds: int = 12) -> Path:
    """A small silent clip in which a bar moves."""
    with av.open(str(path), "w") as out:
        stream = out.add_stream("libx264", rate=10, options={"preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt, stream.time_base = 160, 90, "yuv420p", Fraction(1, 10)
        for at in range(seconds * 10):
            image = np.full((90, 160, 3), 90, np.uint8)
            image[20:60, 20 + at % 20 : 100] = (230, 220, 60)
            out.mux(stream.encode(av.VideoFrame.from_ndarray(image, format="rgb24")))
        out.mux(stream.encode())
    return path


class Shell:
    """Runs commands against one library."""

    def __init__(self, root: Path) -> None:
        self.root = root

    def __call__(self, *words: str | Path, status: int = 0) -> Result:
        """Run a command; it must end with `status` and without a traceback."""
        result = CliRunner().invoke(main, ["--library", str(self.root / "library"), *(str(word) for word in words)])
        assert result.exit_code == status, result.output
        assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
        assert "Traceback" not in result.output
        return result


@pytest.fixture(scope="module")
def shell(tmp_path_factory: pytest.TempPathFactory) -> Shell:
    """A library with one drafted course, "beam-day"."""
    root = tmp_path_factory.mktemp("commands")
    (root / "walk.vtt").write_text(CAPTIONS, "utf-8")
    (root / "marks.json").write_text(json.dumps(MARKS), "utf-8")
    shell = Shell(root)
    film(root / "walk é 🤸.mp4")
    result = shell("add", root / "walk é 🤸.mp4", "--title", "Beam day", "--captions", root / "walk.vtt", "--by", "Ana")
    assert result.stdout.splitlines()[0] == "beam-day"
    return shell


@pytest.mark.parametrize("command", sorted(main.commands))
def test_every_command_has_help(command: str) -> None:
    result = CliRunner().invoke(main, [command, "--help"])
    assert result.exit_code == 0 and len(result.output.splitlines()) > 4


@pytest.mark.parametrize(
    ("words", "status", "said"),
    [
        pytest.param(["check", "no-such"], 2, "There is no course 'no-such'", id="unknown-course"),
        pytest.param(["publish", "beam-day"], 1, "Mend these first", id="not-ready"),
        pytest.param(["ask", "beam-day", "--station", "9", "--still", "s01-1", "--at", "1,1"], 2, "There is no station '9'", id="station"),
        pytest.param(["ask", "beam-day", "--station", "1", "--still", "sx", "--at", "1,1"], 2, "There is no still 'sx'", id="still"),
        pytest.param(["ask", "beam-day", "--station", "1", "--still", "s01-1", "--at", "one"], 2, "Give two numbers", id="no-point"),
        pytest.param(["booklet", "beam-day", "-o", "x", "--edition", "7"], 2, "There is no edition", id="no-such-edition"),
        pytest.param(["slip", "beam-day", "-o", "slip"], 2, "no earlier edition", id="slip-of-nothing"),
        pytest.param(["replay", "beam-day", "--station", "1", "nothing.mp4", "-o", "x.mp4"], 2, "", id="replay-without-marks-or-clip"),
        pytest.param(["add", "nothing.mp4"], 2, "no such file", id="no-such-clip"),
        pytest.param(["unpack", "nothing.zip"], 2, "nothing.zip", id="no-such-archive"),
    ],
)
def test_what_cannot_be_done_is_said_in_a_sentence(shell: Shell, words: list[str], status: int, said: str) -> None:
    assert said in shell(*words, status=status).output


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        pytest.param("empty.mp4", b"", "empty", id="0-bytes"),
        pytest.param("letter.mp4", b"Dear committee, the film follows.\n" * 40, "text", id="text"),
        pytest.param(
            "cut.mp4", b"\0\0\0\x20ftypisom\0\0\x02\0isomiso2avc1mp41" + b"\0\x10\0\0mdat" + b"\x5a" * 4000, "cut off", id="cut-off"
        ),
    ],
)
def test_a_file_that_is_no_clip_leaves_the_library_as_it_was(shell: Shell, name: str, content: bytes, said: str) -> None:
    (shell.root / name).write_bytes(content)
    before = shell("list").output
    assert said in shell("add", shell.root / name, status=2).output
    assert shell("list").output == before


def test_a_transcript_is_drafted_without_a_library(shell: Shell) -> None:
    sheet = json.loads(shell("draft", shell.root / "walk.vtt").stdout)
    (station,) = sheet["stations"]
    assert [(s["name"], s["role"], s["ruling"]) for s in station["surfaces"]] == [
        ("red box", "start", "in"),
        ("yellow beam", "route", "in"),
        ("chains", "route", "out"),
        ("blue mat", "finish", "in"),
    ]
    assert (station["name"], station["contact"], sheet["format"]["retries"]) == ("beam walk", ["feet"], 1)
    assert {"rule", "said"} <= set(sheet["blanket"][0])


def test_findings_come_as_json_too(shell: Shell) -> None:
    found = json.loads(shell("check", "beam-day", "--json", status=1).stdout)
    assert {"kind", "station", "about", "severity", "said"} <= set(found[0])


def test_a_draft_says_so_and_an_edition_carries_its_code(shell: Shell) -> None:
    """The whole way in commands: outputs of the draft, marks, acceptance, signature, edition, its outputs, a pack and back."""
    out = shell.root / "out"
    shell("booklet", "beam-day", "-o", out / "draft")
    assert "Draft, not an edition" in (out / "draft" / "station-1.html").read_text("utf-8")
    for kind, name in (("cards", "cards.pdf"), ("print", "print.pdf"), ("epub", "book.epub"), ("captions", "captions")):
        shell(kind, "beam-day", "-o", out / name)
        assert (out / name).exists()
    assert "1 marks on 1 stills" in shell("mark", "beam-day", shell.root / "marks.json").output
    shell("accept", "beam-day", "--by", "Ana")
    assert "second person" in shell("sign", "beam-day", "--by", "Ana", status=2).output
    shell("sign", "beam-day", "--by", "Ben")
    first = shell("publish", "beam-day", "--by", "Ben").stdout.splitlines()
    assert first[0].startswith("Edition 1, code ")
    assert shell("publish", "beam-day", "--by", "Ben").stdout.splitlines() == first
    code = first[0].rsplit(" ", 1)[1]
    assert code in (Path(first[1]) / "booklet" / "station-1.html").read_text("utf-8")
    still = next(line for line in MARKS["stills"])["still"]
    at = ["ask", "beam-day", "--station", "1", "--still", str(still), "--at"]
    assert shell(*at, "60,40", "--limb", "foot").output.startswith("IN PLAY.")
    assert shell(*at, "60,40", "--limb", "hand").output.startswith("OUT OF PLAY.")
    outside = json.loads(shell(*at, "140,80", "--json", "--edition", "1").stdout)
    assert outside["ruling"] == "out of play" and outside["said"][0]["text"].startswith("If I don't name it")
    shell("pack", "beam-day", "-o", shell.root / "one.zip")
    name = shell("unpack", shell.root / "one.zip").stdout.strip()
    assert name != "beam-day"
    other = Shell(shell.root / "other")
    assert other("unpack", shell.root / "one.zip").stdout.strip() == "beam-day"
    other("pack", "beam-day", "-o", shell.root / "two.zip")
    assert (shell.root / "two.zip").read_bytes() == (shell.root / "one.zip").read_bytes()


def test_the_same_clips_again_go_on_with_their_course(shell: Shell) -> None:
    result = shell("add", shell.root / "walk é 🤸.mp4", "--captions", shell.root / "walk.vtt", "--no-proxy")
    assert "already in the library" in result.output and "beam-day" in result.output
