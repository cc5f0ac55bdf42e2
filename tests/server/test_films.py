"""Films on the server: asked for, made in the background, shown to readers, and left for work that somebody waits for."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from annotator import pipeline
from annotator.library import Library
from annotator.pipeline import StageProgress, Watcher
from annotator.server.guard import READERS
from annotator.server.jobs import Job, Jobs

Client = Any
PATIENCE_S = 300.0  # whatever takes longer than this hangs, on any machine


def until(look: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not look():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.02)


def test_the_films_of_an_edition_are_made_and_shown(library: Library, drafted: str, working: Client) -> None:
    pipeline.show_faces(library, drafted, "it is drawn by a program", who="Ana")
    pipeline.accept(library, drafted, who="Ana")
    pipeline.publish(library, drafted, who="Ben")
    answer = working.post(f"/api/courses/{drafted}/editions/1/films", json={"whole_walk": True})
    assert answer.status_code == 202
    job = answer.get_json()["id"]
    until(lambda: working.get(f"/api/jobs/{job}").get_json()["state"] not in ("waiting", "working"))
    assert working.get(f"/api/jobs/{job}").get_json()["state"] == "done"
    page = working.get(f"/films/{drafted}/1/")
    assert page.status_code == 200 and "Spring course: the walk" in page.get_data(as_text=True)
    part = working.get(f"/films/{drafted}/1/walk.mp4", headers={"Range": "bytes=0-99"})
    assert (part.status_code, part.mimetype, len(part.data)) == (206, "video/mp4", 100)
    assert working.get(f"/films/{drafted}/1/captions.vtt").mimetype == "text/vtt"
    assert working.get(f"/films/{drafted}/1/../../library.sqlite3").status_code == 404
    outputs = working.get(f"/api/courses/{drafted}/editions").get_json()["editions"][0]["outputs"]
    assert {"films", "films/reading.html", "films/walk.mp4", "films/station-1.mp4"} <= {each["kind"] for each in outputs}
    assert all(working.get(each["address"]).status_code == 200 for each in outputs if each["kind"].startswith("films"))
    assert "/films/" in READERS


def test_films_that_cannot_be_made_are_refused_at_once(library: Library, drafted: str, client: Client) -> None:
    assert client.post(f"/api/courses/{drafted}/editions/1/films", json={}).status_code == 404
    pipeline.accept(library, drafted, who="Ana")
    library.freeze(drafted, "Ben")
    assert client.post(f"/api/courses/{drafted}/editions/1/films", json={"division": "giants"}).status_code == 404
    assert client.post(f"/api/courses/{drafted}/editions/1/films", json={"lines": 1080}).status_code == 422
    assert client.get(f"/films/{drafted}/1/").status_code == 404


def test_films_give_way_to_what_somebody_waits_for_and_go_on_after_it(tmp_path: Path) -> None:
    order: list[str] = []
    begun, asked = threading.Event(), threading.Event()

    def work(job: Job, watcher: Watcher, keep: Callable[[Job], None]) -> Job:
        order.append(job.kind)
        if job.kind == "films" and not asked.is_set():
            begun.set()
            assert asked.wait(PATIENCE_S)
            for at in range(10_000):
                watcher(StageProgress(f"drawing {at}", at / 10_000, None))
            raise AssertionError("it did not give way")
        return job

    jobs = Jobs(tmp_path, work)
    jobs.start()
    films = jobs.add("films", "Ana", course="spring", wanted={"edition": 1})
    assert begun.wait(PATIENCE_S)
    other = jobs.add("publish", "Ben", course="spring")
    asked.set()
    until(lambda: jobs.get(films.id).state == "done" and jobs.get(other.id).state == "done")
    assert order == ["films", "publish", "films"]
    assert jobs.add("films", "Ana", course="spring", wanted={"edition": 2}).id != films.id
    jobs.close()
