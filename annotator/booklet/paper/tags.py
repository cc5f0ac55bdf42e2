"""The tags and the outline of a PDF as typst writes it: read, checked, and an outline closed again over other entries.

References
----------
ISO 32000-1, 14.7 (structure trees, parent trees), 12.3.3 (outlines).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from pikepdf import Array, Dictionary, Name, Object, Pdf

from annotator.errors import StageError

_KNOWN = {"/Type", "/K", "/ParentTree", "/ParentTreeNextKey", "/RoleMap", "/Namespaces"}
"""What a tree of tags may hold; anything else would be lost, so it is refused."""


def refuse_unknown_tags(tree: Object) -> None:
    """Raise `StageError` where a tree of tags holds what would be lost here."""
    strange = set(map(str, tree.keys())) - _KNOWN
    if strange:
        raise StageError("print", f"a card's tags hold {', '.join(sorted(strange))}, which is not known how to join")


def closed_outline(pdf: Pdf, items: Sequence[Object]) -> Object:
    """An outline with these entries at its top, in their order."""
    outline = pdf.make_indirect(Dictionary(Type=Name.Outlines))
    for before, after in pairwise(items):
        before.Next, after.Prev = after, before
    for item, end in ((items[0], "/Prev"), (items[-1], "/Next")):
        if end in item:
            del item[end]
    for item in items:
        item.Parent = outline
    outline.First, outline.Last, outline.Count = items[0], items[-1], len(items)
    return outline


def document_of(tree: Object) -> Object:
    """The one element of a tree under which all others stand."""
    (found,) = tree.K if isinstance(tree.K, Array) else [tree.K]
    return found


def numbers_of(tree: Object) -> dict[int, Object]:
    """What a tree of numbers holds, whatever its depth."""

    def leaves(node: Object) -> Iterator[tuple[int, Object]]:
        flat = list(node.get("/Nums", ()))
        yield from zip(map(int, flat[::2]), flat[1::2], strict=True)
        for kid in node.get("/Kids", ()):
            yield from leaves(kid)

    return dict(leaves(tree.ParentTree))


def page_of(tag: Object) -> tuple[int, int] | None:
    """The page on which an element begins, as its number in the file."""
    if "/Pg" in tag:
        return tag.Pg.objgen
    found = (page_of(kid) for kid in tag.get("/K", ()) if isinstance(kid, Dictionary))
    return next((page for page in found if page is not None), None)


def outline_items(outline: Object) -> list[Object]:
    """The entries at the top of an outline."""
    found, item = [], outline.get("/First")
    while item is not None:
        found.append(item)
        item = item.get("/Next")
    return found
