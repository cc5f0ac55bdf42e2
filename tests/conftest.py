"""What all tests share: patience with a slow machine, and one browser (Playwright allows one of its kind in a program)."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

LONGEST_FIRST = ("test_demo.py", "test_kill.py", "test_decode.py", "test_epub.py", "test_site.py", "test_phone.py", "test_cards.py")
"""Files that take more than a minute: begun last, one of them would keep one processor busy while the others have nothing left to do."""
QUIET = ("--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run")
PATIENCE_MS = 300_000  # whatever takes longer than this hangs, on any machine

# Cases are the same on every machine, and none fails for being slow.
settings.register_profile("same everywhere", deadline=None, derandomize=True, database=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("same everywhere")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first, all others in their order."""
    places = {name: place for place, name in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: places.get(item.path.name, len(places)))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium without a window; skips with what to install where there is none."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        pytest.skip("no Chromium on this machine; on Debian or Ubuntu: apt install chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=[*QUIET])
        for make in ("new_context", "new_page"):
            setattr(opened, make, _patient(getattr(opened, make)))
        yield opened
        opened.close()


def _patient(make: Callable[..., Any]) -> Callable[..., Any]:
    """Makes contexts and pages that wait as long as a busy machine may take."""

    def made(**wishes: Any) -> Any:
        opened = make(**wishes)
        opened.set_default_timeout(PATIENCE_MS)
        return opened

    return made
