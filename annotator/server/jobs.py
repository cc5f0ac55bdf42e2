"""Work that takes longer than a request: kept in a queue in the library, worked on one at a time, told to whoever asks, stopped on request.

The queue is Huey on SQLite. A queue like that forgets the job it was working on when its program is killed, so the record of a job is the
truth here and the queue is built anew from the records whenever a server starts. The work itself is cached stage by stage (see
annotator/pipeline), so doing a job again costs nothing that was done before. What the jobs do is work.py.
"""

from __future__ import annotations

import fcntl
import logging
import os
import secrets
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

from huey import SqliteHuey
from huey.consumer import Consumer
from pydantic import BaseModel, ConfigDict, ValidationError

from annotator.errors import AnnotatorError, NotFound, Stopped
from annotator.pipeline import StageProgress, Watcher

log = logging.getLogger(__name__)

JobKind = Literal["take in", "add clips", "draft", "proxies", "publish", "films", "remove"]
JobState = Literal["waiting", "working", "done", "stopped", "refused", "broken"]
OPEN: tuple[JobState, ...] = ("waiting", "working")
TOLD_EVERY_S = 0.25
LOOK_AGAIN_S = 2.0  # how soon a program notices that the one before it, which did the work, is gone
HOUR_S = 3600.0
KEPT = timedelta(days=7)


class Job(BaseModel):
    """One piece of work and where it stands. `share` is 0 to 1; `refused` is the person's to mend, `broken` is ours; both have a sentence.

    `edition` is set where one came out. `wanted` is what the work needs to know.
    """

    model_config = ConfigDict(frozen=True)

    id: str
    kind: JobKind
    who: str
    at: datetime
    course: str | None = None
    state: JobState = "waiting"
    stage: str | None = None
    share: float = 0.0
    seconds_left: float | None = None
    sentence: str | None = None
    edition: int | None = None
    tries: int = 0
    wanted: dict[str, Any] = {}


Work = Callable[[Job, Watcher, Callable[[Job], None]], Job]
"""Does a job: told where it stands through the watcher (which may raise `Stopped`); `keep` saves what it learns on the way."""


