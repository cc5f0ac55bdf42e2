"""The phone booklet in hands: languages, divisions, the picture brought closer, finding, checking oneself, turning pages, one file."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from annotator.booklet import LANGUAGES as ALL
from annotator.booklet import Booklet, Stamp, Wording, pages, write_single, write_site
from annotator.booklet.wording import capital
from annotator.course import Course, Station
from annotator.marks import ruling_at
from tests.booklet.makers import DrawnPictures

ROOT = Path(__file__).resolve().parents[2]
LANGUAGES = ("en", "es", "de")
expect.set_options(timeout=300_000)  # whatever takes longer than this hangs, on any machine


@pytest.fixture(scope="module")
def booklets(course: Course, stations: Sequence[Station], stamp: Stamp) -> tuple[Booklet, ...]:
    return tuple(pages(course, stations, stamp, wording=Wording(language)) for language in LANGUAGES)


@pytest.fixture(scope="module")
def told(booklets: Sequence[Booklet], pictures: DrawnPictures, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The booklet in three languages, and beside it the same in one file."""
    folder = tmp_path_factory.mktemp("in three languages")
    write_site(booklets[0], pictures, folder / "site", others=booklets[1:])
    write_single(booklets[0], pictures, folder / "single.html", others=booklets[1:], address="https://lane.example/open/")
    return folder


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    """An English phone; whatever goes to the console as an error fails the test."""
    context = browser.new_context(viewport={"width": 360, "height": 760}, has_touch=True, locale="en-GB")
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda message: wrong.append(message.text) if message.type == "error" else None)
    yield page
    context.close()
    assert wrong == []


def at(told: Path, name: str) -> str:
    return (told / "site" / name).as_uri()


# languages


@pytest.mark.parametrize("name", ["index.html", "station-2.html", "es/station-2.html", "de/index.html"])
def test_each_page_leads_to_itself_in_every_other_language(told: Path, phone: Page, name: str) -> None:
    phone.goto(at(told, name))
    here = phone.get_attribute("html", "lang")
    links = phone.eval_on_selector_all(".languages a", "(all) => all.map((one) => [one.hreflang, one.lang, one.href, one.textContent])")
    assert [link[0] for link in links] == [code for code in LANGUAGES if code != here]
    assert [link[0] for link in links] == [link[1] for link in links]
    for code, _, href, shown in links:
        assert shown == capital(Wording(code).own_name)
        phone.goto(href)
        assert phone.get_attribute("html", "lang") == code
        assert phone.url.endswith(name.split("/")[-1])


