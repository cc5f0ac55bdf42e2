"""The rules in the speech: words -> stations, surfaces and rulings; and the check on a course as it stands.

The flow: text (clean, cut, tag) -> repairs -> phrases (skeletons) -> acts, limbs, names (reading) -> stations (division) -> revised (what
patterns, word classes and the language model together make of each thing: weighed, context, encoder, linear) -> gather with referents,
parts, overshoot, classes -> sheet, blanket, runformat, demonstration, confidence -> findings, across. `draft` runs it; `check` looks at a
course that people have worked on; typed.py reads what they type for every station; spoken.py tells captions what a listener drops.
"""

from annotator.rules.check import check
from annotator.rules.context import read_by
from annotator.rules.draft import DRAFTER_VERSION, draft
from annotator.rules.spoken import may_say_a_rule, taken_back
from annotator.rules.typed import Typed, read_typed

__all__ = ["DRAFTER_VERSION", "Typed", "check", "draft", "may_say_a_rule", "read_by", "read_typed", "taken_back"]
