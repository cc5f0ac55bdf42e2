"""Marks from a file, as staff hand them in, and which surface of a station each belongs to.

Format: `{"stills": [{"still", "station", "time_s"}], "marks": [{"still", "station", "surface", "part", "rings" | "line" and "width"}]}`.
`station` is the station's number, `surface` an id ("u17", "b3") or a name; with `still` names the file's own. Finding the frame that a
still's time means, and giving marks their final ids, is the caller's.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, ValidationError

from annotator.course import Course, Mark, Model, Point, Ring, Role, State, Station
from annotator.errors import InvalidMark, UnreadableText
from annotator.marks.items import RuleItem, rule_items, same_thing
from annotator.marks.outlines import area


class FileStill(Model):
    """A still that the file speaks of: the frame shown at `time_s` of the walk."""

    still: str
    station: Annotated[int, Field(ge=1)]
    time_s: Annotated[float, Field(ge=0, allow_inf_nan=False)]


class FileMark(Model):
    """A mark of the file; `role` tells two surfaces of one name apart (a platform that is start and finish)."""

    still: str
    station: Annotated[int, Field(ge=1)]
    surface: str
    part: str | None = None
    role: Role | None = None
    rings: Annotated[tuple[Ring, ...], Field(min_length=1)] | None = None
    line: Annotated[tuple[Point, ...], Field(min_length=2)] | None = None
    width: Annotated[float, Field(gt=0, le=1e5)] | None = None
    state: State = "draft"


class MarksFile(Model):
    """What a marks file holds."""

    stills: tuple[FileStill, ...] = ()
    marks: tuple[FileMark, ...] = ()


def _in_words(error: Mapping[str, Any]) -> str:
    """What is wrong, as people say it, where it is an outline or a line with too few points."""
    if error["type"] != "too_short":
        return str(error["msg"])
    here, least = error["ctx"]["actual_length"], error["ctx"]["min_length"]
    return f"it has {here} point{'' if here == 1 else 's'} and needs {least} or more"


@dataclass(frozen=True)
class Tied:
    """Marks of a file tied to one station's surfaces, and a sentence for each that could not be."""

    marks: tuple[Mark, ...]
    problems: tuple[str, ...]


def read_marks(path: Path) -> MarksFile:
    """Read a marks file.

    Raises
    ------
    UnreadableText
        Not JSON in UTF-8, or not of the format; the message says which entry and what about it.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise UnreadableText(path, f"it is not UTF-8 text ({error.reason} at byte {error.start}). Save it as UTF-8.") from error
    except OSError as error:
        raise UnreadableText(path, f"{error.strerror or error}. Check the name and that you may read it.") from error
    try:
        return MarksFile.model_validate(json.loads(text))
    except json.JSONDecodeError as error:
        raise UnreadableText(path, f"it is not JSON: {error.msg} in line {error.lineno}, column {error.colno}. Mend it there.") from error
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(step) for step in first["loc"]) or "the whole file"
        more = f" ({error.error_count() - 1} more like it)" if error.error_count() > 1 else ""
        raise UnreadableText(path, f"{where}: {_in_words(first)}{more}. Marks are rings or a line with a width, on a still.") from error
    except RecursionError as error:
        raise UnreadableText(path, "its JSON is nested too deeply to be a marks file.") from error


def tie_marks(
    file_marks: Sequence[FileMark], course: Course, station: Station, *, stills: dict[str, str] | None = None, first: int = 1
) -> Tied:
    """Turn a file's marks for one station into marks of its surfaces.

    Marks of other stations are passed over. `stills` gives the station's still id for a still's name in the file; without it the names are
    the ids. Ids count from `first`: "m1", "m2", .... A mark without a matching surface, or that is no outline or lies outside
    its still, is left out and named in `problems`.
    """
    items = rule_items(course, station)
    sizes = {known.id: (known.width, known.height) for known in station.stills}
    tied: list[Mark] = []
    problems: list[str] = []
    for number, entry in enumerate(file_marks, start=1):
        if entry.station != station.number:
            continue
        where = f"Mark {number} (station {entry.station}, {entry.surface})"
        still = entry.still if stills is None else stills.get(entry.still)
        item = _item(items, entry)
        if still is None or (stills is None and still not in {known.id for known in station.stills}):
            problems.append(f"{where}: there is no still {entry.still!r}.")
        elif item is None:
            known = ", ".join(sorted({known.full_name for known in items})) or "none"
            problems.append(f"{where}: the station has no such surface. There is: {known}.")
        else:
            try:
                mark = Mark(
                    id=f"m{first + len(tied)}",
                    still=still,
                    surface=item.id,
                    rings=entry.rings,
                    line=entry.line,
                    width=entry.width,
                    state=entry.state,
                )
                area(mark, sizes.get(still))
            except ValidationError as error:
                problems.append(f"{where}: {_in_words(error.errors(include_url=False)[0])}.")
            except InvalidMark as error:
                problems.append(f"{where}: {error.reason}")
            else:
                tied.append(mark)
    return Tied(tuple(tied), tuple(problems))


def _item(items: Sequence[RuleItem], entry: FileMark) -> RuleItem | None:
    """By id; else by name and part (and role where given); else by name where only one item has it."""
    for item in items:
        if entry.surface in (item.id, *item.replaces):
            return item
    named = [item for item in items if same_thing(item.name, entry.surface) and entry.role in (None, item.role)]
    exact = [item for item in named if same_thing(item.part or "", entry.part or "")]
    if exact:
        return exact[0]
    return named[0] if len(named) == 1 and entry.part is None else None
