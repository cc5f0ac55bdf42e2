"""Printed pages that were kept one by one, put together into one PDF/UA-1, with what differs from edition to edition on each of them.

In: PDFs as typst writes them: the pieces, and one with the edition's lines, whose title, language and day the whole takes on. Out: one PDF
with one tree of tags, one outline and the tags of the lines in their places. What stands on the pages is not known here.

References
----------
ISO 32000-1, 14.7 (structure trees, parent trees, marked content), 12.3.3 (outlines); ISO 14289-1 (PDF/UA-1).
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name, Object, Pdf
from PIL import Image

from annotator.errors import StageError

STUB_SIDES = (3, 2)
"""Pixels of the picture that stands in a kept piece where its still belongs."""


_KNOWN = {"/Type", "/K", "/ParentTree", "/ParentTreeNextKey", "/RoleMap", "/Namespaces"}
"""What a piece's tree of tags may hold; anything else would be lost, so it is refused."""


@dataclass(frozen=True)
class Piece:
    """Pages to take over. `line`: which of the edition's lines stands on them, its lower left corner at `at` (points from the page's);
    `still`: the JPEG that takes the place of the stub.
    """

    pdf: bytes
    line: int
    at: tuple[float, float]
    still: bytes | None = None


def joined(lines: bytes, pieces: Sequence[Piece]) -> bytes:
    """One PDF of all pieces, in their order. `lines` has a page for each of the edition's lines. The same input gives the same bytes.

    Raises
    ------
    StageError
        A piece is tagged in a way that is not known here.
    """
    with Pdf.open(io.BytesIO(lines)) as whole:
        used = sorted({piece.line for piece in pieces})
        strips = {line: _Strip.of(whole.pages[line], whole.Root.StructTreeRoot, line) for line in used}
        count = len(whole.pages)
        tree = _Tree(whole, _faces(page.obj for page in whole.pages))
        for piece in pieces:
            with Pdf.open(io.BytesIO(piece.pdf)) as one:
                tree.take(one, piece, strips[piece.line])
        del whole.pages[:count]
        tree.close()
        out = io.BytesIO()
        whole.save(out, deterministic_id=True)
        return out.getvalue()


@dataclass(frozen=True)
class _Strip:
    """One of the edition's lines: its marks on the page, what they draw with, and its tags by the number of their mark."""

    steps: tuple[Any, ...]
    resources: Mapping[str, Mapping[str, Object]]
    tags: tuple[Object, ...]
    marks: int

    @classmethod
    def of(cls, page: pikepdf.Page, tree: Object, number: int) -> _Strip:
        """The line on a page, which is page `number` of those with lines."""
        marked = numbers_of(tree)[int(page.obj.StructParents)]
        tags = tuple(kid for kid in document_of(tree).K if page_of(kid) == page.obj.objgen)
        prefix = f"/line{number}"
        resources = {
            str(kind): {f"{prefix}{str(name)[1:]}": value for name, value in found.items()}
            for kind, found in page.obj.Resources.items()
            if isinstance(found, Dictionary)
        }
        named = {str(name) for found in page.obj.Resources.values() if isinstance(found, Dictionary) for name in found}
        steps = tuple(
            pikepdf.ContentStreamInstruction([_renamed(one, named, prefix) for one in step.operands], step.operator)
            for step in pikepdf.parse_content_stream(page)
        )
        return cls(steps, resources, tags, len(marked))

    def drawn(self, at: tuple[float, float], first: int) -> bytes:
        """The line as content of a page on which `first` marks are there already."""
        steps = [
            pikepdf.ContentStreamInstruction([step.operands[0], _counted(step.operands[1], first)], step.operator)
            if str(step.operator) == "BDC" and "/MCID" in step.operands[1]
            else step
            for step in self.steps
        ]
        return b"\nq 1 0 0 1 %.5f %.5f cm\n%b\nQ\n" % (*at, pikepdf.unparse_content_stream(steps))


def _counted(told: Object, first: int) -> Dictionary:
    """A mark's properties, its language among them, with its number counted from `first`."""
    return Dictionary({**dict(told.items()), "/MCID": int(told.MCID) + first})


def _renamed(operand: Any, named: set[str], prefix: str) -> Any:
    is_name = isinstance(operand, Name) and str(operand) in named
    return Name(f"{prefix}{str(operand)[1:]}") if is_name else operand


