"""Printed pages that were kept one by one, put together into one PDF/UA-1, with what differs from edition to edition on each of them.

In: PDFs as typst writes them: the pieces, and one with the edition's lines, whose title, language and day the whole takes on. Out: one PDF
with one tree of tags, one outline and the tags of the lines in their places. What stands on the pages is not known here.

A piece is read once (leaves.py) and then only written, its numbers counted on from those before it.

References
----------
ISO 32000-1, 14.7 (structure trees, parent trees, marked content), 12.3.3 (outlines), 14.4 (file identifiers); ISO 14289-1 (PDF/UA-1).
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path

from pikepdf import Pdf
from PIL import Image

from annotator.booklet.keeping import kept_bytes, of_use, stage_name
from annotator.booklet.paper.leaf_file import read, written
from annotator.booklet.paper.leaves import KINDS, Face, Leaf, face_of, faces_on, leaf_of, place_of
from annotator.booklet.paper.pdf_text import Gap, Met, Text, at, file_of, streamed
from annotator.booklet.paper.strips import Strip, Tag
from annotator.booklet.paper.tags import document_of
from annotator.recent import Recent

_leaves: Recent[Leaf] = Recent(512)
STUB = "stub.jpg"
"""The picture beside the templates that a kept piece shows where its still belongs, `STUB_SIDES` large."""


@dataclass(frozen=True)
class Piece:
    """Pages to take over. `name` changes with their content; `pdf` gives it where they were not read lately. `line`: which of the edition's
    lines stands on them, its lower left corner at `at` (points from the page's); `still`: the JPEG that takes the place of the stub.
    """

    name: str
    pdf: Callable[[], bytes]
    line: int
    at: tuple[float, float]
    still: bytes | None = None


def joined(lines: bytes, pieces: Sequence[Piece], leaves: Path | None = None) -> bytes:
    """One PDF of all pieces, in their order. `lines` has a page for each of the edition's lines. The same input gives the same bytes.

    `leaves` is a folder in which what was read of a piece is kept.

    Raises
    ------
    StageError
        A piece is tagged in a way that is not known here.
    """
    base = _Base.of(lines, {piece.line for piece in pieces})
    told = tuple(sorted(base.faces))

    def leaf(piece: Piece) -> Leaf:
        name = f"{stage_name('leaf', piece.name, told)}.leaf"
        of_use(leaves, name)
        return _leaves.get(name, lambda: read(kept_bytes(leaves, name, lambda: written(leaf_of(piece.pdf(), told)))))

    whole = _Whole(base, [leaf(piece) for piece in pieces])
    for number, piece in enumerate(pieces):
        whole.take(number, piece)
    return whole.closed()


@dataclass(frozen=True)
class _Base:
    """What the whole takes from the PDF with the lines: its catalogue, the top of its tags, faces, and the lines."""

    objects: tuple[Text, ...]
    catalogue: Gap
    about: Gap
    document: Gap
    named: bytes
    """The first part of the file's identifier."""
    faces: Mapping[Face, Gap]
    strips: Mapping[int, Strip]

    @classmethod
    def of(cls, lines: bytes, used: set[int]) -> _Base:
        with Pdf.open(io.BytesIO(lines)) as opened:
            met = Met(opened, lambda _: None)
            root, tree = opened.Root, opened.Root.StructTreeRoot
            document = document_of(tree)
            strips = {line: Strip.of(opened.pages[line], tree, line, met) for line in sorted(used)}
            faces = {face_of(face): met.number(face) for page in opened.pages for face in faces_on(page.obj)}
            document.K, tree.ParentTree, tree.ParentTreeNextKey = at("Kids"), at("Numbers"), at("Following")
            root.Pages, root.Outlines = at("Pages"), at("Outlines")
            catalogue, about, top = (met.number(one) for one in (root, opened.trailer.Info, document))
            return cls(tuple(met.texts()), catalogue, about, top, bytes(opened.trailer.ID[0]), faces, strips)


class _Whole:
    """The file as it grows: what comes from the lines, the pages' own tree, the parents, the outline, the pieces, then what is on them."""

    def __init__(self, base: _Base, leaves: Sequence[Leaf]) -> None:
        self._base, self._leaves = base, leaves
        count = len(base.objects)
        self._from: dict[Gap, bytes] = {number: _ref(number) for number in range(count)}
        pages, numbers, outline = (_ref(count + more) for more in range(3))
        self._shared: dict[Gap, bytes] = {
            "Pages": pages, "Numbers": numbers, "Outlines": outline, "Document": self._from[base.document],
            **{place_of(face): self._from[number] for face, number in base.faces.items()},
        }  # fmt: skip
        self._starts = [count + 3, *(count + 3 + end for end in accumulate(len(leaf.objects) for leaf in leaves))]
        self._tops = [[_ref(start + int(item)) for item in leaf.outline] for start, leaf in zip(self._starts, leaves, strict=False)]
        self._drawn_with = {line: _drawn_with(strip, self._from) for line, strip in base.strips.items()}
        self._bodies: list[bytes] = []
        self._more: list[bytes] = []
        self._pages: list[bytes] = []
        self._kids: list[bytes] = []
        self._parents: list[bytes] = []
        self._following = 0

    def take(self, number: int, piece: Piece) -> None:
        """Take over a piece's pages with their tags and their entries of the outline, and put the line on each page."""
        leaf, start, strip = self._leaves[number], self._starts[number], self._base.strips[piece.line]
        stands = self._shared | self._drawn_with[piece.line]
        stands |= {own: _ref(start + own) for own in range(len(leaf.objects))}
        stands |= {f"Parent{parent}": b"%d" % (parent + self._following) for parent, _ in leaf.numbers}
        before, after = (next(filter(None, tops), None) for tops in (reversed(self._tops[:number]), self._tops[number + 1 :]))
        stands["Before"] = b"" if before is None else b"/Prev %b" % before[-1]
        stands["After"] = b"" if after is None else b"/Next %b" % after[0]
        for at_page, (page, first) in enumerate(zip(leaf.pages, leaf.marks, strict=True)):
            stands[f"Line{at_page}"] = self._add(streamed(b"<< /Filter /FlateDecode >>", strip.drawn(piece.at, first)))
            marks = [b"null"] * strip.marks
            stands[f"Tags{at_page}"] = b" ".join(self._tag(tag, stands["Document"], stands[page], marks, first) for tag in strip.tags)
            stands[f"Marks{at_page}"] = b" ".join(marks)
            self._pages.append(stands[page])
        for own, text in enumerate(leaf.objects):
            self._bodies.append(self._still(text, stands, piece.still) if piece.still and own in leaf.stubs else text.filled(stands))
        self._kids += [stands[kid] for kid in leaf.kids]
        self._parents += [b"%b %b" % (stands[f"Parent{parent}"], stands[tags]) for parent, tags in leaf.numbers]
        self._following += leaf.following

    def _add(self, body: bytes) -> bytes:
        """An object after all pieces."""
        self._more.append(body)
        return _ref(self._starts[-1] + len(self._more) - 1)

    def _tag(self, tag: Tag, up: bytes, page: bytes, marks: list[bytes], first: int) -> bytes:
        """A copy of a line's tag for a page, its marks counted from `first`."""
        place = len(self._more)
        own = self._add(b"")
        holds = []
        for one in tag.holds:
            if isinstance(one, Tag):
                holds.append(self._tag(one, own, page, marks, first))
            else:
                holds.append(b"%d" % (one + first))
                marks[one] = own
        self._more[place] = tag.text.filled(self._from | {"Up": up, "Page": page, "Holds": b"[ %b ]" % b" ".join(holds)})
        return own

    @staticmethod
    def _still(text: Text, stands: Mapping[Gap, bytes], still: bytes) -> bytes:
        """The still in place of its stub."""
        entries = text.text % tuple(stands[gap] for gap in text.gaps)
        width, height = _jpeg_sides(still)
        for key, value in ((b"Width", width), (b"Height", height)):
            entries = re.sub(rb"/%b \d+" % key, b"/%b %d" % (key, value), entries)
        return streamed(entries, still)

    def closed(self) -> bytes:
        """The whole file."""
        tops = [item for items in self._tops for item in items]
        ends = b" /Count %d /First %b /Last %b" % (len(tops), tops[0], tops[-1]) if tops else b""
        stands = self._from | self._shared
        stands |= {"Kids": b"[ %b ]" % b" ".join(self._kids), "Following": b"%d" % self._following}
        own = [text.filled(stands) for text in self._base.objects]
        own.append(b"<< /Count %d /Kids [ %b ] /Type /Pages >>" % (len(self._pages), b" ".join(self._pages)))
        own.append(b"<< /Nums [ %b ] >>" % b" ".join(self._parents))
        own.append(b"<< /Type /Outlines%b >>" % ends)
        objects = [*own, *self._bodies, *self._more]
        return file_of(objects, self._from[self._base.catalogue], self._from[self._base.about], self._base.named)


def _ref(number: int) -> bytes:
    """An object's own, by its place counted from 0."""
    return b"%d 0 R" % (number + 1)


def _drawn_with(strip: Strip, stands: Mapping[Gap, bytes]) -> dict[Gap, bytes]:
    """What fills the places for what a line draws with."""
    found: dict[Gap, bytes] = {}
    for kind in KINDS:
        entries = b" ".join(b"%b %b" % (name.encode(), stands[value]) for name, value in strip.resources.get(kind, {}).items())
        found |= {f"More{kind}": entries, f"New{kind}": b"/%b << %b >>" % (kind.encode(), entries) if entries else b""}
    return found


def _jpeg_sides(data: bytes) -> tuple[int, int]:
    with Image.open(io.BytesIO(data)) as image:
        return image.size
