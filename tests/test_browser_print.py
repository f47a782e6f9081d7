"""Bulletins on paper: one or two sheets, black on white, with a code that leads back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser import contrast, sheets

SIZES = ("A4", "Letter")


@pytest.fixture(scope="module")
def page(browser: Browser) -> Iterator[Page]:
    shown = browser.new_page()
    yield shown
    shown.close()


def address(site: Path, number: str) -> str:
    return (site / "bulletins" / number / "index.html").as_uri()


def longest(site: Path, count: int) -> list[str]:
    """Return the bulletins of the demo house with the largest pages."""
    found = [path for path in (site / "bulletins").glob("*/index.html") if "~" not in str(path)]
    found.sort(key=lambda path: (-path.stat().st_size, path))
    return [path.parent.name for path in found[:count]]


@pytest.mark.parametrize("size", SIZES)
def test_the_longest_bulletins_take_two_sheets(demo_site: Path, page: Page, size: str) -> None:
    taken = {}
    # Where a heading or a picture is pushed on, a shorter one may take more: these did once.
    for number in dict.fromkeys(
        [*longest(demo_site, 14), "2018-008", "2018-533", "2022-533", "2024-561", "2021-590"]
    ):
        page.goto(address(demo_site, number))
        taken[number] = sheets(page.pdf(format=size))
    assert {number: count for number, count in taken.items() if count > 2} == {}


@pytest.mark.parametrize("size", SIZES)
def test_a_short_bulletin_takes_one_sheet(demo_site: Path, page: Page, size: str) -> None:
    page.goto(address(demo_site, "2020-017"))
    assert sheets(page.pdf(format=size)) == 1


def test_sheets_are_counted(browser: Browser) -> None:
    page = browser.new_page()
    for count in (1, 3):
        breaks = "<p style='break-after: page'>a</p>" * (count - 1)
        page.set_content(f"<main>{breaks}<p>b</p></main>")
        assert sheets(page.pdf(format="A4")) == count
    page.close()


@pytest.fixture
def paper(demo_site: Path, page: Page) -> Iterator[Page]:
    """The bulletin on refrigerants and lint as it is on A4, 182 mm or 688 CSS pixels between."""
    page.set_viewport_size({"width": 688, "height": 1000})
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(address(demo_site, "2024-561"))
    yield page
    page.emulate_media(media="null", color_scheme="null")


def test_paper_is_white_and_ink_is_black_even_where_the_screen_is_dark(paper: Page) -> None:
    pairs = paper.evaluate(
        """() => {
          const parts = text => text.match(/[\\d.]+/g).map(Number);
          return [...document.querySelectorAll('main p, main li, main td, main h2, .signal, a')]
            .filter(each => each.getClientRects().length)
            .map(each => parts(getComputedStyle(each).color));
        }"""
    )
    assert len(pairs) > 50
    assert [text for text in pairs if contrast(text, (255, 255, 255)) < 18] == []


@pytest.mark.parametrize(
    "chosen", [".skip", ".jump", ".top .find", ".links", ".law", "details:not([open])"]
)
def test_what_is_for_fingers_alone_is_not_printed(paper: Page, chosen: str) -> None:
    found = paper.locator(chosen)
    assert all(not found.nth(at).is_visible() for at in range(found.count()))


def test_the_code_to_scan_stands_beside_the_title_with_the_address_under_it(paper: Page) -> None:
    code, title = paper.locator(".qr").bounding_box(), paper.locator("h1").bounding_box()
    assert code is not None
    assert title is not None
    assert code["width"] >= 25 * 96 / 25.4 - 1  # 25 mm, at most 45 modules: 0.5 mm a module
    assert code["x"] >= title["x"] + title["width"] - 1
    assert code["x"] + code["width"] <= 688
    told = paper.locator(".scan p")
    assert told.inner_text() == "https://service.hollin-ridge.example/bulletins/2024-561/"
    low, first = told.bounding_box(), paper.locator("section.sheet").first.bounding_box()
    assert low is not None
    assert first is not None
    assert low["y"] + low["height"] <= first["y"] + 1


def test_signal_words_are_printed_as_words_in_a_frame(paper: Page) -> None:
    frames = paper.evaluate(
        """() => [...document.querySelectorAll('.panel')].map(each =>
             [each.querySelector('.signal').textContent.trim().split(/\\s/)[0],
              getComputedStyle(each).borderTopColor, getComputedStyle(each).breakInside])"""
    )
    assert {word for word, _, _ in frames} == {"DANGER", "WARNING", "CAUTION", "NOTICE"}
    assert {(line, together) for _, line, together in frames} == {("rgb(0, 0, 0)", "avoid")}


def test_pictures_are_no_wider_than_their_column(paper: Page) -> None:
    for box in paper.evaluate(
        "[...document.images].map(e => [e.clientWidth, e.parentElement.clientWidth])"
    ):
        assert 0 < box[0] <= box[1]


def test_nothing_is_cut_off_at_the_edge_of_the_paper(paper: Page) -> None:
    wide = paper.evaluate(
        """() => [...document.querySelectorAll('main *')].filter(each =>
             each.getClientRects().length && each.getBoundingClientRect().right > 689
           ).map(each => each.outerHTML.slice(0, 80))"""
    )
    assert wide == []


@pytest.mark.parametrize("kind", ["models/TD45A", "models/TD45A/KS10", "parts/HR-310-4302"])
def test_other_pages_can_be_printed_too(demo_site: Path, page: Page, kind: str) -> None:
    page.goto((demo_site / kind / "index.html").as_uri())
    assert 1 <= sheets(page.pdf(format="A4")) <= 3
