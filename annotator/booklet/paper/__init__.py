"""Printed outputs, as PDF/UA-1: judge cards, the wall sheet, the whole booklet. What the change slip needs to print itself is here too."""

from annotator.booklet.paper.aside import CardsWait, CardsWanted, cards_aside
from annotator.booklet.paper.cards import FLOOR_PT, LEAST_PT, write_cards
from annotator.booklet.paper.codes import LEAST_MODULE_MM, Code, code_of
from annotator.booklet.paper.sizes import PAPERS_MM, SHEETS, Sheet, sheet_of, size_of
from annotator.booklet.paper.told import booklet_data, rule_data, section_data, words_data
from annotator.booklet.paper.typeset import refuse_missing_signs, render
from annotator.booklet.paper.wall import WALL_MODULE_MM, write_wall
from annotator.booklet.paper.whole import write_print
from annotator.booklet.pictures import print_jpeg
from annotator.fonts import missing_signs

__all__ = [
    "FLOOR_PT",
    "LEAST_MODULE_MM",
    "LEAST_PT",
    "PAPERS_MM",
    "SHEETS",
    "WALL_MODULE_MM",
    "CardsWait",
    "CardsWanted",
    "Code",
    "Sheet",
    "booklet_data",
    "cards_aside",
    "code_of",
    "missing_signs",
    "print_jpeg",
    "refuse_missing_signs",
    "render",
    "rule_data",
    "section_data",
    "sheet_of",
    "size_of",
    "words_data",
    "write_cards",
    "write_print",
    "write_wall",
]
