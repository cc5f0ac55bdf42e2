"""Words to tagged tokens: what we change of the tagger changes nothing of what it tells."""

from __future__ import annotations

import spacy

from annotator.rules.text import MODEL, tagger

SAID = (
    "The athletes were running along the highest beams, grabbing better holds and leaving the loosest ropes. Geese have feet; oxen, too. "
    "He flew, she's swinging, they'd begun. Zorbing the wuggiest blickets is banned, and fluffing is worse."
)


def test_lemmas_are_those_of_the_model_as_it_came() -> None:
    came = spacy.load(MODEL, exclude=["ner"])
    assert [token.lemma_ for token in tagger()(SAID)] == [token.lemma_ for token in came(SAID)]
