"""IN and OUT as two columns, for the judge's card and the judge's page: which column each rule of a station stands in."""

from __future__ import annotations

from typing import Literal

from annotator.booklet.values import Rule, StationPage

Column = Literal["in", "out"]


def card_groups(page: StationPage) -> dict[Column, list[tuple[str, str, tuple[Rule, ...]]]]:
    """Under which column each rule of a station stands; what neither lets in nor keeps out ("Do not skip") stands with what is in.

    Each group is (key, title, rules): the station's own first, then those of other divisions, then those of every station. The limbs, the
    start and the finish have places of their own.
    """
    found: dict[Column, list[tuple[str, str, tuple[Rule, ...]]]] = {"in": [], "out": []}
    for section in page.sections:
        if section.key in ("in", "out", "divisions", "everywhere"):
            for column, own in found.items():
                rules = tuple(rule for rule in section.rules if column_of(section.key, rule) == column)
                if rules:
                    own.append((section.key, section.title, rules))
    return found


def column_of(key: str, rule: Rule) -> Column:
    """The column in which a rule of a section stands.

    >>> column_of("everywhere", Rule("Out of play: floor", plate="out")), column_of("everywhere", Rule("Do not skip: platforms."))
    ('out', 'in')
    """
    return "out" if key == "out" or (key != "in" and rule.plate == "out") else "in"
