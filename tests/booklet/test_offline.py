"""The phone booklet without a network: kept after one visit, one edition at a time, below any sub-path; and the word of a newer one."""

from __future__ import annotations

import functools
import http.server
import os
import re
import shutil
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from annotator.booklet import Booklet, Stamp, Wording, pages, write_site
from annotator.course import Course, Station
from tests.booklet.makers import AT, DrawnPictures

expect.set_options(timeout=300_000)  # whatever takes longer than this hangs, on any machine


class Host:
    """A static host on loopback that can go away and come back; it writes down what it was asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.asked = folder, list[str]()
        asked = self.asked

        class Handler(http.server.SimpleHTTPRequestHandler):
            def log_message(self, format: str, *args: object) -> None:
                asked.append(self.path)

        self._server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(folder)))
        threading.Thread(target=self._server.serve_forever, daemon=True).start()
        self.address = f"http://localhost:{self._server.server_port}"

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()


@pytest.fixture
def host(tmp_path: Path) -> Iterator[Host]:
    (tmp_path / "www" / "clubs").mkdir(parents=True)
    made = Host(tmp_path / "www")
    yield made
    made.close()


@pytest.fixture(scope="module")
def editions(course: Course, stations: Sequence[Station], pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two editions in two languages; the second one renames a station."""
    folder = tmp_path_factory.mktemp("editions")
    for number in (1, 2):
        named = [stations[0].model_copy(update={"name": f"boxes of edition {number}"}), *stations[1:]]
        told = [pages(course, named, Stamp(number, f"CODE{number}", AT), wording=Wording(language)) for language in ("en", "es")]
        write_site(told[0], pictures, folder / str(number), others=told[1:], cache=folder / "cache")
    return folder


def put(host: Host, editions: Path, number: int, at: float | None = None) -> str:
    """An edition at the host's address for the newest one, each uploaded seconds after the one before, or all at the time `at` in seconds
    since 1970; a page that asks in the meantime gets the older one's file, never a gap."""
    laid = host.folder / "uploads" / str(number)
    shutil.copytree(editions / str(number), laid, copy_function=shutil.copyfile)
    uploaded = time.time() + 2 * number if at is None else at
    for file in laid.rglob("*"):
        os.utime(file, (uploaded, uploaded))
    (host.folder / "next").symlink_to(laid)
    (host.folder / "next").replace(host.folder / "clubs" / "lane")
    return f"{host.address}/clubs/lane/"


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 360, "height": 760}, locale="en-GB")
    yield context
    context.close()


def visit(phone: BrowserContext, address: str) -> tuple[Page, list[str]]:
    """Open a page and wait until the phone says that the booklet is kept; errors of the console are collected."""
    page = phone.new_page()
    wrong: list[str] = []
    page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
    page.goto(address)
    expect(page.locator(".kept")).to_be_visible()
    return page, wrong


def test_after_one_visit_every_page_of_the_readers_language_opens_without_a_network(
    host: Host, editions: Path, phone: BrowserContext
) -> None:
    address = put(host, editions, 1)
    page, wrong = visit(phone, address)
    host.close()
    phone.set_offline(True)
    for name in ("", "index.html", "station-1.html", "station-2.html", "station-3.html?from=poster"):
        page.goto(address + name)
        assert page.locator("h1").is_visible()
        page.evaluate("for (const image of document.images) image.loading = 'eager'")
        page.wait_for_function("[...document.images].every((one) => one.complete && one.naturalWidth > 0)")
        assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('16px \"Atkinson Hyperlegible\"'))")
        assert page.evaluate("getComputedStyle(document.querySelector('.tape')).backgroundColor") == "rgb(240, 228, 66)"
    page.click("button.find")
    page.fill(".finder input", "barrel")
    expect(page.locator(".hits a")).to_have_count(1)
    assert wrong == []
    host._server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), http.server.SimpleHTTPRequestHandler)  # for the fixture to close
    threading.Thread(target=host._server.serve_forever, daemon=True).start()


