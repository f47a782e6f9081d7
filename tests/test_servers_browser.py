"""The demo site on a real nginx with its whole policy on, in a real Chromium: all of it works.

Sources: Content Security Policy level 3 (what is refused raises `securitypolicyviolation` and is
told on the console), Permissions Policy (W3C), Service Workers (W3C).
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from kb.squeezing import copies
from tests.phone_carried import SUB_FOLDER, Host, Phone, grow, phone_at, until
from tests.webhost import hosted

READY = '[data-results][data-state="ready"]'
# What a policy refuses is kept beside the page too: not every refusal is told on the console.
REFUSALS = """
addEventListener("securitypolicyviolation", (event) => {
  console.error(`refused: ${event.violatedDirective} ${event.blockedURI}`);
});
"""
INLINE = """() => {
  const script = document.createElement("script");
  script.textContent = "window.ran = true";
  document.body.append(script);
  return window.ran === true;
}"""


@pytest.fixture(scope="module")
def web(demo_site: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the demo site and its copies below it, told to be too large to carry whole."""
    folder = tmp_path_factory.mktemp("policed")
    site = folder / SUB_FOLDER
    shutil.copytree(demo_site, site)
    grow(site)
    for path in [path for path in site.rglob("*") if path.is_file()]:
        for copy in copies(path.relative_to(site).as_posix(), path.read_bytes()):
            (site / copy.path).write_bytes(copy.content)
    return folder


@pytest.fixture(scope="module")
def host(web: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Host]:
    aside = tmp_path_factory.mktemp("nginx") / "aside"
    with hosted("nginx", web / SUB_FOLDER, f"/{SUB_FOLDER}", aside) as running:
        yield Host(web, running.address.removesuffix(SUB_FOLDER))


@pytest.fixture
def phone(browser: Browser, host: Host) -> Iterator[Phone]:
    with phone_at(browser, host, REFUSALS) as held:
        yield held


def loaded(page: Page) -> int:
    """Wait for every picture of the page and return how many there are."""
    return int(
        page.evaluate(
            "Promise.all([...document.images].map((i) => { i.loading = 'eager';"
            " return i.decode(); })).then((all) => all.length)"
        )
    )


def test_a_symptom_is_searched_and_its_bulletin_opened(phone: Phone) -> None:
    page = phone.open()
    page.get_by_role("searchbox").fill("hums wont drain")
    page.locator(READY).wait_for()
    page.locator(f"{READY} [data-number='2026-014'] a").first.click()
    page.wait_for_url("**/bulletins/2026-014/**")
    assert "moves no water" in page.locator("h1").inner_text()
    assert phone.seen.troubles == []


def test_a_rating_plate_is_answered_on_the_front_page_and_on_a_bulletin(phone: Phone) -> None:
    page = phone.open("?q=hums&model=TD45A&serial=KP1400031")
    page.locator(f"{READY} [data-applies]").first.wait_for()
    page = phone.open("bulletins/2026-014/")
    page.locator("[data-here]").get_by_text("TD45A").first.wait_for()
    assert phone.seen.troubles == []


def test_pages_of_every_sort_show_all_that_is_theirs(phone: Phone, web: Path) -> None:
    pictured = min((web / SUB_FOLDER).glob("bulletins/*/*.svg")).parent.name
    assert loaded(phone.open(f"bulletins/{pictured}/")) >= 1
    span = min((web / SUB_FOLDER).glob("models/TD45A/*/index.html")).parent.name
    for path in ("models/TD45A/", f"models/TD45A/{span}/", "codes/E21/", "parts/", "roundups/"):
        phone.open(path).wait_for_load_state("networkidle")
    assert phone.seen.troubles == []


def test_a_picture_opens_large(phone: Phone, web: Path) -> None:
    pictured = min((web / SUB_FOLDER).glob("bulletins/*/*.svg")).parent.name
    page = phone.open(f"bulletins/{pictured}/")
    page.locator("article img").first.click()
    page.locator("dialog img").evaluate("(large) => large.decode()")
    assert page.locator("dialog img").bounding_box()
    assert phone.seen.troubles == []


def test_a_drawing_opened_by_itself_keeps_its_style(phone: Phone, web: Path) -> None:
    drawing = min((web / SUB_FOLDER).glob("bulletins/*/*.svg"))
    phone.open(drawing.relative_to(web / SUB_FOLDER).as_posix())
    assert phone.seen.troubles == []


def test_a_family_is_chosen_carried_and_opened_without_signal(phone: Phone) -> None:
    phone.open()
    phone.page.get_by_role("button", name="Carry Tarn").click()
    assert re.search(r"Carried: \d+ bulletins of Tarn", phone.carried())
    phone.window.set_offline(True)
    assert "Drain pump hums" in phone.open("bulletins/2026-014/").title()
    phone.open("?q=hums&model=TD45A").locator(f"{READY} [data-applies]").first.wait_for()
    assert phone.seen.troubles == []


def test_the_camera_may_be_used_and_the_microphone_not(phone: Phone) -> None:
    allows = "(name) => document.featurePolicy.allowsFeature(name)"
    page = phone.open()
    assert page.evaluate(allows, "camera")
    assert not page.evaluate(allows, "microphone")


def test_script_written_into_a_page_does_not_run_and_is_noticed(phone: Phone) -> None:
    """The other tests' silence is worth something only if this one is loud."""
    assert phone.open().evaluate(INLINE) is False
    until(phone.page, lambda: any("refused: script-src" in told for told in phone.seen.troubles))


def test_the_page_for_what_is_not_there_is_shown_with_its_style(phone: Phone) -> None:
    page = phone.open("nothing/here/")
    assert page.locator("h1").inner_text() == "There is no such page"


def test_no_other_page_may_frame_the_site(browser: Browser, host: Host) -> None:
    window = browser.new_context()
    page = window.new_page()
    page.set_content(f'<iframe src="{host.site}" width="300" height="300"></iframe>')
    page.wait_for_load_state("networkidle")
    framed = page.frames[1]
    assert framed.url.startswith("chrome-error:")
    window.close()
