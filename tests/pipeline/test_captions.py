"""Captions of a course in every wording and language, in a folder; a translation stays with the course."""

from __future__ import annotations

from pathlib import Path

import pytest

from annotator import pipeline
from annotator.errors import InputError
from annotator.library import Library
from annotator.speech import read_timed_text
from tests.small_walk import draw_clip, write_captions

WHO = "Ana"
SPANISH = "1\n00:00:00,500 --> 00:00:04,300\nBienvenidos. Lo que no se nombra está fuera.\n\n"


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A library with one drafted course, "spring"."""
    folder = tmp_path_factory.mktemp("captioned")
    clip, said = draw_clip(folder / "walk.mp4", 34, rate=2), write_captions(folder / "walk.vtt")
    with Library(folder / "library") as library:
        name = pipeline.take_in(library, [clip], title="Spring", captions=[said], who=WHO)
        pipeline.draft_course(library, name)
        assert name == "spring"
    return folder


def test_every_wording_is_written_with_a_report(course: Path, tmp_path: Path) -> None:
    with Library(course / "library") as library:
        out = pipeline.write_output(library, "spring", "captions", tmp_path / "captions")
    stems = ["captions", "captions.clean", "captions.children"]
    names = {*(f"{stem}{suffix}" for stem in stems for suffix in (".vtt", ".srt")), "chapters.vtt", "stations.txt", "reading.txt"}
    assert {path.name for path in out.iterdir()} == names
    report = (out / "reading.txt").read_text("utf-8")
    assert [line for line in report.splitlines() if line.endswith(".vtt")] == [f"{stem}.vtt" for stem in stems]
    spoken = read_timed_text(out / "captions.vtt")
    assert "Feet only on the stumps." in " ".join(word.text for word in spoken.words)


def test_a_translation_stays_with_the_course_and_takes_the_place_of_an_earlier_one(course: Path, tmp_path: Path) -> None:
    file = tmp_path / "es.srt"
    file.write_text(SPANISH + "2\n00:00:0x,000 --> 00:00:06,000\nSolo los pies.\n", "utf-8")
    with Library(course / "library") as library:
        problems = pipeline.keep_translation(library, "spring", "es", file, who=WHO)
        assert len(problems) == 1 and "line 6" in problems[0].lower()
        file.write_text(SPANISH, "utf-8")
        assert pipeline.keep_translation(library, "spring", "es", file, who="Ben") == ()
        assert [each.language for each in library.course("spring").doc.translations] == ["es"]
        out = pipeline.write_output(library, "spring", "captions", tmp_path / "captions")
        written = read_timed_text(out / "captions.es.vtt")
        assert [(cue.start_s, cue.end_s) for cue in written.cues] == [(0.5, 4.3)]
        assert "captions.es.vtt" in (out / "reading.txt").read_text("utf-8")
        assert library.verify() == ()
        library.pack("spring", tmp_path / "spring.zip")
    with Library(tmp_path / "other") as other:
        name = other.unpack(tmp_path / "spring.zip")
        (kept,) = other.course(name).doc.translations
        assert other.files.path(kept.file).read_text("utf-8") == SPANISH


@pytest.mark.parametrize(
    ("language", "text", "said"),
    [
        pytest.param("Español", SPANISH, "no language tag", id="no tag"),
        pytest.param("es", '[{"start": 0, "end": 1, "text": "Hola"}]', "no captions", id="words without captions"),
    ],
)
def test_what_is_no_translation_is_refused_and_nothing_changes(course: Path, tmp_path: Path, language: str, text: str, said: str) -> None:
    file = tmp_path / "given.srt"
    file.write_text(text, "utf-8")
    with Library(course / "library") as library:
        before = library.course("spring")
        with pytest.raises(InputError, match=said):
            pipeline.keep_translation(library, "spring", language, file, who=WHO)
        assert library.course("spring") == before
