"""The booklet that athletes read and the card that a judge holds: one rendering of the rules, laid out for phones, paper and readers."""

from annotator.booklet.pages import pages
from annotator.booklet.pictures import Pictures
from annotator.booklet.site import WalkClip, write_site
from annotator.booklet.values import Booklet, Edition, Heard, Rule, Section, Stamp, StationPage, StillPage
from annotator.booklet.wording import Wording

__all__ = [
    "Booklet",
    "Edition",
    "Heard",
    "Pictures",
    "Rule",
    "Section",
    "Stamp",
    "StationPage",
    "StillPage",
    "WalkClip",
    "Wording",
    "pages",
    "write_site",
]
