"""A thousand phones open a published booklet within a minute, from our own server on loopback: what fails, how long a phone waits, and our
share of nginx's rate on the same files where nginx is installed (Debian: apt install nginx-light).

    python scripts/bench/phones.py LIBRARY COURSE [--phones 1000] [--within 60]

A phone asks for the course page, what that page names (style, script, fonts, thumbnails), one station and its first still, over kept
connections, with gzip. It ends by itself.
"""

from __future__ import annotations

import argparse
import asyncio
import html
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import quote, urljoin

RATE_S = 8.0
CONNECTIONS = 16


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def asked_of(folder: Path) -> list[str]:
    """What a phone fetches: paths below the booklet's folder."""
    course, station = ((folder / name).read_text("utf-8") for name in ("index.html", "station-1.html"))
    shared = re.findall(r'(?:href|src)="(assets/[^"]+)"', course)
    fonts = [f"assets/{file.name}" for file in sorted((folder / "assets").glob("*latin-?00*.woff2"))]
    thumbs = re.findall(r'<source type="image/avif" srcset="([^" ]+)"', course)
    first = re.search(r'<source type="image/avif" srcset="([^"]+)"', station)
    still = [html.unescape(first[1]).split(", ")[-1].split(" ")[0]] if first else []
    return list(dict.fromkeys(["", *shared, *fonts, *thumbs, "edition.json", "station-1.html", *still]))


class Phone:
    """One kept connection."""

    def __init__(self, port: int, host: str) -> None:
        self.port, self.host = port, host
        self.reader: asyncio.StreamReader | None = None
        self.writer: asyncio.StreamWriter | None = None

    async def get(self, path: str) -> int:
        """Fetch and return how many bytes came; raises where the answer is not 200."""
        if self.writer is None or self.reader is None:
            self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port)
        self.writer.write(f"GET {path} HTTP/1.1\r\nHost: {self.host}\r\nAccept-Encoding: gzip\r\n\r\n".encode())
        head = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        if " 200 " not in head.splitlines()[0]:
            raise ConnectionError(f"{path}: {head.splitlines()[0]}")
        length = re.search(r"(?i)content-length: (\d+)", head)
        if length is None:
            raise ConnectionError(f"{path}: no length")
        body = await self.reader.readexactly(int(length[1]))
        if re.search(r"(?i)connection: close", head):
            self.close()
        return len(head) + len(body)

    def close(self) -> None:
        if self.writer is not None:
            self.writer.close()
        self.reader = self.writer = None


async def open_booklet(port: int, base: str, paths: Sequence[str]) -> tuple[float, int]:
    """Seconds that one phone waits, and bytes that it gets."""
    phone, began, got = Phone(port, "localhost"), time.perf_counter(), 0
    try:
        for path in paths:
            got += await phone.get(urljoin(base, quote(path)))
    finally:
        phone.close()
    return time.perf_counter() - began, got


async def crowd(port: int, base: str, paths: Sequence[str], phones: int, within_s: float) -> None:
    async def one(number: int) -> tuple[float, int]:
        await asyncio.sleep(number * within_s / phones)
        return await open_booklet(port, base, paths)

    began = time.perf_counter()
    results = await asyncio.gather(*(one(number) for number in range(phones)), return_exceptions=True)
    failed = [result for result in results if isinstance(result, BaseException)]
    good = [result for result in results if not isinstance(result, BaseException)]
    waits = sorted(wait for wait, _ in good) or [0.0]
    print(
        f"{phones} phones within {within_s:g} s: all done after {time.perf_counter() - began:.1f} s, {len(failed)} failed"
        f"{f' (first: {failed[0]!r})' if failed else ''}; {len(paths)} files, {good[0][1] / 1024 if good else 0:.0f} KB each; "
        f"a phone waits "
        f"{statistics.median(waits):.2f} s, 95 of 100 at most {waits[int(0.95 * (len(waits) - 1))]:.2f} s, the last {waits[-1]:.2f} s"
    )


async def rate(port: int, base: str, paths: Sequence[str]) -> float:
    """Files a second with a few connections that never pause."""
    done, until = 0, time.perf_counter() + RATE_S

    async def one() -> None:
        nonlocal done
        phone = Phone(port, "localhost")
        while time.perf_counter() < until:
            for path in paths:
                await phone.get(urljoin(base, quote(path)))
                done += 1
        phone.close()

    began = time.perf_counter()
    await asyncio.gather(*(one() for _ in range(CONNECTIONS)))
    return done / (time.perf_counter() - began)


@contextmanager
def ours(library: Path) -> Iterator[int]:
    port = free_port()
    command = [str(Path(sys.executable).with_name("annotator")), "serve", "--port", str(port)]
    with subprocess.Popen(
        command, env={**os.environ, "ANNOTATOR_LIBRARY": str(library)}, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    ) as server:
        try:
            _wait_for(port)
            yield port
        finally:
            server.terminate()


@contextmanager
def nginx(program: str, folder: Path) -> Iterator[int]:
    port = free_port()
    with tempfile.TemporaryDirectory() as place:
        rules = (
            f"daemon off; worker_processes 2; pid {place}/pid; error_log {place}/errors; events {{ worker_connections 2048; }} "
            f"http {{ include /etc/nginx/mime.types; access_log off; sendfile on; gzip on; gzip_types text/css text/javascript "
            f"application/javascript application/json image/svg+xml; client_body_temp_path {place}; proxy_temp_path {place}; "
            f"fastcgi_temp_path {place}; uwsgi_temp_path {place}; scgi_temp_path {place}; "
            f"server {{ listen 127.0.0.1:{port}; root {folder}; chunked_transfer_encoding off; }} }}"
        )
        (Path(place) / "conf").write_text(rules)
        with subprocess.Popen([program, "-c", f"{place}/conf"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) as server:
            try:
                _wait_for(port)
                yield port
            finally:
                server.terminate()


def _wait_for(port: int) -> None:
    for _ in range(600):
        try:
            socket.create_connection(("127.0.0.1", port), 0.2).close()
        except OSError:
            time.sleep(0.1)
        else:
            return
    raise TimeoutError(f"nothing listens on {port}")


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("library", type=Path)
    asked.add_argument("course")
    asked.add_argument("--phones", type=int, default=1000)
    asked.add_argument("--within", type=float, default=60.0)
    told = asked.parse_args()
    folder = max((told.library / "outputs" / told.course).glob("edition-*"), key=lambda one: int(one.name.split("-")[1])) / "booklet"
    paths = asked_of(folder)
    with ours(told.library) as port:
        base = f"/booklet/{quote(told.course)}/"
        asyncio.run(crowd(port, base, paths, told.phones, told.within))
        here = asyncio.run(rate(port, base, paths))
    print(f"ours, {CONNECTIONS} connections that never pause: {here:.0f} files a second")
    program = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if program is None:
        print("nginx is not installed, so there is no share of its rate (Debian: apt install nginx-light).")
        return
    # Compressed as it goes, without a length in the head: ask nginx for the plain files of the same kind instead.
    whole = [path for path in paths if not path.endswith((".html", ".css", ".js", ".svg", ".json")) and path]
    with ours(told.library) as port:
        plain = asyncio.run(rate(port, f"/booklet/{quote(told.course)}/", whole))
    with nginx(program, folder) as port:
        peer = asyncio.run(rate(port, "/", whole))
    print(f"pictures and fonts alone: ours {plain:.0f}, nginx {peer:.0f} files a second: {plain / peer:.2f} of its rate")


if __name__ == "__main__":
    main()
