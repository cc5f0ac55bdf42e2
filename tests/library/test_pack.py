"""A whole course as one archive, and back byte for byte."""

from __future__ import annotations

import json
import shutil
import stat
import subprocess
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from annotator.course import Course, Station
from annotator.errors import LibraryTrouble, NotFound, UnreadablePack
from annotator.library import Library

FILMED = b"original with a place in it"


@pytest.fixture
def full(library: Library) -> Library:
    """The course with some history, two editions and the outputs of one."""
    library.freeze("spring-cup", "Dana")
    with library.outputs_writer("spring-cup", 1) as folder:
        (folder / "booklet").mkdir()
        (folder / "booklet" / "Seite ü.html").write_text("<p>rules</p>")
        (folder / "judge-cards.pdf").write_bytes(b"%PDF")
    station = library.station("spring-cup", "t1")
    library.save_station("spring-cup", station.doc.model_copy(update={"name": "stump run"}), 1, "Ben")
    library.freeze("spring-cup", "Dana")
    return library


def everything(library: Library, name: str) -> tuple[object, ...]:
    histories = [library.history(name), *(library.history(name, "station", one.doc.id) for one in library.stations(name))]
    return library.course(name), library.stations(name), library.editions(name), histories


def test_a_course_comes_back_byte_for_byte(full: Library, tmp_path: Path) -> None:
    packed = full.pack("spring-cup", tmp_path / "a.zip")
    other = Library(tmp_path / "other")
    assert other.unpack(tmp_path / "a.zip") == "spring-cup"
    assert everything(other, "spring-cup") == everything(full, "spring-cup")
    page = other.outputs("spring-cup", 1) / "booklet" / "Seite ü.html"
    assert page.read_text() == "<p>rules</p>"
    assert not other.outputs("spring-cup", 2).exists()
    assert other.verify() == full.verify() == ()
    other.pack("spring-cup", tmp_path / "b.zip")
    assert (tmp_path / "b.zip").read_bytes() == (tmp_path / "a.zip").read_bytes()
    assert (packed.originals, packed.left_out, packed.size) == (True, (), (tmp_path / "a.zip").stat().st_size)


def test_a_pack_says_whether_the_clips_as_filmed_are_inside(full: Library, tmp_path: Path) -> None:
    with_them = full.pack("spring-cup", tmp_path / "a.zip")
    without = full.pack("spring-cup", tmp_path / "b.zip", originals=False)
    assert FILMED in (tmp_path / "a.zip").read_bytes()
    assert FILMED not in (tmp_path / "b.zip").read_bytes()
    assert b"proxy without a place" in (tmp_path / "b.zip").read_bytes()
    assert (with_them.originals, without.originals, len(without.left_out)) == (True, False, 1)
    with zipfile.ZipFile(tmp_path / "a.zip") as one, zipfile.ZipFile(tmp_path / "b.zip") as other:
        assert "ARE inside" in one.read("README.txt").decode()
        assert "NOT inside" in other.read("README.txt").decode()


