"""Every kind of page in a real Chromium: nothing hidden, nothing too small, nothing that fails."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Response

from tests.browser import LOOKS, Look, Watched, context, contrast, served, watched

# One page of each kind, and those with something on them that could go wrong by itself.
KINDS = {
    "front": "",
    "bulletins": "bulletins/",
    "bulletin": "bulletins/2026-014/",
    "superseded": "bulletins/2020-017/",
    "long-tables": "bulletins/2021-013/",
    "drawing": "bulletins/2018-008/",
    "danger": "bulletins/2024-561/",
    "two-places": "bulletins/2018-533/",
    "families": "families/",
    "family": "families/Tarn/",
    "models": "models/",
    "model": "models/TD45A/",
    "span": "models/TD45A/KS10/",
    "components": "components/",
    "component": "components/drain-pump/",
    "symptoms": "symptoms/",
    "symptom": "symptoms/hums-but-does-not-drain/",
    "codes": "codes/",
    "code": "codes/E21/",
    "parts": "parts/",
    "part-by-model": "parts/HR-310-4302/",
    "kit": "parts/HR-310-1223/",
    "roundups": "roundups/",
    "roundup": "roundups/2026-Q4/",
}
WIDTHS = (320, 360, 1100)
every_kind = pytest.mark.parametrize("kind", KINDS)
every_look = pytest.mark.parametrize("look", LOOKS)


class Windows:
    """Windows by width and look, each opened once; every page in them is watched."""

    def __init__(self, browser: Browser, address: str) -> None:
        self.browser, self.address = browser, address
        self.open: dict[tuple[int, str], tuple[BrowserContext, Watched]] = {}

    def show(self, kind: str, width: int = 360, look: Look = "light") -> Page:
        """Show the page of a kind in a window of this width and look."""
        return self.watch(kind, width, look).page

    def watch(self, kind: str, width: int = 360, look: Look = "light") -> Watched:
        """Show the page of a kind, with what went wrong on it."""
        if (width, look) not in self.open:
            window = context(self.browser, width, look)
            self.open[width, look] = window, watched(window)
        seen = self.open[width, look][1]
        seen.troubles.clear()
        seen.open(self.address + KINDS[kind])
        return seen


@pytest.fixture(scope="module")
def address(demo_site: Path) -> Iterator[str]:
    """The demo site on a web server, in a folder below the top."""
    with served(demo_site.parent.parent) as top:
        yield top + "service/notes/"


@pytest.fixture(scope="module")
def windows(browser: Browser, address: str) -> Iterator[Windows]:
    shown = Windows(browser, address)
    yield shown
    for window, _ in shown.open.values():
        window.close()


# Nothing hidden: WCAG 2.2 success criterion 1.4.10 (reflow at 320 CSS pixels)

WIDE = """() => {
  const wide = document.documentElement.clientWidth;
  return [...document.querySelectorAll('body *')].filter(each => {
    const box = each.getBoundingClientRect();
    const outside = box.right > wide + 0.5 || box.left < -0.5;
    return box.width && outside && !each.closest('.scroll, pre');
  }).map(each => each.outerHTML.slice(0, 90));
}"""


@every_kind
@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_has_to_be_moved_sideways(windows: Windows, kind: str, width: int) -> None:
    page = windows.show(kind, width)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.evaluate(WIDE) == []


# Success criterion 1.4.4: text at 200 % without loss


@every_kind
def test_text_of_twice_the_size_stays_on_the_page(windows: Windows, kind: str) -> None:
    page = windows.show(kind, 1100)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 1100
    assert page.evaluate(WIDE) == []


# Large enough: success criterion 2.5.5 (44 by 44 CSS pixels, links within a sentence exempt). The
# height is felt out point by point, as a finger would meet it.

SMALL = """() => {
  const own = (each, x, y) => {
    const hit = document.elementFromPoint(x, y);
    return hit && (each === hit || each.contains(hit));
  };
  const beside = each => {
    let line = each.parentElement;
    while (getComputedStyle(line).display.startsWith('inline')) line = line.parentElement;
    if (line.matches('nav, header, .chips li, .rows li, .links, th')) return false;
    const words = node => node.textContent.replace(/[\\s,;:()×–→.]/g, '');
    return words(line) !== words(each);
  };
  const found = [];
  for (const each of document.querySelectorAll('a[href], button, input, summary')) {
    if (each.classList.contains('skip') || !each.getClientRects().length) continue;
    if (each.closest('details:not([open])') && !each.matches('summary')) continue;
    const inline = getComputedStyle(each).display.startsWith('inline');
    if (inline && beside(each)) continue;
    each.scrollIntoView({block: 'center', behavior: 'instant'});
    const box = each.getBoundingClientRect();
    const x = box.left + Math.min(box.width / 2, 20), y = box.top + Math.min(box.height / 2, 12);
    let top = y, low = y;
    while (top > y - 60 && own(each, x, top - 1)) top -= 1;
    while (low < y + 60 && own(each, x, low + 1)) low += 1;
    if (low - top < 43 || !own(each, x, y))
      found.push([Math.round(low - top), each.outerHTML.slice(0, 120)]);
  }
  return found;
}"""


@every_kind
@pytest.mark.parametrize("width", [360, 1100])
def test_every_target_can_be_hit_with_a_gloved_thumb(
    windows: Windows, kind: str, width: int
) -> None:
    assert windows.show(kind, width).evaluate(SMALL) == []


# Seen and in order by the keyboard: success criteria 2.1.1, 2.4.1, 2.4.3 and 2.4.7


def focused(page: Page) -> dict[str, Any]:
    found: dict[str, Any] = page.evaluate(
        """() => {
          const each = document.activeElement, style = getComputedStyle(each);
          const box = each.getBoundingClientRect();
          return {
            at: [...document.querySelectorAll('*')].indexOf(each), name: each.tagName,
            id: each.id, skip: each.classList.contains('skip'),
            ring: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
            seen: box.bottom > 0 && box.top < innerHeight && box.height > 0,
            line: style.outlineColor,
          };
        }"""
    )
    return found


@every_kind
def test_the_keyboard_goes_through_a_page_in_order_and_is_seen(windows: Windows, kind: str) -> None:
    page = windows.show(kind)
    assert page.evaluate("[...document.querySelectorAll('[tabindex]')].every(e => e.tabIndex < 1)")
    steps: list[dict[str, Any]] = []
    for _ in range(25):
        page.keyboard.press("Tab")
        found = focused(page)
        if found["name"] == "BODY" or (steps and found["at"] <= steps[-1]["at"]):
            break
        steps.append(found)
    assert steps[0]["skip"]
    assert len(steps) >= 6
    assert [step for step in steps if not (step["ring"] and step["seen"])] == []


@every_kind
def test_the_first_stop_leads_past_the_header(windows: Windows, kind: str) -> None:
    page = windows.show(kind)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert focused(page)["id"] == "main"
    page.keyboard.press("Tab")
    assert page.evaluate("document.querySelector('main').contains(document.activeElement)")


def test_the_jump_row_leads_to_the_ways_in(windows: Windows) -> None:
    page = windows.show("front")
    assert page.locator(".ways").bounding_box()["y"] < 400  # type: ignore[index]
    for name in ("Families", "Symptoms", "Components", "Codes"):
        page.locator(".ways a", has_text=name).click()
        goal = page.locator(f"#{name.lower()}")
        page.wait_for_function(
            "name => Math.abs(document.getElementById(name).getBoundingClientRect().top) < 200"
            " || scrollY + innerHeight >= document.documentElement.scrollHeight - 2",
            arg=name.lower(),
        )
        assert goal.locator("h2").is_visible()


# Nothing fails


@every_kind
@every_look
def test_nothing_fails_and_nothing_is_refused(windows: Windows, kind: str, look: Look) -> None:
    seen = windows.watch(kind, look=look)
    seen.page.wait_for_load_state("networkidle")
    assert seen.troubles == []


@pytest.mark.parametrize("kind", ["front", "bulletin", "drawing", "span", "part-by-model"])
def test_a_page_read_from_a_disk_works_as_well(
    browser: Browser, demo_site: Path, kind: str
) -> None:
    window = context(browser)
    seen = watched(window)
    page = seen.open((demo_site / KINDS[kind] / "index.html").as_uri())
    assert page.evaluate("getComputedStyle(document.body).marginTop") == "0px"  # styled
    page.locator("header .house").click()
    assert page.locator("input[type=search]").count() == 1
    assert [each for each in seen.troubles if "manifest" not in each] == []
    window.close()


def test_a_click_leads_from_the_front_page_to_a_bulletin_and_on_to_its_parts(
    windows: Windows,
) -> None:
    page = windows.show("front")
    page.locator(".entry a", has_text="Drain pump hums").click()
    assert page.url.endswith("/service/notes/bulletins/2026-014/index.html")
    page.locator("#parts a.number").first.click()
    assert "/service/notes/parts/HR-" in page.url
    page.locator("header .house").click()
    assert page.locator("input[type=search]").count() == 1


@pytest.mark.parametrize("kind", ["drawing", "two-places", "danger", "roundup", "front"])
def test_pictures_load_at_their_size_and_nothing_jumps(windows: Windows, kind: str) -> None:
    page = windows.show(kind)
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    if kind == "front":
        page.wait_for_selector(".carry p:has-text('Carried:')")
    pictures = page.evaluate(
        """() => [...document.images].map(each => [each.naturalWidth > 0,
             each.clientWidth / each.clientHeight / (each.width / each.height),
             each.getAttribute('width') / each.getAttribute('height')
               / (each.naturalWidth / each.naturalHeight)])"""
    )
    assert kind not in ("drawing", "two-places", "danger") or pictures
    for loaded, shown, told in pictures:
        assert loaded
        assert shown == pytest.approx(1, abs=0.05)
        assert told == pytest.approx(1, abs=0.02)
    shifts = page.evaluate(
        """() => new Promise(done => {
             const found = [];
             const where = box => [box.top, box.bottom];
             const moved = ({node, previousRect, currentRect}) =>
               [node?.outerHTML?.slice(0, 80), where(previousRect), where(currentRect)];
             new PerformanceObserver(list => {
               for (const each of list.getEntries())
                 found.push([each.value, each.startTime, each.sources.map(moved)]);
             }).observe({type: 'layout-shift', buffered: true});
             setTimeout(() => done(found), 50);
           })"""
    )
    assert shifts == []


@every_kind
def test_a_page_with_its_style_weighs_less_than_100_kilobytes(
    browser: Browser, address: str, kind: str
) -> None:
    window = context(browser, java_script_enabled=False)
    page = window.new_page()
    answers: list[Response] = []
    page.on("response", lambda answer: answers.append(answer))
    page.goto(address + KINDS[kind], wait_until="networkidle")
    fetched = {
        answer.url: len(answer.body())
        for answer in answers
        if re.search(r"(/|\.html|\.css|\.js)$", answer.url)
    }
    assert any(url.endswith(".css") for url in fetched)
    assert len(fetched) == 2
    assert sum(fetched.values()) < 100_000
    window.close()


# Without script


@every_kind
def test_a_page_says_all_it_has_to_say_without_script(
    browser: Browser, windows: Windows, address: str, kind: str
) -> None:
    window = context(browser, java_script_enabled=False)
    page = window.new_page()
    page.goto(address + KINDS[kind])
    plain = page.locator("main").inner_text()
    scripted = windows.show(kind).locator("main").inner_text()
    assert len(plain) >= len(scripted) * 0.95
    window.close()


def test_the_front_page_says_what_to_do_where_script_is_off(browser: Browser, address: str) -> None:
    window = context(browser, java_script_enabled=False)
    page = window.new_page()
    page.goto(address)
    assert page.locator("noscript p").is_visible()
    page.locator(".tiles a").first.click()
    page.locator(".chips a").first.click()
    page.locator(".spans a").first.click()
    assert page.locator(".verdict.yes").is_visible()
    window.close()


# Text stands out: success criterion 1.4.6 (AAA), 7:1, by the colours that the browser reckons

COLOURS = """() => {
  const parts = text => text.match(/[\\d.]+/g).map(Number);
  const solid = style => (parts(style.backgroundColor)[3] ?? 1) > 0.99;
  const seen = new Map();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const each = walk.currentNode.parentElement, style = getComputedStyle(each);
    if (!walk.currentNode.data.trim() || !each.getClientRects().length) continue;
    if (each.closest('.skip, noscript')) continue;
    let ground = each;
    while (ground && !solid(getComputedStyle(ground))) ground = ground.parentElement;
    const behind = ground ? getComputedStyle(ground).backgroundColor : 'rgb(255, 255, 255)';
    const pair = [parts(style.color), parts(behind), each.outerHTML.slice(0, 80)];
    seen.set(style.color + behind, pair);
  }
  return [...seen.values()];
}"""


@every_kind
@pytest.mark.parametrize("look", ["light", "dark"])
def test_all_text_stands_out_seven_to_one(windows: Windows, kind: str, look: Look) -> None:
    pairs = windows.show(kind, look=look).evaluate(COLOURS)
    assert len(pairs) >= 3
    assert [where for text, ground, where in pairs if contrast(text, ground) < 7] == []


@pytest.mark.parametrize("look", ["light", "dark"])
def test_what_is_typed_into_the_box_stands_out(windows: Windows, look: Look) -> None:
    page = windows.show("front", look=look)
    page.locator("input[type=search]").fill("hums")
    text, ground, rim, sheet = page.evaluate(
        """() => {
          const parts = text => text.match(/[\\d.]+/g).map(Number);
          const box = getComputedStyle(document.querySelector('input'));
          const sheet = getComputedStyle(document.body).backgroundColor;
          return [box.color, box.backgroundColor, box.borderTopColor, sheet].map(parts);
        }"""
    )
    assert contrast(text, ground) >= 7
    assert contrast(rim, sheet) >= 3  # success criterion 1.4.11


def test_signal_words_keep_their_colour_in_the_dark(windows: Windows) -> None:
    # ANSI Z535 as told by electromark.com: danger red, warning orange, caution yellow, notice blue.
    grounds = (
        "[...document.querySelectorAll('.signal')].map(e => getComputedStyle(e).backgroundColor)"
    )
    light = windows.show("danger").evaluate(grounds)
    assert light == windows.show("danger", look="dark").evaluate(grounds)
    assert len(set(light)) == 4


def test_where_the_reader_chose_the_colours_panels_keep_a_frame(windows: Windows) -> None:
    page = windows.show("danger", look="forced")
    frames = page.evaluate(
        "[...document.querySelectorAll('.panel')].map(e => getComputedStyle(e).borderTopWidth)"
    )
    assert len(frames) >= 4
    assert set(frames) == {"2px"}


# The page for what is not there


def test_a_missing_page_is_styled_and_leads_back_from_any_address(
    browser: Browser, demo_site: Path
) -> None:
    with served(demo_site) as top:  # the demo house says that its site stands at the top
        window = context(browser)
        seen = watched(window)
        page = seen.open(top + "404.html")
        assert page.evaluate(WIDE) == []
        page.locator("main a", has_text="Search").click()
        assert page.locator("input[type=search]").count() == 1
        assert seen.troubles == []
        window.close()
