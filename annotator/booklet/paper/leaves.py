"""Printed pages that were kept one by one, read once and told as text with gaps, so that they can be put into any number of files.

In: a PDF of one card's pages as cutting.py writes it. Out: a `Leaf`. What the gaps are filled with is joining.py's.

References
----------
ISO 32000-1, 14.7 (structure trees, parent trees, marked content), 12.3.3 (outlines).
"""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from pikepdf import Array, Dictionary, Name, Object, Pdf

from annotator.booklet.paper.pdf_text import END, Gap, Met, Text, at
from annotator.booklet.paper.tags import document_of, numbers_of, outline_items, page_of, refuse_unknown_tags

STUB_SIDES: Final = (3, 2)
"""Pixels of the picture that stands in a kept piece where its still belongs."""
KINDS: Final = ("ColorSpace", "ExtGState", "Font", "Pattern", "Properties", "Shading", "XObject")
"""What a page draws with, by kind (ISO 32000-1, table 33)."""

Face = tuple[str, int]
"""A face's name, which begins with letters that stand for the signs in it, and how long its file is: what makes two the same."""


@dataclass(frozen=True)
class Leaf:
    """The pages of a piece with all that they lead to.

    Places in `objects`: "Pages", "Document", "Outlines" and `place_of` a face for objects of the whole; for page N of these "LineN", the
    line's content, and "MarksN", the elements of its marks; "ParentN" for the number N in the tree of parents; for each kind of what a
    page draws with "MoreKIND" in a dictionary or "NewKIND" where there is none; "Before" and "After" for the neighbours in the outline.
    """

    objects: tuple[Text, ...]
    pages: tuple[Gap, ...]
    marks: tuple[int, ...]
    """How many marks each page has of its own."""
    kids: tuple[Gap, ...]
    """The elements at the top, with "TagsN" where those of the line on page N belong."""
    numbers: tuple[tuple[int, Gap], ...]
    """The tree of parents."""
    following: int
    """The number after the last one in it."""
    outline: tuple[Gap, ...]
    stubs: frozenset[int]
    """The objects that stand for the still."""


def face_of(face: Object) -> Face:
    """What makes a face the same as another."""
    own = face.DescendantFonts[0].FontDescriptor
    file = next((own[key] for key in ("/FontFile2", "/FontFile3") if key in own), None)
    return str(face.BaseFont), 0 if file is None else int(file.Length)


def faces_on(page: Object) -> list[Object]:
    """The faces that a page names."""
    return list(page.Resources.get("/Font", Dictionary()).values())


def place_of(face: Face) -> str:
    """The place for a face that the whole has."""
    return f"Face {face[0]} {face[1]}"


def leaf_of(pdf: bytes, faces: Iterable[Face]) -> Leaf:
    """A piece as text. `faces`: those that are not taken over, since the whole has them.

    Raises
    ------
    StageError
        It is tagged in a way that is not known here.
    """
    there = frozenset(faces)
    with Pdf.open(io.BytesIO(pdf)) as one:
        tree = one.Root.StructTreeRoot
        refuse_unknown_tags(tree)
        document, numbers = document_of(tree), numbers_of(tree)
        outline = one.Root.get("/Outlines")
        items = [] if outline is None else outline_items(outline)
        whole = {one.Root.Pages.objgen: "Pages", document.objgen: "Document"} | ({} if outline is None else {outline.objgen: "Outlines"})

        def known(found: Object) -> str | None:
            if found.objgen in whole:
                return whole[found.objgen]
            is_face = isinstance(found, Dictionary) and found.get("/Subtype") == Name.Type0
            return place_of(face_of(found)) if is_face and face_of(found) in there else None

        met = Met(one, known)
        pages = [page.obj for page in one.pages]
        kids: list[Object | str] = list(document.K)
        marks = []
        for at_page, page in enumerate(pages):
            of_page = [place for place, kid in enumerate(kids) if not isinstance(kid, str) and page_of(kid) == page.objgen]
            last = of_page[-1] if of_page else len(kids) - 1
            kids.insert(last + 1, f"Tags{at_page}")
            marked = numbers[int(page.StructParents)]
            marks.append(len(marked))
            marked.append(at(f"Marks{at_page}"))
            _open_page(page, at_page)
        if items:
            _open_outline(items)
        led = [met.number(page) for page in pages]
        tops = tuple(kid if isinstance(kid, str) else met.number(kid) for kid in kids)
        parents = tuple((number, met.number(found)) for number, found in numbers.items())
        entries = tuple(met.number(item) for item in items)
        stubs = frozenset(met.number(picture) for page in pages for picture in _pictures(page) if _sides(picture) == STUB_SIDES)
        objects = tuple(met.texts())
        return Leaf(
            objects, tuple(led), tuple(marks), tops, parents, int(tree.ParentTreeNextKey), entries, frozenset(int(stub) for stub in stubs)
        )


def _open_page(page: Object, number: int) -> None:
    """Make places on a page for the line and for its numbers in the tree of parents."""
    contents = page.Contents
    page.Contents = Array([*(contents if isinstance(contents, Array) else [contents]), at(f"Line{number}")])
    own = dict(page.Resources.items())
    for kind in KINDS:
        if f"/{kind}" in own:
            own[f"/{kind}"] = Dictionary({**dict(own[f"/{kind}"].items()), str(at(f"More{kind}")): END})
        else:
            own[str(at(f"New{kind}"))] = END
    page.Resources = Dictionary(own)
    page.StructParents = at(f"Parent{int(page.StructParents)}")
    for note in page.get("/Annots", ()):
        if "/StructParent" in note:
            note.StructParent = at(f"Parent{int(note.StructParent)}")


def _open_outline(items: list[Object]) -> None:
    for item, key, place in ((items[0], "/Prev", "Before"), (items[-1], "/Next", "After")):
        if key in item:
            del item[key]
        item[str(at(place))] = END


def _pictures(page: Object) -> list[Object]:
    found = page.Resources.get("/XObject", Dictionary())
    return [picture for name, picture in found.items() if name != str(at("MoreXObject")) and picture.get("/Subtype") == Name.Image]


def _sides(picture: Object) -> tuple[int, int]:
    return int(picture.Width), int(picture.Height)
