"""Small repeating pictures that are laid over the solids: wood, brick, cloth, a sports floor, a net. Seeded noise, brightness only."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

SIZE = 256


def layers() -> NDArray[np.uint8]:
    """(7, SIZE, SIZE, 2): brightness (128 is unchanged) and cover (0 is see-through), one layer a texture number of solids.py."""
    rng = np.random.default_rng(11)
    grain = _smooth(rng.normal(size=(SIZE, SIZE)), 1.2)
    y, x = np.mgrid[0:SIZE, 0:SIZE]
    found = np.full((7, SIZE, SIZE), 128.0)
    found[0] += 2 * grain
    found[1] += 14 * _stretch(rng, 18) + 2 * grain
    row = y // 32
    joint = (y % 32 < 3) | ((x + 32 * (row % 2)) % 64 < 3)
    brick = rng.normal(size=(SIZE // 32, SIZE // 64 + 1))[row, ((x + 32 * (row % 2)) // 64) % (SIZE // 64)]
    found[2] += np.where(joint, 16, 9 * brick) + 2.5 * grain
    found[3] += 10 * ((x // 4 + y // 4) % 2) - 5 + 6 * _smooth(rng.normal(size=(SIZE, SIZE)), 6)
    plank = rng.normal(size=(8,))[y // 32]
    found[4] += 9 * plank + 6 * _stretch(rng, 30) - 24 * (y % 32 < 1) + 1.5 * grain
    cover = np.full((7, SIZE, SIZE), 255.0)
    strand = (y % 64 < 11) | (x % 64 < 11)
    cover[5] = np.where(strand, 255, 0)
    found[5] += 10 * grain
    return np.stack([found, cover], axis=-1).clip(0, 255).astype(np.uint8)


def _smooth(noise: NDArray[np.float64], sigma: float) -> NDArray[np.float64]:
    """Noise low-passed without a seam, unit spread."""
    fy, fx = np.fft.fftfreq(SIZE)[:, None], np.fft.fftfreq(SIZE)[None, :]
    soft = np.fft.ifft2(np.fft.fft2(noise) * np.exp(-2 * (np.pi * sigma) ** 2 * (fx**2 + fy**2))).real
    result: NDArray[np.float64] = soft / soft.std()
    return result


def _stretch(rng: np.random.Generator, length: float) -> NDArray[np.float64]:
    """Grain that runs along x."""
    fy, fx = np.fft.fftfreq(SIZE)[:, None], np.fft.fftfreq(SIZE)[None, :]
    kernel = np.exp(-2 * np.pi**2 * ((length * fx) ** 2 + (0.9 * fy) ** 2))
    soft = np.fft.ifft2(np.fft.fft2(rng.normal(size=(SIZE, SIZE))) * kernel).real
    result: NDArray[np.float64] = soft / soft.std()
    return result
