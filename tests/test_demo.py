"""The main job on the demo walk, from two clips to a published edition, with the real drafter, decoder and pages.

Recognition rounds differently on another number of cores or kind of processor, and then a few words come out otherwise; what is exact here
starts from the words that one machine heard (sample_media/heard), and what this machine hears is held against the script with a tolerance.

The truth (script, rules, masks) was written by the maker of the walk before the drafter ran on it; masks are drawn from the scene, marks
are not derived from them. See sample_media/README.md.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import jiwer
import numpy as np
import pytest

from annotator import pipeline
from annotator.captions import Setting, broken_limits, plan_cues
from annotator.course import Course, Finding, Station
from annotator.errors import NotReady
from annotator.library import Library
from annotator.media import probe, read_audio
from annotator.speech import read_names, recognise
from scripts.heard import heard_by, kept_for, use_kept

SAMPLE = Path(__file__).resolve().parent.parent / "sample_media"
TRUTH = SAMPLE / "truth"
POINTS = 200  # random points a still
EDGE_PX = 6  # nearer than this to a mask's edge a point may be too close to call


@dataclass(frozen=True)
class Demo:
    """The demo as it went along: what was drafted, what stood open then, why publishing was refused, and the edition."""

    library: Library
    name: str
    course: Course
    stations: tuple[Station, ...]
    findings: tuple[Finding, ...]
    refused: NotReady
    edition: Any

    @property
    def outputs(self) -> Path:
        return self.library.outputs(self.name, self.edition.number)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Demo]:
    """Everything is run once; the tests look at what came of it. The second course finds the words and stills in the library."""
    clips = [SAMPLE / "clip-1.mp4", SAMPLE / "clip-2.mov"]
    with Library(tmp_path_factory.mktemp("library")) as library:
        use_kept(library, clips)
        name = pipeline.take_in(library, clips, title="Demo", names=read_names(TRUTH / "names.txt"), who="Robin")
        pipeline.draft_course(library, name)
        course, stations = pipeline.documents(library, name, None)
        found = pipeline.findings(library, name)
        with pytest.raises(NotReady) as refused:
            pipeline.publish(library, name, who="Kim")
        edition = pipeline.walk_to_booklet(
            library,
            clips,
            read_names(TRUTH / "names.txt"),
            SAMPLE / "decisions.yaml",
            SAMPLE / "marks.json",
            title="Demo in full",
            director="Robin",
            head_judge="Kim",
        )
        name = edition.course.doc.name
        yield Demo(library, name, course, stations, found, refused.value, edition)


def gold() -> dict[str, Any]:
    return dict(json.loads((TRUTH / "gold.json").read_text("utf-8")))


def test_the_kept_words_are_those_of_the_present_recogniser() -> None:
    assert kept_for()["recogniser"] == heard_by()["recogniser"], "hear the demo anew: .venv/bin/python -m scripts.heard"


def test_what_this_machine_hears_is_what_the_script_says_but_for_few_words() -> None:
    """Word error rate by jiwer against the script; 0.03 on one core, on two, and without any special instructions."""
    info = probe(SAMPLE / "clip-1.mp4")
    said = [word for word in json.loads((TRUTH / "words.json").read_text("utf-8")) if word["start"] >= info.duration_s]
    heard = recognise(read_audio(SAMPLE / "clip-2.mov"))
    assert jiwer.wer(_plainly([word["text"] for word in said]), _plainly([word.text for word in heard])) <= 0.1


def _plainly(words: list[str]) -> str:
    return " ".join(re.sub(r"[^a-z' ]", "", word.lower().replace("-", " ")) for word in words)


def test_every_station_is_found_where_it_is(demo: Demo) -> None:
    true = gold()["stations"]
    assert [station.number for station in demo.stations] == [each["number"] for each in true]
    for station, each in zip(demo.stations, true, strict=True):
        shared = min(station.end, each["end"]) - max(station.start, each["start"])
        assert shared / max(station.end - station.start, each["end"] - each["start"]) > 0.5, each["name"]


def test_every_true_surface_is_drafted_but_for_what_recognition_lost(demo: Demo) -> None:
    """Recognition hears "yellow runs" for the rungs until the proposed name is accepted, "strats" for straps, and "gray" for grey."""
    lost = {(2, "yellow rungs"), (2, "black straps"), (7, "grey platform"), (8, "grey platform")}
    for station, each in zip(demo.stations, gold()["stations"], strict=True):
        have = {(s.name, s.part, s.role, s.ruling) for s in station.surfaces}
        for true in each["surfaces"]:
            key = (true["name"], true.get("part"), true["role"], true["ruling"])
            assert key in have or (each["number"], true["name"]) in lost, (each["number"], key)


def test_both_planted_faults_and_the_misheard_name_are_reported(demo: Demo) -> None:
    told = {(finding.station, finding.kind) for finding in demo.findings}
    assert {(gap["station"], gap["kind"]) for gap in gold()["gaps"]} <= told
    assert any(heard.name == "swing rungs" for heard in demo.course.heard)
    assert any(finding.kind == "name-heard-wrong" for finding in demo.findings)


def test_publishing_is_refused_before_the_decisions_with_what_is_in_the_way(demo: Demo) -> None:
    said = str(demo.refused)
    assert "finish" in said or "ends" in said
    assert len(demo.refused.reasons) >= 2


def test_the_edition_holds_the_true_rules(demo: Demo) -> None:
    """After the decisions the sheet is what a careful listener wrote, but for the planted gap and contradiction, which people settled."""
    _, stations = pipeline.documents(demo.library, demo.name, demo.edition.number)
    for station, each in zip(stations, gold()["stations"], strict=True):
        have = {(s.name, s.part, s.role, s.ruling, s.overshoot) for s in station.surfaces}
        true = {(s["name"], s.get("part"), s["role"], s["ruling"], s.get("overshoot")) for s in each["surfaces"]}
        true |= {(s["name"], s.get("part"), s["role"], s["ruling"], s.get("overshoot")) for s in settled(each["number"])}
        assert have == true, (each["number"], true - have, have - true)
        assert (station.name, list(station.contact or ()), station.demonstration) == (each["name"], each["contact"], each["demonstration"])


def settled(number: int) -> list[dict[str, Any]]:
    """What people settled about a planted gap of the station after the walk."""
    return [each for each in gold()["settled"] if each["station"] == number]


def true_ruling(station: dict[str, Any], objects: dict[str, Any], number: int) -> str:
    """What the true rules say of an object of a mask: in only where the walk names it as in."""
    thing = objects.get(str(number))
    if thing is None:
        return "out of play"
    rules = [
        *station["surfaces"],
        *settled(station["number"]),
        *(rule | {"name": rule["surface"]} for rule in gold()["blanket"] if rule["rule"] == "surface"),
    ]
    named = [rule for rule in rules if rule["name"] == thing["name"]]
    exact = [rule for rule in named if rule.get("part") == thing["part"]] or [rule for rule in named if rule.get("part") is None]
    return "in play" if exact and exact[0]["ruling"] == "in" else "out of play"


def stills() -> list[Any]:
    listed = TRUTH / "stills.json"
    return [pytest.param(each, id=each["still"]) for each in json.loads(listed.read_text("utf-8"))["stills"]]


@pytest.mark.parametrize("still", stills())
def test_the_ruling_at_random_points_is_that_of_the_masks(demo: Demo, still: dict[str, Any]) -> None:
    """Random points farther than 6 px from any mask's edge: never the other ruling, and never too close to call."""
    mask = cv2.imread(str(TRUTH / still["file"]), cv2.IMREAD_UNCHANGED)
    assert mask is not None
    station = gold()["stations"][still["station"] - 1]
    height, width = mask.shape[:2]
    edges = np.ones((height, width), np.uint8)
    edges[:, 1:] &= mask[:, 1:] == mask[:, :-1]
    edges[1:, :] &= mask[1:, :] == mask[:-1, :]
    far = cv2.distanceTransform(edges, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) > EDGE_PX
    random = np.random.default_rng(int(still["pts"]))
    rows, columns = np.nonzero(far)
    wrong = []
    for at in random.choice(len(rows), POINTS, replace=False):
        x, y = float(columns[at]) + 0.5, float(rows[at]) + 0.5
        answer = pipeline.ask(demo.library, demo.name, still["station"], still["still"], (x, y), edition=demo.edition.number)
        true = true_ruling(station, still["objects"], int(mask[rows[at], columns[at]]))
        if answer.ruling != true:
            wrong.append((x, y, answer.ruling, true, still["objects"].get(str(mask[rows[at], columns[at]]))))
    assert not wrong


