"""What the jobs do: take in a walk or clips of it, draft, draft again, make proxies and pictures, publish, make films, remove."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from annotator import pipeline
from annotator.errors import StageError
from annotator.library import Library
from annotator.pipeline import StageProgress, Watcher
from annotator.server.jobs import Job
from annotator.server.news import reading_begins, reading_ended
from annotator.server.uploads import Uploads

KEEPING = 0.05
"""The share of taking in a walk that keeping its clips takes; the rest is hearing and drafting."""


class Worker:
    """Does the jobs of one library. `follow_up` is told which course was drafted, so that its proxies can be asked for; `forget` which
    one was removed."""

    def __init__(
        self,
        library: Library,
        uploads: Uploads,
        weights: str | None,
        follow_up: Callable[[str, str], object],
        forget: Callable[[str], object],
    ) -> None:
        self._library, self._uploads, self._weights, self._follow_up, self._forget = library, uploads, weights, follow_up, forget

    def do(self, job: Job, watcher: Watcher, keep: Callable[[Job], None]) -> Job:
        """Do one job and give it back with what came out."""
        if job.kind == "take in":
            return self._take_in(job, watcher, keep)
        if job.kind == "remove":
            pipeline.remove_for_good(self._library, job.wanted["course"])
            self._forget(job.wanted["course"])
            return job
        if job.course is None:
            raise StageError(job.kind, "the job does not say for which course")
        if job.kind == "draft":
            self._draft(job.course, job.who, watcher)
        elif job.kind == "add clips":
            self._add_clips(job.course, job, watcher)
        elif job.kind == "proxies":
            pipeline.make_proxies(self._library, job.course, progress=watcher)
            pipeline.make_ahead(self._library, job.course, progress=watcher)
        elif job.kind == "films":
            number, wishes = job.wanted["edition"], pipeline.FilmWishes(**job.wanted["wishes"])
            pipeline.make_films(self._library, job.course, wishes, edition=number, progress=watcher)
            return job.model_copy(update={"edition": number})
        else:
            edition = pipeline.publish(self._library, job.course, who=job.who, address=job.wanted.get("address"), progress=watcher)
            return job.model_copy(update={"edition": edition.number})
        return job

    def _take_in(self, job: Job, watcher: Watcher, keep: Callable[[Job], None]) -> Job:
        clips, captions = job.wanted["clips"], job.wanted["captions"]
        if job.course is None:
            paths = [self._path(upload) for upload in clips]
            # A kill can fall between keeping the course and writing its name down here; then it is found by its clips.
            name = self._left_over(paths) if job.tries > 1 else None
            name = name or pipeline.take_in(
                self._library,
                paths,
                title=job.wanted["title"] or None,
                names=job.wanted["names"],
                captions=[self._path(upload) for upload in captions],
                who=job.who,
                progress=_keeping(watcher),
            )
            job = job.model_copy(update={"course": name, "stage": "getting ready to listen", "share": KEEPING})
            keep(job)
        assert job.course is not None
        self._then_draft(job.course, job, watcher)
        return job

    def _add_clips(self, course: str, job: Job, watcher: Watcher) -> None:
        """A kill can fall between adding the clips and drafting: then their uploads are gone, or they are in the course already."""
        clips, captions = job.wanted["clips"], job.wanted["captions"]
        if job.tries == 1 or all(self._uploads.here(upload) for upload in (*clips, *captions)):
            pipeline.add_clips(
                self._library,
                course,
                [self._path(upload) for upload in clips],
                names=job.wanted["names"],
                captions=[self._path(upload) for upload in captions],
                who=job.who,
                progress=_keeping(watcher),
            )
        self._then_draft(course, job, watcher)

    def _then_draft(self, course: str, job: Job, watcher: Watcher) -> None:
        """Draft once the clips are in the library, and the uploads need be kept no longer."""
        for upload in (*job.wanted["clips"], *job.wanted["captions"]):
            self._uploads.drop(upload)
        self._draft(
            course,
            job.who,
            lambda told: watcher(StageProgress(told.stage, KEEPING + (1 - KEEPING) * told.share, told.seconds_left)),
        )

    def _draft(self, course: str, who: str, watcher: Watcher) -> None:
        reading_begins(self._library, course)
        pipeline.draft_course(self._library, course, weights=self._weights, progress=watcher)
        reading_ended(self._library, course)
        self._follow_up(course, who)

    def _path(self, upload: str) -> Path:
        return self._uploads.path(self._uploads.get(upload))

    def _left_over(self, paths: list[Path]) -> str | None:
        name = pipeline.duplicate_of(self._library, paths)
        return name if name is not None and self._library.course(name).doc.state == "taken in" else None


def _keeping(watcher: Watcher) -> Callable[[float], None]:
    return lambda share: watcher(StageProgress("keeping the clips", share * KEEPING, None))
