"""Everyday words that are never taken for a name heard wrong. Data, in sets."""

from __future__ import annotations


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


# Words that open or close no name; a window that begins or ends with one is a chance likeness ("post we" for "post weave").
FUNCTION_WORDS = _set(
    """
    a an and are as at be because been but by can can't come could did do does don't for from get go going got had has have he her
    here hers him his how i if in into is it it's its just know let like may me might my no not now of off oh okay on one only
    onto or our out over please she so some that that's the their them then there there's they they're this those these through to
    too two three four five six seven eight nine ten um uh er under until up us use very was we we're well were what when where
    which who will with would yes you you're your yeah again all also any both each every first second third last next much more
    most never other same than still
    """
)

# What every walk speaks of all the time: heard right, whatever a name sounds like ("hands" and "ball hangs").
TRADE_WORDS = _set(
    """
    hand hands foot feet floor start starts finish finishes platform platforms station stations clear fail fails mat mats touch top tops
    side sides end ends play course time judge
    """
)

# What stands before a thing that is named.
DETERMINERS = _set(
    """
    the a an this that these those each every first second third fourth last next of any all both two three four five six seven
    eight nine ten your his her their our which no red blue green yellow white black orange purple brown grey gray pink big small
    top bottom lower upper left right long short tall wooden steel old new
    """
)
