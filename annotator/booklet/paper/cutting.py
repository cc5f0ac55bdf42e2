"""Printed pages that were set in one go, cut into a PDF for each card, so that each can be kept and joined again (joining.py).

In: a PDF as typst writes it: first a page with every sign of the typeface, then for each card a bare page and its own pages. Out: for each
card the same bytes as where it is set alone; None where it would not be: a face in it holds more than those signs, and how it holds them
hangs on what else is set. What stands on the pages is not known here.

References
----------
ISO 32000-1, 14.7 (structure trees, parent trees), 12.3.3 (outlines).
"""

from __future__ import annotations

import io
from collections.abc import Collection, Sequence
from typing import Any

from pikepdf import Array, Dictionary, Object, Page, Pdf

from annotator.booklet.paper.tags import closed_outline, document_of, numbers_of, outline_items, page_of, refuse_unknown_tags

_BARE_PT = 30.0
"""The bare pages are narrower than this, and no card is."""


def faces_of(page: Object) -> frozenset[str]:
    """The faces that a page names; each name begins with letters that stand for the signs that are in it."""
    return frozenset(str(face.BaseFont) for face in page.Resources.get("/Font", Dictionary()).values())


def cut(pdf: bytes, faces: Collection[str] | None) -> list[bytes | None]:
    """Each card of a PDF that was set in one go. `faces`: those of a page with every sign and no other; None takes
    any, for a card that is set alone.

    Raises
    ------
    StageError
        Its tags are of a kind that is not known here.
    """
    with Pdf.open(io.BytesIO(pdf)) as whole:
        tree = whole.Root.StructTreeRoot
        refuse_unknown_tags(tree)
        pages = [page.obj for page in whole.pages]
        markers = [at for at, page in enumerate(pages) if float(page.MediaBox[2]) < _BARE_PT]
        same = faces is None or faces_of(pages[0]) == frozenset(faces)
        numbers, kids = numbers_of(tree), list(document_of(tree).K)
        items = outline_items(whole.Root.Outlines) if "/Outlines" in whole.Root else []
        found: list[bytes | None] = []
        for first, end in zip(markers, [*markers[1:], len(pages)], strict=True):
            own = pages[first + 1 : end]
            if same and (faces is None or all(faces_of(page) <= frozenset(faces) for page in own)):
                found.append(_piece(whole, own, kids, numbers, items))
            else:
                found.append(None)
        return found


def _piece(whole: Pdf, pages: Sequence[Object], kids: Sequence[Object], numbers: dict[int, Object], items: Sequence[Object]) -> bytes:
    """Some pages with their tags and their entries of the outline; they are taken out of the tree and outline of the whole."""
    there = {page.objgen for page in pages}
    own = [kid for kid in kids if page_of(kid) in there]
    old = whole.Root.StructTreeRoot
    root = whole.make_indirect(Dictionary({key: value for key, value in old.items() if key not in ("/K", "/ParentTree")}))
    document = whole.make_indirect(Dictionary({key: value for key, value in document_of(old).items() if key not in ("/K", "/P")}))
    document.P, document.K = root, Array(own)
    for kid in own:
        kid.P = document
    flat: list[Any] = []
    for page in pages:
        flat += [len(flat) // 2, numbers[int(page.StructParents)]]
        page.StructParents = len(flat) // 2 - 1
    for note in (note for page in pages for note in page.get("/Annots", ()) if "/StructParent" in note):
        flat += [len(flat) // 2, numbers[int(note.StructParent)]]
        note.StructParent = len(flat) // 2 - 1
    root.K = document
    root.ParentTree = whole.make_indirect(Dictionary(Nums=Array(flat)))
    root.ParentTreeNextKey = len(flat) // 2
    led = [item for item in items if _leads_to(item) in there]
    with Pdf.new() as made:
        made.pages.extend(Page(page) for page in pages)
        made.Root.StructTreeRoot = made.copy_foreign(root)
        if led:
            made.Root.Outlines = made.copy_foreign(closed_outline(whole, led))
        out = io.BytesIO()
        made.save(out, deterministic_id=True)
        return out.getvalue()


def _leads_to(item: Object) -> tuple[int, int]:
    """The page to which an entry of the outline leads."""
    to = item.get("/Dest")
    return (item.A.D if to is None else to)[0].objgen
