"""What verbs, modality and negation make of a phrase: the table of patterns over skeletons.

A skeleton is a sentence of lemmas in which phrases stand as `@0`, `@1`, ...; `(?P<r>...)` is the phrase (or pronoun) that the act is about.
Gaps never cross a comma or a clause border. No pattern knows what a course calls its things. Order does not matter: of two patterns for one
phrase the heavier counts.
"""

from __future__ import annotations

import re

from annotator.rules.pieces import ActKind
from annotator.rules.role_rows import ROLES
from annotator.rules.ruling_rows import RULINGS

PATTERNS: tuple[tuple[ActKind, float, str, re.Pattern[str]], ...] = tuple(
    (kind, weight, rule, re.compile(r"(?<![a-z])" + row)) for kind, weight, rule, row in (*RULINGS, *ROLES)
)
