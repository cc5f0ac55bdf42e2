"""QR codes for paper: never printed with smaller modules than a phone reads at arm's length.

In: an address. Out: the code as SVG with its quiet zone, and the side that it needs. Where it stands is the templates'.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import segno

LEAST_MODULE_MM = 0.4
"""The narrowest module on a card: near GS1's 0.396 mm for codes read by hand; ISO/IEC 18004 itself names none."""
QUIET_MODULES = 4
"""Light modules on each side; ISO/IEC 18004."""


@dataclass(frozen=True)
class Code:
    """A QR code: `modules` along one side, quiet zone and all."""

    svg: bytes
    modules: int

    def side_mm(self, wanted_mm: float, module_mm: float = LEAST_MODULE_MM) -> float:
        """The side to print it at: as wanted, or larger where its modules would be narrower than `module_mm`."""
        return max(wanted_mm, self.modules * module_mm)


def code_of(address: str) -> Code:
    """The address as a QR code of at least level M (15 % of it may be lost).

    >>> code_of("https://lane.example/open/station-12.html").modules
    37
    """
    made = segno.make(address, error="m", micro=False)
    out = io.BytesIO()
    made.save(out, kind="svg", border=QUIET_MODULES, dark="#000", light="#fff", xmldecl=False, scale=1)
    return Code(out.getvalue(), int(made.symbol_size(border=QUIET_MODULES)[0]))
