"""What everyday things are made up of: a ladder has rungs, a chair a seat, a bin a lid, a wheel spokes.

In: a noun and what was named near it. Out: whether the one is a part of the other. Common knowledge, no published source; wholes.py asks.
"""

from __future__ import annotations

from collections.abc import Mapping

from annotator.rules.lexicon import words

_HOLLOW = words(
    "bin box crate can barrel drum tin bucket trunk case hamper chest tank coffin cooler freezer icebox jar pot tub dustbin suitcase cask "
    "keg churn basket urn locker toolbox chiller"
)
_SEATS = words("chair bench stool armchair sofa settee pew booth swing bicycle bike toilet seesaw saddle rocker deckchair recliner desk")
_CARTS = words("cart barrow wheelbarrow trolley wagon trailer handcart pushchair pram buggy stroller dolly")
_CARS = words("car van truck lorry bus tractor jeep ute pickup digger minibus taxi cab vehicle caravan ambulance")
_BOATS = words("boat canoe kayak dinghy skiff punt rowboat gig currach pirogue rowing-boat longboat lifeboat sailboat")
_LADDERS = words("ladder stepladder")
_CUPBOARDS = words("cupboard cabinet dresser bookcase bookshelf wardrobe locker rack fridge cart trolley unit")
_TRAMPOLINES = words("trampoline tramp trampette minitramp")
_HOUSES = words("house hut shed cabin kennel cottage playhouse doghouse barn lodge hutch coop")

_WHOLES: Mapping[str, frozenset[str]] = {
    "lid": _HOLLOW | words("desk piano toilet"),
    "brim": words("hat basin bath"),
    "seat": _SEATS,
    "backrest": _SEATS,
    "armrest": _SEATS,
    "footrest": _SEATS,
    "headrest": _SEATS,
    "stile": _LADDERS,
    "tread": words("tyre tire bleacher"),
    "sidewall": words("tyre tire"),
    "spoke": words("wheel bicycle bike"),
    "handle": _CARTS | words("bucket basket creel coffin trunk mower paddle oar shovel"),
    "wheel": words("bin barrow wheelbarrow bicycle bike mower"),
    "shelf": _CUPBOARDS,
    "bed": words("barrow wheelbarrow") | _TRAMPOLINES,
    "frame": _TRAMPOLINES,
    "spring": _TRAMPOLINES | words("mattress bed sofa"),
    "skin": words("drum"),
    "hoop": words("barrel cask keg"),
    "roof": _CARS | _HOUSES,
    "chimney": _HOUSES | words("engine smoker"),
    "bow": _BOATS,
    "prow": _BOATS,
    "stern": _BOATS,
    "blade": words("paddle oar shovel plough plow propeller"),
    "tine": words("fork rake harrow"),
    "basket": words("cart trolley"),
    "stem": words("mushroom"),
    "cap": words("mushroom"),
}
"""Of which things a noun tells a part. A noun stands here only with things that hardly ever come without it."""


_ONE_EACH = words("lid brim seat backrest headrest footrest bed frame skin roof chimney bow prow stern basket")
"""Parts of which a thing has one, so that several are of several things."""


def is_made_up_of(whole: str, part: str, *, parts: bool, wholes: bool) -> bool:
    """Whether things of one noun usually have a part of the other. `parts`, `wholes`: more than one of them is told.

    >>> is_made_up_of("wheel", "spoke", parts=True, wholes=False), is_made_up_of("stool", "seat", parts=True, wholes=False)
    (True, False)
    """
    return whole in _WHOLES.get(part, frozenset()) and (wholes or not parts or part not in _ONE_EACH)


def is_component(noun: str) -> bool:
    """Whether a noun names a part of some things that we know."""
    return noun in _WHOLES
