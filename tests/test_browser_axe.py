"""Every kind of page before axe-core, the published accessibility rules that browsers' makers use.

All its rules are asked for, the advice that goes beyond WCAG 2.2 included; nothing may be found.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.browser import LOOKS, Look, context
from tests.test_browser_pages import KINDS

ASKED = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}


@pytest.mark.parametrize(("width", "look"), [*((360, look) for look in LOOKS), (1100, "light")])
@pytest.mark.parametrize("kind", KINDS)
def test_axe_finds_nothing(
    browser: Browser, demo_site: Path, kind: str, width: int, look: Look
) -> None:
    window = context(browser, width, look)
    page = window.new_page()
    page.goto((demo_site / KINDS[kind] / "index.html").as_uri())
    found = Axe().run(page, options=ASKED).response["violations"]
    window.close()
    assert [(each["id"], [node["html"] for node in each["nodes"]]) for each in found] == []


def test_axe_would_find_what_is_wrong(browser: Browser) -> None:
    page = browser.new_page()
    page.set_content("<main><img src='a.png'><p style='color:#aaa;background:#fff'>pale</p></main>")
    found = {each["id"] for each in Axe().run(page).response["violations"]}
    page.close()
    assert {"image-alt", "color-contrast", "document-title", "html-has-lang"} <= found
