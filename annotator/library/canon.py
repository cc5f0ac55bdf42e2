"""One spelling for every value: canonical JSON, the keys of finished stages, and short names for courses. Pure."""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import fields, is_dataclass
from itertools import count
from pathlib import PurePath
from typing import Any

from pydantic import BaseModel

NAME_LENGTH = 48
_FOLDED = str.maketrans({"æ": "ae", "ø": "o", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i", "&": " and "})


def canonical(value: object) -> bytes:
    """UTF-8 JSON of a value, spelt in the one way that two equal values share: keys sorted, no spaces, no NaN.

    Models, frozen dataclasses, mappings with string keys, lists and tuples, text, numbers, booleans and None are taken; bytes stand
    as their SHA-256. Anything else (a set, a path, a clock) raises `TypeError`, since its spelling could differ between two runs.

    >>> canonical({"b": (1, 2.5), "a": None}).decode()
    '{"a":null,"b":[1,2.5]}'
    """
    return json.dumps(_plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False).encode()


def _plain(value: object) -> Any:
    if value is None or isinstance(value, str | bool | int | float):
        return value
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if isinstance(value, bytes):
        return {"sha256": hashlib.sha256(value).hexdigest()}
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise TypeError("only text can be a key in canonical JSON")
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    what = "a path (give its content's hash)" if isinstance(value, PurePath) else type(value).__name__
    raise TypeError(f"{what} has no canonical spelling")


def stage_key(stage: str, version: str, *parts: object) -> str:
    """The key of a stage's output: SHA-256 (64 hex digits) over its name, its version, its inputs and settings, in order.

    Two calls give one key exactly where stage, version and every part are equal; see `canonical` for what a part may be.

    >>> stage_key("words", "1", {"hints": []}) == stage_key("words", "1", {"hints": ()})
    True
    >>> stage_key("words", "1", "ab", "c") == stage_key("words", "1", "a", "bc")
    False
    """
    return hashlib.sha256(canonical([stage, version, *parts])).hexdigest()


def slug(title: str) -> str:
    """A short name for addresses and commands: a-z, 0-9 and single hyphens, at most 48 letters; empty where nothing is left.

    >>> slug("Größe & Łódź: Spring Cup, 2nd day"), slug("🏃🏃")
    ('grosse-and-lodz-spring-cup-2nd-day', '')
    """
    folded = unicodedata.normalize("NFKD", title.casefold().translate(_FOLDED)).casefold()
    plain = "".join(letter for letter in folded if not unicodedata.combining(letter))
    return re.sub("[^a-z0-9]+", "-", plain).strip("-")[:NAME_LENGTH].rstrip("-")


def free_name(title: str, taken: Collection[str]) -> str:
    """The slug of a title, with a number behind it where the name is taken; "course-1" and on where the title has no letters.

    >>> free_name("Spring Cup", {"spring-cup", "spring-cup-2"}), free_name("🏃", {"course-1"})
    ('spring-cup-3', 'course-2')
    """
    stem = slug(title)
    if stem and stem not in taken:
        return stem
    for number in count(2 if stem else 1):
        name = f"{(stem or 'course')[: NAME_LENGTH - 1 - len(str(number))].rstrip('-')}-{number}"
        if name not in taken:
            return name
    raise AssertionError("numbers do not end")
