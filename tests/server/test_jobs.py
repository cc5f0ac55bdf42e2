"""Work that takes longer than a request: followed, stopped, and taken up again after a kill."""

from __future__ import annotations

import itertools
import os
import pickle
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from annotator import pipeline
from annotator.errors import InputError, NotFound
from annotator.library import Library
from annotator.pipeline import StageProgress, Watcher
from annotator.server import Config, close, create_app
from annotator.server.jobs import Job, Jobs
from tests.small_walk import LATER, draw_clip, write_captions

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON
Keep = Callable[[Job], None]


PATIENCE_S = 300.0  # whatever takes longer than this hangs, on any machine


def until(jobs: Jobs, job: Job, *states: str) -> Job:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        now = jobs.get(job.id)
        if now.state in states:
            return now
        time.sleep(0.02)
    raise AssertionError(f"still {jobs.get(job.id).state}")


def steps(job: Job, watcher: Watcher, keep: Keep) -> Job:
    """Work that goes on until somebody stops it."""
    for at in itertools.count():
        watcher(StageProgress("stepping", 1 - 1 / (1 + at), 10.0))
        time.sleep(0.01)
    raise AssertionError("nobody counts to the end")


def test_a_job_is_done_and_remembered(tmp_path: Path) -> None:
    jobs = Jobs(tmp_path, lambda job, watcher, keep: job.model_copy(update={"edition": 3}))
    jobs.start()
    job = jobs.add("publish", "Ana", course="spring")
    done = until(jobs, job, "done")
    assert (done.edition, done.share, done.who) == (3, 1.0, "Ana")
    jobs.close()
    assert Jobs(tmp_path, steps).get(job.id).state == "done"


def test_a_job_that_somebody_stops_ends_with_a_sentence_and_the_next_one_goes_on(tmp_path: Path) -> None:
    jobs = Jobs(tmp_path, steps)
    jobs.start()
    first, second = jobs.add("draft", "Ana", course="one"), jobs.add("draft", "Ana", course="two")
    until(jobs, first, "working")
    assert jobs.get(second.id).state == "waiting"
    jobs.stop(second.id)
    assert jobs.stopping(jobs.get(second.id))
    jobs.stop(first.id)
    assert until(jobs, first, "stopped").sentence == "You stopped this. What was done so far is kept."
    assert until(jobs, second, "stopped").share == 0, "one that waited never began"
    jobs.close()


@pytest.mark.parametrize(
    ("error", "state", "words"),
    [
        pytest.param(InputError("The clip has no sound."), "refused", "The clip has no sound.", id="the-persons-to-mend"),
        pytest.param(ZeroDivisionError(), "broken", "that is our fault", id="ours"),
    ],
)
def test_a_job_that_fails_says_whose_fault_it_is(tmp_path: Path, error: Exception, state: str, words: str) -> None:
    def fail(job: Job, watcher: Watcher, keep: Keep) -> Job:
        raise error

    jobs = Jobs(tmp_path, fail)
    jobs.start()
    ended = until(jobs, jobs.add("draft", "Ana", course="one"), "refused", "broken")
    assert ended.state == state
    assert words in str(ended.sentence)
    jobs.close()


def test_asking_twice_for_the_same_work_gives_the_same_job(tmp_path: Path) -> None:
    jobs = Jobs(tmp_path, steps)
    assert jobs.add("draft", "Ana", course="one").id == jobs.add("draft", "Ben", course="one").id
    assert jobs.add("draft", "Ana", course="two").id != jobs.add("publish", "Ana", course="two").id
    assert len(jobs.all()) == 3


def test_closing_leaves_the_job_to_the_next_start(tmp_path: Path) -> None:
    jobs = Jobs(tmp_path, steps)
    jobs.start()
    job = jobs.add("draft", "Ana", course="one")
    until(jobs, job, "working")
    jobs.close()
    again = Jobs(tmp_path, lambda job, watcher, keep: job)
    assert again.get(job.id).state == "working"
    again.start()
    assert until(again, job, "done").tries == 2
    again.close()


