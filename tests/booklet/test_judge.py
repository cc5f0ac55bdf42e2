"""The judge's pages on a phone: the card's columns, large targets, contrast for the sun, the ruling at a point, without a network."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Literal, cast

import pytest
from playwright.sync_api import Browser, Page

from annotator.booklet import Booklet
from annotator.booklet.columns import card_groups
from tests.booklet.makers import rules_of_html
from tests.marks.test_looks import contrast

STATIONS = ("judge/station-1.html", "judge/station-2.html", "judge/station-3.html")


SCREENS = [pytest.param((width, scheme), id=f"{width}-{scheme}") for width, scheme in ((360, "light"), (360, "dark"), (768, "light"))]


@pytest.fixture
def page(browser: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    width, scheme = cast("tuple[int, Literal['light', 'dark']]", getattr(request, "param", (360, "light")))
    context = browser.new_context(viewport={"width": width, "height": 760}, color_scheme=scheme)
    yield context.new_page()
    context.close()


def test_every_rule_of_a_station_is_on_its_page(site: Path, booklet: Booklet) -> None:
    for station in booklet.stations:
        told = rules_of_html(site / f"judge/station-{station.number}.html")
        wanted = {rule.text for section in station.sections if section.key != "shown" for rule in section.rules} | {station.limbs.text}
        assert wanted <= set(told)
        assert "You have 1 retry in your run." in told


def test_every_file_that_a_page_names_is_there(site: Path) -> None:
    for name in ("judge/index.html", *STATIONS):
        text = (site / name).read_text("utf-8")
        named = [part.split()[0] for group in re.findall(r'srcset="([^"]+)"', text) for part in group.split(", ")]
        for link in [*re.findall(r'(?:href|src|data-index)="([^"#]+)[^"]*"', text), *named]:
            if not link.startswith(("https://", "../walk/")):
                assert (site / "judge" / link).resolve().is_file(), link


def test_they_are_kept_without_a_network_like_the_booklets_own_pages(site: Path) -> None:
    worker = (site / "worker.js").read_text("utf-8")
    assert all(f'"{name}"' in worker for name in ("judge/index.html", *STATIONS))


def test_the_course_page_leads_there_and_every_page_carries_edition_and_caution(site: Path, booklet: Booklet) -> None:
    assert 'href="judge/index.html"' in (site / "index.html").read_text("utf-8")
    for name in ("judge/index.html", *STATIONS):
        text = (site / name).read_text("utf-8")
        assert booklet.stamp_line in text and "not a safety inspection" in text and booklet.default_rule in text


@pytest.mark.parametrize("page", SCREENS, indirect=True)
@pytest.mark.parametrize("name", ["judge/index.html", STATIONS[1]])
def test_targets_are_large_and_nothing_runs_out_of_the_screen(site: Path, page: Page, name: str) -> None:
    page.goto((site / name).as_uri())
    page.wait_for_selector("button.find:visible")
    small = page.evaluate(
        """() => [...document.querySelectorAll("a, button, select, summary, label")]
          .filter((one) => one.checkVisibility() && !one.closest(".heard"))
          .map((one) => [one.textContent.trim(), one.getBoundingClientRect().width, one.getBoundingClientRect().height])
          .filter(([, width, height]) => width < 48 || height < 47.9)"""
    )
    assert small == []
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("page", SCREENS, indirect=True)
@pytest.mark.parametrize("name", ["judge/index.html", "judge/station-2.html"])
def test_every_text_has_seven_to_one_against_what_is_behind_it(site: Path, page: Page, name: str) -> None:
    """WCAG 2.2 SC 1.4.6 (AAA), computed from the colours that the browser gives each text and the nearest ground behind it."""
    page.goto((site / name).as_uri())
    page.wait_for_selector("button.find:visible")
    found = page.evaluate(
        """() => {
          const behind = (one) => {
            for (let at = one; at; at = at.parentElement) {
              const ground = getComputedStyle(at).backgroundColor;
              if (!ground.endsWith(", 0)") && ground !== "transparent") return ground;
            }
            return "rgb(255, 255, 255)";
          };
          const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
          const told = [];
          while (texts.nextNode()) {
            const one = texts.currentNode.parentElement;
            if (!texts.currentNode.data.trim() || !one.checkVisibility()) continue;
            if (one.closest("svg, script, option, button:disabled, .unseen")) continue;
            told.push([texts.currentNode.data.trim(), getComputedStyle(one).color, behind(one)]);
          }
          return told;
        }"""
    )
    assert len(found) > 8

    def colour(css: str) -> tuple[float, ...]:
        return tuple(int(value) / 255 for value in re.findall(r"\d+", css)[:3])

    assert [(text, one, other) for text, one, other in found if contrast(colour(one), colour(other)) < 7] == []


def test_in_and_out_stand_beside_each_other_with_the_cards_rules(site: Path, page: Page, booklet: Booklet) -> None:
    page.goto((site / "judge/station-2.html").as_uri())
    boxes = {key: page.locator(f".column.{key}").bounding_box() for key in ("in", "out")}
    assert boxes["in"] and boxes["out"]
    assert boxes["in"]["x"] + boxes["in"]["width"] <= boxes["out"]["x"]
    assert boxes["in"]["y"] == boxes["out"]["y"]
    for key, groups in card_groups(booklet.stations[1]).items():
        assert page.locator(f".column.{key} .words").all_text_contents() == [rule.text for _, _, rules in groups for rule in rules]


def test_a_tap_on_the_still_is_ruled_there_and_the_arrow_leads_on(site: Path, page: Page) -> None:
    """The beam from (200, 400) to (1100, 450) of 1280 x 720 is in play; the booklet's own script answers."""
    page.goto((site / "judge/station-2.html").as_uri())
    page.wait_for_selector("button.find:visible")
    still = page.locator(".still").first
    still.scroll_into_view_if_needed()
    box = still.bounding_box()
    assert box
    still.click(position={"x": box["width"] * 650 / 1280, "y": box["height"] * 425 / 720})
    assert page.locator(".answer").first.text_content() == "In play: wooden beam (feet only)."
    page.locator('a[rel="next"]').click()
    page.wait_for_url("**/judge/station-3.html")
    assert page.locator("h1 .tape").text_content() == "Station 3"


def test_the_number_is_huge(site: Path, page: Page) -> None:
    page.goto((site / "judge/station-1.html").as_uri())
    box = page.locator("h1 .tape").bounding_box()
    assert box and box["height"] >= 96
