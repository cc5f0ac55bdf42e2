"""What is kept between two writings is what would be made anew, and nothing that changed is taken from it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from annotator.booklet import Booklet, Wording, keeping, pages
from annotator.booklet.ground import ground
from annotator.booklet.keeping import _Held, keep, kept_bytes, kept_lately, kept_text, of_use, prune
from annotator.course import Course, Station, TranslatedName
from tests.booklet.makers import box


def overlays(booklet: Booklet) -> list[str]:
    stills = [still for page in booklet.stations for still in page.stills]
    return [svg for still in stills for kind in (still.overlays, still.paper_overlays) for svg in kind.values()]


def test_kept_overlays_are_those_that_are_drawn_anew(course: Course, stations: tuple[Station, ...], tmp_path: Path) -> None:
    for language in ("en", "es"):
        anew = overlays(pages(course, stations, wording=Wording(language)))
        assert overlays(pages(course, stations, wording=Wording(language), drawn=tmp_path)) == anew
        assert overlays(pages(course, stations, wording=Wording(language), drawn=tmp_path)) == anew


def test_one_changed_rule_draws_its_station_anew_and_no_other(course: Course, stations: tuple[Station, ...], tmp_path: Path) -> None:
    overlays(pages(course, stations, drawn=tmp_path))
    before = set(tmp_path.iterdir())
    first, *others = stations
    barrel = first.surfaces[3].model_copy(update={"ruling": "in"})
    changed = [first.model_copy(update={"surfaces": (*first.surfaces[:3], barrel, first.surfaces[4])}), *others]
    now = overlays(pages(course, changed, drawn=tmp_path))
    assert now == overlays(pages(course, changed))
    assert len(set(tmp_path.iterdir()) - before) == 2  # on screen and on paper


def test_a_moved_mark_a_new_name_and_a_translation_are_seen(course: Course, stations: tuple[Station, ...], tmp_path: Path) -> None:
    spanish = Wording("es")
    told = overlays(pages(course, stations, wording=spanish, drawn=tmp_path))
    first, *others = stations
    moved = first.model_copy(update={"marks": (box("m1", "s01-1", "u1", 40, 500, 260, 620), *first.marks[1:])})
    named = course.model_copy(update={"translated": (TranslatedName(said="red mat", language="es", translation="colchoneta"),)})
    for changed in (
        pages(course, [moved, *others], wording=spanish, drawn=tmp_path),
        pages(named, stations, wording=spanish, drawn=tmp_path),
    ):
        assert overlays(changed) != told


def test_the_ground_is_shared_where_nothing_that_counts_changed(course: Course, stations: tuple[Station, ...]) -> None:
    first = stations[0]
    still = first.stills[0]
    here = ground(course, first, still, drafts=False)
    other = course.model_copy(update={"title": "Another title", "clips": ()})
    assert ground(other, first.model_copy(update={"signed_by": "Ben"}), still, drafts=False) is here
    assert ground(course, first, still, drafts=True) is not here
    assert ground(course, first.model_copy(update={"contact": ("hands",)}), still, drafts=False) is not here
    assert ground(course.model_copy(update={"blanket": ()}), first, still, drafts=False) is not here


def test_an_empty_folder_costs_only_time(tmp_path: Path) -> None:
    texts = iter("abc")
    folders = (tmp_path / "kept", tmp_path / "kept", None, None)
    assert [kept_text(folder, "name", lambda: next(texts)) for folder in folders] == ["a", "a", "b", "c"]


@pytest.mark.parametrize(("most", "left"), [(0, ""), (9, ""), (10, "a"), (19, "a"), (20, "ac"), (29, "ac"), (30, "abc"), (99, "abc")])
def test_what_was_asked_for_longest_ago_goes_first(tmp_path: Path, most: int, left: str) -> None:
    """Three files of ten bytes, made in the order of their names; the first was asked for again since."""
    for at, name in enumerate("abc"):
        kept_bytes(tmp_path, name, lambda: b"0123456789")
        os.utime(tmp_path / name, ns=(at, 77))
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "file").write_bytes(bytes(99))
    kept_bytes(tmp_path, "a", lambda: b"another")
    assert (tmp_path / "a").stat().st_mtime_ns == 77
    prune(tmp_path, most)
    assert "".join(sorted(file.name for file in tmp_path.iterdir() if file.is_file())) == left
    assert (tmp_path / "folder" / "file").exists()


def test_what_is_held_is_not_read_again_until_it_is_time_to_note_its_use(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    texts = iter([b"a", b"b", b"c"])
    ways = [(tmp_path, "name"), (tmp_path, "name"), (tmp_path / "other", "name"), (tmp_path, "name")]
    assert [kept_lately(*way, lambda: next(texts)) for way in ways] == [b"a", b"a", b"b", b"a"]
    (tmp_path / "name").write_bytes(b"x")
    assert kept_lately(tmp_path, "name", lambda: next(texts)) == b"a"
    monkeypatch.setattr(keeping, "_NOTED_NS", 0)
    assert kept_lately(tmp_path, "name", lambda: next(texts)) == b"x"
    assert kept_lately(None, "name", lambda: next(texts)) == b"c"


def test_so_many_bytes_are_held_and_no_more() -> None:
    held = _Held(10)
    asked = []

    def get(place: str) -> bytes:
        def ask() -> bytes:
            asked.append(place)
            return place.encode()

        return held.get(place, ask)

    for place in ("four", "six666", "four", "two", "six666", "four", "more than ten", "more than ten", "two"):
        assert get(place) == place.encode()
    assert asked == ["four", "six666", "two", "six666", "four", "more than ten", "more than ten", "two"]


def test_pruning_a_folder_that_nobody_made_does_nothing(tmp_path: Path) -> None:
    prune(tmp_path / "none", 0)
    assert not (tmp_path / "none").exists()


def test_a_station_is_told_anew_where_it_or_the_course_changed(course: Course, stations: tuple[Station, ...]) -> None:
    before = pages(course, stations).stations
    first = stations[0].model_copy(update={"contact": ("hands",)})
    after = pages(course, (first, *stations[1:])).stations
    assert [one is other for one, other in zip(before, after, strict=True)] == [False, True, True]
    named = course.model_copy(update={"translated": (TranslatedName(said="red mat", language="es", translation="colchoneta"),)})
    assert not any(one is other for one, other in zip(before, pages(named, stations).stations, strict=True))


def test_what_is_of_use_is_noted_though_nobody_reads_it(tmp_path: Path) -> None:
    for name in "ab":
        keep(tmp_path / name, b"0123456789")
        os.utime(tmp_path / name, ns=(1, 77))
    of_use(tmp_path, "b")
    of_use(tmp_path, "none")
    of_use(None, "b")
    prune(tmp_path, 10)
    assert [file.name for file in tmp_path.iterdir()] == ["b"]
    assert (tmp_path / "b").stat().st_mtime_ns == 77
