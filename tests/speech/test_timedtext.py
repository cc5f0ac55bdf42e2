"""Timed text: WebVTT against the W3C's own cases, SubRip against pysrt, and broken files of which nothing may be lost."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pysrt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.course import Word
from annotator.errors import UnreadableText
from annotator.speech import read_timed_text, words_from_json, words_to_json
from annotator.speech.subrip import parse_subrip
from annotator.speech.webvtt import NotWebVTTError, parse_webvtt

CASES = Path(__file__).parents[1] / "data" / "webvtt"
COUNTS = {name: count for name, count in json.loads((CASES / "counts.json").read_text()).items() if name != "source"}


def put(folder: Path, text: str | bytes, name: str = "walk.vtt") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def said(path: Path) -> str:
    return " ".join(word.text for word in read_timed_text(path).words)


@pytest.mark.parametrize(("name", "count"), sorted(COUNTS.items()))
def test_each_w3c_case_has_as_many_cues_as_the_standard_finds(name: str, count: int) -> None:
    # web-platform-tests, webvtt/parsing/file-parsing (CC0-1.0); counts from their assertions, see tests/data/webvtt/README.md.
    cues, _ = parse_webvtt((CASES / f"{name}.vtt").read_bytes().decode())
    assert len(cues) == count


@pytest.mark.parametrize("path", sorted(CASES.glob("signature-*.vtt")), ids=lambda path: path.stem)
def test_each_w3c_signature_case_holds_no_cue(path: Path) -> None:
    try:
        cues, _ = parse_webvtt(path.read_bytes().decode())
    except NotWebVTTError:
        cues = ()
    assert cues == ()


@pytest.mark.parametrize("path", sorted(CASES.glob("*.vtt")), ids=lambda path: path.stem)
def test_each_w3c_case_is_words_or_a_clear_refusal(path: Path) -> None:
    try:
        read = read_timed_text(path)
    except UnreadableText as error:
        assert "no words" in str(error)
    else:
        assert all(word.end <= following.start for word, following in pairwise(read.words))


def test_times_and_text_of_a_cue_are_as_written(tmp_path: Path) -> None:
    read = read_timed_text(put(tmp_path, "WEBVTT\n\nid\n00:01.500 --> 00:02.500 line:0\n<v Jo><b>Feet</b> &amp; hands\n"))
    assert [(word.start, word.end, word.text) for word in read.words] == [
        (1.5, 1.885, "Feet"),
        (1.885, 2.038, "&"),
        (2.038, 2.5, "hands"),
    ]
    assert read.problems == ()
    assert (read.cues[0].start_s, read.cues[0].end_s, read.cues[0].identifier) == (1.5, 2.5, "id")


def test_times_inside_a_cue_are_taken(tmp_path: Path) -> None:
    read = read_timed_text(put(tmp_path, "WEBVTT\n\n00:01.000 --> 00:05.000\nthe<00:02.000><c> top</c><00:04.000><c> is</c>\n"))
    assert [(word.text, word.start) for word in read.words] == [("the", 1.0), ("top", 2.0), ("is", 4.0)]


def test_lines_that_roll_up_are_read_once(tmp_path: Path) -> None:
    lines = ["you start here", "on the blue box", "feet only please", "the chains are out", "and that is all"]
    cues = [f"00:0{at}.000 --> 00:0{at + 1}.000\n" + (f"{lines[at - 1]}\n" if at else "") + lines[at] for at in range(len(lines))]
    read = read_timed_text(put(tmp_path, "WEBVTT\n\n" + "\n\n".join(cues)))
    assert " ".join(word.text for word in read.words) == " ".join(lines)
    assert "roll up" in read.problems[0]


@pytest.mark.parametrize(
    ("raw", "note"),
    [
        pytest.param("WEBVTT\n\n00:01.000 --> 00:02.000\nÉtienne’s café\n".encode(), None, id="UTF-8"),
        pytest.param("\ufeffWEBVTT\n\n00:01.000 --> 00:02.000\nÉtienne’s café\n".encode(), None, id="UTF-8 with BOM"),
        pytest.param("WEBVTT\r\n\r\n00:01.000 --> 00:02.000\r\nÉtienne’s café\r\n".encode(), None, id="CRLF"),
        pytest.param("WEBVTT\r\r00:01.000 --> 00:02.000\rÉtienne’s café\r".encode(), None, id="lone CR"),
        pytest.param("WEBVTT\n\n00:01.000 --> 00:02.000\nÉtienne’s café\n".encode("utf-16"), None, id="UTF-16 with BOM"),
        pytest.param("WEBVTT\n\n00:01.000 --> 00:02.000\nÉtienne’s café\n".encode("utf-16-be"), None, id="UTF-16 without BOM"),
        pytest.param("WEBVTT\n\n00:01.000 --> 00:02.000\nÉtienne’s café\n".encode("cp1252"), "Windows-1252", id="Windows-1252"),
        pytest.param("1\n00:00:01,000 --> 00:00:02,000\nÉtienne’s café\n".encode("cp1252"), "Windows-1252", id="SubRip in Windows-1252"),
    ],
)
def test_encodings_and_line_ends_are_read(tmp_path: Path, raw: bytes, note: str | None) -> None:
    read = read_timed_text(put(tmp_path, raw, "walk.srt" if raw.startswith(b"1") else "walk.vtt"))
    assert [word.text for word in read.words] == ["Étienne’s", "café"]
    assert [note in problem for problem in read.problems if note] == ([True] if note else [])


def test_one_damaged_sign_does_not_spoil_the_others(tmp_path: Path) -> None:
    raw = "WEBVTT\n\n00:01.000 --> 00:02.000\ncafé señor naïve ".encode() + b"\xff\n"
    read = read_timed_text(put(tmp_path, raw))
    assert [word.text for word in read.words][:3] == ["café", "señor", "naïve"]
    assert "1 signs are damaged" in read.problems[0]


SUBRIP = """1
00:00:01,000 --> 00:00:02,500
<i>You start</i> on the blue box.

