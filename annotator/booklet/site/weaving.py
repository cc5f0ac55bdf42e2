"""The templates, the style sheet and the script of the phone booklet, and how they are put together and named.

Out: text and files with the hash of their content in their names, so that a phone may keep them for ever. What is said is not known here.
"""

from __future__ import annotations

import hashlib
import json
import re
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemBytecodeCache, PackageLoader, StrictUndefined
from jinja2.bccache import Bucket
from markupsafe import Markup

from annotator.booklet.keeping import program

STATIC = Path(__file__).parent.parent / "static"
SCRIPT = Path(__file__).parent.parent / "script"
WORKER = "worker.js"
_TEXT_IN_SCRIPT = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}


class CompiledTemplates(FileSystemBytecodeCache):
    """Templates as compiled, in the user's own temporary folder, which nobody else may write: they are run as they lie there. The library's
    folder, which people share, would be no place for them."""

    def load_bytecode(self, bucket: Bucket) -> None:
        try:
            super().load_bytecode(bucket)
        except Exception:  # cut off, damaged or not to be read; it is compiled again
            bucket.reset()

    def dump_bytecode(self, bucket: Bucket) -> None:
        with suppress(OSError):  # a full disk; it goes without
            super().dump_bytecode(bucket)


def _compiled_templates() -> CompiledTemplates | None:
    try:
        return CompiledTemplates(pattern=f"booklet-{program()[:16]}-%s.cache")  # a template's own name tells nothing of how it is read
    except (OSError, RuntimeError):  # there is no such folder, or somebody else has it
        return None


@cache
def environment() -> Environment:
    """The templates, read once a process."""
    return woven(_compiled_templates())


def woven(compiled: CompiledTemplates | None) -> Environment:
    """The templates, with escaping on for every kind of page and an error for a name that is not given."""
    made = Environment(
        loader=PackageLoader("annotator.booklet", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        bytecode_cache=compiled,
    )
    made.filters["script"] = as_script_data
    made.filters["lean"] = lean
    return made


def as_script_data(value: Any) -> Markup:
    """A value as JSON that cannot end the script element it stands in.

    >>> as_script_data("</script>")
    Markup('"\\\\u003c/script\\\\u003e"')
    """
    text = as_json(value)
    for sign, written in _TEXT_IN_SCRIPT.items():  # many times as quick as a table of signs
        text = text.replace(sign, written)
    return Markup(text)


def as_json(value: Any) -> str:
    """A value as JSON without spaces."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"))


def lean(svg: str) -> Markup:
    """An overlay without its own titles: on a page the picture's text and the rules say the same, in the page's language.

    >>> lean('<svg viewBox="0 0 9 9" role="img" aria-labelledby="a"><title id="a">In play</title><g/></svg>')
    Markup('<svg viewBox="0 0 9 9"><g/></svg>')
    """
    return Markup(re.sub(r'<title\b[^>]*>[^<]*</title>\n?| role="img"| aria-labelledby="[^"]*"', "", svg))


@dataclass(frozen=True)
class Asset:
    """A file beside the pages: its name, with the beginning of its content's hash, and what it holds."""

    name: str
    data: bytes


def asset(name: str, data: bytes) -> Asset:
    """A name that changes with the content.

    >>> asset("a.css", b"").name
    'a-e3b0c44298fc.css'
    """
    stem, _, suffix = name.rpartition(".")
    return Asset(f"{stem}-{hashlib.sha256(data).hexdigest()[:12]}.{suffix}", data)


@cache
def script() -> str:
    """The booklet's script: the pieces of script/ in their order, in one function of their own."""
    pieces = sorted((file for file in SCRIPT.glob("*.js") if file.name != WORKER), key=lambda file: int(file.name.split("-")[0]))
    return f'"use strict";\n(() => {{\n{"".join(_plain(file.read_text("utf-8")) for file in pieces)}}})();\n'


def worker(kept: Any) -> str:
    """The service worker that keeps what is listed."""
    text = _plain((SCRIPT / WORKER).read_text("utf-8"))
    return re.sub(r"/\*EDITION\*/ \{.*\};", lambda _: f"{as_json(kept)};", text, count=1)


def _plain(text: str) -> str:
    """Without comments that stand on lines of their own, and without indents: what a phone need not fetch."""
    text = re.sub(r"^\s*/\*\*?.*?\*/\n?", "", text, flags=re.MULTILINE | re.DOTALL)
    return re.sub(r"^[ \t]+|^//.*\n|\n(?=\n)", "", text, flags=re.MULTILINE)


@cache
def fonts() -> tuple[Asset, ...]:
    """The typeface."""
    return tuple(asset(file.name, file.read_bytes()) for file in sorted(STATIC.glob("*.woff2")))


@cache
def style() -> Asset:
    """The style sheet, which names the fonts as they are called beside it."""
    text = (STATIC / "booklet.css").read_text("utf-8")
    for file, font in zip(sorted(STATIC.glob("*.woff2")), fonts(), strict=True):
        text = text.replace(file.name, font.name)
    return asset("booklet.css", slim(text).encode())


def slim(css: str) -> str:
    """Without comments and indents."""
    return re.sub(r"^[ \t]+|\n(?=\n)", "", re.sub(r"/\*.*?\*/\n?", "", css, flags=re.DOTALL), flags=re.MULTILINE)


@cache
def icon() -> Asset:
    """The sign in the browser's tab."""
    return asset("icon.svg", (STATIC / "icon.svg").read_bytes())


@cache
def script_asset() -> Asset:
    """The script as a file."""
    return asset("booklet.js", script().encode())
