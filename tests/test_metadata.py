"""Nothing of place, device, date or people in any output, looked for inside what is compressed too: PDF streams, archives, pictures.

Peers: qpdf (through pikepdf) inflates PDFs, exiftool tells every tag that it knows, embedded ones as well, and FFmpeg's filter writes into
H.264. What our own encoder says of its settings in clips that we made tells of nobody.
"""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from pathlib import Path

import av
import pikepdf
import pytest

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from tests.small_walk import draw_clip, write_captions

TELLS = (b"Invented Phones", b"Model Q", b"Robin Filmer", b"37.3349", b"122.0090", b"2026-03-01T10", b"2026:03:01")
PRIVATE = {
    "location": "+37.3349-122.0090/",
    "com.apple.quicktime.location.ISO6709": "+37.3349-122.0090+010.000/",
    "com.apple.quicktime.make": "Invented Phones",
    "com.apple.quicktime.model": "Model Q",
    "creation_time": "2026-03-01T10:00:00.000000Z",
    "artist": "Robin Filmer",
}
TAGS = {"Make", "Model", "Artist", "Author", "Creator", "OwnerName", "SerialNumber", "LensModel", "Software", "HostComputer", "GPSPosition"}
TAGS |= {"GPSCoordinates", "GPSLatitude", "GPSLongitude", "LocationInformation", "DateTimeOriginal", "ContentCreateDate", "Comment"}


def inside(name: str, data: bytes) -> Iterator[tuple[str, bytes]]:
    """A file and everything in it, unpacked and inflated."""
    yield name, data
    if data[:4] == b"PK\3\4":
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            yield f"{name}: comment", archive.comment
            for each in archive.infolist():
                yield f"{name}/{each.filename}: extra", each.extra + each.comment
                yield from inside(f"{name}/{each.filename}", archive.read(each))
    elif data[:5] == b"%PDF-":
        with pikepdf.open(io.BytesIO(data)) as pdf:
            plain = io.BytesIO()
            pdf.save(
                plain,
                compress_streams=False,
                stream_decode_level=pikepdf.StreamDecodeLevel.generalized,
                object_stream_mode=pikepdf.ObjectStreamMode.disable,
            )
            yield f"{name}: inflated", plain.getvalue()


def test_the_search_sees_what_is_compressed(tmp_path: Path) -> None:
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.Root.Remark = pdf.make_stream(b"filmed by Robin Filmer " * 50)
        pdf.save(tmp_path / "a.pdf", compress_streams=True)
    with zipfile.ZipFile(tmp_path / "a.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(tmp_path / "a.pdf", "inner/a.pdf")
    data = (tmp_path / "a.zip").read_bytes()
    assert b"Robin" not in data
    assert [name for name, part in inside("a.zip", data) if b"Robin Filmer" in part] == ["a.zip/inner/a.pdf: inflated"]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with everything that may leave a library of a course whose clip tells all about where, with what and by whom."""
    folder = tmp_path_factory.mktemp("made")
    plain = draw_clip(folder / "plain.mp4", 34)
    filmed = folder / "walk.mov"
    with av.open(str(plain)) as source, av.open(str(filmed), "w", container_options={"movflags": "use_metadata_tags"}) as film:
        film.metadata.update(PRIVATE)
        copy = film.add_stream_from_template(source.streams.video[0], opaque=True)
        copy.metadata.update({"creation_time": PRIVATE["creation_time"], "handler_name": "Robin Filmer's phone"})
        remark = av.bitstream.BitStreamFilterContext(
            "h264_metadata=sei_user_data=086f3693-b7b3-4f2c-9653-21492feee5b8+Invented Phones 37.3349", source.streams.video[0], copy
        )
        for packet in source.demux(video=0):
            for each in remark.filter(packet if packet.dts is not None else None):
                each.stream = copy
                film.mux(each)
    found = {tell for tell in TELLS if tell in filmed.read_bytes()}
    assert {b"Invented Phones", b"Model Q", b"Robin Filmer", b"37.3349"} <= found, "the clip of this test tells what must not leave"
    with Library(folder / "library") as library:
        name = pipeline.take_in(library, [filmed], title="Spring", captions=[write_captions(folder / "walk.vtt")], who="Ana")
        pipeline.draft_course(library, name)
        pipeline.make_proxies(library, name)
        pipeline.accept(library, name, who="Ana")
        pipeline.publish(library, name, who="Ben", address="https://example.org/spring/")
        pipeline.decide(library, name, [read_edit({"do": "rename-station", "station": 2, "name": "high rungs"})], who="Ana")
        pipeline.publish(library, name, who="Ben")
        out = folder / "out"
        shutil.copytree(library.outputs(name, 1), out / "edition-1")
        shutil.copytree(library.outputs(name, 2), out / "edition-2")
        pipeline.write_films(library, name, out / "clips", pipeline.FilmWishes(whole_walk=True))
        library.pack(name, out / "without.zip", originals=False)
        shutil.copy(library.files.path(str(library.course(name).doc.clips[0].proxy)), out / "proxy.mp4")
    return out


def test_no_output_tells_of_place_device_date_or_people(made: Path) -> None:
    files = [path for path in sorted(made.rglob("*")) if path.is_file()]
    assert (made / "clips" / "walk.mp4").is_file()
    assert {".pdf", ".epub", ".jpg", ".webp", ".mp4", ".html", ".vtt", ".zip"} <= {path.suffix for path in files}
    for path in files:
        for name, data in inside(str(path.relative_to(made)), path.read_bytes()):
            assert [tell for tell in TELLS if tell in data] == [], name


def test_exiftool_finds_no_tag_of_the_kind_in_any_picture_clip_or_pdf(made: Path, tmp_path: Path) -> None:
    if shutil.which("exiftool") is None:
        pytest.skip("exiftool is not installed; on Debian or Ubuntu: apt install libimage-exiftool-perl")
    for number, epub in enumerate(sorted(made.rglob("*.epub"))):
        with zipfile.ZipFile(epub) as book:
            book.extractall(tmp_path / f"epub-{number}")
    kinds = [word for kind in ("jpg", "png", "webp", "avif", "mp4", "pdf") for word in ("-ext", kind)]
    told = subprocess.run(
        ["exiftool", "-json", "-a", "-u", "-ee", "-r", "-q", *kinds, str(made), str(tmp_path)],
        capture_output=True,
        text=True,
        check=True,
    )
    read = json.loads(told.stdout)
    assert len(read) > 10
    for each in read:
        strange = {tag: value for tag, value in each.items() if tag in TAGS and not str(value).startswith("Typst ")}
        assert strange == {}, each["SourceFile"]
