"""Only our own pages may write; names of the host are checked; every answer says what a browser may do with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from annotator.library import Library
from annotator.server import Config, close, create_app

Client = Any  # Flask's test client; a test may find out by itself that an answer holds no JSON


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        pytest.param({}, 404, id="a-program-that-is-no-browser"),
        pytest.param({"Sec-Fetch-Site": "same-origin"}, 404, id="our-own-page"),
        pytest.param({"Origin": "http://localhost"}, 404, id="our-own-origin"),
        pytest.param({"Sec-Fetch-Site": "cross-site"}, 403, id="another-site"),
        pytest.param({"Sec-Fetch-Site": "same-site"}, 403, id="another-port-of-this-machine"),
        pytest.param({"Origin": "http://elsewhere.example"}, 403, id="another-origin"),
        pytest.param({"Origin": "null"}, 403, id="a-page-without-an-origin"),
    ],
)
def test_only_our_own_pages_and_programs_may_write(client: Client, headers: dict[str, str], status: int) -> None:
    answer = client.post("/api/courses/none/draft", json={}, headers=headers)
    assert answer.status_code == status
    if status == 403:
        assert answer.json["sentence"] == "Only the staff pages on the machine that serves may do this; other machines read the booklets."


def test_reading_is_open_to_links_from_elsewhere(client: Client) -> None:
    assert client.get("/api/courses", headers={"Sec-Fetch-Site": "cross-site"}).status_code == 200


@pytest.fixture
def local(library: Library) -> Iterator[Client]:
    app = create_app(Config(library, hosts=("localhost", "127.0.0.1", "::1"), work=False))
    yield app.test_client()
    close(app)


@pytest.mark.parametrize(
    ("host", "status"),
    [
        pytest.param("localhost:8017", 200, id="by-name"),
        pytest.param("127.0.0.1:8017", 200, id="by-number"),
        pytest.param("[::1]:8017", 200, id="by-version-six-number"),
        pytest.param("evil.example", 421, id="another-name-pointed-here"),
    ],
)
def test_a_server_on_this_machine_alone_answers_to_its_own_names_only(local: Client, host: str, status: int) -> None:
    assert local.get("/api/courses", headers={"Host": host}).status_code == status


def test_answers_forbid_foreign_scripts_frames_and_guessed_types(client: Client) -> None:
    headers = client.get("/api/courses").headers
    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy and "frame-ancestors 'none'" in policy
    assert "script-src" not in policy, "scripts fall back to default-src, which allows none inside a page"
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert "Access-Control-Allow-Origin" not in headers


@pytest.mark.parametrize("path", ["/nothing", "/api/nothing", "/app/nothing.js", "/app/../errors.py", "/app/%2e%2e/%2e%2e/app.py"])
def test_addresses_that_lead_nowhere_say_so_in_json_and_never_leave_the_folder(client: Client, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert answer.json["sentence"] == "There is nothing at this address."


def test_a_method_that_does_not_fit_keeps_its_allow_header(client: Client) -> None:
    answer = client.delete("/api/courses")
    assert answer.status_code == 405
    assert {"GET", "POST"} <= set(answer.headers["Allow"].replace(" ", "").split(","))
    assert answer.json["kind"] == "method-not-allowed"


def test_too_large_a_request_is_refused_with_what_to_do(client: Client) -> None:
    answer = client.post("/api/uploads", data=b" " * (33 * 2**20), content_type="application/json")
    assert answer.status_code == 413
    assert "Send the file in pieces" in answer.json["sentence"]


@pytest.mark.parametrize("path", ["/", "/take-in", "/api/courses", "/courses/any/clips/1.mp4"])
def test_another_machine_gets_no_staff_page_and_no_clip(client: Client, path: str) -> None:
    answer = client.get(path, environ_overrides={"REMOTE_ADDR": "192.168.1.20"})
    assert answer.status_code == 403


def test_another_machine_reads_booklets(client: Client) -> None:
    answer = client.get("/booklet/nothing-of-that-name/", environ_overrides={"REMOTE_ADDR": "192.168.1.20"})
    assert answer.status_code == 404


def test_staff_pages_are_opened_to_other_machines_on_purpose_only(library: Library) -> None:
    app = create_app(Config(library, work=False, staff_elsewhere=True))
    try:
        assert app.test_client().get("/api/courses", environ_overrides={"REMOTE_ADDR": "192.168.1.20"}).status_code == 200
    finally:
        close(app)
