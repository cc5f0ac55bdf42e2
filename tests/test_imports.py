"""Imports go down the floors, never up, never sideways between folders of one floor, and never into another folder's inside."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "annotator"
FLOORS = (
    ("errors", "units", "fonts"),
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
