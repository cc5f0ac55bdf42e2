"""What H.264 packets say beside the picture (SEI messages), left out: cameras write place, device and time of day there.

Camcorders keep date and GPS position in "user data unregistered" messages, encoders their name and settings; pictures need none of it. The
one message that stays is the recovery point, by which a decoder may begin at a frame that is no IDR picture. Pure: bytes in, bytes out.

References
----------
ITU-T H.264, 7.3.1 (NAL units, emulation prevention), 7.3.2.3 (SEI), annex B (byte stream), annex D (payload types); ISO/IEC 14496-15,
5.3.3 (packets with lengths in front).
"""

from __future__ import annotations

import re
from collections.abc import Iterator

SEI = 6
RECOVERY_POINT = 6
_START = re.compile(rb"\x00{2,}\x01")
_HIDDEN = re.compile(rb"\x00\x00\x03")
_TO_HIDE = re.compile(rb"\x00\x00(?=[\x00-\x03])")


def length_size(extradata: bytes | None) -> int | None:
    """Bytes of the length in front of each NAL unit, as a track's avcC box says; None where the track is a byte stream (annex B).

    >>> length_size(bytes([1, 100, 0, 31, 0xFF])), length_size(bytes([0, 0, 0, 1, 0x67])), length_size(None)
    (4, None, None)
    """
    return (extradata[4] & 3) + 1 if extradata and len(extradata) > 4 and extradata[0] == 1 else None


def without_remarks(packet: bytes, size: int | None) -> bytes:
    """A packet without its SEI messages but recovery points; the same bytes where it has no others.

    `size` is what `length_size` gave for the track. A packet that is not built as it says stays as it is.
    """
    units = list(_with_lengths(packet, size) if size else _from_start_codes(packet))
    if not any(unit[0] & 31 == SEI for unit in units):
        return packet
    kept = [unit for each in units if (unit := _recovery_alone(each) if each[0] & 31 == SEI else each)]
    return b"".join((len(unit).to_bytes(size, "big") if size else b"\0\0\0\1") + unit for unit in kept)


def _with_lengths(packet: bytes, size: int) -> Iterator[bytes]:
    at = 0
    while at + size < len(packet):
        end = at + size + int.from_bytes(packet[at : at + size], "big")
        if unit := packet[at + size : end]:
            yield unit
        at = end


def _from_start_codes(packet: bytes) -> Iterator[bytes]:
    return (unit for each in _START.split(packet) if (unit := each.rstrip(b"\0")))


def _recovery_alone(unit: bytes) -> bytes:
    """The SEI unit with its recovery point alone; empty where it has none."""
    body, at, kept = _HIDDEN.sub(b"\0\0", unit[1:]), 0, b""
    while at + 2 <= len(body) and body[at:] != b"\x80":
        begin = at
        kind, at = _number(body, at)
        length, at = _number(body, at)
        at += length
        if kind == RECOVERY_POINT:
            kept += body[begin:at]
    return unit[:1] + _TO_HIDE.sub(b"\0\0\3", kept + b"\x80") if kept else b""


def _number(body: bytes, at: int) -> tuple[int, int]:
    """A number of an SEI message (255 for each full byte, then the rest) and where it ends."""
    number = 0
    while at < len(body) and body[at] == 255:
        number, at = number + 255, at + 1
    return number + (body[at] if at < len(body) else 0), at + 1
