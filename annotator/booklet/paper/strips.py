"""One line of an edition, as typst set it on a page of its own, made ready for other pages: its marks, what they draw with, its tags.

In: the page with the line. Out: content and tags as text with gaps (pdf_text.py). Where it comes to stand is joining.py's.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pikepdf
from pikepdf import Dictionary, Name, Object

from annotator.booklet.paper.pdf_text import Gap, Met, Text, at
from annotator.booklet.paper.tags import document_of, numbers_of, page_of


@dataclass(frozen=True)
class Tag:
    """An element of the line, with places for the one above it, its page and what it holds: numbers of the line's marks, and elements."""

    text: Text
    holds: tuple[int | Tag, ...]


@dataclass(frozen=True)
class Strip:
    """A line. `resources`: what it draws with, by kind, each by a name that no page has; `marks`: how many of its marks have an element."""

    steps: tuple[Any, ...]
    resources: Mapping[str, Mapping[str, Gap]]
    tags: tuple[Tag, ...]
    marks: int

    @classmethod
    def of(cls, page: pikepdf.Page, tree: Object, number: int, met: Met) -> Strip:
        """The line on a page, which is page `number` of those with lines; what it leads to comes to `met`."""
        marked = numbers_of(tree)[int(page.obj.StructParents)]
        tags = tuple(_tag(kid, met) for kid in document_of(tree).K if page_of(kid) == page.obj.objgen)
        prefix = f"/line{number}"
        kinds = {str(kind)[1:]: found for kind, found in page.obj.Resources.items() if isinstance(found, Dictionary)}
        named = {str(name) for found in kinds.values() for name in found}
        steps = tuple(
            pikepdf.ContentStreamInstruction([_renamed(one, named, prefix) for one in step.operands], step.operator)
            for step in pikepdf.parse_content_stream(page)
        )
        resources = {
            kind: {f"{prefix}{str(name)[1:]}": met.number(value) for name, value in found.items()} for kind, found in kinds.items()
        }
        return cls(steps, resources, tags, len(marked))

    def drawn(self, place: tuple[float, float], first: int) -> bytes:
        """The line as the data of a stream, packed, for a page on which `first` marks are there already."""
        steps = [
            pikepdf.ContentStreamInstruction([step.operands[0], _counted(step.operands[1], first)], step.operator)
            if str(step.operator) == "BDC" and "/MCID" in step.operands[1]
            else step
            for step in self.steps
        ]
        return zlib.compress(b"\nq 1 0 0 1 %.5f %.5f cm\n%b\nQ\n" % (*place, pikepdf.unparse_content_stream(steps)))


def _counted(told: Object, first: int) -> Dictionary:
    """A mark's properties, its language among them, with its number counted from `first`."""
    return Dictionary({**dict(told.items()), "/MCID": int(told.MCID) + first})


def _renamed(operand: Any, named: set[str], prefix: str) -> Any:
    is_name = isinstance(operand, Name) and str(operand) in named
    return Name(f"{prefix}{str(operand)[1:]}") if is_name else operand


def _tag(tag: Object, met: Met) -> Tag:
    kids: Sequence[Any] = list(tag.get("/K", ()))
    entries = {str(key): value for key, value in tag.items() if key != "/K"}
    entries |= {"/P": at("Up"), "/K": at("Holds")} | ({"/Pg": at("Page")} if "/Pg" in tag else {})
    return Tag(met.text(Dictionary(entries)), tuple(_tag(kid, met) if isinstance(kid, Dictionary) else int(kid) for kid in kids))