def test_a_grabbed_still_is_the_frame_of_the_truth(demo: Demo) -> None:
    _, stations = pipeline.documents(demo.library, demo.name, demo.edition.number)
    kept = {(still.clip, still.pts) for station in stations for still in station.stills}
    assert {(each["clip"], each["pts"]) for each in json.loads((TRUTH / "stills.json").read_text("utf-8"))["stills"]} <= kept


def test_every_output_of_an_edition_is_there_and_tells_nothing_of_place_or_device(demo: Demo) -> None:
    names = {path.name for path in demo.outputs.iterdir()}
    assert {"booklet", "judge-cards.pdf", "booklet.pdf", "booklet.epub", "captions"} <= names
    tells = (b"com.apple.quicktime", b"\xa9xyz", b"loci", b"Exif\0\0", b"+00.5000-025.5000")  # the last is the place the clips tell
    assert any(b"+00.5000-025.5000" in (SAMPLE / clip).read_bytes() for clip in ("clip-1.mp4", "clip-2.mov"))
    for path in demo.outputs.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            assert not [tell for tell in tells if tell in data], path


def test_captions_begin_with_their_speech_and_keep_every_limit(demo: Demo) -> None:
    """Against the true times of the synthetic voice of the word that each cue begins with. Measured: 0.021 s at the median."""
    words = pipeline.course_words(demo.library, demo.edition.course.doc)
    cues = plan_cues(words, [at.doc for at in demo.edition.stations], Setting(numerals=False))
    assert broken_limits(cues) == ()
    true = json.loads((TRUTH / "words.json").read_text("utf-8"))
    told = jiwer.process_words(" ".join(_bare(each["text"]) for each in true), " ".join(_bare(word.text) for word in words))
    truly = {
        heard: true[spoken]["start"]
        for run in told.alignments[0]
        if run.type == "equal"
        for spoken, heard in zip(range(run.ref_start_idx, run.ref_end_idx), range(run.hyp_start_idx, run.hyp_end_idx), strict=True)
    }
    starts_ms = np.array([word.start * 1000 for word in words])
    first = [int(np.abs(starts_ms - cue.start_ms).argmin()) for cue in cues]
    off_s = [abs(cue.start_ms / 1000 - truly[at]) for cue, at in zip(cues, first, strict=True) if at in truly]
    assert len(off_s) > 0.8 * len(cues)
    assert np.median(off_s) <= 0.1


def _bare(text: str) -> str:
    return "".join(sign for sign in text.lower() if sign.isalnum()) or "-"


def test_publishing_again_without_a_change_is_the_same_edition(demo: Demo) -> None:
    assert pipeline.publish(demo.library, demo.name, who="Kim").number == demo.edition.number


def test_running_the_stages_again_changes_nothing(demo: Demo) -> None:
    before = [(at.revision, at.doc) for at in demo.library.stations(demo.name)]
    pipeline.draft_course(demo.library, demo.name)
    assert [(at.revision, at.doc) for at in demo.library.stations(demo.name)] == before
