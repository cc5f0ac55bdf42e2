"""What readers and judges open: the newest edition, each edition, other outputs and clips, with ranges and a fitting time to keep them."""

from __future__ import annotations

import gzip
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from annotator import pipeline
from annotator.course import read_edit
from annotator.library import Library
from annotator.server import Config, close, create_app

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON

VIDEO = bytes(range(256)) * 40


@pytest.fixture
def published(library: Library, drafted: str) -> Iterator[str]:
    """The drafted course with two editions in the library, their outputs laid by hand: what is in them is the booklet's business."""
    for at in library.stations(drafted):
        pipeline.accept(library, drafted, station=at.doc.number, who="Ana")
    pipeline.accept(library, drafted, who="Ana")
    for number in (1, 2):
        view = library.course(drafted)
        library.save_course(view.doc.model_copy(update={"title": f"Spring course {number}"}), view.revision, "Ana")
        edition = library.freeze(drafted, "Ana")
        with library.outputs_writer(drafted, edition.number) as folder:
            _lay(folder, edition.number)
    yield drafted


def _lay(folder: Path, number: int) -> None:
    (folder / "booklet" / "stations").mkdir(parents=True)
    (folder / "booklet" / "index.html").write_text(f"<!doctype html><title>Edition {number}</title>")
    (folder / "booklet" / "stations" / "index.html").write_text("<!doctype html><title>Stations</title>")
    for picture in ("still-0123456789ab.jpg", "station-1-1-1280.jpg", "station-10-2-1920.webp"):
        (folder / "booklet" / picture).write_bytes(b"picture")
    (folder / "judge-cards.pdf").write_bytes(b"%PDF-" + VIDEO)
    (folder / "change-slip").mkdir()
    for name in ("changes.html", "changes.pdf", "booklet.css", "OFL.txt"):
        (folder / "change-slip" / name).write_text(name)
    (folder / "booklet" / "edition.json").write_text(f'{{"number": {number}}}')
    (folder / "booklet" / "page.css").write_text("p { margin: 0 }\n" * 200)
    (folder / "booklet.html").write_text("<!doctype html><title>One file</title>")
    (folder / "captions").mkdir()
    (folder / "captions" / "walk.vtt").write_text("WEBVTT\n\n00:00.000 --> 00:01.000\nhello\n")


def test_the_address_without_a_number_is_the_newest_edition(client: Client, published: str) -> None:
    assert "Edition 2" in client.get(f"/booklet/{published}/").text
    assert "Edition 1" in client.get(f"/booklet/{published}/1/").text
    assert client.get(f"/booklet/{published}/3/").status_code == 404
    assert client.get(f"/booklet/{published}").headers["Location"].endswith(f"/booklet/{published}/")


def test_pages_are_asked_for_each_time_and_files_named_by_their_content_are_kept(client: Client, published: str) -> None:
    page = client.get(f"/booklet/{published}/index.html")
    assert page.headers["Cache-Control"] == "no-cache"
    assert client.get(f"/booklet/{published}/index.html", headers={"If-None-Match": page.headers["ETag"]}).status_code == 304
    assert "immutable" in client.get(f"/booklet/{published}/2/still-0123456789ab.jpg").headers["Cache-Control"]
    for picture in ("station-1-1-1280.jpg", "station-10-2-1920.webp"):  # the next edition has another picture of this name
        assert client.get(f"/booklet/{published}/{picture}").headers["Cache-Control"] == "no-cache"


def test_a_folder_of_the_booklet_opens_its_index(client: Client, published: str) -> None:
    assert "Stations" in client.get(f"/booklet/{published}/2/stations/").text
    assert "Stations" in client.get(f"/booklet/{published}/stations/").text


def test_a_part_of_a_file_can_be_asked_for(client: Client, published: str) -> None:
    address = f"/editions/{published}/2/judge-cards.pdf"
    answer = client.get(address, headers={"Range": "bytes=5-14"})
    assert (answer.status_code, answer.data) == (206, VIDEO[:10])
    assert answer.headers["Content-Range"] == f"bytes 5-14/{len(VIDEO) + 5}"
    beyond = client.get(address, headers={"Range": "bytes=999999-"})
    assert (beyond.status_code, beyond.json["sentence"]) == (416, "That part of the file does not exist.")


