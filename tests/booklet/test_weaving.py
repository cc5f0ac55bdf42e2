"""Templates are compiled once and kept as compiled; whatever lies there, or cannot, the page is the same."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from jinja2 import Environment
from jinja2.bccache import bc_magic

from annotator.booklet.site.weaving import CompiledTemplates, woven

SLIP = "epub-container.xml"


def rendered(environment: Environment) -> str:
    return environment.get_template(SLIP).render()


def test_a_second_process_takes_templates_as_they_were_compiled(tmp_path: Path) -> None:
    anew = rendered(woven(None))
    assert rendered(woven(CompiledTemplates(str(tmp_path)))) == anew
    (kept,) = tmp_path.iterdir()
    written = kept.stat().st_mtime_ns
    assert rendered(woven(CompiledTemplates(str(tmp_path)))) == anew
    assert kept.stat().st_mtime_ns == written and list(tmp_path.iterdir()) == [kept]


@pytest.mark.parametrize("content", [b"", b"not compiled", b"\x00" * 4096, bc_magic + b"cno_such_module\nname\n."])
def test_a_damaged_one_is_compiled_again(tmp_path: Path, content: bytes) -> None:
    anew = rendered(woven(CompiledTemplates(str(tmp_path))))
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    for damaged in (content, *(whole[: len(whole) * part // 16] for part in range(1, 16)), whole[:20], whole[:25]):
        kept.write_bytes(damaged)
        assert rendered(woven(CompiledTemplates(str(tmp_path)))) == anew
        assert kept.read_bytes() == whole


def test_where_none_can_be_kept_none_is(tmp_path: Path) -> None:
    place = tmp_path / "no folder"
    place.write_text("a file is in the way")
    assert rendered(woven(CompiledTemplates(os.fspath(place / "deeper")))) == rendered(woven(None))
