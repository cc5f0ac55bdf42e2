"""Who may write, and what a browser may do with our answers.

There are no accounts yet and the app listens on this machine alone by default. Other machines get the booklets and editions only, unless
the staff pages were opened to them on purpose. And no other web page open in the same browser can write, frame or read: same-origin writes
only, names of the host where they are known, and headers that say so.
"""

from __future__ import annotations

from ipaddress import ip_address
from urllib.parse import urlsplit

from flask import Flask, Response, abort, request

WRITES = frozenset({"POST", "PUT", "PATCH", "DELETE"})
STAFF_POLICY = (
    "default-src 'self'; img-src 'self' data: blob:; media-src 'self' blob:; style-src 'self' 'unsafe-inline'; "
    "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
"""Styles may stand in the page (the drawing of marks carries some); scripts may not."""
BOOKLET_POLICY = (
    "default-src 'self'; img-src 'self' data:; media-src 'self'; style-src 'self' 'unsafe-inline'; script-src 'self' 'unsafe-inline'; "
    "object-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'self'"
)
"""A booklet also opens from a folder without a server, so what it needs may stand in its pages."""


READERS = ("/booklet/", "/editions/", "/films/")
"""What other machines may open: published things, with faces blurred."""


def register(app: Flask, hosts: tuple[str, ...], staff_elsewhere: bool) -> None:
    """Guard every request of the app, and mark every answer.

    `hosts` (without port) are the names it answers to, empty for any; `staff_elsewhere` opens the staff pages to other machines too.
    """

    def check() -> None:
        if not staff_elsewhere and not from_this_machine(request.remote_addr) and not request.path.startswith(READERS):
            abort(403)
        if hosts and (urlsplit(f"//{request.host}").hostname or "") not in hosts:
            abort(421)  # another name that was made to point at this machine (DNS rebinding)
        if request.method in WRITES and not from_our_pages(
            request.headers.get("Sec-Fetch-Site"), request.headers.get("Origin"), request.host
        ):
            abort(403)

    def mark(response: Response) -> Response:
        response.headers.setdefault("Content-Security-Policy", BOOKLET_POLICY if request.path.startswith("/booklet/") else STAFF_POLICY)
        response.headers.setdefault("X-Content-Type-Options", "nosniff")
        response.headers.setdefault("Referrer-Policy", "same-origin")
        response.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        response.headers.setdefault("Cross-Origin-Opener-Policy", "same-origin")
        response.headers.setdefault("Cache-Control", "no-cache")
        return response

    app.before_request(check)
    app.after_request(mark)


def from_this_machine(address: str | None) -> bool:
    """Whether a request comes from the machine that serves; no address at all (a test client, a socket) is this machine.

    >>> from_this_machine("127.0.0.1"), from_this_machine("::1"), from_this_machine("192.168.1.20"), from_this_machine("nonsense")
    (True, True, False, False)
    """
    if not address:
        return True
    try:
        return ip_address(address).is_loopback
    except ValueError:
        return False


def from_our_pages(site: str | None, origin: str | None, host: str) -> bool:
    """Whether a writing request comes from our own pages, or from a program that is no browser (it sends neither header).

    >>> from_our_pages("same-origin", None, "gym:8017"), from_our_pages("cross-site", None, "gym:8017")
    (True, False)
    >>> from_our_pages(None, "http://gym:8017", "gym:8017"), from_our_pages(None, "null", "gym:8017"), from_our_pages(None, None, "gym")
    (True, False, True)
    """
    if site is not None:
        return site in ("same-origin", "none")
    return origin is None or urlsplit(origin).netloc == host
