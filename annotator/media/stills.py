"""Choose the frames that show a moment best: sharp, steady, and not two alike.

In: luma arrays with their times, one after the other. Out: which of them to keep. Opens nothing; decoding is scan.py's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import Generic, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

Gray = NDArray[np.uint8]
Small = NDArray[np.float32]

SMALL_PX = (160, 90)
COARSE_SHARE = 4  # likeness looks at a quarter of that, so that a hand's tremble does not count
ALIKE = 0.85  # correlation of two coarse pictures above which they show the same: Debian's vtest.avi (people walking through one view)
# stays above 0.88 for 15 s, its tree.avi (a camera in the hand) above 0.83 for 2 s
STEADY = 0.10  # widths a second: speed of the picture at which a steady frame counts half; common practice, no published source
STEP_S = 0.09  # speed is measured over at least so long (three frames of 30 a second): over one, noise counts thrice
TREMBLE = 0.004  # widths in a step that blur and noise alone make of a standing picture
APART_S = 0.2  # neighbours this close are one moment
SPARE = 4  # moments kept for each one wanted, so that a better one may still come

Thing = TypeVar("Thing")


def sharpness(gray: Gray) -> float:
    """Focus measure of one frame: Brenner's, the mean squared difference of pixels two apart, across and down. Higher is sharper.

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
    Brenner et al., "An automated microscope for cytologic research", Journal of Histochemistry and Cytochemistry 24, 1976 (from memory);
    among the measures of Pertuz, Puig and Garcia, "Analysis of focus measure operators", Pattern Recognition 46, 2013. It bears noise and
    exposure better than the variance of the Laplacian (mean excess blur .20 to .28 px instead of .50 to 1.08, speed left aside, on the data
    of scripts/bench/stills.py) and costs a fifth of it.

    Examples
    --------
    >>> sharpness(np.full((8, 8), 90, np.uint8))
    0.0
    """
    if gray.ndim != 2 or min(gray.shape) < 3:
        raise ValueError(f"sharpness is measured on one plane of at least 3 x 3 pixels, not on {gray.shape}")
    across = cv2.norm(gray[:, 2:], gray[:, :-2], cv2.NORM_L2SQR)
    down = cv2.norm(gray[2:], gray[:-2], cv2.NORM_L2SQR)
    return float((across + down) / gray.size)


def shrink(gray: Gray) -> Small:
    """A small version to measure shifts by, 160 x 90 (or as much upright), float32.

    Of a large picture only four pixels are read for each small one: as good to measure by, at a fraction of the cost.
    """
    size = SMALL_PX if gray.shape[1] >= gray.shape[0] else SMALL_PX[::-1]
    down, across = (max(1, length // (2 * small)) for length, small in zip(gray.shape, size[::-1], strict=True))
    return cv2.resize(np.ascontiguousarray(gray[::down, ::across]), size, interpolation=cv2.INTER_AREA).astype(np.float32)


def contrast(small: Small) -> float:
    """The variance of a small version, in squared grey levels: sharpness divided by it compares frames of different content."""
    _, deviation = cv2.meanStdDev(small)
    return float(deviation[0, 0] * deviation[0, 0])


def gist(small: Small) -> Small:
    """What a small version shows, coarsely, as a vector of length 1 and mean 0 (all 0 for one grey): to compare views by."""
    size = small.shape[1] // COARSE_SHARE, small.shape[0] // COARSE_SHARE
    coarse = cv2.resize(small, size, interpolation=cv2.INTER_AREA).astype(np.float32).reshape(-1)
    coarse -= coarse.mean()
    length = float(np.linalg.norm(coarse))
    return coarse / np.float32(length) if length > 1e-3 else np.zeros_like(coarse)


def shift(earlier: Small, later: Small) -> float:
    """How far the whole picture moved between two small frames, as a share of its width. 0 for two equal ones."""
    if np.ptp(earlier) == 0 or np.ptp(later) == 0:
        return 0.0
    (across, down), _ = cv2.phaseCorrelate(
        earlier.copy(), later.copy(), _fading(earlier.shape)
    )  # it multiplies the window into what it gets
    return float(np.hypot(across, down) / earlier.shape[1])


@lru_cache(maxsize=2)
def _fading(shape: tuple[int, int]) -> Small:
    """A window that lets a small picture fade towards its edges, where another part of the world comes in."""
    return np.asarray(cv2.createHanningWindow(shape[::-1], cv2.CV_32F), np.float32)


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
    """A frame with what was measured of it.

    `sharp`: sharpness against contrast, 0 for one grey. `speed`: widths a second. `gray`: its luma, for comparing views. `score` grows with
    sharpness and falls with speed.
    """

    time_s: float
    sharp: float
    speed: float
    gray: Gray
    thing: Thing

    @cached_property
    def gist(self) -> Small:
        """Made only where it is compared: most frames are beaten by a neighbour before."""
        return gist(shrink(self.gray))

    @cached_property
    def score(self) -> float:
        """Sharpness against the picture's contrast, halved where the picture moves as fast as `STEADY`."""
        return self.sharp / (1.0 + self.speed / STEADY)


def measured(frames: Iterable[tuple[float, Gray, Thing]]) -> Iterator[Scored[Thing]]:
    """Measure frames: (time, luma, whatever belongs to it), in order.

    Only one frame of each step of at least `STEP_S` is looked at for contrast and speed: the contrast holds through the step (blur, which
    lowers it, is what the frames of a step differ in), the speed is measured from step to step, of the two beside a frame the faster.
    """
    step: list[Scored[Thing]] = []  # what came since the last step's end, that frame the first
    small: Small | None = None  # of the step's first frame
    spread = 0.0
    for time_s, gray, thing in frames:
        if small is None:
            small = shrink(gray)
            spread = contrast(small)
        focus = sharpness(gray)
        step.append(Scored(time_s, _against(focus, spread), 0.0, gray, thing))
        if time_s - step[0].time_s >= STEP_S:
            following = shrink(gray)
            *gone, last = _stepped(step, small, following)
            yield from gone
            small, spread = following, contrast(following)
            step = [replace(last, sharp=_against(focus, spread))]
    if small is not None:
        yield from _stepped(step, small, shrink(step[-1].gray))


def _against(focus: float, spread: float) -> float:
    return focus / spread if spread else 0.0


def _stepped(step: Sequence[Scored[Thing]], first: Small, last: Small) -> list[Scored[Thing]]:
    if len(step) < 2:
        return list(step)
    moves = speed(first, last, step[-1].time_s - step[0].time_s)
    return [replace(frame, speed=max(frame.speed, moves)) for frame in step]


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
        close = [old for old in self.kept if new.time_s - old.time_s < APART_S]
        if any(old.score >= new.score for old in close):
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
        span = f"within {max(1, round(self.last_s - self.first_s))} s"  # a length: times of the clip are no times of the walk
        return f"sharper and steadier than {better} of {len(self.scores) - 1} other frames {span}, {moving}"
