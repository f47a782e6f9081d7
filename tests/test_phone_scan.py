"""Scanning the rating plate: codes drawn, filmed, read and put into the box, in a real Chromium."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect

from kb.pages.scripts import bundle
from tests.browser import NAMES, context, served
from tests.phone_camera import FORMATS, blank, drawn, film, give_camera, give_reader, read, show

SCAN = Path(__file__).resolve().parent.parent / "site" / "app" / "scan.js"
PLATE = "TD45A/3 KP1400031"
GS1 = "(01)09520123456788(11)220400(240)TD45A/3(21)KP1400031"
BUTTON = "Scan the plate"
ENTRY = """
import { offerScan } from "%s";
const form = document.querySelector("form.search");
const box = form.querySelector("input");
offerScan(form, (text) => {
  box.value = text;
  window.puts = (window.puts ?? 0) + 1;
}).then(() => { document.body.dataset.offered = "yes"; });
"""
Opener = Callable[..., Page]


@pytest.fixture(scope="module")
def scan_site(demo_site: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Serve the demo's start page with the scanner alone in place of the start page's script."""
    folder = tmp_path_factory.mktemp("scan")
    (folder / "assets").mkdir()
    for path in (demo_site / "assets").glob("*.css"):
        shutil.copy(path, folder / "assets")
    for path in demo_site.glob("[!.]*.*"):  # icons and what else a page asks for
        shutil.copy(path, folder)
    entry = folder / "entry.js"
    entry.write_text(ENTRY % os.path.relpath(SCAN, folder), encoding="utf-8")
    (folder / "assets" / "scan.js").write_bytes(bundle(entry)[0])
    page = (demo_site / "index.html").read_text("utf-8")
    page, changed = re.subn(r'(<script defer src=")[^"]+', r"\1assets/scan.js", page)
    assert changed == 1
    (folder / "index.html").write_text(page, encoding="utf-8")
    with served(folder) as address:
        yield address


@pytest.fixture
def opener(browser: Browser, scan_site: str) -> Iterator[Opener]:
    """Return a function that opens the page with a reader and a camera that have this state."""
    windows: list[BrowserContext] = []

    def open_page(reader: bool = True, width: int = 360, **state: object) -> Page:
        windows.append(context(browser, width))
        page = windows[-1].new_page()
        if reader:
            give_reader(page)
        give_camera(page, **state)
        page.goto(scan_site)
        page.wait_for_selector("[data-offered]")
        return page

    yield open_page
    for window in windows:
        window.close()


def until(page: Page, condition: str) -> None:
    """Wait until *condition* holds in the page, whose policy forbids that it be evaluated there."""
    for _ in range(400):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(25)
    raise AssertionError(f"never came true: {condition}")


def requests_of(page: Page) -> list[str]:
    """Return a list that grows by the address of every request of the page from now on."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    return asked


def scan(page: Page) -> None:
    """Tap the button and wait until the camera's picture is looked at."""
    page.get_by_role("button", name=BUTTON).click()
    until(page, "window.looked > 0")


def box_says(page: Page, text: str) -> None:
    expect(page.get_by_role("searchbox")).to_have_value(text)


def hint_of(page: Page) -> Locator:
    """Return what the open window says."""
    return page.get_by_role("dialog").get_by_role("status")


def goes_dark(page: Page) -> None:
    """Wait until every camera of the page has been stopped."""
    until(page, "window.tracks.every((track) => track.readyState === 'ended')")


@pytest.mark.parametrize("sort", FORMATS)
@pytest.mark.parametrize("text", [PLATE, GS1])
def test_what_the_tests_draw_is_what_an_established_reader_reads(sort: str, text: str) -> None:
    found = read(b"".join(map(bytes, drawn(text, sort))), 640, 480)
    assert found == ["010952012345678811220400240TD45A/3\x1d21KP1400031" if text == GS1 else text]


