"""A network as onnxruntime reads it, written in memory.

In: the network's steps in order and the sizes of the arrays that stand in it. Out: the bytes of an ONNX model: the messages and field
numbers of onnx.proto3 (the ONNX standard, IR version 8) in Protocol Buffers' wire format. It is the little of both that encoder.py needs.
The arrays themselves are handed to onnxruntime beside the model and never copied into it.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

OWN = "com.microsoft"
"""Domain of the steps that onnxruntime has beside the standard's."""
_OPSETS = {"": 17, OWN: 1}
_FLOAT = 1  # of TensorProto.DataType


@dataclass(frozen=True, slots=True)
class Step:
    """One operation: what it is called, what it reads, what it makes, and its settings."""

    does: str
    reads: Sequence[str]
    makes: str
    settings: Mapping[str, int | float] = field(default_factory=dict)
    domain: str = ""


def written(steps: Sequence[Step], arrays: Mapping[str, tuple[int, ...]], reads: str, makes: str, width: int) -> bytes:
    """A model that reads one array, (1, any number, width), and makes another of that shape.

    Parameters
    ----------
    steps
        In an order in which each reads what is there.
    arrays
        Sizes of the weights by the names under which steps read them.
    reads, makes
        Names of the array that goes in and of the one that comes out.
    width
        Their last size.
    """
    graph = [_field(1, _step(step)) for step in steps]
    graph.append(_field(2, "graph"))
    graph += [_field(5, _tensor(name, sizes)) for name, sizes in arrays.items()]
    graph += [_field(number, _value(name, width)) for number, name in ((11, reads), (12, makes))]
    opsets = [_field(8, _field(1, domain) + _field(2, version)) for domain, version in _OPSETS.items()]
    return _field(1, 8) + _field(7, b"".join(graph)) + b"".join(opsets)


def _step(step: Step) -> bytes:
    told = [_field(1, name) for name in step.reads] + [_field(2, step.makes), _field(4, step.does)]
    told += [_field(5, _setting(name, value)) for name, value in step.settings.items()]
    return b"".join(told) + _field(7, step.domain)


def _setting(name: str, value: float) -> bytes:
    """A whole number (type 2) or another one (type 1)."""
    if isinstance(value, int):
        return _field(1, name) + _field(3, value) + _field(20, 2)
    return _field(1, name) + _number(2 << 3 | 5) + struct.pack("<f", value) + _field(20, 1)


def _tensor(name: str, sizes: Sequence[int]) -> bytes:
    """An array that is kept outside the model (data location 1)."""
    outside = _field(13, _field(1, "location") + _field(2, "beside"))
    return b"".join(_field(1, size) for size in sizes) + _field(2, _FLOAT) + _field(8, name) + outside + _field(14, 1)


def _value(name: str, width: int) -> bytes:
    sizes = (_field(1, 1), _field(2, "n"), _field(1, width))
    shape = b"".join(_field(1, size) for size in sizes)
    return _field(1, name) + _field(2, _field(1, _field(1, _FLOAT) + _field(2, shape)))


def _field(number: int, value: int | str | bytes) -> bytes:
    """A field with its number: a whole number not below 0, or bytes with how many they are."""
    if isinstance(value, int):
        return _number(number << 3) + _number(value)
    told = value.encode() if isinstance(value, str) else value
    return _number(number << 3 | 2) + _number(len(told)) + told


def _number(value: int) -> bytes:
    """Seven bits a byte, the lowest first; the eighth says that more follow.

    >>> _number(300)
    b'\\xac\\x02'
    """
    out = bytearray()
    while value > 127:
        out.append(value & 127 | 128)
        value >>= 7
    return bytes((*out, value))
