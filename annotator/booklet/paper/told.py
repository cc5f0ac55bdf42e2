"""A booklet as plain data for the printed templates: the words are already said, nothing here makes any."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from annotator.booklet.phrases import Span, runs_left
from annotator.booklet.values import Booklet, Rule, Section, StationPage


def booklet_data(booklet: Booklet) -> dict[str, Any]:
    """What every printed output says of the booklet as a whole."""
    say = booklet.wording.say
    run = next((section for section in booklet.sections if section.key == "format"), None)
    return {
        "title": booklet.title,
        "titled": words_data(booklet.title, booklet.title_spans),
        "lang": booklet.wording.language,
        "draft": booklet.stamp is None,
        "dated": booklet.stamp is not None,
        "stamp": booklet.stamp_line,
        "caution": booklet.caution,
        "default": booklet.default_rule,
        "format": [rule_data(rule) for rule in (run.rules[1:] if run else ())],
        "sections": [section_data(section) for section in booklet.sections],
        "words": {
            "open": say("not-accepted"),
            "no_still": say("no-still"),
            "stations": say("stations"),
            "heard": say("heard"),
            "in_": say("in-plate"),
            "out": say("out-plate"),
        },
    }


def rule_data(rule: Rule) -> dict[str, Any]:
    """A rule as data for a template."""
    return {**words_data(rule.text, rule.spans), "gap": rule.gap, "draft": rule.draft}


def words_data(text: str, spans: Sequence[Span]) -> dict[str, Any]:
    """Words as data for a template, with the pieces of them that are of another language or run the other way; most have none."""
    return {"text": text, "spans": [_span(one) for one in spans]}


def _span(one: Span) -> dict[str, Any]:
    """A piece as typst sets it: `lang` the language's own code without its region, which voices and hyphenation go by."""
    code = None if one.language is None else one.language.partition("-")[0].lower()
    return {"text": one.text, "apart": one.apart, "lang": code, "left": runs_left(one.text)}


def section_data(section: Section | None) -> dict[str, Any] | None:
    """A section as data for a template; None stays None."""
    if section is None:
        return None
    return {
        "key": section.key,
        "title": section.title,
        "rules": [rule_data(rule) for rule in section.rules],
        "note": section.note,
    }


def texts_of(booklet: Booklet, stations: Sequence[StationPage] | None = None) -> Iterator[str]:
    """All that a printed output may hold in words, or of its stations only some, to look for signs that cannot be printed."""
    yield from (booklet.title, booklet.stamp_line, booklet.caution, booklet.default_rule)
    sections: Sequence[Section] = booklet.sections
    for page in booklet.stations if stations is None else stations:
        yield from _texts(page)
        sections = (*sections, *page.sections)
    for section in sections:
        yield section.title
        yield from (rule.text for rule in section.rules)


def _texts(page: StationPage) -> Iterator[str]:
    yield from (page.name, page.title, page.limbs.text)
    yield from (one.text for one in page.heard)
    yield from (still.alt for still in page.stills)
