"""The tests' own server: what a browser leaves in the middle is closed at once, not when the collector comes by."""

from __future__ import annotations

import socket
import struct
from collections.abc import Iterator
from threading import Event
from typing import TYPE_CHECKING

from tests.server.browsing import on_a_port

if TYPE_CHECKING:
    from _typeshed.wsgi import StartResponse, WSGIEnvironment

RESET = struct.pack("ii", 1, 0)
"""SO_LINGER of no time: closing a socket resets the connection."""


class Answer:
    """One piece, after which the browser goes away; it is known whether it was closed."""

    def __init__(self) -> None:
        self.gone = Event()
        self.closed = Event()

    def __iter__(self) -> Iterator[bytes]:
        yield bytes(1024)
        self.gone.wait(300)

    def close(self) -> None:
        self.closed.set()


def test_an_answer_is_closed_when_the_browser_resets_the_connection() -> None:
    answer = Answer()

    def app(_environ: WSGIEnvironment, start_response: StartResponse) -> Answer:
        start_response("200 OK", [("Content-Type", "application/octet-stream"), ("Content-Length", "1024")])
        return answer

    with on_a_port(app) as port, socket.create_connection(("127.0.0.1", port)) as browser:
        browser.sendall(b"GET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
        assert browser.recv(64)
        browser.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, RESET)
        browser.close()
        answer.gone.set()
        assert answer.closed.wait(60)