@pytest.mark.parametrize("sort", FORMATS)
@pytest.mark.parametrize("text", [PLATE, GS1, "MOD: TD45A/3 S/N: KP1400031"])
def test_a_code_held_before_the_camera_stands_in_the_box(
    opener: Opener, sort: str, text: str
) -> None:
    page = opener()
    scan(page)
    show(page, drawn(text, sort))
    box_says(page, PLATE)
    expect(page.get_by_role("dialog")).to_have_count(0)
    assert page.evaluate("window.puts") == 1
    goes_dark(page)


def test_a_digital_link_gives_the_serial(opener: Opener) -> None:
    page = opener()
    scan(page)
    show(page, drawn("https://id.example/01/09520123456788/21/KP1400031"))
    box_says(page, "KP1400031")


def test_the_codes_of_a_plate_are_put_together(opener: Opener) -> None:
    page = opener()
    scan(page)
    both = drawn("TD45A/3", "code_128")
    show(page, drawn("S/N: KP1400031", "data_matrix", on=both, top=360))
    box_says(page, "KP1400031 TD45A/3")


def test_a_code_seen_in_one_frame_alone_is_not_believed(opener: Opener) -> None:
    page = opener()
    page.evaluate(
        """() => {
          const texts = [["XX99Z 1"], [], [], ["TD45A/3 KP1400031"], ["TD45A/3 KP1400031"]];
          BarcodeDetector.prototype.detect = async () => {
            window.looked = (window.looked ?? 0) + 1;
            return (texts.shift() ?? ["TD45A/3 KP1400031"]).map((rawValue) => ({ rawValue }));
          };
        }"""
    )
    scan(page)
    box_says(page, PLATE)


def test_an_article_number_alone_is_said_to_be_none_of_the_machine(opener: Opener) -> None:
    page = opener()
    scan(page)
    show(page, drawn("(01)09520123456788", "data_matrix"))
    expect(hint_of(page)).to_contain_text("says nothing about this machine")
    box_says(page, "")
    show(page, drawn(PLATE))
    box_says(page, PLATE)


def test_an_empty_picture_is_looked_at_until_the_window_is_closed(opener: Opener) -> None:
    page = opener()
    scan(page)
    until(page, "window.looked > 5")
    page.get_by_role("button", name="Close").click()
    expect(page.get_by_role("dialog")).to_have_count(0)
    goes_dark(page)
    looked = page.evaluate("window.looked")
    page.wait_for_timeout(500)
    assert page.evaluate("window.looked") <= looked + 1
    box_says(page, "")


def test_without_a_reader_of_codes_there_is_no_button(opener: Opener) -> None:
    page = opener(reader=False)
    expect(page.get_by_role("button", name=BUTTON)).to_have_count(0)
    expect(page.get_by_role("button", name="Find")).to_be_visible()


@pytest.mark.parametrize(
    "spoil",
    [
        "window.BarcodeDetector = class { static async getSupportedFormats() { return []; } };",
        "window.BarcodeDetector = class { static async getSupportedFormats() "
        "{ return ['ean_13']; } };",
        "window.BarcodeDetector = class { static async getSupportedFormats() "
        "{ throw new Error(); } };",
        "window.BarcodeDetector = class { };",
        "Object.defineProperty(navigator, 'mediaDevices', { value: undefined });",
    ],
)
def test_without_formats_or_camera_there_is_no_button(
    browser: Browser, scan_site: str, spoil: str
) -> None:
    with context(browser) as window:
        page = window.new_page()
        give_reader(page)
        page.add_init_script(spoil)
        page.goto(scan_site)
        page.wait_for_selector("[data-offered]")
        expect(page.get_by_role("button", name=BUTTON)).to_have_count(0)


@pytest.mark.parametrize(
    ("trouble", "words"),
    [
        ("NotAllowedError", "not allowed"),
        ("NotFoundError", "No camera was found"),
        ("NotReadableError", "Something else is using the camera"),
        ("AbortError", "does not start"),
    ],
)
def test_a_camera_that_does_not_start_is_told_in_words(
    opener: Opener, trouble: str, words: str
) -> None:
    page = opener(trouble=trouble)
    page.get_by_role("button", name=BUTTON).click()
    expect(hint_of(page)).to_contain_text(words)
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    expect(page.get_by_role("button", name=BUTTON)).to_be_focused()