def test_only_the_readers_language_and_pictures_of_the_screens_width_are_kept(host: Host, editions: Path, phone: BrowserContext) -> None:
    address = put(host, editions, 1)
    page, _ = visit(phone, f"{address}es/station-1.html")
    kept = page.evaluate(
        "caches.keys().then((names) => Promise.all(names.map((name) => caches.open(name).then((one) => one.keys()))))"
        ".then((all) => all.flat().map((one) => new URL(one.url).pathname.replace('/clubs/lane/', '')))"
    )
    html = sorted(name for name in kept if name.endswith(".html"))
    names = ("index.html", "station-1.html", "station-2.html", "station-3.html")
    assert html == [
        *(f"es/{name}" for name in names if name == "index.html"),
        *(f"es/judge/{name}" for name in names),
        *(f"es/{name}" for name in names[1:]),
        "index.html",
    ]
    shown = [re.sub("-[0-9a-f]{12}", "", name) for name in kept if name.startswith("pictures/station-2-1-")]
    assert sorted(shown) == ["pictures/station-2-1-192.avif", "pictures/station-2-1-480.avif"]
    assert not [name for name in kept if "latin-ext" in name or "find-en" in name]
    phone.set_offline(True)
    page.goto(f"{address}station-2.html")
    assert page.url == f"{address}es/station-2.html", "a code on a card leads to the first language; the one that is kept opens"


def test_a_newer_edition_is_told_and_opens_whole(host: Host, editions: Path, phone: BrowserContext) -> None:
    address = put(host, editions, 1)
    page, wrong = visit(phone, address)
    page.goto(f"{address}station-1.html")
    assert not page.locator(".newer").is_visible()
    put(host, editions, 2)
    page.reload()
    assert "edition 1" in page.inner_text("h1"), "what is kept opens at once"
    expect(page.locator(".newer")).to_contain_text("Edition 2 is out.")
    page.click(".newer button")
    expect(page.locator("h1 .name")).to_have_text("Boxes of edition 2")
    assert not page.locator(".newer").is_visible()
    expect(page.locator(".kept")).to_be_visible()
    names = page.evaluate("caches.keys()")
    assert [name for name in names if "CODE1" in name] == [], "the older edition is thrown away"
    phone.set_offline(True)
    for name in ("index.html", "station-1.html", "station-2.html"):
        page.goto(address + name)
        assert "Edition 2" in page.inner_text("footer")
    assert wrong == []


def test_pictures_that_did_not_change_are_not_fetched_again(host: Host, editions: Path, phone: BrowserContext) -> None:
    address = put(host, editions, 1)
    page, _ = visit(phone, address)
    put(host, editions, 2)
    page.reload()
    expect(page.locator(".newer")).to_be_visible()
    host.asked.clear()
    page.click(".newer button")
    expect(page.locator(".newer")).not_to_be_visible()
    expect(page.locator(".kept")).to_be_visible()
    assert [path for path in host.asked if "/pictures/" in path or ".woff2" in path] == []


def test_a_newer_edition_is_told_by_a_host_that_gives_every_file_the_same_time(host: Host, editions: Path, phone: BrowserContext) -> None:
    """As hosts do that are filled from an archive with its times set to one, and as two uploads within a second: such a host answers
    "not modified" (RFC 9110, 13.1.3) to a phone that asks whether a file changed."""
    address = put(host, editions, 1, AT.timestamp())
    page, _ = visit(phone, address)
    put(host, editions, 2, AT.timestamp())
    page.reload()
    expect(page.locator(".newer")).to_contain_text("Edition 2 is out.")
    page.click(".newer button")
    expect(page.locator(".newer")).not_to_be_visible()
    assert "Edition 2" in page.inner_text("footer")
    page.goto(f"{address}station-1.html")
    expect(page.locator("h1 .name")).to_have_text("Boxes of edition 2")


