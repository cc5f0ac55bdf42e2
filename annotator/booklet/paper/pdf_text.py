"""Objects of a PDF as text with gaps, so that they are written into another file by filling in numbers, and nothing is read again.

In: objects as pikepdf opens them. Out: for each its text, in which references and places are gaps, and the bytes of its stream; and a file
of such objects. A place is a name that begins with `/At`: whoever takes objects over puts one where something else is to stand.

References
----------
ISO 32000-1, 7.3 (objects), 7.5 (the file: body, cross-reference table, trailer).
"""

from __future__ import annotations

import hashlib
import re
import zlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pikepdf import Dictionary, Name, Object, Pdf, Stream

_GAPS = re.compile(rb"\((?:[^\\()]|\\.)*\)|<[0-9A-Fa-f]*>|(\d+) (\d+) R\b|/At([A-Za-z0-9]+)(?: /AtEnd)?", re.DOTALL)
"""Strings, which are passed over; references; places. A place for whole entries of a dictionary is the key of an entry that is `END`."""
Gap = int | str
END = Name("/AtEnd")
HEADER, END_OF_OBJECT = b"%PDF-1.7\n%\x80\x80\x80\x80\n", b"\nendobj\n"
_LONG = 65536


def at(place: str) -> Name:
    """A value that stands for a place, whose name is letters and digits."""
    return Name(f"/At{place}")


@dataclass(frozen=True)
class Text:
    """An object without what differs from file to file: as many gaps as `%b` in `text`, each the number of one of the objects that were
    taken together, or the name of a place.
    """

    text: bytes
    gaps: tuple[Gap, ...]
    stream: bytes | None = None

    def filled(self, stands: Mapping[Gap, bytes]) -> bytes:
        """The text with its gaps filled, and with its stream."""
        text = self.text % tuple(map(stands.__getitem__, self.gaps))
        return text if self.stream is None else streamed(text, self.stream)


def streamed(entries: bytes, data: bytes) -> bytes:
    """A stream with the entries of its dictionary, the length apart: `<< ... >>`."""
    return b"%b /Length %d >>\nstream\n%b\nendstream" % (entries[:-2].rstrip(), len(data), data)


def taken(pdf: Pdf, roots: Iterable[Object], known: Callable[[Object], str | None]) -> tuple[list[Text], list[Gap]]:
    """Objects and all that they lead to, numbered from 0 in the order in which they are come by; and what stands for each of the roots.

    `known` names the place that stands for an object which is not taken over; None takes it.
    """
    met = Met(pdf, known)
    led = [met.number(root) for root in roots]
    return met.texts(), led


class Met:
    """The objects of one file that were come by so far."""

    def __init__(self, pdf: Pdf, known: Callable[[Object], str | None]) -> None:
        self._pdf, self._known = pdf, known
        self._numbers: dict[tuple[int, int], Gap] = {}
        self._waiting: list[Object] = []

    def number(self, one: Object) -> Gap:
        """What stands for an object that others lead to."""
        return self._number(one.objgen)

    def _number(self, own: tuple[int, int]) -> Gap:
        found = self._numbers.get(own)
        if found is None:
            one = self._pdf.get_object(own)
            place = self._known(one)
            found = len(self._waiting) if place is None else place
            if place is None:
                self._waiting.append(one)
            self._numbers[own] = found
        return found

    def texts(self) -> list[Text]:
        """All of them, and those that they lead to."""
        texts: list[Text] = []
        while len(texts) < len(self._waiting):
            texts.append(self.text(self._waiting[len(texts)]))
        return texts

    def text(self, one: Object) -> Text:
        """One of them, or a value that is no object of its own."""
        stream: bytes | None = None
        entries: Any = one
        if isinstance(one, Stream):
            stream = one.read_raw_bytes()
            entries = Dictionary({key: value for key, value in one.stream_dict.items() if key != "/Length"})
        gaps: list[Gap] = []

        def gap(match: re.Match[bytes]) -> bytes:
            number, generation, place = match.groups()
            if number is not None:
                gaps.append(self._number((int(number), int(generation))))
            elif place is not None:
                gaps.append(place.decode())
            else:
                return match[0]
            return b"%b"

        told = entries.unparse(resolved=True).replace(b"%", b"%%")
        return Text(_GAPS.sub(gap, told), tuple(gaps), stream)


def file_of(objects: Sequence[bytes], catalogue: bytes, about: bytes, named: bytes) -> bytes:
    """A file of these objects, numbered from 1, with references to the catalogue and to what is told about the file.

    `named`: the first half of its identifier; the second one is made of all that is in it, but of long objects by a sum only.
    """
    parts, places, here = [HEADER], [], len(HEADER)
    told = hashlib.sha256()
    for number, one in enumerate(objects, start=1):
        head = b"%d 0 obj\n" % number
        places.append(here)
        here += len(head) + len(one) + len(END_OF_OBJECT)
        parts += (head, one, END_OF_OBJECT)
        told.update(b"%d %d" % (len(one), zlib.crc32(one)) if len(one) > _LONG else one)
    table = b"".join([b"%010d 00000 n \n" % place for place in places])
    size, own = len(objects) + 1, told.hexdigest()[:32].encode()
    parts.append(b"xref\n0 %d\n0000000000 65535 f \n%b" % (size, table))
    parts.append(b"trailer\n<< /ID [ <%b> <%b> ] /Info %b /Root %b /Size %d >>\n" % (named.hex().encode(), own, about, catalogue, size))
    parts.append(b"startxref\n%d\n%%%%EOF\n" % here)
    return b"".join(parts)
