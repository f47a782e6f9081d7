"""The one box on a phone's screen: what it understands, answers, keeps, shares and says aloud."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Route, expect

from kb.desk import Desk
from tests.browser import LOOKS, Look, contrast, served, watched

PHONE = {"width": 360, "height": 640}
BOX = "input[type=search]"
READY = "[data-results][data-state=ready]"
PLATE = "TD45A/3 KP1400031"
SAFE = "SD8G"  # a model with safety bulletins
CLOCK = "2026-11-25T10:00:00"
NO_STORAGE = """Object.defineProperty(window, 'localStorage', {
  get() { throw new DOMException('not here', 'SecurityError'); }})"""
# Notes what stands in the box and what is shown whenever the page says that it is ready.
WATCH = """
addEventListener("DOMContentLoaded", () => {
  window.seen = [];
  const place = document.querySelector("[data-results]");
  if (!place) return;
  const note = () => {
    if (place.dataset.state !== "ready") return;
    const shown = [...place.querySelectorAll("[data-number]")].map((e) => e.dataset.number);
    window.seen.push([document.querySelector("input[type=search]").value, shown.join(" ")]);
  };
  new MutationObserver(note).observe(place, { attributes: true, attributeFilter: ["data-state"] });
});
"""
Opener = Callable[..., Page]


@pytest.fixture(scope="module")
def address(demo_site: Path) -> Iterator[str]:
    """The demo site on a web server, in a folder below the top."""
    with served(demo_site.parent.parent) as top:
        yield top + "service/notes/"


@pytest.fixture
def opener(browser: Browser, address: str) -> Iterator[Opener]:
    """Return a function that opens a page of the site in a fresh phone; nothing may go wrong."""
    opened: list[tuple[BrowserContext, list[str]]] = []

    def open_page(query: str = "", look: Look = "light", width: int = 360, **more: Any) -> Page:
        scripts = more.pop("scripts", ())
        window = browser.new_context(
            viewport={"width": width, "height": 640},
            color_scheme="dark" if look == "dark" else "light",
            forced_colors="active" if look == "forced" else "none",
            reduced_motion="reduce",
            has_touch=True,
            **more,
        )
        seen = watched(window)
        opened.append((window, seen.troubles))
        seen.page.clock.set_fixed_time(CLOCK)
        for script in (WATCH, *scripts):
            window.add_init_script(script)
        seen.page.goto(address + query)
        if more.get("java_script_enabled", True):
            ready(seen.page)
        return seen.page

    yield open_page
    for window, _ in opened:
        window.close()
    # Leaving a page ends what it was fetching; what the site lacks has a status instead.
    left = re.compile(r"failed: \S+/data/")
    assert [t for _, troubles in opened for t in troubles if not left.match(t)] == []


def ready(page: Page) -> None:
    """Wait until the page shows the answer to what stands in the box."""
    page.wait_for_selector(READY, state="attached")


def ask(page: Page, line: str) -> list[str]:
    """Put a line into the box; return the numbers that are found."""
    page.fill(BOX, line)
    ready(page)
    return numbers(page)


def numbers(page: Page) -> list[str]:
    """Return the numbers of the bulletins shown, in order."""
    found = page.locator("[data-results] [data-number]")
    return [item.get_attribute("data-number") or "" for item in found.all()]


def chips(page: Page) -> list[str]:
    """Return what was understood, in words."""
    return [" ".join(text.split()) for text in page.locator(".chip .said").all_inner_texts()]


def kept(page: Page) -> Any:
    """Return the unit that the phone keeps: model and serial."""
    unit = json.loads(page.evaluate("localStorage.getItem('fb-unit')") or "null")
    return unit and [unit["model"], unit["serial"]]


def asked_by(page: Page) -> dict[str, str]:
    """Return the question in the page's address, once that is up to date."""
    page.wait_for_timeout(600)
    return {name: values[0] for name, values in parse_qs(urlsplit(page.url).query).items()}


# What is understood and answered


def test_answers_come_while_typing_from_the_second_letter_on(opener: Opener) -> None:
    page = opener()
    page.locator(BOX).press_sequentially("h")
    ready(page)
    assert numbers(page) == []
    page.locator(BOX).press_sequentially("u")
    ready(page)
    assert numbers(page)
    page.locator(BOX).press_sequentially("ms")
    ready(page)
    assert "2026-014" in numbers(page)


