"""Photos that nobody here made: Debian's opencv-doc and the scikit-image wheel. A test skips with its reason where they are missing."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
OPENCV_DOC = Path("/usr/share/doc/opencv-doc/examples/data")


def opencv_doc(name: str) -> Picture:
    path = OPENCV_DOC / name
    if not path.is_file():
        pytest.skip("Debian's package opencv-doc is not installed")
    found = cv2.imread(str(path), cv2.IMREAD_COLOR)
    assert found is not None
    return np.asarray(cv2.cvtColor(found, cv2.COLOR_BGR2RGB), dtype=np.uint8)


def skimage(name: str) -> Picture:
    data = pytest.importorskip("skimage.data", reason="scikit-image is not installed")
    return np.asarray(getattr(data, name)(), dtype=np.uint8)
