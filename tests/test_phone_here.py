"""Whether a bulletin applies to the unit at hand: on its page, as the desk answers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from kb.desk import Desk
from kb.plate import read_plate
from tests.browser import served, watched
from tests.search_house import TODAY
from tests.test_phone_job import PHONE, faults

NOON = datetime(TODAY.year, TODAY.month, TODAY.day, 12)
VERDICTS = {
    "yes": "Applies to this unit",
    "maybe": "May apply",
    "no": "Does not apply",
}
DUE = {"yes": "Due now", "maybe": "May be due", "no": "Not yet due"}
YES, NO = ("TD45A/3", "K S 20 00031"), ("TD45A/3", "K P 14 00031")  # built 2024-W20, 2022-W14


@pytest.fixture(scope="module")
def address(demo_site: Path) -> Iterator[str]:
    """The bulletins of the demo site on a web server, in a folder below the top."""
    with served(demo_site.parent.parent) as top:
        yield top + "service/notes/bulletins/"


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    window = browser.new_context(
        viewport=PHONE,  # type: ignore[arg-type]
        reduced_motion="reduce",
        service_workers="block",  # each page is asked of the server: what it holds now
    )
    seen = watched(window)
    seen.page.clock.set_fixed_time(NOON)
    yield seen.page
    window.close()


def keep(page: Page, model: str, serial: str = "") -> None:
    """Have the search keep a unit before any page is opened."""
    unit = f"{{model: {model!r}, serial: {serial!r}, at: '2026-11-25'}}"
    page.add_init_script(f"localStorage['fb-unit'] ??= JSON.stringify({unit})")


def verdict(page: Page) -> Locator:
    return page.locator(".here .verdict")


def said(page: Page) -> list[str]:
    """The lines of the answer once it is there."""
    verdict(page).wait_for()
    return page.locator(".here .answer p").all_inner_texts()


def fill(page: Page, model: str, serial: str = "") -> None:
    page.get_by_role("textbox", name="Model").fill(model)
    page.get_by_role("textbox", name="Serial").fill(serial)
    page.keyboard.press("Enter")


# The same as at the desk


UNITS = [
    YES,
    NO,
    ("TD45A", ""),
    ("TD45A/3", "K S 10 00031"),
    ("CW8A", "L T 40 00007"),
    ("TD60B/2", "zz"),
]


@pytest.mark.parametrize(("model", "serial"), UNITS)
def test_the_page_says_what_the_desk_says(
    page: Page, address: str, demo_desk: Desk, model: str, serial: str
) -> None:
    keep(page, model, serial)
    lines = read_plate(demo_desk.lookup, model, serial, TODAY, True).lines
    shown = {}
    by_verdict = {
        name: [each for each in lines if each.answer.applies == name] for name in VERDICTS
    }
    chosen = [line for group in by_verdict.values() for line in group[:3]]
    chosen += [line for line in lines if line.due][:2]
    assert len(chosen) >= 5
    for line in chosen:
        page.goto(f"{address}{line.card.number}/")
        shown[line.card.number] = said(page)
    unreadable = read_plate(demo_desk.lookup, model, serial, TODAY).unit.unreadable
    for line in chosen:
        told = [VERDICTS[line.answer.applies], unreadable, line.answer.why]
        told.append(line.answer.settle and f"Look for: {line.answer.settle}")
        if line.due and line.card.age:
            told.append(f"{DUE[line.due]}: {line.card.age.advice}")
        expected = [each.lower() for each in told if each]
        assert [each.lower() for each in shown[line.card.number]] == expected


@pytest.mark.parametrize(("plate", "name"), [(YES, "yes"), (NO, "no"), (("TD45A", ""), "maybe")])
def test_the_verdict_is_told_by_word_and_by_shape(
    page: Page, address: str, plate: tuple[str, str], name: str
) -> None:
    keep(page, *plate)
    page.goto(address + "2026-014/")
    assert said(page)[0] == VERDICTS[name]
    assert verdict(page).get_attribute("class") == f"verdict {name}"
    assert verdict(page).evaluate("e => getComputedStyle(e, '::before').content") != "none"
    assert page.locator(".here strong").inner_text() == " ".join(plate).strip()
    section = page.locator("#applies").inner_text()
    assert section.index(VERDICTS[name]) < section.index("All Tarn, built 2024-W10 to 2025-W22.")
    assert faults(page) == []


# The unit at hand


def test_without_a_unit_a_small_form_asks_for_the_plate_and_keeps_it(
    page: Page, address: str
) -> None:
    page.goto(address + "2026-014/")
    assert page.locator("input[type=search]").count() == 0
    page.get_by_role("textbox", name="Model").fill(YES[0])
    page.get_by_role("textbox", name="Serial").fill(YES[1])
    page.get_by_role("button", name="Does it apply?").click()
    assert said(page)[0] == VERDICTS["yes"]
    kept = page.evaluate("JSON.parse(localStorage.getItem('fb-unit'))")
    assert (kept["model"], kept["serial"]) == YES
    page.goto(address + "2017-024/")
    said(page)
    assert page.locator(".here strong").inner_text() == " ".join(YES)


def test_an_empty_model_is_asked_for_again(page: Page, address: str) -> None:
    page.goto(address + "2026-014/")
    page.get_by_role("button", name="Does it apply?").click()
    assert page.evaluate("document.activeElement.name") == "model"
    assert page.evaluate("localStorage.getItem('fb-unit')") is None


def test_the_unit_can_be_changed_and_dropped(page: Page, address: str) -> None:
    keep(page, *YES)
    page.goto(address + "2026-014/")
    said(page)
    page.get_by_role("button", name="Change").click()
    assert verdict(page).count() == 0
    assert page.get_by_role("textbox", name="Model").input_value() == YES[0]
    assert page.evaluate("document.activeElement.name") == "model"
    fill(page, *NO)
    assert said(page)[0] == VERDICTS["no"]
    page.get_by_role("button", name="Drop this unit").click()
    assert page.evaluate("localStorage.getItem('fb-unit')") is None
    assert verdict(page).count() == 0
    assert page.get_by_role("textbox", name="Model").input_value() == ""


def test_a_model_that_nobody_knows_is_told_with_the_nearest(page: Page, address: str) -> None:
    page.goto(address + "2026-014/")
    fill(page, "TD45Z")
    told = page.locator(".here .answer p")
    expect(told).to_have_text("no model TD45Z is known: did you mean TD45B?")
    assert verdict(page).count() == 0
    page.get_by_role("button", name="Change").click()
    fill(page, "TD45A")
    assert said(page)[0] == VERDICTS["maybe"]


def test_a_serial_that_cannot_be_read_says_why(page: Page, address: str) -> None:
    page.goto(address + "2026-014/")
    fill(page, "TD45A/3", "KS9")
    lines = said(page)
    assert lines[0] == VERDICTS["maybe"]
    assert "KS9" in lines[1]


# Never an answer for another unit


def test_no_old_answer_is_left_when_another_page_changes_the_unit(page: Page, address: str) -> None:
    keep(page, *YES)
    page.goto(address + "2026-014/")
    assert said(page)[0] == VERDICTS["yes"]
    other = page.context.new_page()
    other.clock.set_fixed_time(NOON)
    other.goto(address + "2026-014/")
    said(other)
    other.get_by_role("button", name="Change").click()
    fill(other, *NO)
    expect(verdict(page)).to_have_text(VERDICTS["no"])
    other.get_by_role("button", name="Drop this unit").click()
    expect(verdict(page)).to_have_count(0)
    expect(page.get_by_role("textbox", name="Model")).to_be_visible()


def test_an_answer_that_comes_late_is_not_shown_for_the_next_unit(page: Page, address: str) -> None:
    page.add_init_script(
        """const post = Worker.prototype.postMessage;
        Worker.prototype.postMessage = function (told) {
          setTimeout(() => post.call(this, told), told.serial === 'K S 20 00031' ? 900 : 0);
        };"""
    )
    keep(page, *YES)
    page.goto(address + "2026-014/")
    page.get_by_role("button", name="Change").click()
    fill(page, *NO)
    assert said(page)[0] == VERDICTS["no"]
    page.wait_for_timeout(1200)
    assert said(page)[0] == VERDICTS["no"]


def test_a_page_brought_back_by_the_back_key_has_the_unit_of_now(page: Page, address: str) -> None:
    keep(page, *YES)
    page.goto(address + "2026-014/")
    said(page)
    page.goto(address + "2017-024/")
    said(page)
    page.get_by_role("button", name="Change").click()
    fill(page, *NO)
    said(page)
    page.go_back()
    expect(page.locator(".here strong")).to_have_text(" ".join(NO))
    expect(verdict(page)).to_have_text(VERDICTS["no"])


def test_ticks_made_for_another_unit_say_so(page: Page, address: str) -> None:
    keep(page, *YES)
    page.goto(address + "2026-014/")
    said(page)
    page.locator(".step").first.get_by_role("button", name="Not this").click()
    assert page.locator("div.told").inner_text() == ""
    page.get_by_role("button", name="Change").click()
    fill(page, *NO)
    assert page.locator("div.told").inner_text() == f"Ticked for another unit: {' '.join(YES)}."


# Links that carry a unit


def test_the_unit_of_a_link_is_answered_for_and_not_kept(page: Page, address: str) -> None:
    keep(page, *NO)
    page.goto(address + "2026-014/?model=TD45A%2F3&serial=K+S+20+00031")
    assert said(page)[0] == VERDICTS["yes"]
    assert page.locator(".here strong").inner_text() == " ".join(YES)
    assert page.evaluate("JSON.parse(localStorage.getItem('fb-unit')).serial") == NO[1]
    page.get_by_role("button", name="Change").click()
    fill(page, "TD60A", "")
    said(page)
    assert page.url == address + "2026-014/"
    assert page.evaluate("JSON.parse(localStorage.getItem('fb-unit')).model") == "TD60A"


def test_the_unit_goes_into_a_link_only_where_the_sender_wants_it(page: Page, address: str) -> None:
    page.add_init_script("navigator.share = async what => { window.sent = what.url; }")
    keep(page, *YES)
    page.goto(address + "2026-014/")
    said(page)
    page.get_by_role("button", name="Send", exact=True).click()
    assert page.evaluate("window.sent") == address + "2026-014/"
    page.get_by_role("button", name="Send with unit").click()
    assert page.evaluate("window.sent") == address + "2026-014/?model=TD45A%2F3&serial=K+S+20+00031"
    page.goto(page.evaluate("window.sent"))
    assert said(page)[0] == VERDICTS["yes"]


# Nothing to ask


def test_where_the_data_cannot_be_had_the_page_says_so_and_asks_again_with_a_connection(
    page: Page, address: str
) -> None:
    keep(page, *YES)
    away = [True]
    page.route("**/data/**", lambda route: route.abort() if away[0] else route.continue_())
    page.goto(address + "2026-014/")
    told = page.locator(".here .answer p")
    expect(told).to_contain_text("The search data cannot be reached")
    assert page.get_by_text("All Tarn, built 2024-W10 to 2025-W22.").is_visible()
    page.locator(".tick").first.check()
    assert "1 of 3 checks" in page.locator(".tally p").inner_text()
    away[0] = False
    page.evaluate("dispatchEvent(new Event('online'))")
    assert said(page)[0] == VERDICTS["yes"]


def test_where_the_worker_cannot_be_had_the_page_says_so(page: Page, address: str) -> None:
    keep(page, *YES)
    page.route("**/assets/worker.*.js", lambda route: route.abort())
    page.goto(address + "2026-014/")
    expect(page.locator(".here .answer p")).to_contain_text("could not be loaded")


def test_a_page_opened_from_a_disk_says_why_there_is_no_answer(page: Page, demo_site: Path) -> None:
    keep(page, *YES)
    page.goto((demo_site / "bulletins" / "2026-014" / "index.html").as_uri())
    expect(page.locator(".here .answer p")).to_contain_text("opened from a disk")
    page.locator(".step").first.get_by_role("button", name="Found it").click()
    assert page.locator(".tally p").inner_text() == "1 of 3 checks, 3 min so far: found"


def test_without_a_unit_nothing_is_fetched_for_it(page: Page, address: str) -> None:
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))
    page.goto(address + "2026-014/", wait_until="networkidle")
    assert [url for url in fetched if "/data/" in url or "worker" in url] == []


@pytest.mark.parametrize("number", ["2020-017"])
def test_a_superseded_bulletin_still_answers_under_its_notice(
    page: Page, address: str, number: str
) -> None:
    keep(page, "TD45A")
    page.goto(f"{address}{number}/")
    said(page)
    notice, answer = page.locator(".standing").bounding_box(), verdict(page).bounding_box()
    assert notice is not None
    assert answer is not None
    assert notice["y"] < answer["y"]