def test_a_newer_edition_that_is_not_all_there_yet_may_be_asked_for_again(host: Host, editions: Path, phone: BrowserContext) -> None:
    address = put(host, editions, 1)
    page, _ = visit(phone, address)
    put(host, editions, 2)
    late = host.folder / "clubs" / "lane" / "station-1.html"
    shutil.copyfile(editions / "1" / "station-1.html", late)
    page.reload()
    button = page.locator(".newer button")
    button.click()
    expect(button).to_be_enabled()
    assert "Edition 1" in page.inner_text("footer")
    shutil.copyfile(editions / "2" / "station-1.html", late)
    button.click()
    expect(page.locator("footer")).to_contain_text("Edition 2")


def test_a_newer_edition_opens_where_nothing_can_be_kept(host: Host, editions: Path, browser: Browser) -> None:
    """A private window, from a host that calls every file unchanged."""
    context = browser.new_context(viewport={"width": 360, "height": 760}, locale="en-GB", service_workers="block")
    address = put(host, editions, 1, AT.timestamp())
    page = context.new_page()
    page.goto(address)
    put(host, editions, 2, AT.timestamp())
    page.reload()
    expect(page.locator(".newer")).to_contain_text("Edition 2 is out.")
    page.click(".newer button")
    expect(page.locator("footer")).to_contain_text("Edition 2")
    context.close()


def test_a_newer_edition_is_whole_before_the_older_one_goes(host: Host, editions: Path, phone: BrowserContext) -> None:
    """An upload that is half there: the worker of the new edition finds another edition's pages, and the phone stays with what it has."""
    address = put(host, editions, 1)
    page, _ = visit(phone, address)
    put(host, editions, 2)
    shutil.copyfile(editions / "1" / "station-1.html", host.folder / "clubs" / "lane" / "station-1.html")
    page.evaluate("navigator.serviceWorker.ready.then((one) => one.update())")
    page.wait_for_function("navigator.serviceWorker.ready.then((one) => !one.installing)")
    phone.set_offline(True)
    for name in ("index.html", "station-1.html"):
        page.goto(address + name)
        assert "Edition 1" in page.inner_text("footer")


def test_two_booklets_of_one_host_keep_apart(host: Host, editions: Path, phone: BrowserContext) -> None:
    shutil.copytree(editions / "1", host.folder / "clubs" / "shore")
    shutil.copytree(editions / "2", host.folder / "clubs" / "lane")
    for name in ("shore", "lane", "shore"):
        visit(phone, f"{host.address}/clubs/{name}/")[0].close()
    phone.set_offline(True)
    page = phone.new_page()
    for name, number in (("shore", 1), ("lane", 2)):
        page.goto(f"{host.address}/clubs/{name}/station-1.html")
        assert f"Edition {number}" in page.inner_text("footer")


def test_a_draft_is_not_kept(
    course: Course, stations: Sequence[Station], pictures: DrawnPictures, host: Host, phone: BrowserContext
) -> None:
    write_site(pages(course, stations), pictures, host.folder / "draft")
    assert not (host.folder / "draft" / "worker.js").exists()
    page = phone.new_page()
    page.goto(f"{host.address}/draft/station-1.html")
    page.wait_for_load_state("networkidle")
    assert page.evaluate("navigator.serviceWorker.getRegistrations().then((all) => all.length)") == 0
    assert not page.locator(".newer").is_visible()


def test_what_is_kept_of_a_booklet_is_listed_with_the_beginning_of_its_hash(site: Path, booklet: Booklet) -> None:
    text = (site / "worker.js").read_text("utf-8")
    assert booklet.stamp is not None and booklet.stamp.code in text
    listed = set(re.findall(r'"((?:assets|pictures)/[^"]+|[a-z0-9/-]+\.html)"', text))
    there = {str(file.relative_to(site)) for file in site.rglob("*") if file.is_file()}
    assert listed <= there
    assert {name for name in there if name.endswith(".html")} <= listed
