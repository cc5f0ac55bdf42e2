"""What all tests share: one browser. Playwright allows one of its kind in a program, so everybody takes this one."""

from __future__ import annotations

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, sync_playwright

QUIET = ("--disable-quic", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's Chromium without a window; skips with what to install where there is none."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        pytest.skip("no Chromium on this machine; on Debian or Ubuntu: apt install chromium")
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=chromium, args=[*QUIET])
        yield opened
        opened.close()