def test_a_reader_that_gives_up_is_told_in_words_and_the_camera_stops(opener: Opener) -> None:
    page = opener(refuses=1)
    page.get_by_role("button", name=BUTTON).click()
    expect(hint_of(page)).to_contain_text("cannot be read here")
    goes_dark(page)


def test_the_camera_stops_when_the_page_is_hidden(opener: Opener) -> None:
    page = opener()
    scan(page)
    page.evaluate(
        """() => {
          Object.defineProperty(document, "hidden", { value: true, configurable: true });
          document.dispatchEvent(new Event("visibilitychange"));
        }"""
    )
    expect(page.get_by_role("dialog")).to_have_count(0)
    goes_dark(page)


def test_a_camera_allowed_after_the_window_was_closed_is_stopped_at_once(opener: Opener) -> None:
    page = opener(hold=1)
    page.get_by_role("button", name=BUTTON).click()
    until(page, "Boolean(window.let)")
    page.keyboard.press("Escape")
    expect(page.get_by_role("dialog")).to_have_count(0)
    page.evaluate("window.let()")
    until(page, "window.tracks.length === 1")
    until(page, "window.tracks[0].readyState === 'ended'")
    assert page.evaluate("window.looked ?? 0") == 0


def test_the_back_camera_is_asked_for_without_sound(opener: Opener) -> None:
    page = opener()
    scan(page)
    wanted = page.evaluate("window.wanted")
    assert wanted["video"]["facingMode"] == "environment"
    assert wanted["audio"] is False


def test_a_light_is_offered_only_where_the_camera_has_one(opener: Opener) -> None:
    dark = opener()
    scan(dark)
    expect(dark.get_by_role("button", name="Light")).to_have_count(0)
    page = opener(torch=1)
    scan(page)
    light = page.get_by_role("button", name="Light")
    for on in ("true", "false"):
        light.click()
        expect(light).to_have_attribute("aria-pressed", on)
        assert page.evaluate("String(window.lit)") == on


def test_the_whole_scan_goes_by_keyboard_and_gives_the_focus_back(opener: Opener) -> None:
    page = opener(torch=1)
    button = page.get_by_role("button", name=BUTTON)
    page.get_by_role("button", name="Find").focus()
    page.keyboard.press("Tab")
    expect(button).to_be_focused()
    page.keyboard.press("Enter")
    until(page, "window.looked > 0")
    expect(page.get_by_role("button", name="Close")).to_be_focused()
    page.keyboard.press("Tab")
    expect(page.get_by_role("button", name="Light")).to_be_focused()
    show(page, drawn(PLATE))
    box_says(page, PLATE)
    expect(button).to_be_focused()


def test_the_scan_can_be_done_again(opener: Opener) -> None:
    page = opener()
    for text in (PLATE, "CW8A LS0100007"):
        page.evaluate("window.looked = 0")
        scan(page)
        show(page, drawn(text))
        box_says(page, text)
        show(page, blank())
    assert page.evaluate("window.puts") == 2


def test_nothing_is_asked_of_the_network_and_nothing_is_refused_by_the_policy(
    browser: Browser, scan_site: str
) -> None:
    with context(browser) as window:
        page = window.new_page()
        said: list[str] = []
        page.on("console", lambda message: said.append(message.text))
        page.on("pageerror", lambda error: said.append(str(error)))
        give_reader(page)
        give_camera(page)
        page.goto(scan_site)
        page.wait_for_selector("[data-offered]")
        asked = requests_of(page)
        scan(page)
        show(page, drawn(PLATE))
        box_says(page, PLATE)
        assert (said, asked) == ([], [])