class _Tree:
    """The tags and the outline of the whole, as they grow."""

    def __init__(self, whole: Pdf, faces: Mapping[tuple[str, int], Object]) -> None:
        self._whole, self._faces = whole, faces
        self._root = whole.Root.StructTreeRoot
        self._document = document_of(self._root)
        self._kids: list[Object] = []
        self._numbers: list[tuple[int, Object]] = []
        self._outline: list[Object] = []
        self._next = 0

    def take(self, one: Pdf, piece: Piece, strip: _Strip) -> None:
        """Take over a piece's pages with their tags and their entries of the outline, and put the line on each page."""
        from_page = len(self._whole.pages)
        refuse_unknown_tags(one.Root.StructTreeRoot)
        shared = [self._taken_off(page.obj) for page in one.pages]
        self._whole.pages.extend(one.pages)
        pages = [page.obj for page in self._whole.pages[from_page:]]
        for page, faces in zip(pages, shared, strict=True):
            for name, face in faces.items():
                page.Resources.Font[name] = face
        tree = self._whole.copy_foreign(one.Root.StructTreeRoot)
        numbers = numbers_of(tree)
        kids = list(document_of(tree).K)
        for page in pages:
            self._place(page, numbers[int(page.StructParents)], kids, strip, piece)
            page.StructParents = int(page.StructParents) + self._next
            for note in page.get("/Annots", ()):
                if "/StructParent" in note:
                    note.StructParent = int(note.StructParent) + self._next
        for kid in kids:
            kid.P = self._document
        self._kids += kids
        self._numbers += [(number + self._next, told) for number, told in numbers.items()]
        self._next += int(tree.ParentTreeNextKey)
        if "/Outlines" in one.Root:
            self._outline += outline_items(self._whole.copy_foreign(one.Root.Outlines))

    def _taken_off(self, page: Object) -> dict[str, Object]:
        """The faces of a page that the whole has already, by their names there; taken off it, so that no second copy comes along."""
        told = {str(name): self._faces.get(_told(face)) for name, face in page.Resources.get("/Font", Dictionary()).items()}
        found = {name: face for name, face in told.items() if face is not None}
        page.Resources = Dictionary(dict(page.Resources.items()))  # its own, also where pages share theirs
        if found:
            page.Resources.Font = Dictionary({name: face for name, face in page.Resources.Font.items() if name not in found})
        return found

    def _place(self, page: Object, marked: Object, kids: list[Object], strip: _Strip, piece: Piece) -> None:
        """The line with its tags on a page, and the still in place of its stub."""
        for kind, found in strip.resources.items():
            if kind not in page.Resources:
                page.Resources[kind] = Dictionary()
            for name, value in found.items():
                page.Resources[kind][name] = value
        first = len(marked)
        drawn = self._whole.make_stream(strip.drawn(piece.at, first))
        contents = page.Contents
        page.Contents = Array([*(contents if isinstance(contents, Array) else [contents]), drawn])
        marked.extend(Array([None] * strip.marks))
        own = [self._tag(tag, self._document, page, marked, first) for tag in strip.tags]
        last = max((at for at, kid in enumerate(kids) if page_of(kid) == page.objgen), default=len(kids) - 1)
        kids[last + 1 : last + 1] = own
        for picture in page.Resources.get("/XObject", Dictionary()).values():
            if piece.still is not None and picture.get("/Subtype") == Name.Image and _sides(picture) == STUB_SIDES:
                width, height = _jpeg_sides(piece.still)
                picture.write(piece.still, filter=Name.DCTDecode)
                picture.Width, picture.Height = width, height

    def _tag(self, tag: Object, parent: Object, page: Object, marked: Object, first: int) -> Object:
        """A copy of a line's tag for a page, its marks counted from `first`."""
        made = self._whole.make_indirect(Dictionary({key: value for key, value in tag.items() if key not in ("/K", "/P", "/Pg")}))
        made.P = parent
        if "/Pg" in tag:
            made.Pg = page
        kids: list[Any] = []
        for kid in tag.get("/K", ()):
            if isinstance(kid, Dictionary):
                kids.append(self._tag(kid, made, page, marked, first))
            else:
                kids.append(int(kid) + first)
                marked[int(kid) + first] = made
        made.K = Array(kids)
        return made

    def close(self) -> None:
        """Write down what was gathered."""
        self._document.K = Array(self._kids)
        flat = [each for pair in self._numbers for each in pair]
        self._root.ParentTree = self._whole.make_indirect(Dictionary(Nums=Array(flat)))
        self._root.ParentTreeNextKey = self._next
        if not self._outline:
            return
        self._whole.Root.Outlines = closed_outline(self._whole, self._outline)


@cache
def stub() -> bytes:
    """The picture that a kept piece shows where its still belongs."""
    out = io.BytesIO()
    Image.new("RGB", STUB_SIDES, "#808080").save(out, "JPEG")
    return out.getvalue()


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


def _faces(pages: Iterable[Object]) -> dict[tuple[str, int], Object]:
    """The faces of pages by what makes them the same."""
    return {_told(face): face for page in pages for face in page.Resources.get("/Font", Dictionary()).values()}


def _told(face: Object) -> tuple[str, int]:
    """A face's name, which begins with letters that stand for the signs in it, and how long its file is."""
    own = face.DescendantFonts[0].FontDescriptor
    file = next((own[key] for key in ("/FontFile2", "/FontFile3") if key in own), None)
    return str(face.BaseFont), 0 if file is None else int(file.Length)


def _sides(picture: Object) -> tuple[int, int]:
    return int(picture.Width), int(picture.Height)


def _jpeg_sides(data: bytes) -> tuple[int, int]:
    with Image.open(io.BytesIO(data)) as image:
        return image.size
