"""Read a file of decisions: what people settle about a drafted course, written down, as YAML or JSON.

    who: Robin
    decisions:
      - {do: accept-name, heard: swing runs, name: swing rungs}
      - {do: change-surface, station: 6, surface: orange block, set: {ruling: out}}
    signed_by: Kim          # may be left out: then nobody signs

Which decisions there are is course/edit_kinds.py. More than one person's turns are written as `steps`, a list of such blocks.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from annotator.course import Edit, read_edit
from annotator.errors import InvalidEdit, UnreadableText

_KEYS = {"who", "decisions", "signed_by"}


@dataclass(frozen=True)
class Step:
    """What one person decides, in order."""

    who: str
    decisions: tuple[Edit, ...]


@dataclass(frozen=True)
class Decisions:
    """A file of decisions as the turns of its people. `who` and `decisions` are all of them, for a file with one person's turn."""

    steps: tuple[Step, ...]

    @property
    def who(self) -> str:
        """The person whose turn is first."""
        return self.steps[0].who

    @property
    def decisions(self) -> tuple[Edit, ...]:
        """The first person's decisions."""
        return self.steps[0].decisions


def read_decisions(path: Path) -> Decisions:
    """The decisions of a .yaml, .yml or .json file. `UnreadableText` says what is wrong, and with which decision."""
    try:
        data = yaml.safe_load(path.read_bytes().decode("utf-8-sig"))  # JSON is YAML too
    except FileNotFoundError as exc:
        raise UnreadableText(path, "there is no such file.") from exc
    except UnicodeDecodeError as exc:
        raise UnreadableText(path, "it is not a text file in UTF-8. Save it as UTF-8.") from exc
    except yaml.YAMLError as exc:
        raise UnreadableText(path, f"it is neither YAML nor JSON: {' '.join(str(exc).split())}.") from exc
    if not isinstance(data, dict):
        raise UnreadableText(path, "it has to start with “who: your name”, then “decisions:” and a list.")
    blocks = data.get("steps", [data])
    if not isinstance(blocks, list) or not blocks or ("steps" in data and len(data) > 1):
        raise UnreadableText(path, "“steps” has to be a list, and nothing else may stand beside it.")
    steps: list[Step] = []
    for block in blocks:
        steps += _steps(path, block, sum(len(step.decisions) for step in steps))
    return Decisions(tuple(steps))


def _steps(path: Path, block: Any, before: int) -> list[Step]:
    if not isinstance(block, dict):
        raise UnreadableText(path, f"{block!r} is not a step: it needs “who” and “decisions”.")
    strange = sorted(str(name) for name in set(block) - _KEYS)
    if strange:
        raise UnreadableText(path, f"nobody knows what {', '.join(strange)} means here. It may have: who, decisions, signed_by.")
    who, decisions, signed_by = block.get("who"), block.get("decisions") or [], block.get("signed_by")
    if not isinstance(who, str) or not who.strip():
        raise UnreadableText(path, "say who decides: “who: your name”.")
    if not isinstance(decisions, list):
        raise UnreadableText(path, "“decisions” has to be a list.")
    edits = []
    for place, decision in enumerate(decisions, start=before + 1):
        if not isinstance(decision, dict):
            raise UnreadableText(path, f"decision {place} ({decision!r}) is not of the form “do: ...”.")
        try:
            edits.append(read_edit(decision))
        except InvalidEdit as exc:
            raise UnreadableText(path, f"decision {place}: {exc}") from exc
    steps = [Step(who, tuple(edits))]
    if signed_by is not None:
        if not isinstance(signed_by, str) or not signed_by.strip():
            raise UnreadableText(path, "“signed_by” has to be a name.")
        steps.append(Step(signed_by, (read_edit({"do": "sign"}),)))
    return steps
