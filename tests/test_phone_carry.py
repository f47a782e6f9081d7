"""The site carried on a phone, in a real browser: no signal, updates, no room, no worker."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, expect

from tests.conftest import SMALL_HOUSE, MakeHouse
from tests.phone_carried import (
    FULL,
    LATER,
    Host,
    Phone,
    carried_by,
    grow,
    hosted,
    phone_at,
    publish_to,
    until,
)
from tests.rendered import bulletin

GONE = "delete Navigator.prototype.serviceWorker"
REFUSED = (
    "ServiceWorkerContainer.prototype.register = () => "
    "Promise.reject(new DOMException('not in a private window', 'SecurityError'))"
)
SPARING = "Object.defineProperty(navigator, 'connection', { value: { saveData: true } })"
DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><path d="M0 0h9v9z"/></svg>'
ONE_FAMILY = r"Carried: 1 bulletin of Tarn, 0\.\d MB, as of 2026-11-25"
BOX = "input[type=search]"
READY = '[data-results][data-state="ready"]'


def bulletins(words: str = "See to the connector first.") -> dict[str, str]:
    """A house of two families with a bulletin each, one of them with a picture and checks."""
    checks = "\n  - cause: ice\n    test: look into the sump\n    minutes: 3"
    shown = f"{words}\n\n![Pump seen from below](pump.svg)\n"
    return {
        "2026/2026-014.md": bulletin(
            shown, built="2024-W10..2025-W22", symptoms="[hums but does not drain]", checks=checks
        ),
        "2026/pump.svg": DRAWING,
        "2026/2026-020.md": bulletin(
            number="2026-020", family="Cairn", title="Door will not lock", component="door seal"
        ),
    }


@pytest.fixture(scope="module")
def demo(demo_site: Path) -> Iterator[Host]:
    with hosted(demo_site.parent.parent) as host:
        yield host


@pytest.fixture
def phone(browser: Browser, demo: Host) -> Iterator[Phone]:
    demo.asked.clear()
    with phone_at(browser, demo) as held:
        yield held


class Small:
    """A small house that is published again and again while a phone carries it."""

    def __init__(self, folder: Path, make: MakeHouse) -> None:
        self.web = folder / "web"
        self._make = make
        self.publish()

    def publish(self, files: dict[str, str] | None = None) -> Path:
        house = self._make(files or bulletins())
        return publish_to(house, self.web)

    def kept_of_site(self) -> set[str]:
        """Return the files of the site that never change: those that a phone keeps."""
        lasting = re.compile(r"assets/|data/.*\.bin|bulletins/.*\.[0-9a-f]{8}\.svg")
        return {path for path in self.files() if lasting.match(path)}

    def files(self) -> set[str]:
        site = self.web / "service/notes"
        return {str(path.relative_to(site)) for path in site.rglob("*") if path.is_file()}


@pytest.fixture
def small(tmp_path: Path, make_house: MakeHouse) -> Small:
    return Small(tmp_path, make_house)


@pytest.fixture
def near(browser: Browser, small: Small) -> Iterator[Phone]:
    with hosted(small.web) as host, phone_at(browser, host) as held:
        yield held


# The first visit, and the cellar after it


def test_a_small_house_is_carried_whole_after_the_first_visit_without_a_word(phone: Phone) -> None:
    assert phone.first_visit() == "Carried: 120 bulletins, as of 2026-11-25"
    assert phone.page.locator(".carry button").count() == 0
    assert phone.seen.troubles == []


def test_nothing_is_carried_before_the_page_is_usable(phone: Phone) -> None:
    phone.first_visit()
    order = [path for path, _ in phone.host.asked]
    packs = json.loads((phone.host.folder / "service/notes/data/head.json").read_text())["carry"]
    assert order.index(packs) > max(order.index(path) for path in order if "find." in path)
    assert order.index("sw.js") > order.index("")


@pytest.mark.parametrize(
    ("path", "title"),
    [
        ("", "Hollin Ridge"),
        ("index.html", "Hollin Ridge"),
        ("?q=hums", "Hollin Ridge"),
        ("bulletins/2026-014/", "2026-014 Drain pump hums"),
        ("bulletins/2026-014/?from=mail#checks", "2026-014 Drain pump hums"),
        ("models/TD45A/KH35/", "TD45A, serial KH35"),
        ("families/Cairn/index.html", "Cairn"),
        ("symptoms/hums-but-does-not-drain/", "ums but does not drain"),
        ("roundups/2026-Q1/", "2026"),
    ],
)
def test_pages_never_opened_open_without_signal(carried_demo: Phone, path: str, title: str) -> None:
    page = carried_demo.open(path)
    assert title in page.title()
    style = page.evaluate("getComputedStyle(document.querySelector('header.top')).display")
    assert style == "flex"
    assert carried_demo.seen.troubles == []


@pytest.fixture(scope="module")
def carried_once(browser: Browser, demo: Host) -> Iterator[Phone]:
    with phone_at(browser, demo) as held:
        held.first_visit()
        held.window.set_offline(True)
        yield held


@pytest.fixture
def carried_demo(carried_once: Phone) -> Iterator[Phone]:
    carried_once.host.asked.clear()
    carried_once.seen.troubles.clear()
    yield carried_once
    assert carried_once.host.paths() == set()


def test_pictures_are_there_without_signal(carried_demo: Phone) -> None:
    page = carried_demo.open("bulletins/2017-013/")
    pictures = page.locator("article img")
    assert pictures.count() > 0
    for picture in pictures.all():
        picture.scroll_into_view_if_needed()
        assert picture.evaluate("(image) => image.decode().then(() => image.naturalWidth)") > 0


def test_the_search_answers_without_signal(carried_demo: Phone) -> None:
    page = carried_demo.open("?q=hums+but+does+not+drain")
    page.locator(READY).wait_for()
    assert page.locator("[data-number='2026-014']").count() == 1
    page.fill(BOX, "HR-310-4120")
    expect(page.locator("[data-results]")).to_contain_text("HR-310-4131")
    page.fill(BOX, "TD45A/3 KP1400031 E21")
    page.locator("[data-number][data-applies]").first.wait_for()
    assert carried_demo.seen.troubles == []


def test_a_bulletin_answers_for_the_unit_at_hand_without_signal(carried_demo: Phone) -> None:
    page = carried_demo.open()
    unit = {"model": "TD45A/3", "serial": "KP1400031", "at": "2026-11-25"}
    page.evaluate("(unit) => localStorage.setItem('fb-unit', unit)", json.dumps(unit))
    carried_demo.open("bulletins/2026-014/")
    expect(page.locator("[data-here] .verdict")).to_have_count(1)
    page.evaluate("localStorage.removeItem('fb-unit')")


def test_an_address_without_its_slash_leads_to_the_page(carried_demo: Phone) -> None:
    page = carried_demo.open("bulletins/2026-014")
    assert page.url.endswith("/bulletins/2026-014/")


def test_a_page_that_is_not_carried_says_so_and_what_is(carried_demo: Phone) -> None:
    page = carried_demo.open("bulletins/1999-001/")
    assert page.locator("h1").inner_text() == "Not carried"
    assert "120 bulletins, as of 2026-11-25" in page.locator("main").inner_text()
    page.get_by_role("link", name="search box").click()
    assert page.locator(BOX).count() == 1


# With everything carried nothing is fetched


def test_with_everything_carried_nothing_is_fetched_though_there_is_signal(phone: Phone) -> None:
    phone.first_visit()
    phone.host.asked.clear()
    for path in ("bulletins/2026-014/", "models/TD45A/KH35/", "", "components/drain-pump/"):
        phone.open(path)
    phone.open("?q=hums+but+does+not+drain").locator(READY).wait_for()
    assert phone.host.paths() == set()


def test_what_is_newest_is_asked_once_in_ten_minutes(phone: Phone) -> None:
    phone.first_visit()
    phone.host.asked.clear()
    phone.worker().evaluate(LATER)
    for path in ("bulletins/2026-014/", "models/TD45A/KH35/", "", ""):
        phone.open(path)
    phone.carried()
    assert [path for path, _ in phone.host.asked if path != "sw.js"] == ["data/head.json"]


def test_the_worker_leaves_alone_what_is_none_of_its_business(near: Phone) -> None:
    near.first_visit()
    near.host.asked.clear()
    near.page.evaluate("fetch('index.html', { headers: { Range: 'bytes=0-10' } })")
    near.page.evaluate("fetch('index.html', { method: 'HEAD' })")
    near.page.evaluate("fetch('feed.xml')")
    near.page.evaluate("fetch('../../', { mode: 'no-cors' })")
    assert near.host.paths() == {"index.html", "feed.xml", "/"}


# Updates


def test_an_update_fetches_what_changed_and_not_the_house(
    browser: Browser, demo_bulletins: Path, demo_site: Path, tmp_path: Path
) -> None:
    shutil.copytree(demo_site, tmp_path / "service/notes")
    house = shutil.copytree(demo_bulletins, tmp_path / "bulletins")
    with hosted(tmp_path) as host, phone_at(browser, host) as phone:
        phone.first_visit()
        whole = json.loads((tmp_path / "service/notes/data/head.json").read_text())["whole"]
        file = next(house.rglob("2026-014.md"))
        file.write_text(file.read_text() + "\nTell the desk when it was something else.\n")
        publish_to(house, tmp_path)
        host.asked.clear()
        phone.later()
        phone.taken_over()
        expect(phone.page.locator(".carry .coming")).to_have_count(0)
        assert host.sent() < whole / 5
        phone.window.set_offline(True)
        assert "something else" in phone.open("bulletins/2026-014/").locator("main").inner_text()


def test_a_newer_edition_is_offered_and_never_forced(near: Phone, small: Small) -> None:
    near.first_visit()
    near.page.fill(BOX, "half a word")
    small.publish(bulletins("Everything about it was found to be otherwise."))
    near.later()
    near.page.locator(".newer").wait_for()
    assert near.page.input_value(BOX) == "half a word"
    near.page.get_by_role("button", name="Show it").click()
    near.page.wait_for_load_state()
    assert near.page.locator(".newer").count() == 0


def test_half_ticked_jobs_outlive_a_newer_edition(near: Phone, small: Small) -> None:
    near.first_visit()
    page = near.open("bulletins/2026-014/")
    page.get_by_role("checkbox").first.check(force=True)
    small.publish(bulletins("Everything about it was found to be otherwise."))
    near.later()
    page.locator(".newer").wait_for()
    assert page.get_by_role("checkbox").first.is_checked()
    page.get_by_role("button", name="Show it").click()
    expect(page.locator("main")).to_contain_text("otherwise")
    assert page.get_by_role("checkbox").first.is_checked()


def test_a_page_that_did_not_change_is_not_called_old(near: Phone, small: Small) -> None:
    near.first_visit()
    near.open("bulletins/2026-020/")
    small.publish(bulletins("Everything about it was found to be otherwise."))
    near.later()
    near.taken_over()
    near.page.wait_for_timeout(300)
    assert near.page.locator(".newer").count() == 0


def test_one_older_edition_is_kept_for_pages_that_are_open(near: Phone, small: Small) -> None:
    near.first_visit()
    editions = [near.kept()]
    for words in ("Second words.", "Third words."):
        small.publish(bulletins(words))
        near.later()
        near.taken_over()
        needed = small.kept_of_site()
        until(near.page, lambda: near.kept() == needed | editions[-1])  # noqa: B023
        for path in sorted(editions[-1] - small.files()):
            assert near.page.evaluate("(path) => fetch(path).then(({ ok }) => ok)", path)
        editions.append(needed)
    assert editions[0] - editions[1] - editions[2]


# Cut off, cleared away, no room


def test_a_carry_that_was_cut_off_goes_on_where_it_was(near: Phone, small: Small) -> None:
    near.host.refuses = lambda path: path.startswith("data/") and len(near.host.asked) > 20
    near.open()
    near.page.get_by_role("alert").filter(has_text="broke off").wait_for()
    fetched = {path for path, size in near.host.asked if size and path.startswith("data/")}
    near.host.refuses = lambda path: False
    near.host.asked.clear()
    near.page.evaluate("dispatchEvent(new Event('online'))")
    near.carried()
    assert not fetched & near.host.paths() - {"data/head.json"}
    near.window.set_offline(True)
    assert "Pump hums" in near.open("bulletins/2026-014/").title()


def test_what_the_system_cleared_away_is_noticed_and_fetched(near: Phone) -> None:
    near.first_visit()
    kept = near.kept()
    near.page.evaluate(
        "caches.open(`fb-files ${new URL('./', location)}`).then(async (held) => {"
        "for (const key of (await held.keys()).slice(0, 9)) await held.delete(key); })"
    )
    near.stop()
    near.host.asked.clear()
    near.open()
    near.carried()
    until(near.page, lambda: near.kept() == kept)
    assert 0 < len(near.host.paths()) <= 10


def test_after_everything_was_cleared_away_the_house_is_carried_anew(near: Phone) -> None:
    near.first_visit()
    kept = near.kept()
    near.page.evaluate("caches.keys().then((n) => Promise.all(n.map((e) => caches.delete(e))))")
    near.stop()
    assert "2 bulletins" in near.first_visit()
    assert near.kept() == kept


def test_a_site_published_anew_during_the_carry_is_carried_as_it_is_then(
    near: Phone, small: Small
) -> None:
    done: list[str] = []

    def refuses(path: str) -> bool:
        if path.startswith("data/") and len(near.host.asked) > 15 and not done:
            done.append(path)
            small.publish(bulletins("Second words."))
        return False

    near.host.refuses = refuses
    near.first_visit()
    near.later()
    near.taken_over()
    near.window.set_offline(True)
    assert "Second words" in near.open("bulletins/2026-014/").locator("main").inner_text()


def test_no_room_is_told_in_words_with_what_to_do(near: Phone, small: Small) -> None:
    grow(small.web / "service/notes")
    near.open()
    carry = near.page.get_by_role("button", name="Carry Tarn")
    carry.wait_for()
    near.worker().evaluate(FULL)
    carry.click()
    said = near.page.get_by_role("alert").inner_text()
    assert said.startswith("No room on this phone: free 0.")
    assert said.endswith("MB or carry fewer families.")
    near.open("bulletins/2026-014/")  # everything works on, with signal
    assert near.seen.troubles == []


# A large house: families by choice


@pytest.fixture
def large(near: Phone, small: Small) -> Phone:
    grow(small.web / "service/notes")
    near.open()
    near.page.get_by_role("button", name="Carry Tarn").wait_for()
    return near


def test_a_large_house_offers_its_families_with_their_sizes(large: Phone) -> None:
    rows = large.page.locator(".carry li")
    names = ["Tarn", "Cairn", "Other parts and long lists"]
    assert [row.locator(".what").inner_text() for row in rows.all()] == names
    told = [row.locator(".remark").inner_text() for row in rows.all()]
    assert [re.sub(r" ?[0-9]\.[0-9] MB", "x", size) for size in told] == 2 * ["1 bulletin,x"] + [
        "x"
    ]
    assert large.kept() <= {carried_by(large.host.folder)}


def test_a_chosen_family_is_carried_and_another_one_is_not(large: Phone) -> None:
    large.page.get_by_role("button", name="Carry Tarn").click()
    assert re.fullmatch(ONE_FAMILY, large.carried())
    large.window.set_offline(True)
    assert "Pump hums" in large.open("bulletins/2026-014/").title()
    assert large.page.locator("article img").evaluate("(i) => i.decode().then(() => i.width)") > 0
    large.open("?q=hums").locator(READY).wait_for()
    large.open("bulletins/2026-020/")
    assert large.page.locator("h1").inner_text() == "Not carried"
    assert "1 bulletins" not in large.page.locator("main").inner_text()
    assert "Tarn" in large.page.locator("main").inner_text()


def test_a_second_family_fetches_its_own_alone_and_can_be_taken_off(large: Phone) -> None:
    page = large.page
    page.get_by_role("button", name="Carry Tarn").click()
    large.carried()
    first = large.kept()
    large.host.asked.clear()
    page.get_by_role("button", name="Carry Cairn").click()
    expect(page.locator(".carry [role=status]")).to_contain_text("2 bulletins of Tarn, Cairn")
    assert not first & large.host.paths()
    page.get_by_role("button", name="Take off Cairn").click()
    expect(page.locator(".carry [role=status]")).to_contain_text("1 bulletin of Tarn")
    assert large.kept() == first
    page.get_by_role("button", name="Take off Tarn").click()
    expect(page.locator(".carry [role=status]")).to_be_hidden()
    assert large.kept() == set()


def test_the_choice_holds_over_a_newer_edition(large: Phone, small: Small) -> None:
    large.page.get_by_role("button", name="Carry Tarn").click()
    large.carried()
    grow(small.publish(bulletins("Second words.")))
    large.later()
    large.taken_over()
    assert re.fullmatch(ONE_FAMILY, large.carried())


def test_the_list_of_families_has_no_barriers(large: Phone) -> None:
    found = Axe().run(large.page, context=".carry").response["violations"]
    assert [each["id"] for each in found] == []
    for each in large.page.locator(".carry button").all():
        box = each.bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= 44
    assert large.page.evaluate("document.documentElement.scrollWidth") <= 360


def test_pages_know_which_families_are_carried(large: Phone) -> None:
    large.page.get_by_role("button", name="Carry Tarn").click()
    large.carried()
    assert large.page.evaluate("localStorage.getItem('fb-carried')") == '["Tarn"]'


# Where little can be kept


def test_those_who_save_data_are_asked_first(browser: Browser, small: Small) -> None:
    with hosted(small.web) as host, phone_at(browser, host, SPARING) as phone:
        page = phone.open()
        page.get_by_role("button", name="Carry all (0.").wait_for()
        packs = {path for path in host.paths() if path.startswith("data/")}
        assert len(packs) < 8  # the list of what there is, and what the search begins with
        page.get_by_role("button", name="Carry all").click()
        assert phone.carried() == "Carried: 2 bulletins, as of 2026-11-25"


@pytest.mark.parametrize("script", [GONE, REFUSED])
def test_without_a_worker_everything_works_with_signal(
    browser: Browser, demo: Host, script: str
) -> None:
    with phone_at(browser, demo, script) as phone:
        page = phone.open("?q=hums+but+does+not+drain")
        page.locator(READY).wait_for()
        assert page.locator("[data-number='2026-014']").count() == 1
        said = page.locator(".carry").inner_text()
        assert "keeps nothing for places without signal" in said
        phone.open("bulletins/2026-014/")
        assert phone.seen.troubles == []


def test_pages_opened_from_a_disk_are_read_without_trouble(
    browser: Browser, small: Small, demo: Host
) -> None:
    with phone_at(browser, demo) as phone:
        for path in ("index.html", "bulletins/2026-014/index.html"):
            phone.page.goto((small.web / "service/notes" / path).as_uri())
            phone.page.wait_for_timeout(200)
        assert "Pump hums" in phone.page.title()
        assert [said for said in phone.seen.troubles if "carry" in said or "sw.js" in said] == []


def test_the_browser_is_asked_once_to_keep_what_is_carried(browser: Browser, small: Small) -> None:
    script = """StorageManager.prototype.persist = async () => {
      localStorage.asked = Number(localStorage.asked ?? 0) + 1; return true; }"""
    with hosted(small.web) as host, phone_at(browser, host, script) as phone:
        phone.first_visit()
        phone.open("bulletins/2026-014/")
        phone.first_visit()
        assert phone.page.evaluate("localStorage.asked") == "1"


def test_two_sites_on_one_host_do_not_mix(
    browser: Browser, small: Small, make_house: MakeHouse
) -> None:
    other = SMALL_HOUSE["reference/house.yaml"].replace("Hollin Ridge", "Lower Works")
    house = make_house({**bulletins("Lower words."), "reference/house.yaml": other})
    publish_to(house, small.web / "other")
    with hosted(small.web) as host, phone_at(browser, host) as phone:
        phone.first_visit()
        kept = phone.kept()
        phone.page.goto(f"{host.top}other/service/notes/")
        phone.carried()
        phone.window.set_offline(True)
        assert "Lower Works" in phone.page.reload().text()  # type: ignore[union-attr]
        assert "Hollin Ridge" in phone.open().title()
        assert phone.kept() == kept
