"""Words, frames and stills over HTTP: corrections reach captions and the next draft, a grabbed still is the frame asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from annotator import pipeline
from annotator.course import Course, Edit, HeardName, Station, read_edit
from annotator.library import Library
from annotator.media import read_picture
from annotator.server.news import reading_begins, reading_ended
from tests.media.makers import make_clip, number_of, steady, uneven

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON


def words_of(client: Client, course: str) -> dict[str, Any]:
    read: dict[str, Any] = client.get(f"/api/courses/{course}/words").json
    return read


def reword(client: Client, course: str, heard: str, text: str, who: str = "Ana") -> Any:
    """Write something else for the first word that reads so."""
    word = next(one for one in words_of(client, course)["words"] if one["text"] == heard)
    first, last = word["first"], word["last"]
    edit = {"first": first, "last": last, "was": heard, "parts": [{"first": first, "last": last, "text": text}]}
    return client.post(f"/api/courses/{course}/words", json={"edits": [edit]}, headers={"Annotator-Who": who})


def test_a_corrected_word_is_a_revision_with_its_writer_and_what_was_heard_is_kept(client: Client, library: Library, drafted: str) -> None:
    before = library.course(drafted)
    heard = library.files.path(before.doc.words or "").read_bytes()
    answer = reword(client, drafted, "stumps.", "<b>logs</b>.")
    assert answer.status_code == 200, answer.text
    (correction,) = answer.json["words"]["corrections"]
    assert (correction["heard"], correction["text"], correction["who"]) == ("stumps.", "<b>logs</b>.", "Ana")
    assert answer.json["words"]["changed"] is True
    now = library.course(drafted)
    assert (now.revision, now.who) == (before.revision + 1, "Ana")
    assert library.files.path(now.doc.words or "").read_bytes() == heard
    back = client.post(f"/api/courses/{drafted}/words", json={"edits": answer.json["back"]})
    assert back.json["words"]["corrections"] == []
    assert back.json["words"]["changed"] is False
    assert library.verify() == ()


def test_captions_say_the_corrected_words(client: Client, library: Library, drafted: str, tmp_path: Path) -> None:
    reword(client, drafted, "stumps.", "logs.")
    pipeline.write_output(library, drafted, "captions", tmp_path / "captions")
    vtt = (tmp_path / "captions" / "captions.vtt").read_text("utf-8")
    assert "Feet only on the logs." in vtt
    assert "stumps" not in vtt


def test_evidence_quotes_the_corrected_words_and_stays_accepted_and_signed(client: Client, library: Library, drafted: str) -> None:
    pipeline.accept(library, drafted, who="Ana")
    for station in (1, 2):
        pipeline.sign(library, drafted, station=station, who="Ben")
    before = library.stations(drafted)[0].doc
    assert any("stumps" in said.text for one in before.surfaces for said in one.said)
    back = reword(client, drafted, "stumps.", "logs.").json["back"]
    now = library.stations(drafted)[0].doc
    texts = [said.text for one in now.surfaces for said in one.said]
    assert any("logs." in text for text in texts)
    assert not any("stumps" in text for text in texts)
    assert (now.standing(), now.signed_by) == ("signed", "Ben")
    client.post(f"/api/courses/{drafted}/words", json={"edits": back})
    assert library.stations(drafted)[0].doc == before


def test_of_two_who_change_one_word_the_later_is_shown_both(client: Client, drafted: str) -> None:
    mine = words_of(client, drafted)["words"]
    reword(client, drafted, "stumps.", "logs.", who="Ben")
    word = next(one for one in mine if one["text"] == "stumps.")
    first, last = word["first"], word["last"]
    edit = {"first": first, "last": last, "was": "stumps.", "parts": [{"first": first, "last": last, "text": "poles."}]}
    answer = client.post(f"/api/courses/{drafted}/words", json={"edits": [edit]})
    assert answer.status_code == 409
    assert (answer.json["mine"], answer.json["theirs"]) == ({"text": "poles."}, {"text": "logs."})


def test_a_correction_is_no_change_of_the_course_that_its_page_has_to_know(client: Client, drafted: str) -> None:
    base = client.get(f"/api/courses/{drafted}").json["revision"]
    reword(client, drafted, "stumps.", "logs.")
    renamed = {"base": base, "edits": [{"do": "rename-course", "title": "Summer course"}]}
    assert client.post(f"/api/courses/{drafted}/edits", json=renamed).status_code == 200
    assert words_of(client, drafted)["corrections"] != []


def test_drafting_again_from_corrected_words_proposes_beside_what_was_accepted(client: Client, library: Library, drafted: str) -> None:
    pipeline.accept(library, drafted, station=1, who="Ana")
    accepted = library.stations(drafted)[0].doc
    reword(client, drafted, "red", "yellow")
    pipeline.draft_course(library, drafted)
    assert words_of(client, drafted)["changed"] is False
    now = library.stations(drafted)[0].doc
    kept = [one.model_copy(update={"said": ()}) for one in now.surfaces if one.state == "accepted"]
    assert kept == [one.model_copy(update={"said": ()}) for one in accepted.surfaces], "only the words that are quoted are others"
    assert [(one.name, one.state) for one in now.surfaces if one.state == "draft"] == [("yellow frame", "draft")]


def test_an_accepted_line_whose_misheard_name_is_mended_is_no_second_line_and_stays_signed(
    client: Client, library: Library, drafted: str
) -> None:
    reword(client, drafted, "stumps.", "stomps.")  # as if it had been heard so
    pipeline.draft_course(library, drafted)
    pipeline.accept(library, drafted, who="Ana")
    pipeline.sign(library, drafted, who="Ben")
    line = next(one for one in library.stations(drafted)[0].doc.surfaces if one.name == "stomps")
    reword(client, drafted, "stomps.", "stumps.")
    mended = [at.doc for at in library.stations(drafted)]
    reading_begins(library, drafted)
    pipeline.draft_course(library, drafted)
    reading_ended(library, drafted)
    now = [at.doc for at in library.stations(drafted)]
    assert now == mended
    assert [(one.standing(), one.signed_by) for one in now] == [("signed", "Ben")] * 2
    kept = next(one for one in now[0].surfaces if one.id == line.id)
    assert (kept.name, [said.text for said in kept.said]) == ("stomps", ["Feet only on the stumps."]), "a person renames it, nobody else"
    assert client.get(f"/api/courses/{drafted}/news").json == {"reading": None, "before": [], "after": []}


def without_quotes(station: Station) -> Station:
    surfaces = tuple(one.model_copy(update={"said": ()}) for one in station.surfaces)
    return station.model_copy(update={"surfaces": surfaces, "said": ()})


def quotes(station: Station) -> str:
    return " ".join(said.text for said in (*station.said, *(said for one in station.surfaces for said in one.said)))


def test_what_goes_out_quotes_the_name_that_was_agreed_to_and_what_was_heard_is_kept(
    client: Client, library: Library, drafted: str, tmp_path: Path
) -> None:
    pipeline.accept(library, drafted, who="Ana")
    pipeline.sign(library, drafted, who="Ben")
    at = next(word.start for word in pipeline.course_words(library, library.course(drafted).doc) if word.text == "stumps.")
    name = HeardName(heard="stumps", name="stemps", reason="'stumps' sounds like 'stemps'.", score=0.9, at=(at,))
    pipeline.change(library, drafted, "Ana", lambda course, stations: (course.model_copy(update={"heard": (name,)}), stations))
    heard = pipeline.heard_words(library, library.course(drafted).doc)
    before = library.stations(drafted)[0].doc
    assert "Feet only on the stumps." in quotes(before)

    def edit(do: str, batch: str) -> int:
        body = {"base": library.course(drafted).revision, "batch": batch, "edits": [{"do": do, "heard": "stumps"}]}
        return int(client.post(f"/api/courses/{drafted}/edits", json=body).status_code)

    assert edit("accept-name", "b1") == 200
    now = library.stations(drafted)[0].doc
    assert "Feet only on the stemps." in quotes(now) and "stumps" not in quotes(now)
    assert (now.standing(), now.signed_by, without_quotes(now)) == ("signed", "Ben", without_quotes(before))
    pipeline.write_output(library, drafted, "booklet", tmp_path / "booklet")
    pages = " ".join(path.read_text("utf-8") for path in (tmp_path / "booklet").rglob("*.html"))
    assert "Feet only on the stemps." in pages and "on the stumps" not in pages
    assert pipeline.heard_words(library, library.course(drafted).doc) == heard
    assert client.post(f"/api/courses/{drafted}/undo", json={"of": "b1"}).status_code == 200
    assert library.stations(drafted)[0].doc == before
    assert edit("accept-name", "b2") == 200
    assert edit("decline-name", "b3") == 200
    assert library.stations(drafted)[0].doc == before


def test_evidence_in_somebodys_own_words_stays_as_it_is(library: Library, drafted: str) -> None:
    def with_own_words(course: Course, stations: tuple[Station, ...]) -> tuple[Course, tuple[Station, ...]]:
        name = HeardName(heard="stumps", name="stemps", reason="", score=0.9, at=(said.start,), state="accepted")
        own = (
            stations[0]
            .surfaces[1]
            .model_copy(update={"said": (said.model_copy(update={"text": "on stumps, he says"}),), "state": "accepted"})
        )
        first = stations[0].model_copy(update={"surfaces": (stations[0].surfaces[0], own, *stations[0].surfaces[2:])})
        return course.model_copy(update={"heard": (name,)}), (first, *stations[1:])

    said = library.stations(drafted)[0].doc.surfaces[1].said[0]
    pipeline.change(library, drafted, "Ana", with_own_words)
    pipeline.read_again(library, drafted)
    assert "on stumps, he says" in quotes(library.stations(drafted)[0].doc)


def test_a_name_heard_wrong_that_is_agreed_to_after_the_signature_leaves_it_and_is_told(library: Library, drafted: str) -> None:
    pipeline.accept(library, drafted, who="Ana")
    pipeline.sign(library, drafted, who="Ben")
    at = next(word.start for word in pipeline.course_words(library, library.course(drafted).doc) if word.text == "stumps.")
    name = HeardName(heard="stumps", name="stemps", reason="'stumps' sounds like 'stemps'.", score=0.9, at=(at,))
    pipeline.change(library, drafted, "Ana", lambda course, stations: (course.model_copy(update={"heard": (name,)}), stations))
    before = [at.doc for at in library.stations(drafted)]
    pipeline.decide(library, drafted, [an_edit("accept-name", heard="stumps")], who="Ana")
    assert "stemps." in [word.text for word in pipeline.course_words(library, library.course(drafted).doc)]
    now = [at.doc for at in library.stations(drafted)]
    assert [without_quotes(one) for one in now] == [without_quotes(one) for one in before]
    assert {one.standing() for one in now} == {"signed"}
    told = [one for one in pipeline.findings(library, drafted) if one.kind == "name-heard-wrong"]
    line = next(one for one in before[0].surfaces if one.name == "stumps")
    assert [(one.station, one.severity, one.surface) for one in told] == [(1, "note", line.id)]


def test_a_rule_that_changes_along_with_a_mended_name_is_news(client: Client, library: Library, drafted: str) -> None:
    reword(client, drafted, "stumps.", "stomps.")
    pipeline.draft_course(library, drafted)
    pipeline.accept(library, drafted, who="Ana")
    reword(client, drafted, "stomps.", "stumps.")
    reword(client, drafted, "Feet", "Hands")
    pipeline.draft_course(library, drafted)
    lines = library.stations(drafted)[0].doc.surfaces
    told = [(one.name, one.contact, one.state) for one in lines if one.name in ("stomps", "stumps")]
    assert told == [("stomps", ("feet",), "accepted"), ("stumps", ("hands",), "draft")]


def test_a_pack_brings_the_corrections_along(client: Client, library: Library, drafted: str, tmp_path: Path) -> None:
    reword(client, drafted, "stumps.", "logs.")
    library.pack(drafted, tmp_path / "course.pack")
    with Library(tmp_path / "other") as other:
        name = other.unpack(tmp_path / "course.pack")
        assert "logs." in [word.text for word in pipeline.course_words(other, other.course(name).doc)]


KINDS = {"constant rate": (steady(60), 0), "variable rate": (uneven(60), 0), "variable rate, portrait": (uneven(60), 90)}


@pytest.fixture(params=list(KINDS))
def numbered(library: Library, tmp_path: Path, request: pytest.FixtureRequest) -> tuple[str, list[int]]:
    """A course whose clip carries its frame number in the picture, on a silent walk, with one station and its proxy."""
    times, rotation = KINDS[request.param]
    options = {"bf": "3", "g": "25", "crf": "12", "preset": "veryfast"}
    clip = make_clip(tmp_path / "numbered.mp4", times, rotation=rotation, size=(320, 192), options=options)
    name = pipeline.take_in(library, [clip], title="Numbered", who="Ana")
    pipeline.make_proxies(library, name)
    pipeline.decide(library, name, [an_edit("add-station", start=0, end=2)], who="Ana")
    return name, times


def an_edit(do: str, **fields: Any) -> Edit:
    return read_edit({"do": do, **fields})


def test_each_frame_of_a_proxy_is_told_with_its_time_and_grabbed_as_that_very_frame(
    client: Client, library: Library, numbered: tuple[str, list[int]]
) -> None:
    name, times = numbered
    told = client.get(f"/api/courses/{name}/clips/1/frames?start=0&end=100").json["times"]
    assert told == pytest.approx([time / 1000 for time in times], abs=1e-5)
    station = library.stations(name)[0].doc
    for number in range(0, 60, 7):
        body = {"clip": 1, "time_s": round(told[number], 6)}
        still = client.post(f"/api/courses/{name}/stations/{station.id}/grab", json=body).json
        image = read_picture(library.files.path(still["file"]))
        assert (image.shape[1], image.shape[0]) == (still["width"], still["height"])
        portrait = image.shape[0] > image.shape[1]
        assert sorted(image.shape[:2]) == [192, 320]
        assert number_of(np.rot90(image, -1) if portrait else image) == number
        put = {"base": library.station(name, station.id).revision, "edits": [{"do": "put-still", "station": 1, "still": still}]}
        assert client.post(f"/api/courses/{name}/stations/{station.id}/edits", json=put).status_code == 200
    assert len(library.stations(name)[0].doc.stills) == 9


@pytest.mark.parametrize(
    ("start", "end", "first", "last"),
    [
        pytest.param(0.5, 0.6, 12, 15, id="the one on screen at the start, and the first after the end"),
        pytest.param(0.52, 0.52, 13, 13, id="one moment"),
        pytest.param(2.0, 50.0, 50, 59, id="to the end"),
        pytest.param(99.0, 100.0, 59, 59, id="after the end the last one"),
    ],
)
def test_a_stretch_of_frames_is_enough_to_step_in(
    client: Client, library: Library, tmp_path: Path, start: float, end: float, first: int, last: int
) -> None:
    clip = make_clip(tmp_path / "steady.mp4", steady(60), options={"bf": "3", "g": "10"})
    name = pipeline.take_in(library, [clip], title="Steady", who="Ana")
    pipeline.make_proxies(library, name)
    told = client.get(f"/api/courses/{name}/clips/1/frames?start={start}&end={end}").json["times"]
    assert [round(time / 0.04) for time in told] == list(range(first, last + 1))


def test_a_clip_without_a_proxy_says_so_and_its_making_can_be_asked_for(client: Client, drafted: str) -> None:
    answer = client.get(f"/api/courses/{drafted}/clips/1/frames?start=0&end=1")
    assert answer.status_code == 404
    assert client.post(f"/api/courses/{drafted}/proxies", json={}).json["kind"] == "proxies"


def test_a_still_of_a_clip_that_is_not_here_as_filmed_says_what_to_do(client: Client, library: Library, drafted: str) -> None:
    station = library.stations(drafted)[0].doc
    library.files.path(library.course(drafted).doc.clips[0].original).unlink()
    answer = client.post(f"/api/courses/{drafted}/stations/{station.id}/grab", json={"clip": 1, "time_s": 1.0})
    assert answer.status_code == 422
    assert "Take in the same clip again" in answer.json["sentence"]


def test_what_a_new_reading_proposes_is_kept_until_it_is_put_away(client: Client, library: Library, drafted: str) -> None:
    address = f"/api/courses/{drafted}/news"
    nothing: dict[str, Any] = {"reading": None, "before": [], "after": []}
    pipeline.accept(library, drafted, who="Ana")

    def read_again() -> None:
        reading_begins(library, drafted)
        pipeline.draft_course(library, drafted)
        reading_ended(library, drafted)

    read_again()
    assert client.get(address).json == nothing, "the same words say the same"
    reword(client, drafted, "red", "yellow")
    read_again()
    told = client.get(address).json
    names = [[one["name"] for one in told[side][0]["surfaces"]] for side in ("before", "after")]
    assert "yellow frame" not in names[0] and "yellow frame" in names[1]
    reword(client, drafted, "stumps.", "logs.")
    reading_begins(library, drafted)
    assert client.get(address).json["before"] == told["before"], "what nobody has put away is not forgotten for the next reading"
    pipeline.draft_course(library, drafted)
    reading_ended(library, drafted)
    both = client.get(address).json
    assert both["before"] == told["before"]
    assert {"yellow frame", "logs"} <= {one["name"] for one in both["after"][0]["surfaces"]}
    assert client.post(address, json={"reading": told["reading"]}).json == both, "a newer reading, which the person has not seen, stays"
    assert client.post(address, json={"reading": both["reading"]}).json == nothing
    assert client.get(address).json == nothing