def test_search_engines_and_readers_are_told_of_the_other_languages(told: Path) -> None:
    head = (told / "site" / "es" / "station-1.html").read_text("utf-8").split("</head>")[0]
    assert re.findall(r'hreflang="(\w+)" href="([^"]+)"', head) == [
        ("en", "../station-1.html"), ("es", "../es/station-1.html"), ("de", "../de/station-1.html"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("locale", "arrives"),
    [
        pytest.param("es-MX", "/es/station-2.html", id="spanish-of-another-country"),
        pytest.param("de-DE", "/de/station-2.html", id="german"),
        pytest.param("en-GB", "/site/station-2.html", id="first-language"),
        pytest.param("fi-FI", "/site/station-2.html", id="a-language-that-is-not-there"),
    ],
)
def test_a_first_visit_arrives_at_the_browsers_language(told: Path, browser: Browser, locale: str, arrives: str) -> None:
    context = browser.new_context(locale=locale)
    page = context.new_page()
    page.goto(at(told, "station-2.html"))
    page.wait_for_load_state()
    assert page.url.endswith(arrives)
    context.close()


def test_a_choice_of_language_is_kept_and_never_overruled(told: Path, browser: Browser) -> None:
    context = browser.new_context(locale="es-ES")
    page = context.new_page()
    page.goto(at(told, "index.html"))
    page.wait_for_url("**/es/index.html")
    page.click(".languages summary")
    page.click(".languages a[hreflang=en]")
    page.wait_for_url("**/site/index.html")
    page.wait_for_function("localStorage.getItem('booklet language') === 'en'")  # processes of a browser hear of it one after the other
    page.click("nav.stations a >> nth=1")
    page.wait_for_url("**/site/station-2.html")
    page.goto(at(told, "de/index.html"))
    assert page.get_attribute("html", "lang") == "de", "an address of another language stays that language"
    page.goto(at(told, "index.html"))
    assert page.get_attribute("html", "lang") == "en"
    context.close()


def test_a_language_chosen_before_the_script_has_come_is_kept(told: Path, browser: Browser) -> None:
    """With bad reception the list of languages is there long before the script is."""
    context = browser.new_context(locale="es-ES")
    page = context.new_page()
    page.route("**/assets/*.js", lambda route: route.abort())
    page.goto(at(told, "es/index.html"))
    page.click(".languages summary")
    page.click(".languages a[hreflang=en]")
    page.wait_for_url("**/site/index.html")
    page.wait_for_load_state()
    assert page.get_attribute("html", "lang") == "en"
    assert page.evaluate("localStorage.getItem('booklet language')") == "en"
    context.close()


@pytest.mark.parametrize(("at_number", "language"), [*enumerate(LANGUAGES)])
def test_no_english_is_left_in_another_language(
    told: Path, booklets: Sequence[Booklet], phone: Page, at_number: int, language: str
) -> None:
    """Whatever is structure reads as the language's own catalogue has it; names of things stay as said."""
    say = booklets[at_number].wording.say
    phone.goto(at(told, f"{language}/station-2.html" if at_number else "station-2.html"))
    text = phone.inner_text("body")
    for key in ("start", "in", "out", "finish", "find", "quiz", "tap", "marks-switch", "default-rule", "caution"):
        assert say(key) in text, key
    assert "white rail" in text.lower()


# divisions


def rules_shown(page: Page, section: str) -> list[str]:
    lines = page.locator(f".rules.{section} li:visible")
    return [" ".join(line.split()) for line in lines.all_inner_texts()]


def test_a_division_changes_the_lines_the_marks_and_the_answers_and_stays_chosen(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-2.html"))
    assert rules_shown(phone, "in") == ["Wooden beam"]
    assert rules_shown(phone, "out") == ["White rail"]
    assert rules_shown(phone, "divisions") == ["In play for under-tens: white rail"]
    phone.select_option("select.division", "Under-tens")
    assert rules_shown(phone, "in") == ["Wooden beam", "White rail for under-tens"]
    assert rules_shown(phone, "out") == []
    figure = phone.locator("[data-still]").first
    expect(figure.locator(".overlay:visible g[data-ruling=in][data-surface=u3]")).to_have_count(1)
    box = figure.locator(".still").bounding_box()
    assert box is not None
    phone.mouse.click(box["x"] + box["width"] * 600 / 1280, box["y"] + box["height"] * 260 / 720)
    expect(figure.locator(".answer")).to_have_attribute("data-ruling", "in")
    phone.goto(at(told, "es/index.html"))
    expect(phone.locator("select.division"), "one choice for the whole booklet, in every language").to_have_value("1")
    expect(phone.locator("nav.stations li >> nth=1").locator(".sign")).to_be_visible()
    assert not phone.locator("nav.stations li >> nth=0").locator(".sign").count()


def test_a_division_chosen_on_another_page_holds_on_those_that_stand_open(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-2.html"))
    other = phone.context.new_page()
    other.goto(at(told, "index.html"))
    other.select_option("select.division", "Under-tens")
    turn_to(phone, "1")
    expect(phone.locator(".rules.out li:visible")).to_have_count(0)
    phone.select_option("select.division", "0")
    turn_to(other, "0")


def turn_to(page: Page, division: str) -> None:
    """As a reader does who comes back to a page; a browser under test does not tell a page that it is turned to."""
    chosen = "document.querySelector('select.division').value"
    page.wait_for_function(f"() => {{ dispatchEvent(new Event('focus')); return {chosen} === '{division}' }}")


@pytest.mark.parametrize("event", ["focus", "visibilitychange", "storage"])
def test_a_division_chosen_meanwhile_holds_on_a_page_that_is_turned_to_again(told: Path, phone: Page, event: str) -> None:
    """A busy browser may tell a page nothing of what another one kept; told here without its notice."""
    phone.goto(at(told, "station-2.html"))
    phone.select_option("select.division", "Under-tens")
    phone.evaluate("localStorage.setItem(Object.keys(localStorage).find((key) => key.endsWith(' division')), '')")
    assert phone.input_value("select.division") == "1"
    phone.evaluate(f"dispatchEvent(new Event('{event}'))")
    assert phone.input_value("select.division") == "0"


def test_a_division_chosen_on_a_later_page_holds_on_the_way_back(told: Path, phone: Page) -> None:
    """Browsers keep a page as it was left. This one never does under test, so it is told that it comes back."""
    phone.goto(at(told, "station-2.html"))
    phone.select_option("select.division", "Under-tens")
    phone.evaluate("localStorage.setItem(Object.keys(localStorage).find((key) => key.endsWith(' division')), '')")
    assert phone.input_value("select.division") == "1"
    phone.evaluate("dispatchEvent(new PageTransitionEvent('pageshow', {persisted: true}))")
    assert phone.input_value("select.division") == "0"


def test_a_choice_that_this_edition_does_not_know_disturbs_nobody(told: Path, phone: Page) -> None:
    """A division of an earlier edition may be kept on the phone; what another page keeps beside it must not draw this one anew."""
    phone.goto(at(told, "station-2.html"))
    phone.select_option("select.division", "Under-tens")
    phone.evaluate("localStorage.setItem(Object.keys(localStorage).find((key) => key.endsWith(' division')), 'Long gone')")
    phone.reload()
    expect(phone.locator("select.division")).to_have_value("0")
    phone.evaluate(
        "window.drawn = 0; new MutationObserver((all) => window.drawn += all.length)"
        ".observe(document.body, {subtree: true, childList: true, attributes: true})"
    )
    phone.evaluate("dispatchEvent(new StorageEvent('storage', {key: 'booklet kind'}))")
    phone.wait_for_timeout(200)
    assert phone.evaluate("window.drawn") == 0


def test_who_taps_a_picture_at_the_foot_of_the_screen_reads_the_answer_without_looking_for_it(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    figure = phone.locator("[data-still]").first
    foot = figure.locator(".still").evaluate("(still) => still.getBoundingClientRect().bottom")
    phone.set_viewport_size({"width": 360, "height": int(foot)})
    assert figure.locator(".answer").evaluate("(answer) => answer.getBoundingClientRect().top >= innerHeight")
    figure.locator(".still").tap()
    expect(figure.locator(".answer")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("language", ["", "de/"])
def test_where_nothing_is_marked_what_is_in_play_and_not_marked_is_told(told: Path, phone: Page, language: str) -> None:
    """The first still of the beam shows neither its start nor its finish: a finger there may be on one of them."""
    for station, names in (("station-1.html", []), ("station-2.html", ["reen platform", "hite mat"])):
        phone.goto(at(told, f"{language}{station}"))
        figure = phone.locator("[data-still]").first
        box = figure.locator(".still").bounding_box()
        assert box is not None
        phone.mouse.click(box["x"] + box["width"] * 0.35, box["y"] + box["height"] * 0.15)
        expect(figure.locator(".answer")).to_have_attribute("data-ruling", "out")
        assert (figure.locator(".answer").get_attribute("data-unsure") is not None) is bool(names)
        said = figure.locator(".answer").inner_text()
        assert [name for name in ("reen platform", "hite mat", "eam", "arrel") if name in said] == names


@pytest.mark.parametrize("width", [320, 360])
def test_the_chosen_division_stands_whole_in_its_frame_also_with_text_at_200_percent(told: Path, browser: Browser, width: int) -> None:
    """Its letters against its frame and the screen, as the browser lays them out, in each language and with a name that needs lines."""
    context = browser.new_context(viewport={"width": width, "height": 640}, locale="en-GB")
    page = context.new_page()
    page.goto(at(told, "station-2.html"))
    page.select_option("select.division", "Under-tens")
    assert page.inner_text(".chosen") == "Under-tens"
    for size in ("106.25%", "212.5%"):
        page.add_style_tag(content=f"html {{ font-size: {size} !important }}")
        for name in (*(Wording(language).say("main-division") for language in ALL), "Mixed relay teams of three, under-twelves and older"):
            cut = page.evaluate(
                """(name) => {
                  const chosen = document.querySelector(".chosen"), letters = document.createRange();
                  chosen.textContent = name;
                  letters.selectNodeContents(chosen);
                  const frame = chosen.closest(".choice").getBoundingClientRect(), right = Math.min(frame.right, innerWidth);
                  return [...letters.getClientRects()].filter((line) =>
                    line.left < frame.left || line.right > right || line.top < frame.top || line.bottom > frame.bottom
                  ).length;
                }""",
                name,
            )
            assert cut == 0, (size, name)
    context.close()


def test_a_division_without_a_difference_reads_as_everyone_else(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-2.html"))
    phone.select_option("select.division", "Adults")
    assert rules_shown(phone, "in") == ["Wooden beam"]
    assert phone.locator(".sign:visible").count() == 0


def test_a_division_that_takes_all_away_says_that_nothing_is_named(
    course: Course, stations: Sequence[Station], stamp: Stamp, pictures: DrawnPictures, phone: Page, tmp_path: Path
) -> None:
    surfaces = tuple(one.model_copy(update={"divisions": {"adults": "out"}}) if one.ruling == "in" else one for one in stations[1].surfaces)
    bare = stations[1].model_copy(update={"number": 1, "surfaces": surfaces})
    write_site(pages(course, [bare], stamp), pictures, tmp_path)
    phone.goto((tmp_path / "station-1.html").as_uri())
    phone.select_option("select.division", "Adults")
    for section, gap in (("start", "Not said."), ("in", "Nothing named."), ("finish", "Not said.")):
        assert [line.removesuffix(" for adults") for line in rules_shown(phone, section)] == [gap]
    assert rules_shown(phone, "out") == [
        "White rail", "Green platform for adults", "Wooden beam for adults", "White mat for adults",
    ]  # fmt: skip


# the picture


def view(page: Page) -> dict[str, float]:
    style = page.eval_on_selector(".stage", "(one) => [one.style.width, one.style.left, one.style.top]")
    return dict(zip(("width", "left", "top"), (float(part.rstrip("%") or 100) for part in style), strict=True))


def test_the_picture_comes_closer_by_buttons_a_double_tap_and_the_wheel(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    figure = phone.locator("[data-still]").first
    assert not figure.locator(".whole").is_visible()
    figure.locator(".larger").click()
    assert view(phone) == pytest.approx({"width": 160, "left": -30, "top": -30})
    figure.locator(".whole").click()
    assert view(phone)["width"] == 100
    still = figure.locator(".still")
    still.dblclick(position={"x": 40, "y": 30})
    assert view(phone)["width"] == 300
    still.hover(position={"x": 40, "y": 30})
    phone.mouse.wheel(0, 4000)
    phone.wait_for_function("document.querySelector('.stage').style.width === '100%'")


def fingers(page: Page, selector: str, moves: Sequence[Sequence[tuple[float, float]]]) -> None:
    """Touches of a screen as the browser itself makes them: a list of finger places for each moment."""
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    session = page.context.new_cdp_session(page)

    def points(places: Sequence[tuple[float, float]]) -> list[dict[str, float]]:
        return [{"x": box["x"] + x * box["width"], "y": box["y"] + y * box["height"], "id": at} for at, (x, y) in enumerate(places)]

    for number, places in enumerate(moves):
        kind = "touchStart" if number == 0 else "touchMove"
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points(places)})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def test_two_fingers_bring_the_picture_closer_and_one_moves_it(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    fingers(phone, ".still", [[(0.4, 0.5), (0.6, 0.5)], [(0.35, 0.5), (0.65, 0.5)], [(0.2, 0.5), (0.8, 0.5)]])
    closer = view(phone)
    assert closer["width"] == pytest.approx(300, rel=0.05)
    fingers(phone, ".still", [[(0.5, 0.5)], [(0.55, 0.5)], [(0.7, 0.5)]])
    assert view(phone)["left"] > closer["left"] + 5
    assert phone.locator(".answer").first.inner_text() == "", "fingers that move ask nothing"


def test_the_cross_asks_by_keyboard_what_a_tap_asks(told: Path, phone: Page, course: Course, stations: Sequence[Station]) -> None:
    phone.goto(at(told, "station-1.html"))
    phone.focus(".still")
    for _ in range(12):
        phone.keyboard.press("ArrowRight")
    for _ in range(3):
        phone.keyboard.press("Shift+ArrowDown")
    assert phone.locator(".cross").first.is_visible()
    phone.keyboard.press("Enter")
    place = phone.eval_on_selector(".cross", "(one) => [parseFloat(one.style.left), parseFloat(one.style.top)]")
    expected = ruling_at(course, stations[0], "s01-1", (place[0] / 100 * 1280, place[1] / 100 * 720))
    kind = {"in play": "in", "out of play": "out", "too close to call": "close"}[expected.ruling]
    assert phone.get_attribute(".answer >> nth=0", "data-ruling") == kind
    phone.keyboard.press("+")
    assert view(phone)["width"] == 160
    phone.keyboard.press("Escape")
    assert view(phone)["width"] == 100


def test_a_line_of_the_marks_keeps_its_width_when_the_picture_comes_closer(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    phone.locator(".larger").first.click()
    strokes = phone.eval_on_selector_all(".overlay path[stroke]", "(all) => all.map((one) => one.getAttribute('vector-effect'))")
    assert set(strokes) == {"non-scaling-stroke"}
    boxes = ".stage, .stage .overlay, .stage svg"
    transforms = phone.eval_on_selector_all(boxes, "(all) => all.map((one) => getComputedStyle(one).transform)")
    assert set(transforms) == {"none"}, "a CSS transform would widen the lines"


# find


@pytest.mark.parametrize(
    ("page_name", "typed", "found"),
    [
        pytest.param("index.html", "ring row", ["station-3.html"], id="station"),
        pytest.param("station-3.html", "barrel", ["station-1.html"], id="thing-from-another-station"),
        pytest.param("es/station-1.html", "2", ["station-2.html"], id="number"),
        pytest.param("de/index.html", "pads", ["index.html"], id="what-holds-everywhere"),
        pytest.param("index.html", "tröpfchen", [], id="nothing"),
    ],
)
def test_a_station_or_a_thing_is_found_from_every_page(told: Path, phone: Page, page_name: str, typed: str, found: list[str]) -> None:
    phone.goto(at(told, page_name))
    phone.click("button.find")
    phone.fill(".finder input", typed)
    phone.wait_for_function("document.querySelector('.finder .count').textContent !== ''")
    hits = phone.locator(".hits a")
    assert [hits.nth(number).get_attribute("href") for number in range(hits.count())] == found
    if found:
        hits.first.click()
        phone.wait_for_url(f"**/{found[0]}")


# check yourself


def test_the_quiz_is_answered_as_the_rules_say(told: Path, phone: Page, booklets: Sequence[Booklet]) -> None:
    phone.goto(at(told, "station-1.html"))
    asked = json.loads(phone.inner_text("script.told", timeout=1000) or phone.text_content("script.told") or "")["quiz"]["0"]
    assert len(asked) >= 4 and {one["yes"] for one in asked} == {True, False}
    phone.click("button.check")
    for number, question in enumerate(asked):
        expect(phone.locator(".question")).to_have_text(question["ask"])
        assert not phone.locator(".overlay:visible").count(), "marks would give the answer away"
        right = number != 0
        phone.click(".quiz .yes" if question["yes"] == right else ".quiz .no")
        assert phone.get_attribute(".verdict", "data-right") == ("yes" if right else "no")
        assert question["because"] in phone.inner_text(".verdict")
        assert phone.inner_text(".evidence").split("\n\n") == (question["said"] or [""])
        assert phone.locator(".overlay:visible").count() == 1
        phone.click(".quiz .next")
    assert phone.inner_text(".question") == f"{len(asked) - 1} of {len(asked)} right."
    phone.click(".quiz .end")
    assert not phone.locator(".quiz").is_visible()
    assert phone.locator(".overlay:visible").count() == 1


def test_where_nothing_is_marked_there_is_no_quiz(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-3.html"))
    assert phone.locator("button.check").count() == 0


# turning


def test_stations_turn_by_keys_a_swipe_and_the_links(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    phone.keyboard.press("ArrowRight")
    phone.wait_for_url("**/station-2.html")
    fingers(phone, ".sheet", [[(0.9, 0.3)], [(0.5, 0.3)], [(0.1, 0.3)]])
    phone.wait_for_url("**/station-3.html")
    fingers(phone, ".sheet", [[(0.1, 0.3)], [(0.5, 0.31)], [(0.9, 0.3)]])
    phone.wait_for_url("**/station-2.html")
    phone.click(".turn [rel=prev]")
    phone.wait_for_url("**/station-1.html")


def test_arrow_keys_within_the_picture_or_a_list_turn_no_page(told: Path, phone: Page) -> None:
    phone.goto(at(told, "station-1.html"))
    phone.focus(".still")
    phone.keyboard.press("ArrowRight")
    phone.focus("select.division")
    phone.keyboard.press("ArrowRight")
    assert phone.url.endswith("station-1.html")


# one file


@pytest.fixture
def single(told: Path, phone: Page) -> Page:
    asked: list[str] = []
    phone.on("request", lambda request: asked.append(request.url) if not request.url.startswith("data:") else None)
    phone.goto((told / "single.html").as_uri())
    assert asked == [(told / "single.html").as_uri()], "one file asks for nothing"
    return phone


def test_one_file_holds_every_rule_and_every_picture(single: Page, booklets: Sequence[Booklet]) -> None:
    for number, texts in enumerate(booklets[0].texts()):
        page = single.locator(".page").nth(number)
        assert tuple(page.locator(".rule .words").all_text_contents()) == texts
    broken = single.evaluate("[...document.images].filter((one) => { one.loading = 'eager'; return !one.src.startsWith('data:'); }).length")
    assert broken == 0


def test_one_file_shows_a_page_at_a_time_and_answers_taps(single: Page) -> None:
    assert single.locator(".page:visible").count() == 1
    single.click("nav.stations a >> nth=0")
    assert single.locator(".page:visible h1 .name").inner_text() == "Stepping boxes"
    box = single.locator(".page:visible .still").bounding_box()
    assert box is not None
    single.mouse.click(box["x"] + box["width"] * 700 / 1280, box["y"] + box["height"] * 340 / 720)
    assert "blue barrel" in single.locator(".page:visible .answer").inner_text()
    single.click(".page:visible h1")
    single.keyboard.press("ArrowRight")
    single.wait_for_url("**#station-2")
    single.click("button.find")
    single.fill(".finder input", "ring")
    single.click(".hits a")
    single.wait_for_url("**#station-3")
    assert not single.locator("dialog").is_visible()
    single.go_back()
    single.wait_for_url("**#station-2")
    assert single.locator(".page:visible").get_attribute("id") == "station-2"


def test_one_file_changes_its_language_and_its_pictures_come_along(single: Page) -> None:
    single.click("nav.stations a >> nth=1")
    single.click(".languages summary")
    single.click(".languages a[hreflang=es]")
    assert single.get_attribute("html", "lang") == "es"
    assert Wording("es").say("default-rule") in single.inner_text("body")
    single.evaluate("for (const image of document.images) image.loading = 'eager'")
    single.wait_for_function("[...document.images].every((one) => one.complete && one.naturalWidth > 1)")
    single.click("button.check:visible")
    assert single.inner_text(".quiz:visible .question").startswith("¿")
    single.click(".languages summary")
    single.click(".languages a[hreflang=en]")
    assert single.get_attribute("html", "lang") == "en"


def test_one_file_leads_to_where_the_newest_edition_is(told: Path) -> None:
    assert '<a href="https://lane.example/open/">' in (told / "single.html").read_text("utf-8")


# for everybody


@pytest.fixture(scope="module")
def axe() -> str:
    path = ROOT / "web" / "node_modules" / "axe-core" / "axe.min.js"
    if not path.is_file():
        pytest.skip("axe-core is not installed; run scripts/test, or npm ci in web/")
    return path.read_text("utf-8")


def _told(page: Page) -> None:
    page.click("button.check:visible")
    page.click(".quiz:visible .yes")


def _found(page: Page) -> None:
    page.click("button.find")
    page.fill(".finder input", "blue")


def _crossed(page: Page) -> None:
    page.focus(".still")
    page.keyboard.press("ArrowRight")


STATES: dict[str, Callable[[Page], object]] = {
    "closer": lambda page: page.locator(".larger:visible").first.click(),
    "answered": lambda page: page.locator(".still:visible").first.click(),
    "cross": _crossed,
    "asked": lambda page: page.click("button.check:visible"),
    "told": _told,
    "find": _found,
    "languages": lambda page: page.click(".languages summary"),
    "division": lambda page: page.select_option("select.division", "1"),
}


@pytest.mark.parametrize(("state", "dark"), [(state, bool(at % 2)) for at, state in enumerate(STATES)])
def test_the_accessibility_checker_finds_nothing_in_any_state(told: Path, browser: Browser, axe: str, state: str, dark: bool) -> None:
    """axe-core's WCAG 2.2 A and AA rules and its best practices, with 320 px and, where it is dark, in Spanish."""
    context = browser.new_context(viewport={"width": 320, "height": 640}, color_scheme="dark" if dark else "light", locale="en-GB")
    page = context.new_page()
    page.goto(at(told, "es/station-2.html" if dark else "station-2.html"))
    STATES[state](page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
    page.evaluate(axe)
    kinds = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = page.evaluate("(kinds) => axe.run(document, { runOnly: kinds })", kinds)
    assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in found["violations"]] == []
    context.close()
