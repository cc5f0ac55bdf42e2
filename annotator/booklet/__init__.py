"""The booklet that athletes read and the card that a judge holds: one rendering of the rules, laid out for phones, paper and readers."""

from annotator.booklet.catalogues import LANGUAGES
from annotator.booklet.epub import write_epub
from annotator.booklet.film_reading import CaptionsRead, CueToSee, LimitKept, write_reading
from annotator.booklet.keeping import prune
from annotator.booklet.pages import pages
from annotator.booklet.paper import (
    PAPERS_MM,
    SHEETS,
    CardsWait,
    CardsWanted,
    cards_aside,
    missing_signs,
    write_cards,
    write_print,
    write_wall,
)
from annotator.booklet.pictures import Pictures, encode_sizes
from annotator.booklet.player import FilmText, WalkFilm, write_player
from annotator.booklet.reading_level import MOST_WORDS, ReadingLevel, reading_level
from annotator.booklet.site import WalkClip, write_single, write_site
from annotator.booklet.slip import compare, write_slip
from annotator.booklet.values import Booklet, Edition, Heard, Rule, Section, Stamp, StationPage, StillPage
from annotator.booklet.wording import Wording, own_name_of

__all__ = [
    "LANGUAGES",
    "MOST_WORDS",
    "PAPERS_MM",
    "SHEETS",
    "Booklet",
    "CaptionsRead",
    "CardsWait",
    "CardsWanted",
    "CueToSee",
    "Edition",
    "FilmText",
    "Heard",
    "LimitKept",
    "Pictures",
    "ReadingLevel",
    "Rule",
    "Section",
    "Stamp",
    "StationPage",
    "StillPage",
    "WalkClip",
    "WalkFilm",
    "Wording",
    "cards_aside",
    "compare",
    "encode_sizes",
    "missing_signs",
    "own_name_of",
    "pages",
    "prune",
    "reading_level",
    "write_cards",
    "write_epub",
    "write_player",
    "write_print",
    "write_reading",
    "write_single",
    "write_site",
    "write_slip",
    "write_wall",
]
