"""Typst, wrapped: a template, data and files in, a PDF/UA-1 out. Text goes in as data, never as markup.

PDF/UA refuses a document with a sign that no font has, so such signs are looked for first and named with the words they stand in.
"""

from __future__ import annotations

import json
import tempfile
import unicodedata
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, Final

import typst

from annotator import fonts
from annotator.errors import NotReady, StageError

STANDARD: Final = "ua-1"
_TEMPLATES = Path(__file__).parent.parent / "templates"


def refuse_missing_signs(title: str, texts: Iterable[str]) -> None:
    """Raise `NotReady` (about `title`) that names each sign that cannot be printed and the words that it stands in."""
    told = tuple(texts)
    if not fonts.missing_signs("".join(told)):
        return
    reasons: dict[str, None] = {}
    for text in told:
        for sign in sorted(fonts.missing_signs(text)):
            name = unicodedata.name(sign, f"U+{ord(sign):04X}").lower()
            reasons[f"{text!r} holds the sign {sign} ({name}), which cannot be printed. Write it in letters."] = None
    if reasons:
        raise NotReady(title, list(reasons))


def render(template: str, data: Mapping[str, Any], files: Mapping[str, bytes], when: int | None) -> bytes:
    """One PDF from a template, its data and the pictures that the data names. The same input gives the same bytes.

    Where no `files` are pictures in pixels, the data may name those that lie beside the templates.
    """
    told = {**data, "faces": [fonts.FAMILY, *fonts.FALLBACKS]}
    # As a file, not as an input of typst's own: of what it has laid out before in this process it then keeps what is the same.
    texts = {
        "main.typ": _template(template),
        "common.typ": _template("common.typ"),
        "d.json": json.dumps(told, ensure_ascii=False).encode(),
    }
    texts |= {name: content for name, content in files.items() if name.endswith(".svg")}
    others = {name: content for name, content in files.items() if name not in texts}
    if not others:
        return _compiled(texts, _TEMPLATES, when)
    with tempfile.TemporaryDirectory(prefix="booklet-") as folder:  # typst takes text from memory, and nothing else
        for name, content in others.items():
            (Path(folder) / name).write_bytes(content)
        return _compiled(texts, Path(folder), when)


@cache
def _template(name: str) -> bytes:
    return (_TEMPLATES / name).read_bytes()


def _compiled(texts: Mapping[str, bytes], root: Path, when: int | None) -> bytes:
    try:
        made, warnings = typst.compile_with_warnings(
            dict(texts), root=root, font_paths=_fonts(), pdf_standards=[STANDARD], timestamp=when or 0
        )
    except typst.TypstError as error:
        raise StageError("print", str(error)) from error
    told = [str(warning) for warning in warnings if "font" in str(warning) or "converge" in str(warning)]
    if told:
        raise StageError("print", told[0])
    assert isinstance(made, bytes)
    return made


@lru_cache(maxsize=1)
def _fonts() -> Any:
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(fonts.FOLDER)])