@pytest.mark.parametrize(
    "line",
    [
        "hums",
        "wont drain",
        "e-21",
        f"{PLATE} hums",
        "leaks TD45A",
        "TD45A/3",
        SAFE,
        "HR-310-4120",
        "2017-528",
        "drips after the wash",
        "SD8H drum stops",
        "MR30F ice at the back",
        "dor seel",
        '"does not drain"',
    ],
)
def test_the_phone_shows_what_the_desk_finds_in_the_same_order(
    opener: Opener, demo_desk: Desk, line: str
) -> None:
    page = opener()
    found = demo_desk.finder.find(line, limit=10)
    assert ask(page, line) == [result.card.number for result in found.results]
    verdicts = page.locator("[data-results] [data-number]").evaluate_all(
        "items => items.map((item) => item.dataset.applies ?? null)"
    )
    assert verdicts == [r.answer.applies if r.answer else None for r in found.results]


@pytest.mark.parametrize(
    ("line", "understood"),
    [
        ("hums", []),
        (PLATE, ["model TD45A, digit 3", "built 2022-W14, Kirkholm works"]),
        ("kp1400031 td45a 3 hums", ["model TD45A, digit 3", "built 2022-W14, Kirkholm works"]),
        ("TD45A E21", ["model TD45A", "code E21"]),
        ("part 310-4120", ["part HR-310-4120"]),
        ("2026014", ["bulletin 2026-014"]),
        ("E99 hums", ["code E99"]),
        ("KP1400031", ["serial KP1400031"]),
    ],
)
def test_what_was_understood_stands_above_the_answers(
    opener: Opener, line: str, understood: list[str]
) -> None:
    page = opener()
    ask(page, line)
    assert chips(page) == understood
    for chip in understood:
        expect(page.get_by_role("button", name=f"Remove {chip}")).to_be_visible()


def test_a_serial_that_cannot_be_read_says_why_beside_its_chip(opener: Opener) -> None:
    page = opener()
    ask(page, "TD45A KZ1400031")
    told = page.locator(".chip", has_text="KZ1400031").inner_text()
    assert "cannot be read" in told
    assert "Z is none of" in told
    assert "K P 14 00031" in told  # what a sound one looks like


def test_a_serial_alone_says_what_it_can_be_of(opener: Opener) -> None:
    page = opener()
    ask(page, "KP1400031")
    assert "add the model" in page.locator("[data-results]").inner_text()


def test_a_result_tells_what_decides(opener: Opener, demo_desk: Desk) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    first = page.locator("[data-number='2017-024']")
    link = first.get_by_role("link")
    assert link.inner_text() == "Hums but does not drain, something blocks the impeller"
    assert link.get_attribute("href") == "bulletins/2017-024/index.html"
    words = " ".join(first.inner_text().split())
    for told in ("2017-024", "Repair", "Applies", "Check first:", "Leave in:", "Electric shock"):
        assert told in words
    assert first.locator("mark").all_inner_texts() == ["hums"]
    assert first.locator(".hurts svg[aria-hidden=true]").count() == 2


def test_a_maybe_says_what_to_look_for_and_has_a_shape_of_its_own(opener: Opener) -> None:
    page = opener()
    ask(page, "TD45A")
    page.get_by_role("button", name="Show more").click()
    maybe = page.locator("[data-applies=maybe]").first
    expect(maybe.locator(".verdict.maybe")).to_contain_text("May apply: look for the serial")
    shapes = {
        page.locator(f".hit .verdict.{verdict}").first.evaluate(
            "e => getComputedStyle(e, '::before').backgroundImage"
        )
        for verdict in ("yes", "maybe")
    }
    assert len(shapes) == 2


@pytest.mark.parametrize(
    ("line", "number", "told"),
    [("2017-528", "2017-528", "Superseded by 2020-560"), ("2023-033", "2023-033", "Withdrawn")],
)
def test_what_is_no_longer_in_force_is_told(
    opener: Opener, line: str, number: str, told: str
) -> None:
    page = opener()
    ask(page, line)
    expect(page.locator(f"[data-number='{number}'] .more-said")).to_contain_text(told)