@pytest.mark.parametrize("width", [320, 360, 1280])
def test_the_window_fits_any_screen_and_its_targets_can_be_tapped(
    opener: Opener, width: int
) -> None:
    page = opener(width=width, torch=1)
    scan(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for button in page.get_by_role("dialog").get_by_role("button").all():
        size = button.bounding_box()
        assert size
        assert min(size["width"], size["height"]) >= 44  # WCAG 2.2, 2.5.5
        assert 0 <= size["x"] <= width - size["width"]
    hint = hint_of(page).bounding_box()
    assert hint
    assert hint["y"] + hint["height"] <= 800


def test_axe_finds_nothing_in_the_window(opener: Opener) -> None:
    page = opener(torch=1)
    scan(page)
    found = Axe().run(page)
    assert not found.response["violations"], found.generate_report()


@contextmanager
def filming(browser: Browser, path: Path, *more: str) -> Iterator[Page]:
    """Open a page in a Chromium of its own whose camera plays a film."""
    pretended = [
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-video-capture={path}",
    ]
    found = next(filter(None, map(shutil.which, NAMES)), None)
    running = browser.browser_type.launch(
        executable_path=found, args=["--no-sandbox", *pretended, *more]
    )
    page = running.new_context().new_page()
    give_reader(page)
    yield page
    running.close()


@pytest.mark.parametrize("sort", FORMATS)
def test_the_browser_s_own_camera_is_read(
    browser: Browser, scan_site: str, tmp_path: Path, sort: str
) -> None:
    path = film(tmp_path / "plate.y4m", [blank(), drawn(GS1, sort)])
    with filming(browser, path, "--use-fake-ui-for-media-stream") as page:
        page.goto(scan_site)
        page.get_by_role("button", name=BUTTON).click()
        box_says(page, PLATE)
        expect(page.get_by_role("dialog")).to_have_count(0)


def test_who_refuses_the_camera_is_told_what_to_do(
    browser: Browser, scan_site: str, tmp_path: Path
) -> None:
    path = film(tmp_path / "plate.y4m", [drawn(PLATE)])
    with filming(browser, path, "--deny-permission-prompts") as page:
        page.goto(scan_site)
        page.get_by_role("button", name=BUTTON).click()
        expect(hint_of(page)).to_contain_text("not allowed here")
        expect(page.get_by_role("button", name="Close")).to_be_focused()


@pytest.mark.parametrize(
    ("text", "applies"), [(PLATE, True), (GS1, True), ("S/N: KP1400031", False), ("E21", False)]
)
def test_on_the_front_page_what_was_scanned_is_asked_at_once(
    browser: Browser, demo_site: Path, text: str, applies: bool
) -> None:
    with served(demo_site) as address, context(browser) as window:
        page = window.new_page()
        give_reader(page)
        give_camera(page)
        page.goto(address)
        scan(page)
        show(page, drawn(text, "data_matrix" if text == GS1 else "qr_code"))
        expect(page.get_by_role("dialog")).to_have_count(0)
        expect(page.locator("[data-results][data-state=ready]")).to_be_attached()
        shown = page.locator("[data-understood]")
        expect(shown).to_contain_text("TD45A" if applies else text.removeprefix("S/N: "))
        if applies:
            expect(page.locator("[data-results] [data-applies]").first).to_be_visible()


def test_a_scan_keeps_the_symptom_that_was_typed(browser: Browser, demo_site: Path) -> None:
    with served(demo_site) as address, context(browser) as window:
        page = window.new_page()
        give_reader(page)
        give_camera(page)
        page.goto(address)
        page.get_by_role("searchbox").fill("hums")
        scan(page)
        show(page, drawn(PLATE))
        expect(page.get_by_role("dialog")).to_have_count(0)
        expect(page.get_by_role("searchbox")).to_have_value(re.compile("hums"))
        expect(page.locator("[data-understood]")).to_contain_text("TD45A")
        expect(page.locator("[data-results] [data-applies]").first).to_be_visible()


def test_the_front_page_fetches_the_scanner_only_where_it_can_be_used(
    browser: Browser, demo_site: Path
) -> None:
    with served(demo_site) as address:
        for reader in (False, True):
            with context(browser) as window:
                page = window.new_page()
                asked = requests_of(page)
                if reader:
                    give_reader(page)
                give_camera(page)
                page.goto(address)
                expect(page.get_by_role("button", name=BUTTON)).to_have_count(int(reader))
                assert any("scanning" in each for each in asked) is reader
