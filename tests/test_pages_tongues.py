"""Bulletins in any script, with words of any length: shown whole, in their own direction."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from kb.house import read_house
from kb.publish import publish
from tests.browser import context
from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin, files_of, site_of
from tests.well_formed import elements, problems_of

TONGUES = {
    "german": ("Türdichtung läuft über", "de", "ltr"),
    "french": ("Œuvre à demi ouverte, l’eau déborde", "fr", "ltr"),
    "greek": ("Η αντλία βουίζει", "el", "ltr"),
    "russian": ("Насос гудит, но не качает", "ru", "ltr"),
    "turkish": ("Işık yanıyor, İç kapak sıcak", "tr", "ltr"),
    "arabic": ("المضخة لا تعمل بعد ليلة باردة", "ar", "rtl"),
    "hebrew": ("המשאבה מזמזמת", "he", "rtl"),
    "hindi": ("पंप गूंजता है", "hi", "ltr"),
    "thai": ("ปั๊มส่งเสียงหึ่งแต่ไม่สูบน้ำ", "th", "ltr"),
    "japanese": ("排水ポンプがうなる", "ja", "ltr"),
    "emoji": ("Pump 🔧 hums 👨‍🔧", "en", "ltr"),
    "combining": ("Pompe bru\u0302le\u0301e", "fr", "ltr"),
}


def house_in(make_house: MakeHouse, said: str, language: str) -> Path:
    """Return a house with one bulletin that says *said* in every field."""
    typed = f'"{said}"'
    return make_house(
        {
            "a.md": bulletin(
                f"{said}.\n\n- {said}\n\n| {said} | b |\n|-|-|\n| {said} | E21 |",
                title=typed,
                summary=typed,
                component=f"[{typed}]",
                symptoms=f"[{typed}]",
                codes="[E21]",
                hazards="[heavy]",
                tools=f"[{typed}]",
                consumables=f"[{typed}]",
                checks=f"[{{cause: {typed}, test: {typed}, fix: {typed}, minutes: 5}}]",
                parts=f"[{{number: HR-310-4120, note: {typed}}}]",
                keep="[HR-310-1204]",
                age=f"{{years: 5, advice: {typed}}}",
            ),
            "reference/house.yaml": f"name: {typed}\nlanguage: {language}\ncontact: {typed}\n",
        }
    )


@pytest.mark.parametrize("tongue", TONGUES)
def test_text_in_any_script_is_kept_to_the_letter(tongue: str, make_house: MakeHouse) -> None:
    said, language, _ = TONGUES[tongue]
    folder = house_in(make_house, said, language)
    pages = site_of(folder)
    page = pages["bulletins/2026-014/index.html"]
    assert page.count(said) >= 12
    assert f'<html lang="{language}">' in page
    for path, text in pages.items():
        if path.endswith(".html"):
            assert problems_of(text) == [], path
    assert len([path for path in pages if path.startswith("symptoms/")]) == 2
    assert all(name.isascii() for name in files_of(folder))


# What an author types may run the other way than the page: each such place says so by itself.
AUTHORS = ("h1", "h3", "li", "dd", "p")


@pytest.mark.parametrize("tongue", ["arabic", "hebrew"])
def test_every_place_for_an_authors_words_takes_their_direction(
    tongue: str, make_house: MakeHouse
) -> None:
    said, language, _ = TONGUES[tongue]
    page = site_of(house_in(make_house, said, language))["bulletins/2026-014/index.html"]
    free = [a for tag, a in elements(page) if tag in AUTHORS and a.get("dir") == "auto"]
    assert len(free) >= 9
    body = page.partition("<body")[2]
    for found in re.finditer(said, body):
        before = body[: found.start()]
        assert 'dir="auto"' in before[-300:] or '<div class="text" dir="auto">' in before


@pytest.fixture
def page(browser: Browser) -> Page:
    return context(browser, 320).new_page()


@pytest.mark.parametrize("tongue", ["arabic", "hebrew", "german", "thai"])
def test_the_browser_lays_words_out_in_their_direction(
    tongue: str, make_house: MakeHouse, page: Page, tmp_path: Path
) -> None:
    said, language, direction = TONGUES[tongue]
    out = tmp_path / "site"
    publish(read_house(house_in(make_house, said, language)), TODAY, out)
    page.goto((out / "bulletins" / "2026-014" / "index.html").as_uri())
    for chosen in ("h1", ".lead", ".step h3", ".boxes li", ".text", ".due span"):
        found = page.locator(chosen).first.evaluate("e => getComputedStyle(e).direction")
        assert found == direction, chosen
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    page.context.close()


LONG = {
    "word": "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamtengesellschaft",
    "letters": "x" * 300,
    "address": "https://service.example/" + "a" * 200,
    "japanese": "排水" * 120,
    "hyphens": "a-" * 120,
}


@pytest.mark.parametrize("kind", LONG)
def test_a_very_long_word_does_not_push_any_page_sideways(
    kind: str, make_house: MakeHouse, page: Page, tmp_path: Path
) -> None:
    out = tmp_path / "site"
    publish(read_house(house_in(make_house, LONG[kind], "en")), TODAY, out)
    for path in (
        "index.html",
        "bulletins/2026-014/index.html",
        "bulletins/index.html",
        "components/index.html",
        "symptoms/index.html",
        "codes/E21/index.html",
        "families/Tarn/index.html",
        "parts/HR-310-4120/index.html",
    ):
        page.goto((out / path).as_uri())
        assert page.evaluate("document.documentElement.scrollWidth") == 320, path
    page.context.close()


def test_a_long_number_is_broken_rather_than_cut(
    make_house: MakeHouse, page: Page, tmp_path: Path
) -> None:
    number = "HR-" + "1234567890" * 6
    heads = "number,name,component,status,replaced_by,relation,models,since,note"
    folder = make_house(
        {
            "a.md": bulletin(f"See {number}.", parts=f"[{{number: {number}}}]"),
            "reference/parts.csv": f"{heads}\n{number},Pump,,current,,,,,\n",
            "reference/kits.csv": "kit,number,quantity\n",
        }
    )
    out = tmp_path / "site"
    publish(read_house(folder), TODAY, out)
    page.goto((out / "bulletins" / "2026-014" / "index.html").as_uri())
    assert page.evaluate("document.documentElement.scrollWidth") == 320
    assert page.locator("#text a.number").inner_text() == number
    page.context.close()