def test_text_is_compressed_for_whoever_takes_that_and_pictures_are_not(client: Client, published: str) -> None:
    address = f"/booklet/{published}/page.css"
    plain = client.get(address)
    squeezed = client.get(address, headers={"Accept-Encoding": "br, gzip"})
    assert gzip.decompress(squeezed.data) == plain.data
    assert len(squeezed.data) < len(plain.data) / 10
    assert (plain.headers.get("Content-Encoding"), squeezed.headers["Content-Encoding"]) == (None, "gzip")
    assert plain.headers["Vary"] == squeezed.headers["Vary"] == "Accept-Encoding"
    assert plain.headers["ETag"] != squeezed.headers["ETag"], "two contents under one tag would mix in a cache"
    again = client.get(address, headers={"Accept-Encoding": "gzip", "If-None-Match": squeezed.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    part = client.get(address, headers={"Accept-Encoding": "gzip", "Range": "bytes=0-9"})
    assert (part.status_code, part.data) == (206, plain.data[:10])
    picture = client.get(f"/booklet/{published}/still-0123456789ab.jpg", headers={"Accept-Encoding": "gzip"})
    assert "Content-Encoding" not in picture.headers


def test_a_new_edition_is_at_the_address_of_the_newest_at_once(client: Client, library: Library, published: str) -> None:
    assert client.get(f"/booklet/{published}/edition.json").json == {"number": 2}
    view = library.course(published)
    library.save_course(view.doc.model_copy(update={"title": "Spring course 3"}), view.revision, "Ana")
    with library.outputs_writer(published, library.freeze(published, "Ana").number) as folder:
        _lay(folder, 3)
    assert client.get(f"/booklet/{published}/edition.json").json == {"number": 3}
    assert b"Edition 3" in gzip.decompress(client.get(f"/booklet/{published}/", headers={"Accept-Encoding": "gzip"}).data)


def test_an_edition_tells_where_its_films_are_once_they_are_made(client: Client, library: Library, published: str) -> None:
    folder = pipeline.films_folder(library, published, 2)
    folder.mkdir(parents=True)
    (folder / "station-1.mp4").write_bytes(VIDEO)
    told = client.get(f"/booklet/{published}/edition.json").json
    assert list(told["films"]) == ["1"]
    film = told["films"]["1"]
    station = library.edition(published, 2).stations[0].doc
    assert film["start"] <= station.start < film["end"]
    assert client.get(film["video"], headers={"Range": "bytes=0-3"}).status_code == 206


def test_the_booklet_in_one_file_may_run_its_script_and_reach_nothing(client: Client, published: str) -> None:
    policy = client.get(f"/editions/{published}/2/booklet.html").headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "sandbox allow-scripts" in policy
    assert "connect-src" not in policy


def test_captions_are_sent_as_web_video_text_tracks(client: Client, published: str) -> None:
    assert client.get(f"/editions/{published}/2/captions/walk.vtt").content_type == "text/vtt; charset=utf-8"


@pytest.mark.parametrize("way", ["../library.sqlite3", "%2e%2e/%2e%2e/%2e%2e/library.sqlite3", "..%2f..%2flibrary.sqlite3", "/etc/passwd"])
@pytest.mark.parametrize("place", ["/booklet/{}/2/", "/booklet/{}/", "/editions/{}/2/"])
def test_nothing_outside_an_editions_folder_is_sent(client: Client, published: str, place: str, way: str) -> None:
    assert client.get(place.format(published) + way).status_code in (308, 404)


def test_the_api_lists_an_editions_outputs_and_each_address_opens(client: Client, published: str) -> None:
    first, second = client.get(f"/api/courses/{published}/editions").json["editions"]
    assert (first["number"], second["number"]) == (1, 2)
    assert first["code"] != second["code"]
    kinds = ["booklet", "booklet.html", "captions/walk.vtt", "change-slip/changes.html", "change-slip/changes.pdf", "judge-cards.pdf"]
    assert [output["kind"] for output in second["outputs"]] == kinds
    for output in second["outputs"]:
        assert client.get(output["address"]).status_code == 200
    booklets = [output["address"] for edition in (first, second) for output in edition["outputs"] if output["kind"] == "booklet"]
    assert booklets == [f"/booklet/{published}/1/", f"/booklet/{published}/"], "who is sent to the newest one hears of a newer one"
    assert client.get(f"/api/courses/{published}").json["unpublished"] is False


def test_a_change_after_the_last_edition_shows(client: Client, library: Library, published: str) -> None:
    pipeline.decide(library, published, [read_edit({"do": "rename-station", "station": 1, "name": "log hop"})], who="Ana")
    assert client.get(f"/api/courses/{published}").json["unpublished"] is True


def test_a_course_without_an_edition_says_so_to_its_readers(client: Client, drafted: str) -> None:
    answer = client.get(f"/booklet/{drafted}/")
    assert answer.status_code == 404
    assert "No edition of this course has been published yet." in answer.text


def test_a_clip_whose_copy_is_not_made_yet_is_not_found(client: Client, drafted: str) -> None:
    assert client.get(f"/courses/{drafted}/clips/1.mp4").status_code == 404
    assert client.get(f"/courses/{drafted}/clips/7.mp4").status_code == 404


def test_the_staff_pages_say_what_to_do_where_they_were_not_built(library: Library, tmp_path: Path) -> None:
    app = create_app(Config(library, work=False, pages=tmp_path / "none"))
    answer = app.test_client().get("/")
    assert answer.status_code == 503
    assert "npm run build" in answer.text
    close(app)


@pytest.mark.parametrize("path", ["/", "/take-in", "/course/spring", "/course/spring/3"])
def test_every_address_of_the_staff_pages_opens_the_one_page(library: Library, tmp_path: Path, path: str) -> None:
    (tmp_path / "pages" / "assets").mkdir(parents=True)
    (tmp_path / "pages" / "index.html").write_text("<!doctype html><title>Courses</title>")
    (tmp_path / "pages" / "assets" / "index-AbCd1234.js").write_text("1")
    app = create_app(Config(library, work=False, pages=tmp_path / "pages"))
    with app.test_client() as client:
        page = client.get(path, buffered=True)
        assert (page.status_code, page.headers["Cache-Control"]) == (200, "no-cache")
        script = client.get("/app/assets/index-AbCd1234.js", buffered=True)
        assert "immutable" in script.headers["Cache-Control"]
        assert script.mimetype == "text/javascript"
    close(app)


def test_an_address_that_was_mistyped_gets_a_page_and_one_with_a_stroke_too_many_the_page_that_was_meant(
    library: Library, tmp_path: Path
) -> None:
    (tmp_path / "index.html").write_text("<!doctype html><title>Courses</title>")
    app = create_app(Config(library, work=False, pages=tmp_path))
    with app.test_client() as client:
        page = client.get("/course/spring/lissten", buffered=True)
        assert (page.status_code, page.mimetype) == (404, "text/html")
        for meant in ("/course/sp%C3%BCring%3F", "/course/spring/3"):
            moved = client.get(f"{meant}/", buffered=True)
            assert (moved.status_code, moved.headers["Location"]) == (302, meant)
    close(app)
