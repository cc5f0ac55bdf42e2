"""Gaps and contradictions: planted ones are reported, sound stations are not."""

from __future__ import annotations

import pytest

from annotator.course import Finding
from annotator.rules import draft
from tests.rules.reading_of import words_of

SOUND = "Station {n}. You start on the red box. Walk along the beam, feet only. Finish on the blue mat, you may run past it. "
KINDS = ("no-start", "no-finish", "no-contact", "contradiction")


def found(text: str) -> list[tuple[str, int | None]]:
    sheet = draft(words_of(SOUND.format(n="one") + "Station two. " + text))
    return [(f.kind, f.station) for f in sheet.findings if f.kind in KINDS]


PLANTED = [
    ("Walk along the log, feet only. Finish on the green mat.", ["no-start"]),
    ("You start on the white box. Walk along the log, feet only, until you run out of log.", ["no-finish"]),
    ("You start on the white box. Walk along the log. Finish on the green mat.", ["no-contact"]),
    ("You start on the white box. Walk along the log, feet only. The rail is in. Finish on the green mat. Mind you, the rail is out.",
     ["contradiction"]),
    ("You start on the white box. Walk along the log, feet only. Finish on the green mat. Running past it is fine. If you go "
        "past the green mat, that's a fail.",
     ["contradiction"]),
    ("You start on the white box. Walk along the log, feet only. You come down to the green mat. So white box, log, and you "
        "finish on the black mat.",
     ["contradiction"]),
]  # fmt: skip
CLEAN = [
    "You start on the white box. Walk along the log, feet only. Finish on the green mat.",
    "You start on the white box. Walk along the log, feet only. The rail is in. No, scratch that, the rail is out. Finish on "
    "the green mat.",
    "You start on the white box. On your sheet the rail is in, forget the sheet, the rail is out. Walk along the log, feet "
    "only. Finish on the green mat.",
    "You start on the white box. Walk along the log, feet only. Finish on the left mat or the right mat, either one.",
    "You start on the white box. Walk along the log, feet only. The stool is for under-tens only, everybody else may not use "
    "it. Finish on the green mat.",
    "You start on the white box. Walk along the log, hands and feet. The wall is in, but not the top of it. Finish on the green mat.",
]


@pytest.mark.parametrize(("text", "kinds"), [pytest.param(*case, id=f"{case[1][0]}-{i}") for i, case in enumerate(PLANTED)])
def test_a_planted_fault_is_found_at_its_station_and_nothing_else(text: str, kinds: list[str]) -> None:
    assert found(text) == [(kind, 2) for kind in kinds]


@pytest.mark.parametrize("text", CLEAN)
def test_a_sound_station_raises_no_alarm(text: str) -> None:
    assert found(text) == []


def test_findings_are_sentences_with_their_evidence() -> None:
    sheet = draft(words_of(SOUND.format(n="one") + "Station two. " + PLANTED[3][0]))
    finding: Finding = next(f for f in sheet.findings if f.kind == "contradiction")
    assert finding.severity == "blocks"
    assert [s.text for s in finding.said] == ["The rail is in.", "Mind you, the rail is out."]
    assert "rail" in finding.about
    assert finding.about.endswith(".")