2
00:00:03,250 --> 00:00:05,000
A & B < C

3
00:00:06,000 --> 00:00:07,000
B --> C
12
"""


def test_subrip_is_read_as_pysrt_reads_it(tmp_path: Path) -> None:
    cues, broken = parse_subrip(SUBRIP)
    theirs = pysrt.from_string(SUBRIP)
    assert broken == ()
    assert [(cue.start_s, cue.end_s, cue.text) for cue in cues] == [
        (item.start.ordinal / 1000, item.end.ordinal / 1000, item.text) for item in theirs
    ]
    assert said(put(tmp_path, SUBRIP, "walk.srt")) == "You start on the blue box. A & B < C B --> C 12"


def test_a_short_fraction_is_read_as_peers_read_it() -> None:
    cues, _ = parse_subrip("1\n0:0:5,5 --> 0:0:6.25\nx\n")
    assert (cues[0].start_s, cues[0].end_s) == (5.005, 6.025)  # pysrt and PyPI srt give the same


@pytest.mark.parametrize(
    ("text", "words", "problem"),
    [
        pytest.param(
            "WEBVTT\n\n00:01.000 --> 00:02.000\none\n\n00:6x.000 --> 00:07.000\ntwo three\n\n00:09.000 --> 00:10.000\nfour\n",
            "one two three four",
            "Line 6: its time '00:6x.000 --> 00:07.000' cannot be read; its words 'two three' were put after",
            id="a time that cannot be read",
        ),
        pytest.param(
            "WEBVTT\n\n00:01.000 --> 00:02.000\none\n\ntwo\n\n00:09.000 --> 00:10.000\nthree\n",
            "one two three",
            "Line 6: it has no time",
            id="text after a blank line",
        ),
        pytest.param(
            "WEBVTT\n\n00:05.000 --> 00:06.000\ntwo\n\n00:01.000 --> 00:02.000\none\n", "one two", "not in order of time", id="out of order"
        ),
        pytest.param(
            "WEBVTT\n\n00:01.000 --> 00:06.000\none two\n\n00:02.000 --> 00:03.000\nthree\n",
            "one two three",
            "Line 3: this caption overlaps the next",
            id="overlapping",
        ),
        pytest.param(
            "WEBVTT\n\n00:05.000 --> 00:01.000\none two\n", "one two", "Line 3: this caption ends before it begins", id="turned round"
        ),
        pytest.param(
            "1\n00:00:01,000 --> 00:00:02,000\none\n\n2\n00:00:0a,000 --> 00:00:04,000\ntwo\n",
            "one two",
            "Line 6: its time",
            id="SubRip time",
        ),
        pytest.param(
            "hello\n\n1\n00:00:01,000 --> 00:00:02,000\none\n", "hello one", "Line 1: it has no time", id="text before the first time"
        ),
        pytest.param("WEBVTT\n\n00:01.000 --> 00:02.000\n\n00:03.000 --> 00:04.000\none\n", "one", None, id="a caption without text"),
    ],
)
def test_broken_captions_are_read_reported_and_lose_no_word(tmp_path: Path, text: str, words: str, problem: str | None) -> None:
    read = read_timed_text(put(tmp_path, text))
    assert " ".join(word.text for word in read.words) == words
    assert all(word.start <= following.start for word, following in pairwise(read.words))
    assert any(problem in line for line in read.problems) if problem else read.problems == ()


@pytest.mark.parametrize(
    ("raw", "says"),
    [
        pytest.param(b"", "the file is empty", id="empty"),
        pytest.param(b"\xef\xbb\xbf\n\n", "the file is empty", id="a mark and blank lines"),
        pytest.param(b"WEBVTT\n", "it holds no words with times", id="a head alone"),
        pytest.param(bytes(range(256)) * 40 + b"\0" * 4000, "it is not a text file", id="not text"),
        pytest.param(b'[{"start": 1,', "it is not whole JSON", id="JSON cut off"),
        pytest.param(b'{"words": []}', "it is not a list of words", id="JSON of another shape"),
        pytest.param(b"[]", "it holds no words with times", id="no words"),
    ],
)
def test_a_file_without_words_is_refused_with_what_to_do(tmp_path: Path, raw: bytes, says: str) -> None:
    with pytest.raises(UnreadableText, match=says):
        read_timed_text(put(tmp_path, raw))


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UnreadableText, match="Check the file's place"):
        read_timed_text(tmp_path / "none.vtt")


def test_a_words_file_with_a_bad_word_keeps_the_others_and_its_text(tmp_path: Path) -> None:
    rows = [{"start": 1, "end": 2, "text": "feet"}, {"start": "soon", "text": "only"}, {"start": 3, "end": 4, "text": "here"}]
    read = read_timed_text(put(tmp_path, json.dumps(rows), "walk.words.json"))
    assert [word.text for word in read.words] == ["feet", "only", "here"]
    assert read.problems == ("Word 2 is not as it must be; its text 'only' was kept at 2.000 s.",)


def test_control_signs_and_markup_stay_out_of_words(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:02.000\n\u202ethe <c.red>red</c> \x07rings\u200b &lt;b&gt;\n"
    assert said(put(tmp_path, text)) == "the red rings <b>"


words_lists = st.lists(
    st.builds(
        Word,
        start=st.integers(0, 10**7).map(lambda ms: ms / 1000),
        end=st.integers(0, 10**7).map(lambda ms: ms / 1000),
        text=st.text(min_size=1),
        probability=st.none() | st.integers(0, 1000).map(lambda share: share / 1000),
    )
)


@given(words_lists)
def test_words_written_and_read_are_equal(words: list[Word]) -> None:
    assert words_from_json(words_to_json(words)) == tuple(words)


@given(st.text(alphabet=st.sampled_from("ab \n\r\t0123456789:.,->WEBVT<&\0\ufeff"), max_size=200))
def test_any_text_is_read_or_refused_and_never_breaks(text: str) -> None:
    parse_subrip(text)
    cues, broken = parse_webvtt("WEBVTT\n\n" + text)
    lines = {line for cue in cues for line in cue.text.split("\n")} | {line for part in broken for line in part.text.split("\n")}
    plain = text.replace("\r\n", "\n").replace("\r", "\n").replace("\0", "\ufffd").split("\n")
    # Every line of text stands in a cue, in a broken block, or names the cue below it.
    kept = lines | {part for cue in cues for part in cue.identifier.split("\n")}
    aside = ("NOTE", "STYLE", "REGION")
    for line in plain:
        assert not line or "-->" in line or line in kept or line.startswith(aside) or _identifies_a_broken_cue(plain, line)


def _identifies_a_broken_cue(plain: list[str], line: str) -> bool:
    return any("-->" in after for before, after in pairwise(plain) if before == line)