def test_a_course_without_its_originals_is_whole_and_packs_again(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip", originals=False)
    other = Library(tmp_path / "other")
    other.unpack(tmp_path / "a.zip")
    assert other.verify() == ()
    packed = other.pack("spring-cup", tmp_path / "b.zip")
    assert not packed.originals, "it cannot give what it never had, and says so"
    assert (tmp_path / "b.zip").read_bytes() == (tmp_path / "a.zip").read_bytes()


def test_a_name_that_is_taken_gets_a_number(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    assert full.unpack(tmp_path / "a.zip") == "spring-cup-2"
    assert full.unpack(tmp_path / "a.zip") == "spring-cup-3"
    copy = full.course("spring-cup-2")
    assert (copy.doc.name, copy.doc.title) == ("spring-cup-2", "Spring Cup")
    assert [one.code for one in full.editions("spring-cup-2")] == [one.code for one in full.editions("spring-cup")]
    assert (full.outputs("spring-cup-2", 1) / "judge-cards.pdf").exists()
    assert full.verify() == ()


def test_other_programs_read_the_archive(full: Library, tmp_path: Path) -> None:
    """Info-ZIP's unzip, where it is installed, finds no fault in it."""
    full.pack("spring-cup", tmp_path / "a.zip")
    unzip = shutil.which("unzip")
    if unzip is None:
        pytest.skip("unzip is not installed")
    tested = subprocess.run([unzip, "-t", str(tmp_path / "a.zip")], capture_output=True, text=True, check=False)
    assert tested.returncode == 0
    assert "No errors detected" in tested.stdout


Change = Callable[[dict[str, bytes], dict[str, Any]], None]


def rewritten(source: Path, out: Path, change: Change) -> Path:
    """The archive with something changed in its parts or in its list of contents."""
    with zipfile.ZipFile(source) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    listed = json.loads(parts["pack.json"])
    change(parts, listed)
    if "pack.json" in parts:
        parts["pack.json"] = json.dumps(listed).encode()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return out


def first(parts: dict[str, bytes], folder: str) -> str:
    return next(name for name in parts if name.startswith(folder))


BROKEN: list[Any] = [
    pytest.param(lambda p, m: p.update({first(p, "files/"): b"x"}), "damaged", id="a-file-changed"),
    pytest.param(lambda p, m: p.update({first(p, "outputs/"): b"<p>rulez</p>"}), "damaged", id="an-output-changed"),
    pytest.param(lambda p, m: p.pop(first(p, "files/")), "is missing in it", id="a-file-gone"),
    pytest.param(lambda p, m: p.update({"../evil.txt": b"x"}), "does not belong", id="a-part-that-leads-out"),
    pytest.param(lambda p, m: p.update({"/etc/evil": b"x"}), "does not belong", id="an-absolute-part"),
    pytest.param(lambda p, m: m["outputs"][0].update(path="edition-1/../../../evil"), "outside its folder", id="an-output-that-leads-out"),
    pytest.param(lambda p, m: m["outputs"][0].update(path="/edition-1/evil"), "outside its folder", id="an-absolute-output"),
    pytest.param(lambda p, m: m["outputs"][0].update(path="edition-1\\..\\evil"), "outside its folder", id="backslashes"),
    pytest.param(lambda p, m: m["outputs"][0].update(path="edition-9/page"), "outside its folder", id="an-output-of-no-edition"),
    pytest.param(lambda p, m: m["files"][0].update(suffix="/../../evil"), "no suffix", id="a-suffix-that-leads-out"),
    pytest.param(lambda p, m: m.update(course="../evil"), "do not fit together", id="a-course-name-that-leads-out"),
    pytest.param(lambda p, m: m.update(course="other"), "do not fit together", id="another-course-name"),
    pytest.param(lambda p, m: m.update(version=2), "newer version", id="newer"),
    pytest.param(lambda p, m: m.update(what="a holiday"), "not one that", id="of-another-kind"),
    pytest.param(lambda p, m: m["revisions"][1]["doc"]["stills"][0].update(id="../../x"), "not one that", id="a-still-that-leads-out"),
    pytest.param(lambda p, m: m["revisions"][0]["doc"].update(title=3), "not one that", id="a-document-that-does-not-read"),
    pytest.param(lambda p, m: m["revisions"][0].update(at="yesterday"), "not one that", id="a-time-that-does-not-read"),
    pytest.param(lambda p, m: m["revisions"][-1].update(item="t1"), "do not fit together", id="under-another-name"),
    pytest.param(lambda p, m: m["revisions"].pop(0), "not the ones that its course names", id="no-course"),
    pytest.param(lambda p, m: m["revisions"][0].update(current=False), "do not fit together", id="no-current-course"),
    pytest.param(lambda p, m: m["revisions"].append(m["revisions"][-1]), "do not fit together", id="a-revision-twice"),
    pytest.param(lambda p, m: m["editions"][0]["pins"][1].update(number=7), "do not fit together", id="a-pin-to-nothing"),
    pytest.param(lambda p, m: m["editions"].pop(0), "outside|do not fit", id="editions-with-a-gap"),
    pytest.param(lambda p, m: m["left_out"].append("0" * 64), "not the ones", id="left-out-of-nothing"),
    pytest.param(lambda p, m: p.pop("pack.json"), "not a course that", id="a-foreign-archive"),
]


@pytest.mark.parametrize(("change", "reason"), BROKEN)
def test_a_pack_that_is_not_whole_is_refused_and_leaves_nothing(full: Library, tmp_path: Path, change: Change, reason: str) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    broken = rewritten(tmp_path / "a.zip", tmp_path / "b.zip", change)
    other = Library(tmp_path / "other")
    with pytest.raises(UnreadablePack, match=reason) as caught:
        other.unpack(broken)
    assert caught.value.path == broken
    assert other.courses() == ()
    assert [path.name for path in (other.root / "outputs").iterdir()] == []
    assert not (tmp_path / "evil.txt").exists()


def test_a_pack_that_somebody_unpacked_and_zipped_again_is_welcome(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    again = rewritten(tmp_path / "a.zip", tmp_path / "b.zip", lambda parts, listed: None)
    assert Library(tmp_path / "other").unpack(again) == "spring-cup"


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"not an archive at all", id="text"),
        pytest.param(b"PK\x05\x06" + bytes(18), id="an-empty-archive"),
    ],
)
def test_a_file_that_is_no_pack_is_refused(library: Library, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(content)
    with pytest.raises(UnreadablePack, match="archive"):
        library.unpack(tmp_path / "x.zip")
    with pytest.raises(UnreadablePack, match="no such file"):
        library.unpack(tmp_path / "y.zip")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.999])
