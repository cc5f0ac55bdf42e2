"""What readers would stumble over is told before publishing, with the station and the words, and nothing is left half written."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from annotator import pipeline
from annotator.course import BlanketRule, Clip, Course, Finding, Mark, Station, Still, Surface
from annotator.errors import AnnotatorError, NotReady
from annotator.library import Library


def library_with(folder: Path, *, name: str = "ring row", surface: str = "blue mat", **course: Any) -> Library:
    """A library with one accepted course of one station, its still a plain picture."""
    library = Library(folder)
    out = io.BytesIO()
    Image.new("RGB", (640, 360), "#b8b2a6").save(out, "PNG")
    picture = library.files.put(out.getvalue(), ".png")
    clip = Clip(number=1, title="walk.mp4", original=picture, start_s=0, duration_s=60, width=640, height=360, has_audio=True)
    still = Still(id="s1", time_s=12, clip=1, pts=0, width=640, height=360, file=picture, faces=(), faces_by="Ana", state="accepted")
    surfaces = (
        Surface(id="u1", name=surface, role="start", state="accepted"),
        Surface(id="u2", name="red rings", divisions={"under-tens": "out"}, state="accepted"),
        Surface(id="u3", name="white mat", role="finish", overshoot="allowed", state="accepted"),
    )
    marks = tuple(
        Mark(id=f"m{at}", still="s1", surface=f"u{at}", rings=(((x, 50), (x + 120, 50), (x + 120, 300), (x, 300)),), state="accepted")
        for at, x in ((1, 20.0), (2, 220.0), (3, 420.0))
    )
    station = Station(
        id="t1", number=1, name=name, start=5, end=40, contact=("hands", "feet"), surfaces=surfaces, stills=(still,), marks=marks,
        state="accepted", accepted_by="Ana", signed_by="Ben",
    )  # fmt: skip
    blanket = (BlanketRule(rule="unnamed-out", id="b1", state="accepted"),)
    told = {"title": "Spring", "divisions": ("under-tens",), **course}
    library.add_course(Course(name="spring", clips=(clip,), order=("t1",), blanket=blanket, **told), (station,), "Ana")
    return library


def found(library: Library, kind: str) -> list[Finding]:
    return [finding for finding in pipeline.findings(library, "spring") if finding.kind == kind]


@pytest.mark.parametrize(
    ("course", "station", "words"),
    [
        pytest.param({"name": "Fire \N{FIRE} net"}, 1, "The sign \N{FIRE} in “Fire \N{FIRE} net” cannot be printed", id="station-name"),
        pytest.param({"surface": "青い台"}, 1, "in “青い台” cannot be printed", id="surface-name"),
        pytest.param({"title": "Spring \N{TROPHY}"}, None, "in “Spring \N{TROPHY}” cannot be printed", id="title"),
        pytest.param(
            {"translated": [{"said": "blue mat", "language": "es", "translation": "estera \N{FIRE}"}]}, None, "in “estera", id="translation"
        ),
    ],
)
def test_a_sign_that_no_typeface_has_keeps_the_course_from_being_published(
    tmp_path: Path, course: dict[str, Any], station: int | None, words: str
) -> None:
    with library_with(tmp_path, **course) as library:
        (finding,) = found(library, "sign-not-in-font")
        assert (finding.station, finding.severity) == (station, "blocks")
        assert words in finding.about and finding.about.endswith("Write it in letters.")
        with pytest.raises(NotReady) as refused:
            pipeline.publish(library, "spring", who="Ana")
        assert any(words in reason for reason in refused.value.reasons)
        assert not library.editions("spring")


@pytest.mark.parametrize("name", ["חישוקים", "حلقات", "Кольца", "Κρίκοι", "Kółka", "<b>rings</b> & {{ 7 * 7 }}", "x" * 200])
def test_names_of_every_claimed_script_and_odd_ones_are_published(tmp_path: Path, name: str) -> None:
    with library_with(tmp_path, name=name) as library:
        assert not found(library, "sign-not-in-font")
        assert not [finding for finding in pipeline.findings(library, "spring") if finding.severity == "blocks"]


def test_a_picture_that_is_gone_is_told_and_blocks(tmp_path: Path) -> None:
    with library_with(tmp_path) as library:
        assert not found(library, "picture-gone")
        library.files.path(library.stations("spring")[0].doc.stills[0].file).unlink()
        (finding,) = found(library, "picture-gone")
        assert (finding.station, finding.severity) == (1, "blocks")
        assert (
            finding.about
            == "The picture of still s1 (at 0:12 of the walk) is not in the library any more. Take the still again, or take it out."
        )


@pytest.mark.parametrize("kind", ["booklet", "single", "cards", "print", "epub"])
def test_an_edition_whose_picture_is_gone_is_refused_before_anything_is_written(tmp_path: Path, kind: str) -> None:
    with library_with(tmp_path / "library") as library:
        number = library.freeze("spring", "Ana").number
        library.files.path(library.stations("spring")[0].doc.stills[0].file).unlink()
        with pytest.raises(AnnotatorError, match=r"station 1.*s1.*nothing was written"):
            pipeline.write_output(library, "spring", kind, tmp_path / "out", edition=number)
        assert not (tmp_path / "out").exists()


def test_a_long_line_and_a_division_without_a_difference_are_notes(tmp_path: Path) -> None:
    long = "the " + "very " * 14 + "long bar"
    with library_with(tmp_path, surface=long, divisions=("under-tens", "adults")) as library:
        (line,) = found(library, "line-too-long")
        assert (line.station, line.severity) == (1, "note")
        assert line.about.startswith("This line has 17 words, more than 12: “The very very")
        (division,) = found(library, "division-same")
        assert division.severity == "note" and "“adults”" in division.about
        assert not [finding for finding in pipeline.findings(library, "spring") if finding.severity == "blocks"]


def test_how_hard_it_reads_is_told_for_every_language_the_walk_s_own_first(tmp_path: Path) -> None:
    with library_with(tmp_path, language="fr") as library:
        levels = pipeline.reading_levels(library, "spring")
        assert [level.language for level in levels] == ["fr", "en", "es", "de", "pt"]
        assert all(level.lix is not None and level.lines == levels[0].lines for level in levels)


def test_an_edition_is_published_in_every_language_the_walk_s_own_on_top(tmp_path: Path) -> None:
    with library_with(tmp_path / "library", language="fr") as library:
        edition = pipeline.publish(library, "spring", who="Ana")
        folder = library.outputs("spring", edition.number)
        assert {path.name for path in folder.iterdir()} >= {
            "booklet",
            "judge-cards.pdf",
            "booklet.pdf",
            "booklet.epub",
            "en",
            "es",
            "de",
            "pt",
        }
        for language in ("en", "es", "de", "pt"):
            assert {path.name for path in (folder / language).iterdir()} == {"judge-cards.pdf", "booklet.pdf", "booklet.epub"}
        assert '<html lang="fr"' in (folder / "booklet" / "index.html").read_text("utf-8")
        with zipfile.ZipFile(folder / "es" / "booklet.epub") as book:
            assert "Lo que no se nombra no vale." in book.read("book/course.xhtml").decode()


def test_progress_over_all_languages_only_rises(tmp_path: Path) -> None:
    shares: list[float] = []
    with library_with(tmp_path / "library") as library:
        pipeline.publish(library, "spring", who="Ana", progress=lambda at: shares.append(at.share))
    assert shares == sorted(shares) and shares[-1] == 1.0
