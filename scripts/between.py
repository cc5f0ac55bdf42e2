"""Write a fit that lies between two others: what encoder.py reads by it are the weights `SHARE` of the way from ONE to OTHER.

    between.py ONE OTHER SHARE -o FILE [--sooner MAP ODDS...]

A mixture of an earlier fit and a later one forgets less than the later one (Wortsman et al. 2022, arXiv:2109.01903). Corrections keep
their rank each, so that the mean is exact; maps that only one of the two has are taken as they are. `--sooner` adds log odds to a map's
answers.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from safetensors.numpy import load_file, save_file

Fit = Mapping[str, NDArray[np.float16]]


def between(one: Fit, other: Fit, share: float) -> dict[str, NDArray[np.float16]]:
    """The mixture, with 11 bits of mantissa."""
    out: dict[str, NDArray[np.float16]] = {}
    for name in one.keys() | other.keys():
        if name not in one or name not in other:
            out[name] = one[name] if name in one else other[name]
            continue
        a, b = one[name].astype(np.float32), other[name].astype(np.float32)
        if name.endswith(".down"):
            out[name] = np.concatenate([a, b], axis=1).astype(np.float16)
        elif name.endswith(".up"):
            out[name] = np.concatenate([a * (1 - share), b * share]).astype(np.float16)
        else:
            out[name] = (a * (1 - share) + b * share).astype(np.float16)
    return out


def sooner(fit: Fit, name: str, odds: Sequence[float]) -> dict[str, NDArray[np.float16]]:
    """The fit with log odds added to the answers of a map."""
    bias = f"{name}.bias"
    return {**fit, bias: (fit[bias].astype(np.float32) + np.array(odds, dtype=np.float32)).astype(np.float16)}


def main() -> int:
    """Read, mix, write."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("one", type=Path)
    parser.add_argument("other", type=Path)
    parser.add_argument("share", type=float)
    parser.add_argument(
        "--sooner", nargs="+", action="append", default=[], metavar=("MAP", "ODDS"), help="a map, and what is added to each of its answers"
    )
    parser.add_argument("-o", "--out", type=Path, required=True)
    given = parser.parse_args()
    fit = between(load_file(given.one), load_file(given.other), given.share)
    for name, *odds in given.sooner:
        fit = sooner(fit, name, [float(each) for each in odds])
    save_file(dict(sorted(fit.items())), given.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
