"""What H.264 packets say beside the picture goes; the pictures stay. Peers: ffmpeg's own bitstream filters, which put it in and tell it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from annotator.media import write_proxy
from annotator.media.sei import SEI, without_remarks
from tests.media.makers import make_clip, steady

needs_ffmpeg = pytest.mark.skipif(shutil.which("ffmpeg") is None, reason="ffmpeg is not installed; it writes and tells SEI messages")
PLACE = "086f3693-b7b3-4f2c-9653-21492feee5b8+N37.3349 W122.0090 Invented Phones"
OPEN_GOP = {"x264-params": "open-gop=1:keyint=12:bframes=2:scenecut=0", "preset": "veryfast"}


def pictures(path: Path) -> list[Any]:
    with av.open(str(path)) as container:
        return [frame.to_ndarray(format="rgb24") for frame in container.decode(video=0)]


def payloads(path: Path) -> list[str]:
    """The kinds of SEI message in a file, as ffmpeg's trace of the bit stream names them."""
    command = ["ffmpeg", "-v", "trace", "-i", str(path), "-c:v", "copy", "-an", "-bsf:v", "trace_headers", "-f", "null", "-"]
    told = subprocess.run(command, capture_output=True, check=True, text=True, errors="replace").stderr
    return re.findall(r"payload_type(?:_byte)? +[01]+ = (\d+)", told)


@needs_ffmpeg
@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".ts"])
def test_place_and_device_in_the_packets_of_a_copied_clip_are_left_out(tmp_path: Path, suffix: str) -> None:
    plain = make_clip(tmp_path / "plain.mp4", steady(60), options=OPEN_GOP)
    source, out = tmp_path / f"walk{suffix}", tmp_path / "proxy.mp4"
    put_in = ["ffmpeg", "-v", "error", "-i", str(plain), "-c", "copy", "-bsf:v", f"h264_metadata=sei_user_data={PLACE}", str(source)]
    subprocess.run(put_in, check=True)
    assert b"Invented Phones" in source.read_bytes() and {"5", "6"} <= set(payloads(source))
    assert write_proxy(source, out) is False
    data = out.read_bytes()
    assert [mark for mark in (b"Invented", b"N37.3349", b"x264") if mark in data] == []
    assert set(payloads(out)) == {"6"}, "only recovery points stay: a player may begin at each of them"
    before, after = pictures(source), pictures(out)
    assert len(after) == len(before) == 60
    assert all(np.array_equal(one, other) for one, other in zip(before, after, strict=True))


units = st.lists(
    st.tuples(st.sampled_from([1, 5, 7, 8]), st.binary(max_size=20)).map(
        lambda made: bytes([made[0]]) + made[1].replace(b"\0", b"\2") + b"\x80"
    ),
    max_size=6,
)
messages = st.lists(st.tuples(st.integers(0, 300), st.binary(max_size=300)), max_size=4)


def sei(told: list[tuple[int, bytes]]) -> bytes:
    """A SEI unit as the standard spells it, with its bytes hidden where they would look like a start."""
    body = b"".join(number(kind) + number(len(payload)) + payload for kind, payload in told) + b"\x80"
    hidden, zeros = bytearray(), 0
    for byte in body:
        if zeros >= 2 and byte <= 3:
            hidden.append(3)
            zeros = 0
        hidden.append(byte)
        zeros = zeros + 1 if byte == 0 else 0
    return bytes([SEI]) + bytes(hidden)


def number(value: int) -> bytes:
    return b"\xff" * (value // 255) + bytes([value % 255])


@given(before=units, told=messages, after=units, size=st.sampled_from([None, 2, 4]))
def test_every_other_unit_stays_and_of_messages_the_recovery_points(
    before: list[bytes], told: list[tuple[int, bytes]], after: list[bytes], size: int | None
) -> None:
    def packet(all_units: list[bytes]) -> bytes:
        return b"".join((len(unit).to_bytes(size, "big") if size else b"\0\0\0\1") + unit for unit in all_units)

    recovery = [each for each in told if each[0] == 6]
    expected = packet([*before, *([sei(recovery)] if recovery else []), *after])
    assert without_remarks(packet([*before, sei(told), *after]), size) == expected


@given(st.binary(max_size=60), st.sampled_from([None, 1, 2, 4]))
def test_bytes_that_are_no_packet_break_nothing(data: bytes, size: int | None) -> None:
    without_remarks(data, size)
