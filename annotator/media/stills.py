"""Choose the frames that show a moment best: sharp, steady, and not two alike.

In: luma arrays with their times, one after the other. Out: which of them to keep. Opens nothing; decoding is scan.py's.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Generic, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from annotator.units import clock

Gray = NDArray[np.uint8]
Small = NDArray[np.float32]

BAND_PX = 72  # rows at a time: what fits the processor's cache is three times as fast
SMALL_PX = (160, 90)
ENOUGH_PX = 640  # of a wider picture only every second, third, ... pixel goes into its small version
COARSE_SHARE = 4  # likeness looks at a quarter of that, so that a hand's tremble does not count
ALIKE = 0.85  # correlation of two coarse pictures above which they show the same: Debian's vtest.avi (people walking through one view)
# stays above 0.88 for 15 s, its tree.avi (a camera in the hand) above 0.83 for 2 s
STEADY = 0.10  # widths a second: speed of the picture at which a steady frame counts half; common practice, no published source
TREMBLE = 0.004  # widths from frame to frame that blur and noise alone make of a standing picture: with it taken off, the least blurred of
# 15 frames is found in 85 % of windows instead of 75 % (noise 6: 78 instead of 60 %), scripts/bench/stills.py
APART_S = 0.2  # neighbours this close are one moment
SPARE = 4  # moments kept for each one wanted, so that a better one may still come

Thing = TypeVar("Thing")


def sharpness(gray: Gray) -> float:
    """Focus measure of one frame: the variance of its Laplacian. Higher is sharper.

    Parameters
    ----------
    gray : (H, W) uint8 array, H and W at least 3
        Luma; not smoothed before.

    Returns
    -------
    float
        In squared grey levels; exactly 0 for a frame of one grey. Compare only frames of one size.

    Raises
    ------
    ValueError
        `gray` has a channel axis or is smaller than 3 x 3.

    References
    ----------
    Pech-Pacheco et al., "Diatom autofocusing in brightfield microscopy", ICPR 2000.

    Examples
    --------
    >>> sharpness(np.full((8, 8), 90, np.uint8))
    0.0
    """
    if gray.ndim != 2 or min(gray.shape) < 3:
        raise ValueError(f"sharpness is measured on one plane of at least 3 x 3 pixels, not on {gray.shape}")
    squares = total = 0.0
    for top in range(0, gray.shape[0], BAND_PX):
        above, below = min(top, 1), min(top + BAND_PX, gray.shape[0])
        laplacian = cv2.Laplacian(gray[top - above : below + 1], cv2.CV_16S, ksize=1)[above : above + below - top]
        squares += cv2.norm(laplacian, cv2.NORM_L2) ** 2
        total += cv2.sumElems(laplacian)[0]
    mean = total / gray.size
    return max(0.0, float(squares / gray.size - mean * mean))


def contrast(gray: Gray) -> float:
    """The variance of a frame's luma, in squared grey levels: sharpness divided by it compares frames of different content."""
    _, deviation = cv2.meanStdDev(gray)
    return float(deviation[0, 0] * deviation[0, 0])


def shrink(gray: Gray) -> Small:
    """A small version to measure shifts by, 160 x 90 (or as much upright), float32."""
    size = SMALL_PX if gray.shape[1] >= gray.shape[0] else SMALL_PX[::-1]
    step = max(1, max(gray.shape) // ENOUGH_PX)
    return cv2.resize(np.ascontiguousarray(gray[::step, ::step]), size, interpolation=cv2.INTER_AREA).astype(np.float32)


def gist(small: Small) -> Small:
    """What a small version shows, coarsely, as a vector of length 1 and mean 0 (all 0 for one grey): to compare views by."""
    size = small.shape[1] // COARSE_SHARE, small.shape[0] // COARSE_SHARE
    coarse = cv2.resize(small, size, interpolation=cv2.INTER_AREA).astype(np.float32).reshape(-1)
    coarse -= coarse.mean()
    length = float(np.linalg.norm(coarse))
    return coarse / np.float32(length) if length > 1e-3 else np.zeros_like(coarse)


def shift(earlier: Small, later: Small) -> float:
    """How far the whole picture moved between two small frames, as a share of its width. 0 for two equal ones."""
    if not earlier.std() or not later.std():
        return 0.0
    height, width = earlier.shape
    window = cv2.createHanningWindow((width, height), cv2.CV_32F)
    (across, down), _ = cv2.phaseCorrelate(earlier.copy(), later.copy(), window)  # it multiplies the window into what it is given
    return float(np.hypot(across, down) / width)


def speed(earlier: Small, later: Small, apart_s: float) -> float:
    """Widths a second at which the picture moves between two small frames; what blur and noise alone would look like counts as none."""
    return max(0.0, shift(earlier, later) - TREMBLE) / apart_s


def likeness(one: Small, other: Small) -> float:
    """Correlation of two pictures, given by their gists, -1 to 1; 1 for two equal ones, also where both are of one grey."""
    if one.any() or other.any():
        return float(np.vdot(one, other))
    return 1.0


@dataclass(frozen=True)
class Scored(Generic[Thing]):
    """A frame with what was measured of it. `speed` is in widths a second; `score` grows with sharpness and falls with speed."""

    time_s: float
    sharp: float
    speed: float
    gist: Small
    thing: Thing

    @property
    def score(self) -> float:
        """Sharpness against the picture's contrast, halved where the picture moves as fast as `STEADY`."""
        return self.sharp / (1.0 + self.speed / STEADY)


@dataclass
class Best(Generic[Thing]):
    """Keeps the best moments of one window while its frames go by, no two of them alike.

    Takes memory for `SPARE` frames a wanted one, however long the window is.
    """

    count: int
    kept: list[Scored[Thing]] = field(default_factory=list)
    scores: list[float] = field(default_factory=list)
    first_s: float | None = None
    last_s: float | None = None

    def add(self, new: Scored[Thing]) -> None:
        """Look at the next frame. Of two alike, or of two close in time, the better stays, and of equals the earlier."""
        self.scores.append(new.score)
        self.first_s = new.time_s if self.first_s is None else self.first_s
        self.last_s = new.time_s
        full = len(self.kept) >= SPARE * self.count
        if full and all(old.score >= new.score for old in self.kept):
            return
        rivals = [old for old in self.kept if new.time_s - old.time_s < APART_S or likeness(old.gist, new.gist) > ALIKE]
        if any(old.score >= new.score for old in rivals):
            return
        self.kept = [old for old in self.kept if not any(old is rival for rival in rivals)]
        self.kept.append(new)
        if len(self.kept) > SPARE * self.count:
            self.kept.remove(min(self.kept, key=lambda each: (each.score, -each.time_s)))

    def chosen(self) -> list[Scored[Thing]]:
        """At most `count` moments, the best first."""
        return sorted(self.kept, key=lambda each: (-each.score, each.time_s))[: self.count]

    def why(self, pick: Scored[Thing]) -> str:
        """In words, why this one was picked.

        The words name what was compared, so that a person can look for a better one where the program had little to choose from.
        """
        if len(self.scores) < 2 or self.first_s is None or self.last_s is None:
            return "the only frame there"
        better = sum(score < pick.score for score in self.scores)
        moving = "the camera still" if pick.speed < STEADY / 4 else "the camera steady" if pick.speed < STEADY else "the camera moving"
        span = f"between {clock(self.first_s)} and {clock(self.last_s)}"
        return f"sharper and steadier than {better} of {len(self.scores) - 1} other frames {span}, {moving}"