class Jobs:
    """The jobs of one library. `start` makes this program the one that works on them, as soon as no other one is."""

    def __init__(self, root: Path, work: Work) -> None:
        self._huey = SqliteHuey("jobs", filename=str(root / "jobs.sqlite3"), results=False)
        self._root, self._work = root, work
        self._lock = threading.RLock()
        self._closing = threading.Event()
        self._consumer: Consumer | None = None
        self._handle: int | None = None
        self._heir: threading.Thread | None = None
        self._task = self._huey.task(name="work")(self._run)

    # Asking

    def get(self, job_id: str) -> Job:
        """A job as it stands."""
        job = _read(self._huey.get(f"job:{job_id}", peek=True))
        if job is None:
            raise NotFound("job", job_id)
        return job

    def all(self) -> tuple[Job, ...]:
        """All jobs that are remembered, the oldest first."""
        keys = [key for key in self._huey.storage.result_items() if key.startswith("job:")]
        found = (_read(self._huey.get(key, peek=True)) for key in keys)
        return tuple(sorted((job for job in found if job is not None), key=lambda job: (job.at, job.id)))

    def of(self, course: str) -> Job | None:
        """The job of a course that people wait for: an open one, or else the last one."""
        jobs = [job for job in self.all() if job.course == course and job.kind != "proxies"]
        return next((job for job in jobs if job.state in OPEN), jobs[-1] if jobs else None)

    def stopping(self, job: Job) -> bool:
        """Whether somebody asked an open job to stop."""
        return job.state in OPEN and self._huey.get(f"stop:{job.id}", peek=True) is not None

    def others_wait(self, job: Job) -> bool:
        """Whether work of another kind waits for this job to end."""
        return any(other.state == "waiting" and other.kind != job.kind and not self.stopping(other) for other in self.all())

    # Changing

    def add(self, kind: JobKind, who: str, *, course: str | None = None, wanted: dict[str, Any] | None = None) -> Job:
        """Ask for a piece of work; the open job where the same is asked for already. Other films, or other clips, are other work."""
        with self._lock:
            for job in self.all():
                alike = kind not in ("films", "add clips", "remove") or job.wanted == (wanted or {})
                same = (course is not None or kind == "remove") and (job.kind, job.course) == (kind, course) and alike
                if job.state in OPEN and same and not self.stopping(job):
                    return job
            job = Job(id=secrets.token_hex(8), kind=kind, who=who, at=datetime.now(UTC), course=course, wanted=wanted or {})
            self._keep(job)
            self._task(job.id)
            return job

    def stop(self, job_id: str) -> Job:
        """Ask a job to stop: at once where it still waits, at its next sign of progress where it works. What was done is kept."""
        job = self.get(job_id)
        if job.state in OPEN:
            self._huey.put(f"stop:{job.id}", "stop")
        return job

    def forget(self, course: str) -> None:
        """Forget the jobs of a course that is gone; its name may be another one's some day."""
        for job in self.all():
            if job.course == course and job.state not in OPEN:
                self._huey.storage.pop_data(f"job:{job.id}")

    def start(self, wanted: Callable[[], None] = lambda: None) -> bool:
        """Begin to work, first on what was left unfinished; False where another program works on this library's jobs, which this one
        then takes up when that one is gone.

        `wanted` may add what should be worked on besides; it is asked again each hour.
        """
        if self._take_up(wanted):
            return True
        self._heir = threading.Thread(target=self._inherit, args=(wanted,), name="heir", daemon=True)
        self._heir.start()
        return False

    def _inherit(self, wanted: Callable[[], None]) -> None:
        while not self._closing.wait(LOOK_AGAIN_S):
            if self._take_up(wanted):
                return

    def _take_up(self, wanted: Callable[[], None]) -> bool:
        handle = os.open(self._root / "jobs.lock", os.O_RDWR | os.O_CREAT, 0o644)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(handle)
            return False
        self._handle = handle
        self._huey.storage.flush_queue()
        for job in self.all():
            if job.state in OPEN:
                self._task(job.id)
            elif datetime.now(UTC) - job.at > KEPT:
                self._huey.storage.pop_data(f"job:{job.id}")
        wanted()
        self._consumer = _QuietConsumer(self._huey, workers=1, periodic=False, initial_delay=0.05, max_delay=0.5)
        self._consumer.start()
        threading.Thread(target=self._each_hour, args=(wanted,), name="each hour", daemon=True).start()
        return True

    def _each_hour(self, wanted: Callable[[], None]) -> None:
        while not self._closing.wait(HOUR_S):
            wanted()

    def close(self, patience_s: float = 20.0) -> None:
        """Leave off; the job at hand is taken up again at the next start."""
        self._closing.set()
        if self._heir is not None:
            self._heir.join(patience_s)
            self._heir = None
        if self._consumer is not None:
            self._consumer.stop_flag.set()
            for _, thread in self._consumer.worker_threads:
                thread.join(patience_s)
            self._consumer = None
        self._huey.storage.close()
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    # Working

    def _keep(self, job: Job) -> None:
        self._huey.put(f"job:{job.id}", job.model_dump_json())

    def _run(self, job_id: str) -> None:
        """Do one job, whatever becomes of it; never raises."""
        with self._lock:
            job = self.get(job_id)
            if job.state not in OPEN or self._closing.is_set():
                return
            job = job.model_copy(update={"state": "working", "tries": job.tries + 1})
            self._keep(job)
        teller = _Teller(self, job)
        try:
            teller.look_for_stop()
            done = self._work(job, teller.told, teller.learn)
            end: dict[str, Any] = {"state": "done", "share": 1.0, "seconds_left": 0.0, "course": done.course, "edition": done.edition}
        except _GivesWay:
            self._keep(teller.job.model_copy(update={"state": "waiting"}))
            self._task(job.id)  # behind those that wait
            return
        except Stopped:
            if self._closing.is_set():
                return  # still "working" in its record: the next start takes it up
            end = {"state": "stopped", "sentence": str(Stopped("You stopped this. What was done so far is kept."))}
        except AnnotatorError as error:
            log.warning("job %s (%s): %s", job.id, job.kind, error)
            end = {"state": "refused", "sentence": str(error)}
        except Exception:
            log.exception("job %s (%s) broke", job.id, job.kind)
            sentence = "Something broke here; that is our fault, not yours. What was done before it is kept: start it again."
            end = {"state": "broken", "sentence": sentence}
        self._keep(teller.job.model_copy(update=end))


def _read(record: str | None) -> Job | None:
    """A job from its record; None where there is none, or another version of the program wrote one that this one does not know."""
    if record is None:
        return None
    try:
        return Job.model_validate_json(record)
    except ValidationError:
        return None


class _GivesWay(Exception):  # nothing went wrong
    """Films take long and are kept one by one, so they are left for work that somebody waits for, and gone on with after it."""


class _Teller:
    """Writes a job's progress down now and then, and raises `Stopped` where someone asked for it."""

    def __init__(self, jobs: Jobs, job: Job) -> None:
        self._jobs, self.job, self._last_s = jobs, job, 0.0

    def told(self, progress: StageProgress) -> None:
        now_s = time.monotonic()
        if now_s - self._last_s < TOLD_EVERY_S and progress.stage == self.job.stage:
            return
        self._last_s = now_s
        self.look_for_stop()
        if self.job.kind == "films" and self._jobs.others_wait(self.job):
            raise _GivesWay
        share = min(1.0, max(self.job.share, progress.share))
        self.learn(self.job.model_copy(update={"stage": progress.stage, "share": share, "seconds_left": progress.seconds_left}))

    def learn(self, job: Job) -> None:
        self.job = job
        self._jobs._keep(job)

    def look_for_stop(self) -> None:
        if self._jobs._closing.is_set() or self._jobs.stopping(self.job):
            raise Stopped("stopped")


class _QuietConsumer(Consumer):  # type: ignore[misc]
    """Huey's consumer as a guest in a program that has its own signal handlers."""

    def _set_signal_handlers(self) -> None:
        pass
