"""The description of the API: the committed copy is the app's, the pages' types come from it, and the app keeps to it."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask_openapi3 import OpenAPI
from hypothesis import HealthCheck, given, settings

from annotator.library import Library
from annotator.server import Config, close, create_app
from annotator.server.describe import description

schemathesis = pytest.importorskip("schemathesis", reason="schemathesis is not installed; it tries the API against its description")
positive_data_acceptance = pytest.importorskip("schemathesis.specs.openapi.checks").positive_data_acceptance
WEB = Path(__file__).resolve().parents[2] / "web"


def test_the_committed_description_is_that_of_the_app() -> None:
    told = "write it anew: python -m annotator.server.describe > web/openapi.json, then npm run types in web/"
    assert (WEB / "openapi.json").read_text("utf-8") == description(), told


def test_the_types_of_the_pages_are_made_from_the_committed_description(tmp_path: Path) -> None:
    maker = WEB / "node_modules" / ".bin" / "openapi-typescript"
    if not maker.exists() or shutil.which("node") is None:
        pytest.skip("the packages of web/ or Node are not installed; npm ci in web/ installs them")
    out = tmp_path / "described.d.ts"
    subprocess.run([maker, WEB / "openapi.json", "--default-non-nullable", "false", "-o", out], check=True, capture_output=True, cwd=WEB)
    assert (WEB / "src" / "described.d.ts").read_text("utf-8") == out.read_text("utf-8"), "run npm run types in web/"


@pytest.fixture
def api_app(library: Library, drafted: str) -> Iterator[OpenAPI]:
    app = create_app(Config(library, work=False))
    yield app
    close(app)


def operations() -> list[tuple[str, str]]:
    paths = json.loads((WEB / "openapi.json").read_text("utf-8"))["paths"]
    return [(path, method) for path, methods in paths.items() for method in methods]


@pytest.mark.parametrize(("path", "method"), operations(), ids=lambda part: part.strip("/"))
def test_every_answer_is_as_described(api_app: OpenAPI, path: str, method: str) -> None:
    operation = schemathesis.openapi.from_wsgi("/openapi/openapi.json", api_app)[path][method.upper()]

    @given(case=operation.as_strategy())
    @settings(max_examples=8, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck))
    def as_described(case: Any) -> None:
        # Not every sentence of refusal can stand in a schema: a name that no upload has, edits that do not fit the course.
        case.call_and_validate(excluded_checks=[positive_data_acceptance])

    as_described()