def test_only_one_program_works_on_a_librarys_jobs(tmp_path: Path) -> None:
    first, second = Jobs(tmp_path, steps), Jobs(tmp_path, steps)
    assert first.start() is True
    assert second.start() is False
    first.close()
    second.close()
    third = Jobs(tmp_path, steps)
    assert third.start() is True
    third.close()


def test_the_next_program_takes_the_jobs_up_when_the_one_that_worked_on_them_is_gone(tmp_path: Path) -> None:
    first, second = Jobs(tmp_path, steps), Jobs(tmp_path, lambda job, watcher, keep: job)
    first.start()
    second.start()
    job = second.add("draft", "Ana", course="one")
    until(second, job, "working")
    first.close()
    assert until(second, job, "done").tries == 2
    second.close()


def test_a_job_of_another_version_of_the_program_is_left_aside(tmp_path: Path) -> None:
    jobs = Jobs(tmp_path, steps)
    job = jobs.add("draft", "Ana", course="one")
    with sqlite3.connect(tmp_path / "jobs.sqlite3") as connection:
        (record,) = connection.execute("SELECT value FROM kv WHERE key = ?", (f"job:{job.id}",)).fetchone()
        other = pickle.dumps(pickle.loads(record).replace('"draft"', '"juggle"'))
        connection.execute("UPDATE kv SET value = ? WHERE key = ?", (other, f"job:{job.id}"))
    connection.close()
    assert jobs.all() == ()
    with pytest.raises(NotFound):
        jobs.get(job.id)
    jobs.close()


