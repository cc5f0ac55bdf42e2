"""The maker of the demo walk lives in scripts/, beside the package: make it importable from the root of the repository."""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = str(Path(__file__).resolve().parents[2])
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)