def test_a_pack_that_was_cut_off_is_refused(full: Library, tmp_path: Path, share: float) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    data = (tmp_path / "a.zip").read_bytes()
    (tmp_path / "b.zip").write_bytes(data[: int(len(data) * share)])
    other = Library(tmp_path / "other")
    with pytest.raises(UnreadablePack, match="cut off"):
        other.unpack(tmp_path / "b.zip")
    assert list(other.files.all()) == []


def test_a_flipped_byte_anywhere_in_the_contents_is_noticed(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    data = bytearray((tmp_path / "a.zip").read_bytes())
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        parts = [info for info in archive.infolist() if info.filename != "README.txt"]
    for info in parts:
        place = info.header_offset + 30 + len(info.filename.encode()) + info.file_size // 2
        broken = bytearray(data)
        broken[place] ^= 1
        (tmp_path / "b.zip").write_bytes(broken)
        with pytest.raises(UnreadablePack):
            Library(tmp_path / "other").unpack(tmp_path / "b.zip")


def test_two_parts_of_one_name_are_refused(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip", "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr("pack.json", b"{}")
    with pytest.raises(UnreadablePack, match="two parts of one name"):
        Library(tmp_path / "other").unpack(tmp_path / "a.zip")


def test_parts_are_plain_files_of_1980(full: Library, tmp_path: Path) -> None:
    full.pack("spring-cup", tmp_path / "a.zip")
    with zipfile.ZipFile(tmp_path / "a.zip") as archive:
        infos = archive.infolist()
    assert {info.date_time for info in infos} == {(1980, 1, 1, 0, 0, 0)}
    assert {stat.filemode(info.external_attr >> 16) for info in infos} == {"-rw-r--r--"}
    assert [info.filename for info in infos][:2] == ["README.txt", "pack.json"]


def test_a_file_that_is_lost_or_damaged_makes_no_pack(full: Library, tmp_path: Path) -> None:
    still = full.station("spring-cup", "t1").doc.stills[0].file
    full.files.path(still).write_bytes(b"pictura 1")
    with pytest.raises(LibraryTrouble, match="changed on the disk"):
        full.pack("spring-cup", tmp_path / "a.zip")
    full.files.path(still).unlink()
    with pytest.raises(LibraryTrouble, match="is missing"):
        full.pack("spring-cup", tmp_path / "a.zip")
    assert not list(tmp_path.glob("*.zip")) and not list(tmp_path.glob(".unfinished*"))
    with pytest.raises(NotFound, match="folder"):
        full.pack("spring-cup", tmp_path / "nowhere" / "a.zip")
    assert any("is missing" in problem for problem in full.verify())


def test_a_course_that_takes_the_name_of_a_killed_unpacking_gets_none_of_its_outputs(library: Library) -> None:
    leftover = library.root / "outputs" / "summer-cup" / "edition-1"
    leftover.mkdir(parents=True)
    assert library.verify() == ("Outputs of a course that is not there: summer-cup.",)
    course = Course(name="summer-cup", title="Summer Cup", order=("t1",))
    library.add_course(course, [Station(id="t1", number=1, start=0, end=1, state="accepted")], "Ana")
    library.freeze("summer-cup", "Ana")
    assert not library.outputs("summer-cup", 1).exists()