def test_a_job_that_there_is_not_is_not_found(tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        Jobs(tmp_path, steps).get("none")


def test_progress_never_falls_and_a_new_stage_is_told_at_once(tmp_path: Path) -> None:
    seen: list[tuple[str | None, float]] = []
    go_on = threading.Event()

    def work(job: Job, watcher: Watcher, keep: Keep) -> Job:
        for stage, share in (("one", 0.5), ("two", 0.3), ("three", 2.0)):
            watcher(StageProgress(stage, share, None))
            now = jobs.get(job.id)
            seen.append((now.stage, now.share))
        go_on.wait(PATIENCE_S)
        return job

    jobs = Jobs(tmp_path, work)
    jobs.start()
    job = jobs.add("draft", "Ana", course="one")
    until(jobs, job, "working")
    go_on.set()
    until(jobs, job, "done")
    assert seen == [("one", 0.5), ("two", 0.5), ("three", 1.0)]
    jobs.close()


KILLED = """
import sys, threading
from pathlib import Path
from annotator.library import Library
from annotator.pipeline import StageProgress
from annotator.server.jobs import Jobs


def work(job, watcher, keep):
    keep(job.model_copy(update={"course": "spring", "stage": "half way"}))
    print(job.id, flush=True)
    threading.Event().wait()

jobs = Jobs(Path(sys.argv[1]), work)
jobs.start()
jobs.add("take in", "Ana", wanted={"clips": ["x"], "captions": []})
threading.Event().wait()
"""


def test_a_job_whose_program_was_killed_is_taken_up_again_with_what_it_had_learned(tmp_path: Path) -> None:
    program = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    job_id = program.stdout.readline().strip()
    os.kill(program.pid, signal.SIGKILL)
    program.wait()
    program.stdout.close()
    taken: list[Job] = []

    def work(job: Job, watcher: Watcher, keep: Keep) -> Job:
        taken.append(job)
        return job

    jobs = Jobs(tmp_path, work)
    jobs.start()
    until(jobs, jobs.get(job_id), "done")
    jobs.close()
    assert [(job.id, job.course, job.tries) for job in taken] == [(job_id, "spring", 2)]


def upload(client: Client, path: Path, kind: str) -> str:
    content = path.read_bytes()
    begun = client.post("/api/uploads", json={"kind": kind, "name": path.name, "size": len(content)}).json
    client.patch(
        f"/api/uploads/{begun['id']}",
        data=content,
        headers={"Upload-Offset": "0"},
        content_type="application/octet-stream",
    )
    finished = client.post(f"/api/uploads/{begun['id']}/finish", json={})
    assert finished.status_code == 200, finished.text
    return str(begun["id"])


def follow(client: Client, job: str) -> dict[str, Any]:
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        told: dict[str, Any] = client.get(f"/api/jobs/{job}").json
        if told["state"] not in ("waiting", "working"):
            return told
        time.sleep(0.05)
    raise AssertionError(f"job {job} goes on and on")


def test_a_walk_that_was_uploaded_becomes_a_drafted_course(working: Client, library: Library, walk_clip: Path, walk_captions: Path) -> None:
    body = {
        "title": "Spring course",
        "clips": [upload(working, walk_clip, "clip")],
        "captions": [upload(working, walk_captions, "captions")],
        "names": ["stump hop", " rung   bridge ", ""],
    }
    asked = working.post("/api/courses", json=body, headers={"Annotator-Who": "Ana"})
    assert asked.status_code == 202, asked.text
    told = follow(working, asked.json["id"])
    assert (told["state"], told["course"], told["share"]) == ("done", "spring-course", 1.0)
    view = working.get("/api/courses/spring-course").json
    assert [plate["name"] for plate in view["plates"]] == ["stump hop", "rung bridge"]
    assert view["course"]["names"] == ["stump hop", "rung bridge"]
    assert view["course"]["clips"][0]["title"] == "spring walk.mp4"
    assert list((library.root / "uploads").iterdir()) == [], "the uploads are in the library now"

    # The proxies come after the draft, in a job of their own.
    follow(working, working.get("/api/jobs").json["jobs"][-1]["id"])
    whole = working.get("/courses/spring-course/clips/1.mp4")
    part = working.get("/courses/spring-course/clips/1.mp4", headers={"Range": "bytes=100-199"})
    assert (part.status_code, part.data) == (206, whole.data[100:200])


def test_the_same_walk_again_is_noticed_and_taken_in_only_where_that_is_meant(
    working: Client, drafted: str, walk_clip: Path, walk_captions: Path
) -> None:
    body: dict[str, Any] = {
        "title": "Again",
        "clips": [upload(working, walk_clip, "clip")],
        "captions": [upload(working, walk_captions, "captions")],
    }
    refused = working.post("/api/courses", json=body)
    assert (refused.status_code, refused.json["kind"], refused.json["course"]) == (409, "already-here", drafted)
    meant = working.post("/api/courses", json={**body, "again": True})
    assert meant.status_code == 202
    assert follow(working, meant.json["id"])["course"] == "again"


@pytest.fixture(scope="module")
def later(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A further clip of the walk, with its captions."""
    folder = tmp_path_factory.mktemp("later")
    return draw_clip(folder / "later.mp4", 12, shade=180), write_captions(folder / "later.vtt", LATER)


def test_a_clip_that_was_uploaded_for_a_course_is_added_and_read(
    working: Client, library: Library, drafted: str, later: tuple[Path, Path]
) -> None:
    pipeline.accept(library, drafted, who="Ana")
    before = library.stations(drafted)
    body = {
        "clips": [upload(working, later[0], "clip")],
        "captions": [upload(working, later[1], "captions")],
        "names": [" tall  wall ", "", "Stump hop"],
    }
    asked = working.post(f"/api/courses/{drafted}/clips", json=body, headers={"Annotator-Who": "Ana"})
    assert (asked.status_code, asked.json["kind"], asked.json["course"]) == (202, "add clips", drafted)
    told = follow(working, asked.json["id"])
    assert (told["state"], told["share"]) == ("done", 1.0)
    view = working.get(f"/api/courses/{drafted}").json
    assert [clip["title"] for clip in view["course"]["clips"]] == ["spring walk.mp4", "later.mp4"]
    assert [(plate["name"], plate["standing"]) for plate in view["plates"]][2:] == [("tall wall", "drafted")]
    assert view["course"]["names"] == ["stump hop", "rung bridge", "tall wall"]
    assert library.stations(drafted)[:2] == before
    news = working.get(f"/api/courses/{drafted}/news").json
    assert [len(news["before"]), len(news["after"])] == [2, 3]
    assert list((library.root / "uploads").iterdir()) == []
    again = working.post(f"/api/courses/{drafted}/clips", json={"clips": [upload(working, later[0], "clip")]})
    assert again.status_code == 422
    assert again.json["sentence"] == "later.mp4 is in this course already, as clip 2. Choose another file."


def test_clips_that_were_added_before_a_kill_are_read_after_it(library: Library, drafted: str, later: tuple[Path, Path]) -> None:
    app = create_app(Config(library, work=False))
    client = app.test_client()
    wanted = {"clips": [upload(client, later[0], "clip")], "captions": [upload(client, later[1], "captions")], "names": []}
    jobs: Jobs = app.extensions["annotator"].jobs
    job = jobs.add("add clips", "Ana", course=drafted, wanted=wanted)
    assert jobs.add("add clips", "Ana", course=drafted, wanted=wanted).id == job.id
    other = jobs.add("add clips", "Ben", course=drafted, wanted={**wanted, "clips": ["x"]})
    assert other.id != job.id, "other clips are other work"
    jobs.stop(other.id)
    # So far came the run that was killed: its clips are in the course, its uploads thrown away.
    pipeline.add_clips(library, drafted, [later[0]], captions=[later[1]])
    for each in (*wanted["clips"], *wanted["captions"]):
        app.extensions["annotator"].uploads.drop(each)
    jobs._keep(job.model_copy(update={"state": "working", "tries": 1}))
    close(app)
    app = create_app(Config(library))
    assert follow(app.test_client(), job.id)["state"] == "done"
    close(app)
    assert [at.doc.name for at in library.stations(drafted)] == ["stump hop", "rung bridge", None]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"title": "x" * 10_000}, "The title has 10000 characters; use at most", id="a-long-title"),
        pytest.param({"clips": "twice"}, "is the same recording as clip 1", id="one-clip-twice"),
        pytest.param({"captions": "too many"}, "give one a clip", id="captions-that-do-not-fit"),
    ],
)
def test_a_walk_that_cannot_be_taken_in_is_refused_before_any_work(
    client: Client, library: Library, walk_clip: Path, walk_captions: Path, change: dict[str, str], words: str
) -> None:
    body: dict[str, Any] = {"title": "Spring", "clips": [upload(client, walk_clip, "clip")]}
    if change.get("clips"):
        body["clips"] = [*body["clips"], upload(client, walk_clip, "clip")]
    elif change.get("captions"):
        body["captions"] = [upload(client, walk_captions, "captions") for _ in range(2)]
    else:
        body.update(change)
    answer = client.post("/api/courses", json=body)
    assert answer.status_code == 422
    assert words in answer.json["sentence"]
    assert library.courses() == ()
    assert client.get("/api/jobs").json == {"jobs": []}


def test_a_course_that_was_taken_in_and_never_drafted_is_drafted_at_the_next_start(
    library: Library, walk_clip: Path, walk_captions: Path
) -> None:
    name = pipeline.take_in(library, [walk_clip], title="Left", captions=[walk_captions], who="Ana")
    app = create_app(Config(library))
    client = app.test_client()
    (job,) = [each for each in client.get("/api/jobs").get_json()["jobs"] if each["kind"] == "draft"]
    assert follow(client, job["id"])["state"] == "done"
    assert library.course(name).doc.state == "drafted"
    close(app)


def test_publishing_is_refused_with_every_reason_while_something_is_open(client: Client, drafted: str) -> None:
    answer = client.post(f"/api/courses/{drafted}/editions", json={})
    assert (answer.status_code, answer.json["kind"]) == (409, "not-ready")
    assert any("Station 1" in reason for reason in answer.json["reasons"])
    assert "\n" not in answer.json["sentence"]
