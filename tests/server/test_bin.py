"""The bin over HTTP: a course is put there, says so when it is in use, is brought back, and is removed for good by a job."""

from __future__ import annotations

import sqlite3
import threading
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from flask_openapi3 import OpenAPI

from annotator.library import Library
from annotator.pipeline import StageProgress, Watcher
from annotator.server import Config, close, create_app
from annotator.server.jobs import Job, Jobs
from tests.server.test_jobs import PATIENCE_S, follow, until

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON
ANA = {"Annotator-Who": "Ana"}


def test_a_course_goes_into_the_bin_and_comes_back_as_it_was(client: Client, library: Library, drafted: str) -> None:
    before = library.whole(drafted)
    answer = client.post(f"/api/courses/{drafted}/bin", json={}, headers=ANA)
    assert answer.status_code == 200, answer.text
    (row,) = client.get("/api/bin").json["courses"]
    assert row == answer.json
    assert (row["name"], row["title"], row["who"], row["stations"], row["job"]) == (drafted, "Spring course", "Ana", 2, None)
    assert datetime.fromisoformat(row["until"]) - datetime.fromisoformat(row["at"]) == timedelta(days=30)
    assert client.get("/api/courses").json == {"courses": []}
    gone = client.get(f"/api/courses/{drafted}")
    assert (gone.status_code, gone.json["kind"]) == (404, "in-bin")
    assert gone.json["sentence"] == f"Ana put the course '{drafted}' in the bin. Bring it back from there first."
    assert client.get(f"/booklet/{drafted}/").status_code == 404
    assert client.get(f"/courses/{drafted}/clips/1.mp4").status_code == 404
    back = client.post(f"/api/bin/{drafted}/back", json={})
    assert (back.status_code, back.json) == (200, {"name": drafted, "title": "Spring course"})
    assert library.whole(drafted) == before
    assert client.post(f"/api/bin/{drafted}/back", json={}).status_code == 404


def test_a_course_that_another_page_has_open_says_whose_it_is(client: Client, library: Library, drafted: str) -> None:
    client.post(f"/api/courses/{drafted}/here", json={"client": "mine"}, headers=ANA)
    client.post(f"/api/courses/{drafted}/here", json={"client": "bens"}, headers={"Annotator-Who": "Ben"})
    refused = client.post(f"/api/courses/{drafted}/bin", json={"client": "mine"}, headers=ANA)
    assert (refused.status_code, refused.json["kind"], refused.json["reasons"]) == (409, "in-use", ["Ben has it open."])
    assert refused.json["sentence"] == "'Spring course' is in use."
    assert library.in_bin() == ()
    assert client.post(f"/api/courses/{drafted}/bin", json={"client": "mine", "anyway": True}, headers=ANA).status_code == 200


def test_a_course_that_is_worked_on_says_so_and_the_work_is_stopped_where_that_is_meant(library: Library, drafted: str) -> None:
    begun = threading.Event()

    def work(job: Job, watcher: Watcher, keep: object) -> Job:
        while True:
            watcher(StageProgress("hearing the words", 0.5, None))
            begun.wait(0.02)

    app = create_app(Config(library, work=False))
    client = app.test_client()
    jobs: Jobs = app.extensions["annotator"].jobs
    jobs._work = work
    job = jobs.add("draft", "Ben", course=drafted)
    jobs.start()
    until(jobs, job, "working")
    while jobs.get(job.id).stage is None:
        begun.wait(0.02)
    refused = client.post(f"/api/courses/{drafted}/bin", json={}).get_json()
    assert refused["reasons"] == ["It is being worked on: hearing the words."]
    answer = client.post(f"/api/courses/{drafted}/bin", json={"anyway": True})
    assert answer.status_code == 200, answer.text
    assert jobs.get(job.id).state == "stopped"
    close(app)


def test_a_course_of_the_bin_is_removed_for_good_with_its_jobs(working: Client, library: Library, drafted: str) -> None:
    done = follow(working, working.post(f"/api/courses/{drafted}/proxies", json={}).json["id"])
    assert done["state"] == "done"
    assert working.post(f"/api/bin/{drafted}/remove", json={}).status_code == 404, "it is not in the bin yet"
    working.post(f"/api/courses/{drafted}/bin", json={}, headers=ANA)
    asked = working.post(f"/api/bin/{drafted}/remove", json={}, headers=ANA)
    assert (asked.status_code, asked.json["kind"]) == (202, "remove")
    assert follow(working, asked.json["id"])["state"] == "done"
    assert working.get("/api/bin").json == {"courses": []}
    assert [job["kind"] for job in working.get("/api/jobs").json["jobs"]] == ["remove"]
    assert list(library.files.all()) == [] and library.verify() == ()
    assert working.post(f"/api/bin/{drafted}/back", json={}).status_code == 404


@pytest.fixture
def over(library: Library, drafted: str) -> str:
    """A course whose time in the bin is over."""
    library.put_in_bin(drafted, "Ana")
    with sqlite3.connect(library.root / "library.sqlite3") as connection:
        connection.execute("UPDATE courses SET binned_until = ?", ((datetime.now(UTC) - timedelta(days=1)).isoformat(),))
    connection.close()
    return drafted


def test_what_lay_in_the_bin_for_too_long_goes_by_itself(library: Library, over: str) -> None:
    app: OpenAPI = create_app(Config(library))
    client: Client = app.test_client()
    jobs = client.get("/api/jobs").json["jobs"]
    assert [job["kind"] for job in jobs] == ["remove"]
    assert follow(client, jobs[0]["id"])["state"] == "done"
    assert (library.in_bin(), list(library.files.all())) == ((), [])
    close(app)


def test_a_long_running_server_looks_again(library: Library, drafted: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("annotator.server.jobs.HOUR_S", 0.05)
    asked = threading.Event()
    times: list[int] = []

    def wanted() -> None:
        times.append(1)
        if len(times) == 3:
            asked.set()

    jobs = Jobs(library.root, lambda job, watcher, keep: job)
    jobs.start(wanted)
    assert asked.wait(PATIENCE_S)
    jobs.close()