def test_for_a_unit_other_safety_bulletins_stand_above_and_are_no_results(opener: Opener) -> None:
    page = opener()
    ask(page, f"{SAFE} noise")
    strip = page.get_by_role("region", name="Safety")
    assert strip.get_by_role("link").count() > 0
    assert strip.locator("[data-number]").count() == 0
    top = strip.bounding_box()
    below = page.locator("[data-number]").first.bounding_box()
    assert top and below and top["y"] < below["y"]
    found = numbers(page)
    for link in strip.get_by_role("link").all():
        assert link.inner_text().split()[0] not in found


def test_a_safety_bulletin_that_fits_comes_first_and_is_marked(opener: Opener) -> None:
    page = opener()
    ask(page, "TD45A LL4500500 smells of burnt plastic")
    first = page.locator("[data-number]").first
    assert first.get_attribute("data-number") == "2020-027"
    expect(first.locator(".kind")).to_have_text("Safety")
    assert first.locator(".kind").evaluate("e => getComputedStyle(e).borderTopStyle") == "solid"


def test_further_bulletins_of_the_unit_lie_folded_below_with_their_titles(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    fold = page.locator("details.also")
    assert re.fullmatch(r"Also for this unit: \d+", fold.locator("summary").inner_text())
    assert not fold.locator("li").first.is_visible()
    fold.locator("summary").click()
    expect(fold.get_by_role("link", name="2025-036 Inlet and drain hoses")).to_be_visible()


def test_what_to_order_for_a_part_stands_on_top(opener: Opener) -> None:
    page = opener()
    ask(page, "HR-310-4120")
    box = page.get_by_role("region", name="Order for HR-310-4120")
    words = " ".join(box.inner_text().split())
    assert "Order today HR-310-4131 × 1" in words
    assert "was HR-310-4120" in words
    assert "Coming: HR-310-4138, from 2027-01" in words
    assert "running out" in words
    box.get_by_role("link", name="HR-310-4131").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("HR-310-4131")


def test_a_unit_without_words_lists_all_that_applies(opener: Opener, demo_desk: Desk) -> None:
    page = opener()
    ask(page, PLATE)
    page.get_by_role("button", name="Show more").click()
    ready(page)
    found = demo_desk.finder.find(PLATE, limit=30)
    assert numbers(page) == [result.card.number for result in found.results]
    assert page.locator("[data-number]:not([data-applies])").count() == 0


def test_show_more_goes_on_where_the_list_ended(opener: Opener) -> None:
    page = opener()
    first = ask(page, "TD45A")
    assert len(first) == 10
    page.get_by_role("button", name="Show more").focus()
    page.keyboard.press("Enter")
    expect(page.locator("[data-number]:nth-child(11) a")).to_be_focused()
    assert numbers(page)[:10] == first
    page.fill(BOX, "TD45A hums")
    ready(page)
    assert len(numbers(page)) <= 10


def test_where_nothing_is_found_it_says_so_and_writes_to_the_desk(opener: Opener) -> None:
    page = opener()
    assert ask(page, f"{PLATE} coffee grinder xylophone") == []
    expect(page.locator("[data-count]")).to_have_text("Nothing found")
    mail = page.get_by_role("link", name="Ask the service desk by mail").get_attribute("href") or ""
    assert mail.startswith("mailto:desk@hollin-ridge.example?")
    body = parse_qs(urlsplit(mail).query)["body"][0]
    assert "coffee grinder xylophone" in body
    assert "Unit: TD45A/3 KP1400031" in body


def test_what_would_find_something_fills_the_box(opener: Opener) -> None:
    page = opener()
    assert ask(page, "E99") == []
    offered = page.locator(".nearest button").first
    line = offered.inner_text()
    offered.click()
    expect(page.locator(BOX)).to_have_value(line)
    expect(page.locator("[data-number]").first).to_be_visible()


# The box, its keys and its chips


@pytest.mark.parametrize("way", ["Enter", "Find"])
def test_sending_gives_the_answer_the_focus_and_lifts_the_plate_out(
    opener: Opener, way: str
) -> None:
    page = opener()
    page.fill(BOX, f"model {PLATE} hums")
    if way == "Enter":
        page.press(BOX, "Enter")
    else:
        page.get_by_role("button", name="Find").click()
    expect(page.get_by_role("heading", name="Answers")).to_be_focused()
    expect(page.locator(BOX)).to_have_value("hums")
    ready(page)
    assert chips(page)[0] == "model TD45A, digit 3"
    assert page.locator("[data-number]").first.get_attribute("data-applies") == "yes"
    assert asked_by(page) == {"q": "hums", "model": "TD45A/3", "serial": "KP1400031"}


def test_the_next_symptom_needs_no_second_typing_of_the_plate(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    ask(page, "E21")
    assert chips(page) == ["model TD45A, digit 3", "built 2022-W14, Kirkholm works", "code E21"]
    assert page.locator("[data-number]:not([data-applies])").count() == 0
    page.reload()
    ready(page)
    assert chips(page)[0] == "model TD45A, digit 3"
    assert kept(page) == ["TD45A/3", "KP1400031"]


def test_a_unit_typed_anew_takes_the_place_of_the_one_at_hand(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    ask(page, "CW8A noise")
    assert chips(page) == ["model CW8A"]
    assert kept(page) == ["CW8A", ""]


def test_the_same_model_typed_again_keeps_digit_and_serial(opener: Opener) -> None:
    page = opener()
    ask(page, PLATE)
    ask(page, "hums td45a")
    assert chips(page) == ["model TD45A, digit 3", "built 2022-W14, Kirkholm works"]


def test_a_serial_typed_for_the_model_at_hand_is_taken(opener: Opener) -> None:
    page = opener("?model=TD45A%2F3")
    ask(page, "KP1400031 hums")
    assert chips(page) == ["model TD45A, digit 3", "built 2022-W14, Kirkholm works"]
    assert kept(page) == ["TD45A/3", "KP1400031"]


def test_a_slip_in_the_plate_leaves_no_unit_behind(opener: Opener) -> None:
    page = opener()
    page.locator(BOX).press_sequentially("TD45A")
    ready(page)
    assert kept(page) == ["TD45A", ""]
    page.keyboard.press("Backspace")
    ready(page)
    page.wait_for_function("!localStorage.getItem('fb-unit')")
    page.keyboard.type("B")
    ready(page)
    assert chips(page) == ["model TD45B"]


def test_a_slip_in_a_plate_brings_back_the_unit_that_was_at_hand(opener: Opener) -> None:
    page = opener("?model=CW8A")
    page.locator(BOX).press_sequentially("TD45A")
    ready(page)
    assert kept(page) == ["TD45A", ""]
    page.keyboard.press("Backspace")
    ready(page)
    assert kept(page) == ["CW8A", ""]


@pytest.mark.parametrize(
    ("line", "chip", "left"),
    [
        ("err 21 hums", "code E21", "hums"),
        ("hums part no. HR-310-4120", "part HR-310-4120", "hums"),
        ("2026-014 hums", "bulletin 2026-014", "hums"),
        ("model TD45A hums", "model TD45A", "hums"),
        ("TD45A/3 KP1400031 hums", "built 2022-W14, Kirkholm works", "TD45A/3 hums"),
    ],
)
def test_a_chip_is_taken_off_by_keyboard_and_leaves_the_rest(
    opener: Opener, line: str, chip: str, left: str
) -> None:
    page = opener()
    ask(page, line)
    page.get_by_role("button", name=f"Remove {chip}").focus()
    page.keyboard.press("Enter")
    expect(page.locator(BOX)).to_have_value(left)
    ready(page)
    assert chip not in chips(page)
    focused = page.evaluate("document.activeElement.getAttribute('aria-label') ?? 'box'")
    assert focused == (f"Remove {chips(page)[-1]}" if chips(page) else "box")


def test_the_unit_at_hand_is_taken_off_by_its_chips(opener: Opener) -> None:
    page = opener("?q=hums&model=TD45A%2F3&serial=KP1400031")
    page.get_by_role("button", name="Remove built").click()
    expect(page.locator(".chip")).to_have_count(1)
    assert kept(page) == ["TD45A/3", ""]
    page.get_by_role("button", name="Remove model TD45A, digit 3").click()
    expect(page.locator(".chip")).to_have_count(0)
    assert kept(page) is None
    expect(page.locator(BOX)).to_have_value("hums")
    assert asked_by(page) == {"q": "hums"}


def test_new_unit_begins_anew(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    page.get_by_role("button", name="New unit").click()
    expect(page.locator(BOX)).to_be_focused()
    ready(page)
    expect(page.locator(BOX)).to_have_value("hums")
    assert (kept(page), chips(page)) == (None, [])


def test_ways_in_step_aside_for_answers_and_come_back(opener: Opener) -> None:
    page = opener()
    ways = page.get_by_role("navigation", name="Ways in")
    expect(ways).to_be_visible()
    ask(page, "hums")
    expect(ways).to_be_hidden()
    ask(page, "")
    expect(ways).to_be_visible()
    expect(page.get_by_role("heading", name="Answers")).to_be_hidden()


def test_a_unit_alone_leaves_the_ways_in_below_its_list(opener: Opener) -> None:
    page = opener("?model=TD45A")
    expect(page.get_by_role("navigation", name="Ways in")).to_be_visible()
    assert len(numbers(page)) == 10
    assert page.locator("[data-issued][data-number]").count() == 0


# Sharing


def test_an_address_carries_out_its_search_on_another_phone(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    page.press(BOX, "Enter")
    expect(page.locator(BOX)).to_have_value("hums")
    ready(page)
    found = numbers(page)
    page.wait_for_timeout(600)
    other = opener("?" + urlsplit(page.url).query)
    assert numbers(other) == found
    assert chips(other) == chips(page)
    expect(other.locator(BOX)).to_have_value("hums")


def test_an_address_with_the_plate_in_its_line_works_as_well(opener: Opener) -> None:
    page = opener("?q=TD45A%2F3+KP1400031+hums")
    assert chips(page)[0] == "model TD45A, digit 3"
    expect(page.locator(BOX)).to_have_value("TD45A/3 KP1400031 hums")


def test_text_shared_from_a_messenger_lands_in_the_box(opener: Opener) -> None:
    page = opener("?title=Chat&q=TD45A%0A+hums+after+the+wash&url=")
    expect(page.locator(BOX)).to_have_value("TD45A hums after the wash")
    assert chips(page) == ["model TD45A"]
    assert numbers(page)


def test_an_address_with_an_unknown_model_says_so_and_still_answers(opener: Opener) -> None:
    page = opener("?q=hums&model=TD99")
    assert "no model TD99 is known" in page.locator(".chip").inner_text()
    assert numbers(page)
    page.get_by_role("button", name="Remove model TD99").click()
    expect(page.locator(".chip")).to_have_count(0)


def test_an_address_asks_nothing_of_scripts(opener: Opener) -> None:
    page = opener("?q=%3Cimg+src%3Dx+onerror%3Dalert(1)%3E+hums&model=%3Cb%3E")
    expect(page.locator(BOX)).to_have_value("<img src=x onerror=alert(1)> hums")
    assert page.locator("main img, main .chip b b").count() == 0


# Never an older answer, and a slow or missing network


def test_what_is_ready_answers_what_stands_in_the_box(opener: Opener) -> None:
    page = opener()
    lines = ["hums", "leaks", "E21", "wont drain", "door seal", "hums"]
    for line in lines[:-1]:
        page.fill(BOX, line)  # without waiting for its answer
        page.wait_for_timeout(15)
    last = ask(page, lines[-1])
    alone = opener()
    wanted = {line: " ".join(ask(alone, line)) for line in set(lines)} | {"": ""}
    assert " ".join(last) == wanted["hums"]
    for line, shown in page.evaluate("window.seen"):
        assert shown == wanted[line], line


def test_an_answer_that_comes_late_is_never_shown(browser: Browser, address: str) -> None:
    window = browser.new_context(viewport=PHONE)  # type: ignore[arg-type]
    page = window.new_page()
    page.add_init_script(WATCH)
    waits = iter([900, 500, 300, 100, 50, *[0] * 200])

    def late(route: Route) -> None:
        page.wait_for_timeout(next(waits))
        route.continue_()

    page.goto(address)
    ready(page)
    page.route("**/data/*.bin", late)
    lines = ["hums", "squeaks", "does not heat"]
    for line in lines:
        page.locator(BOX).fill(line)
        page.wait_for_timeout(250)
    page.wait_for_selector(READY + " [data-number]", timeout=20000)
    ready(page)
    seen = [pair for pair in page.evaluate("window.seen") if pair[0]]
    assert [line for line, _ in seen] == sorted({line for line, _ in seen}, key=lines.index)
    assert seen[-1][0] == lines[-1]
    page.unroute("**/data/*.bin")
    for line, shown in seen:
        assert shown == " ".join(ask(page, line))
    window.close()


def pieces(page: Page) -> list[str]:
    """Return the list that the pieces of data fetched from now on will be in."""
    fetched: list[str] = []
    page.on("request", lambda r: fetched.append(r.url) if "/data/" in r.url else None)
    return fetched


def test_a_line_typed_in_one_go_fetches_no_more_than_its_end_needs(opener: Opener) -> None:
    typed, put = opener(), opener()
    one, other = pieces(typed), pieces(put)
    typed.locator(BOX).press_sequentially("leaks", delay=20)
    ready(typed)
    ask(put, "leaks")
    assert numbers(typed) == numbers(put)
    assert set(one) == set(other)
    assert len(one) == len(set(one))


def test_without_a_connection_it_says_so_and_answers_once_there_is_one(
    browser: Browser, address: str
) -> None:
    window = browser.new_context(viewport=PHONE, service_workers="block")  # type: ignore[arg-type]
    page = window.new_page()
    page.goto(address)
    ready(page)
    page.wait_for_timeout(300)
    window.set_offline(True)
    ask(page, "hums")
    expect(page.locator("[data-results]")).to_contain_text("try again where there is a connection")
    expect(page.get_by_role("navigation", name="Ways in")).to_be_visible()
    window.set_offline(False)
    expect(page.locator("[data-number]").first).to_be_visible()
    window.close()


def test_a_site_published_anew_meanwhile_is_asked_anew(browser: Browser, address: str) -> None:
    window = browser.new_context(viewport=PHONE, service_workers="block")  # type: ignore[arg-type]
    page = window.new_page()
    gone: list[str] = []

    def missing(route: Route) -> None:
        """Answer that the start is no more: to the page, and to its worker."""
        if len(gone) < 2 and route.request.url in (gone or [route.request.url]):
            gone.append(route.request.url)
            route.fulfill(status=404)
        else:
            route.continue_()

    page.route("**/data/*.bin", missing)
    asked = pieces(page)
    page.goto(address + "?q=hums")
    expect(page.locator("[data-number]").first).to_be_visible()
    assert len(gone) == 2
    assert any(url.endswith("data/head.json") for url in asked)
    window.close()


def test_the_browser_s_policy_is_never_in_the_way(opener: Opener) -> None:
    page = opener()
    for line in ("hums", PLATE, "HR-310-4120", "E99"):
        ask(page, line)
    assert page.locator("[style], script:not([src]), style").count() == 0


def test_from_a_disk_the_page_says_what_search_needs_and_the_ways_in_work(
    browser: Browser, demo_site: Path
) -> None:
    page = browser.new_page(viewport=PHONE)  # type: ignore[arg-type]
    page.goto((demo_site / "index.html").as_uri())
    ask(page, "hums")
    expect(page.locator("[data-results]")).to_contain_text("Search needs the web address")
    page.get_by_role("link", name="Symptoms", exact=True).click()
    expect(page.get_by_role("heading", name="By symptom")).to_be_visible()
    page.close()


def test_without_script_the_page_is_of_use(opener: Opener) -> None:
    page = opener(java_script_enabled=False)
    expect(page.get_by_role("navigation", name="Ways in")).to_be_visible()
    assert re.search(r"<noscript>\s*<p[^>]*>The box needs script", page.content())
    page.get_by_role("link", name="Models", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Models")


def test_a_phone_that_keeps_nothing_still_carries_the_unit_on_the_page(opener: Opener) -> None:
    page = opener(scripts=[NO_STORAGE])
    ask(page, f"{PLATE} hums")
    ask(page, "E21")
    assert chips(page)[0] == "model TD45A, digit 3"
    page.get_by_role("button", name="New unit").click()
    ready(page)
    expect(page.locator(".chip")).to_have_count(1)


def test_another_window_s_unit_is_taken_over(opener: Opener, address: str) -> None:
    page = opener("?q=hums")
    other = page.context.new_page()
    other.goto(address)
    other.evaluate("""localStorage.setItem("fb-unit", '{"model": "TD45A", "serial": ""}')""")
    expect(page.locator(".chip")).to_have_count(1)
    assert chips(page) == ["model TD45A"]


# Everyone


def test_how_much_was_found_is_announced_in_one_short_sentence(opener: Opener) -> None:
    page = opener()
    status = page.locator("[data-count]")
    assert status.get_attribute("role") == "status"
    ask(page, "hums")
    expect(status).to_have_text("The first 10 bulletins")
    ask(page, f"{PLATE} hums")
    expect(status).to_have_text(re.compile(r"^\d bulletins, all apply$"))
    assert page.locator("[data-results]").get_attribute("aria-live") is None
    assert page.locator("[aria-live] [data-number], [role=status] [data-number]").count() == 0


def test_the_whole_way_to_a_bulletin_goes_by_keyboard(opener: Opener) -> None:
    page = opener()
    names: list[str] = []
    for _ in range(12):
        page.keyboard.press("Tab")
        names.append(
            page.evaluate("document.activeElement.id || document.activeElement.textContent")
        )
        if names[-1] == "q":
            break
    assert names[0] == "Skip to the content"
    page.keyboard.type(f"{PLATE} hums")
    ready(page)
    page.keyboard.press("Enter")
    heading = page.get_by_role("heading", name="Answers")
    expect(heading).to_be_focused()
    page.keyboard.press("Tab")
    title = page.locator("[data-number] a").first
    expect(title).to_be_focused()
    words = title.inner_text()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(words)
    expect(page.locator("[data-here]")).to_contain_text("Applies to this unit")


def test_a_screen_reader_meets_names_for_everything(opener: Opener) -> None:
    page = opener()
    ask(page, f"{PLATE} hums")
    expect(page.get_by_role("searchbox", name="Symptom, code, part or plate")).to_be_visible()
    expect(page.get_by_role("region", name="Answers")).to_be_visible()
    expect(page.get_by_role("list", name="Understood")).to_be_visible()
    expect(page.get_by_role("list", name="Can hurt you").first).to_be_visible()
    for button in page.locator("main button").all():
        assert (button.get_attribute("aria-label") or button.inner_text()).strip()


LINES = [PLATE + " hums", "HR-310-4120", "E99", "TD45A KZ1400031", SAFE + " noise"]


@pytest.mark.parametrize("look", LOOKS)
def test_axe_finds_nothing_in_any_answer(opener: Opener, look: Look) -> None:
    page = opener(look=look)
    options = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}
    for line in LINES:
        ask(page, line)
        found = Axe().run(page, options=options).response["violations"]
        assert [(each["id"], [node["html"] for node in each["nodes"]]) for each in found] == []


@pytest.mark.parametrize("width", [320, 360, 1100])
def test_an_answer_fits_the_screen_and_its_targets_a_thumb(opener: Opener, width: int) -> None:
    page = opener(width=width)
    for line in LINES:
        ask(page, line)
        fits(page, width)


def fits(page: Page, width: int) -> None:
    """Hold that nothing sticks out, and that what is tapped is large enough."""
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for target in page.locator("main button:visible, main summary:visible").all():
        size = target.bounding_box()
        assert size and min(size["width"], size["height"]) >= 44  # WCAG 2.2, 2.5.5
    for link in page.locator(".strip a, .orders-today a, .mail").all():
        size = link.bounding_box()
        assert size and size["height"] >= 44


def test_text_of_twice_the_size_needs_no_sideways_scrolling(opener: Opener) -> None:
    page = opener(width=320)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    for line in LINES:
        ask(page, line)
        assert page.evaluate("document.documentElement.scrollWidth") <= 320, line


@pytest.mark.parametrize("look", ["light", "dark"])
def test_every_text_of_an_answer_stands_out_sevenfold(opener: Opener, look: Look) -> None:
    page = opener(look=look)  # WCAG 2.2, 1.4.6
    ask(page, f"{PLATE} hums")
    pairs = page.evaluate(
        """() => [...document.querySelectorAll("main *")]
          .filter((e) => e.checkVisibility() && [...e.childNodes].some((n) => n.data?.trim()))
          .map((e) => {
            let under = e;
            const solid = (each) => getComputedStyle(each).backgroundColor;
            while (under.parentElement && /, 0\\)$/.test(solid(under))) under = under.parentElement;
            const figures = (colour) => colour.match(/[\\d.]+/g).slice(0, 3).map(Number);
            return [e.textContent, figures(getComputedStyle(e).color), figures(solid(under))];
          })"""
    )
    assert len(pairs) > 20
    assert [(text, contrast(a, b)) for text, a, b in pairs if contrast(a, b) < 7] == []


# What is new, and the other pages


def looked(day: str, shown: list[str], at: str) -> str:
    """Return a script that makes a phone one that looked before."""
    seen = json.dumps({"day": day, "numbers": shown, "at": at})
    return f"localStorage.getItem('fb-seen') ?? localStorage.setItem('fb-seen', {json.dumps(seen)})"


def test_the_first_look_finds_nothing_new(opener: Opener) -> None:
    page = opener()
    assert page.locator(".fresh, .news").count() == 0
    assert json.loads(page.evaluate("localStorage.getItem('fb-seen')"))["at"] == "2026-11-25"


def test_what_came_since_the_last_look_is_marked(opener: Opener) -> None:
    listed = opener().locator("[data-issued]")
    days = [item.get_attribute("data-issued") or "" for item in listed.all()]
    page = opener(scripts=[looked(days[2], [], "2026-11-01")])
    fresh = sum(day >= days[2] for day in days)
    expect(page.locator(".fresh")).to_have_count(fresh)
    expect(page.locator(".news")).to_contain_text("new since you last looked on 1 Nov 2026.")
    page.reload()  # the marks stay while the window is open
    expect(page.locator(".fresh")).to_have_count(fresh)
    later = page.context.new_page()
    later.goto(page.url)
    ready(later)
    expect(later.locator(".fresh")).to_have_count(0)


def test_where_every_family_is_carried_the_list_of_the_newest_stands_still(
    opener: Opener,
) -> None:
    every = ["Tarn", "Cairn", "Scree", "Moraine", "Lantern", ""]
    carries = f"localStorage.setItem('fb-carried', {json.dumps(json.dumps(every))})"
    page = opener(scripts=[carries])
    assert page.locator("#families .what").all_inner_texts() == every[:-1]
    ready(page)
    expect(page.locator("[data-newest] .meta").first).to_be_visible()
    expect(page.get_by_text("Of what this phone carries")).to_have_count(0)


def test_a_phone_that_carries_families_is_told_what_is_new_of_them(opener: Opener) -> None:
    carries = "localStorage.setItem('fb-carried', '[\"Lantern\"]')"
    page = opener(scripts=[carries, looked("2026-01-01", [], "2026-11-01")])
    newest = page.get_by_role("region", name="Newest bulletins")
    expect(newest).to_contain_text("Of what this phone carries: Lantern")
    listed = newest.locator("[data-issued]")
    expect(listed).to_have_count(6)
    days = [item.get_attribute("data-issued") or "" for item in listed.all()]
    assert days == sorted(days, reverse=True)
    expect(newest.locator(".fresh")).to_have_count(sum(day > "2026-01-01" for day in days))
    newest.get_by_role("link").first.click()
    expect(page.locator("#applies")).to_contain_text("Lantern")


def test_other_pages_show_the_unit_at_hand_and_lead_back_to_its_answers(opener: Opener) -> None:
    page = opener()
    ask(page, PLATE)
    page.goto(page.url.partition("?")[0] + "models/TD45A/")
    line = page.get_by_role("complementary", name="Unit at hand")
    expect(line).to_contain_text("TD45A/3 KP1400031")
    found = Axe().run(page).response["violations"]
    assert [each["id"] for each in found] == []
    line.get_by_role("link", name="What applies to it").click()
    ready(page)
    assert chips(page)[0] == "model TD45A, digit 3"
    assert numbers(page)


def test_without_a_unit_other_pages_show_no_line_for_one(opener: Opener) -> None:
    page = opener()
    page.goto(page.url + "models/TD45A/")
    expect(page.locator(".at-hand")).to_have_count(0)
