"""Everything that the project raises on purpose, in one tree.

AnnotatorError                   all that we raise on purpose
|- InputError (also ValueError)  the person can mend it                        422
|  |- UnreadableVideo            path, reason
|  |- UnreadableText             path, reason
|  |- InvalidMark                mark, reason
|  |- InvalidEdit                edit, reason
|  |- UnreadablePack             path, reason
|  `- MissingWeights             what, tried
|- NotFound                      kind, name, known                             404
|  `- InBin                      name, who: it can be brought back
|- StaleEdit                     kind, name, base, current, mine, theirs       409
|- NotReady                      course, reasons                               409
|- InUse                         title, reasons: work or people are at it       409
|- LibraryTrouble                path, reason: disk full, not writable, ...    507
|- CannotWrite                   path, reason: disk full, no permission       507
|- Stopped                       a person asked the work to stop               499
`- StageError                    stage, reason: one of our stages broke        500

A message says what failed, on which value, and what to do. An exception's arguments are exactly its constructor's, so that it pickles
between workers. The HTTP status of each stands in server/errors.py alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any


class AnnotatorError(Exception):
    """The root of all errors that we raise on purpose."""


class InputError(AnnotatorError, ValueError):
    """Something that was handed in is wrong, and the person can mend it."""


class UnreadableVideo(InputError):
    """The file could not be decoded as a walk's clip."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"Cannot read {self.path.name or str(self.path)!r} as a clip: {self.reason}"


class UnreadableText(InputError):
    """A text file (captions, words, names, marks, decisions) could not be read."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"Cannot read {self.path.name or str(self.path)!r}: {self.reason}"


class InvalidMark(InputError):
    """A mark cannot stand as it is."""

    def __init__(self, mark: str, reason: str) -> None:
        super().__init__(mark, reason)
        self.mark, self.reason = mark, reason

    def __str__(self) -> str:
        return f"The mark {self.mark!r} cannot be used: {self.reason}"


class InvalidEdit(InputError):
    """A change to a course or a station does not fit what is there."""

    def __init__(self, edit: str, reason: str) -> None:
        super().__init__(edit, reason)
        self.edit, self.reason = edit, reason

    def __str__(self) -> str:
        return f"Cannot do {self.edit!r}: {self.reason}"


class UnreadablePack(InputError):
    """An archive is not a course that `annotator pack` wrote, or it is damaged."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"Cannot unpack {self.path.name!r}: {self.reason}"


class MissingWeights(InputError):
    """A model's weights are not on this machine."""

    def __init__(self, what: str, tried: Sequence[str]) -> None:
        super().__init__(what, tried)
        self.what, self.tried = what, tuple(tried)

    def __str__(self) -> str:
        return f"No weights for {self.what}. Tried: {'; '.join(self.tried)}."


class NotFound(AnnotatorError):
    """Nothing of that name is in the library."""

    def __init__(self, kind: str, name: str, known: Sequence[str] = ()) -> None:
        super().__init__(kind, name, known)
        self.kind, self.name, self.known = kind, name, tuple(known)

    def __str__(self) -> str:
        there = f" There is: {', '.join(self.known)}." if self.known else ""
        return f"There is no {self.kind} {self.name!r}.{there}"


class InBin(NotFound):
    """The course was put in the bin."""

    def __init__(self, name: str, who: str) -> None:
        super().__init__("course", name)
        self.args = (name, who)  # exactly our arguments, so it pickles between workers
        self.who = who

    def __str__(self) -> str:
        return f"{self.who} put the course {self.name!r} in the bin. Bring it back from there first."


class InUse(AnnotatorError):
    """Something cannot be taken away while work or people are at it."""

    def __init__(self, title: str, reasons: Sequence[str]) -> None:
        super().__init__(title, reasons)
        self.title, self.reasons = title, tuple(reasons)

    def __str__(self) -> str:
        return f"{self.title!r} is in use: {' '.join(self.reasons)}"


class StaleEdit(AnnotatorError):
    """A save against an older revision than the current one; both sides come along, nothing was written.

    `clashes` names, for a save of several edits, each one that meets somebody else's change: its place among them, and where they meet.
    """

    def __init__(
        self,
        kind: str,
        name: str,
        base: int,
        current: int,
        mine: dict[str, Any],
        theirs: dict[str, Any],
        clashes: Sequence[tuple[int, Sequence[str]]] = (),
    ) -> None:
        super().__init__(kind, name, base, current, mine, theirs, clashes)
        self.kind, self.name, self.base, self.current = kind, name, base, current
        self.mine, self.theirs, self.clashes = mine, theirs, clashes

    def __str__(self) -> str:
        return (
            f"The {self.kind} {self.name!r} was changed by someone else: you started from revision {self.base}, "
            f"it is now {self.current}. Nothing was saved; look at both and choose."
        )


class NotReady(AnnotatorError):
    """An edition cannot be published yet."""

    def __init__(self, course: str, reasons: Sequence[str]) -> None:
        super().__init__(course, reasons)
        self.course, self.reasons = course, tuple(reasons)

    def __str__(self) -> str:
        lines = "".join(f"\n  - {reason}" for reason in self.reasons)
        return f"{self.course!r} is not ready to publish. Mend these first:{lines}"


class LibraryTrouble(AnnotatorError):
    """The library's folder or database cannot be used: disk full, not writable, damaged, from a newer program."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"Cannot use the library ({self.path.name}): {self.reason}"


class CannotWrite(AnnotatorError):
    """A file that was asked for could not be written; no half of it was left."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(path, reason)
        self.path, self.reason = path, reason

    def __str__(self) -> str:
        return f"Cannot write {self.path.name!r}: {self.reason}"


class Stopped(AnnotatorError):
    """A person asked the work to stop; what was done so far is kept."""


class StageError(AnnotatorError):
    """One of our own stages broke. That is our fault, not the person's."""

    def __init__(self, stage: str, reason: str) -> None:
        super().__init__(stage, reason)
        self.stage, self.reason = stage, reason

    def __str__(self) -> str:
        return f"The step {self.stage!r} broke: {self.reason}. What was done before it is kept; run the command again."
