from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from http.client import HTTPConnection
from pathlib import Path
from typing import Any
from urllib.error import HTTPError
from urllib.request import Request, urlopen

import pytest
from playwright.sync_api import Browser, Page, expect

from kb import derived
from kb.errors import KbError, Problem
from kb.preview import Preview, open_browser
from kb.previewserver import Edition
from tests.deskhouse import BULLETINS, HOUSE, write_house

TODAY = date(2026, 11, 25)
DRUM = "2024/2024-007.md"


class Running:
    """A preview under way: its house, its address, and what it said."""

    def __init__(self, house: Path, address: str, said: list[str], preview: Preview) -> None:
        self.house = house
        self.address = address
        self.said = said
        self.preview = preview

    def edit(self, name: str, change: Callable[[str], str]) -> None:
        path = self.house / name
        path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")

    def restore(self, name: str) -> None:
        (self.house / name).write_text(str(HOUSE[name]), encoding="utf-8")

    def get(self, path: str, **headers: str) -> tuple[int, str]:
        try:
            with urlopen(Request(self.address + path, headers=headers), timeout=10) as answer:
                return answer.status, answer.read().decode()
        except HTTPError as error:
            return error.code, error.read().decode()

    def problems(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.get("-/problems.json")[1])
        return found


@contextmanager
def previewing(house: Path, watched: bool = False) -> Iterator[Running]:
    said: list[str] = []
    preview = Preview(house, lambda: TODAY, said.append)
    stop = threading.Event()
    with preview.serving(0) as (address, asked):
        assert asked
        preview.build()
        watcher = threading.Thread(target=preview.keep_up, args=(stop,), daemon=True)
        if watched:
            watcher.start()
        try:
            yield Running(house, address, said, preview)
        finally:
            stop.set()
            if watched:
                watcher.join(20)
                assert not watcher.is_alive()


@pytest.fixture(scope="module")
def still(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A preview that builds only when told."""
    house = write_house(tmp_path_factory.mktemp("still") / "bulletins")
    with previewing(house) as running:
        yield running


# What is served


def test_pages_are_served_with_the_script_and_the_published_files_without(still: Running) -> None:
    status, page = still.get("bulletins/2024-007/")
    assert status == 200
    assert page.count('src="/-/preview.js"') == 1
    assert page.index("/-/preview.js") < page.index("</body>")
    written = still.preview.folder / "bulletins/2024-007/index.html"
    assert "/-/preview.js" not in written.read_text(encoding="utf-8")
    assert not (still.house.parent / "site").exists()


@pytest.mark.parametrize(
    ("path", "kind", "words"),
    [
        ("-/preview.js", "text/javascript", "EventSource"),
        ("-/preview.css", "text/css", ".preview-problems"),
        ("-/problems.json", "application/json", "problems"),
    ],
)
def test_what_the_script_needs_is_served(still: Running, path: str, kind: str, words: str) -> None:
    with urlopen(still.address + path, timeout=10) as answer:
        assert answer.headers["Content-Type"].startswith(kind)
        assert answer.headers["Cache-Control"] == "no-store"
        assert words in answer.read().decode()


def test_a_page_that_is_not_there_still_carries_the_script(still: Running) -> None:
    for path in ("bulletins/none/", "nothing.html", "bulletins/2024-002x/"):
        status, page = still.get(path)
        assert status == 404
        assert "/-/preview.js" in page
        assert "no such page" in page


def test_a_folder_without_its_slash_leads_on(still: Running) -> None:
    assert "2024-007" in still.get("bulletins/2024-007")[1]


def test_nothing_outside_of_the_pages_is_served(still: Running) -> None:
    for path in ("../current", "..%2fcurrent", "%2e%2e/%2e%2e/reference/house.yaml", "-/../x"):
        assert still.get(path)[0] == 404


def test_no_folder_is_listed(still: Running) -> None:
    status, page = still.get("assets/")
    assert status == 404
    assert ".css" not in page


def test_the_sites_worker_is_kept_out_or_it_would_show_what_it_has_stored(still: Running) -> None:
    (still.preview.folder / "worker.js").write_text("x")
    assert still.get("worker.js")[0] == 200
    assert still.get("worker.js", **{"Service-Worker": "script"})[0] == 404
    (still.preview.folder / "worker.js").unlink()


def test_only_this_machine_is_served(still: Running) -> None:
    assert still.address.startswith("http://127.0.0.1:")


def test_head_and_get_agree(still: Running) -> None:
    host = still.address.removeprefix("http://").rstrip("/")
    connection = HTTPConnection(host, timeout=10)
    connection.request("HEAD", "/index.html")
    assert connection.getresponse().status == 200
    connection.close()


def test_drafts_are_shown(still: Running) -> None:
    assert "Draft about the pump" in still.get("bulletins/2024-002/")[1]


# Editions


def problem(line: int, level: Any = "error") -> Problem:
    return Problem(file="a.md", line=line, level=level, rule="r", message="m", remedy="do")


def test_an_edition_counts_up_and_lets_waiting_pages_go() -> None:
    edition = Edition()
    got: list[int] = []
    waiting = threading.Thread(target=lambda: got.append(edition.wait(0, 20)))
    waiting.start()
    edition.turn([problem(3)])
    waiting.join(10)
    assert got == [1]
    assert edition.wait(1, 0.01) == 1
    edition.close()
    assert edition.wait(9, 20) == 1


def test_errors_are_shown_before_warnings_each_in_order() -> None:
    edition = Edition()
    edition.turn([problem(9, "warning"), problem(7), problem(2)], "failed", "note")
    shown = edition.as_json()
    assert [p["place"] for p in shown["problems"]] == ["a.md:2", "a.md:7", "a.md:9"]
    assert (shown["failure"], shown["note"]) == ("failed", "note")
    assert set(shown["problems"][0]) == {"place", "level", "message", "remedy"}


def test_events_tell_of_every_edition(still: Running) -> None:
    with urlopen(still.address + "-/events", timeout=10) as events:
        assert events.headers["Content-Type"] == "text/event-stream"
        first = events.readline()
        still.preview.build()
        events.readline()
        second = events.readline()
    assert (int(second.split()[1]) - int(first.split()[1])) == 1


# Broken houses


def test_a_broken_bulletin_keeps_its_last_page_and_its_problem_is_told(still: Running) -> None:
    still.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar"))
    still.preview.build()
    told = still.problems()
    places = [p["place"] for p in told["problems"] if p["level"] == "error"]
    line = BULLETINS[DRUM].splitlines().index("kind: repair") + 1
    assert places == [f"{DRUM}:{line}"]
    assert all(p["remedy"] for p in told["problems"])
    assert "Drum grinds" in still.get("bulletins/2024-007/")[1]
    assert still.said[-1].startswith("1 error; ")
    still.restore(DRUM)
    still.preview.build()
    assert not [p for p in still.problems()["problems"] if p["level"] == "error"]


def test_a_bulletin_that_is_deleted_goes_even_if_it_was_broken_before(still: Running) -> None:
    still.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar"))
    still.preview.build()
    (still.house / DRUM).unlink()
    still.preview.build()
    assert still.get("bulletins/2024-007/")[0] == 404
    still.restore(DRUM)
    still.preview.build()
    assert still.get("bulletins/2024-007/")[0] == 200


def test_a_broken_bulletin_whose_number_went_elsewhere_does_not_come_back(still: Running) -> None:
    still.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar"))
    moved = still.house / "2025/moved.md"
    moved.parent.mkdir(exist_ok=True)
    moved.write_text(BULLETINS[DRUM].replace("Drum grinds", "Moved elsewhere"))
    still.preview.build()
    (still.house / DRUM).write_text("---\nnumber: x-1\n---\n")
    still.preview.build()
    assert "Moved elsewhere" in still.get("bulletins/2024-007/")[1]
    moved.unlink()
    still.restore(DRUM)
    still.preview.build()


@pytest.mark.parametrize("content", ["Tarn: [\n", "", "\x00", "Tarn: 5\n"])
def test_with_a_whole_table_broken_the_pages_stay_and_it_is_said_so(
    still: Running, content: str
) -> None:
    table = "reference/families.yaml"
    (still.house / table).write_text(content)
    still.preview.build()
    told = still.problems()
    assert told["problems"]
    assert "stay as they were" in told["note"]
    assert "Drum grinds" in still.get("bulletins/2024-007/")[1]
    still.restore(table)
    still.preview.build()
    assert still.problems()["note"] == ""


def test_a_house_broken_from_the_start_is_served_with_its_problems(tmp_path: Path) -> None:
    house = write_house(tmp_path / "b", {**HOUSE, "reference/families.yaml": "Tarn: [\n"})
    with previewing(house) as running:
        assert running.problems()["problems"]
        assert running.get("")[0] == 200


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (OSError("the disk is full"), "could not be made: the disk is full"),
        (KbError("that is refused"), "could not be made: that is refused"),
        (KeyError("name"), "could not be made: KeyError: 'name'"),
        (RecursionError("too deep"), "could not be made: RecursionError: too deep"),
    ],
)
def test_a_failure_is_shown_and_the_next_save_tries_again(
    still: Running, monkeypatch: pytest.MonkeyPatch, error: Exception, said: str
) -> None:
    def fail(*words: object) -> None:
        raise error

    with monkeypatch.context() as patched:
        patched.setattr("kb.publish.publish", fail)
        still.preview.build()
    assert said in still.problems()["failure"]
    assert said in still.said[-1]
    still.preview.build()
    assert still.problems()["failure"] == ""


def test_a_port_that_is_taken_is_answered_with_another(tmp_path: Path) -> None:
    house = write_house(tmp_path / "b")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with Preview(house, lambda: TODAY, print).serving(port) as (address, asked):
            assert not asked
            assert str(port) not in address


def test_without_a_browser_nothing_breaks(monkeypatch: pytest.MonkeyPatch) -> None:
    import webbrowser

    def none(address: str) -> bool:
        raise webbrowser.Error("no browser")

    monkeypatch.setattr(webbrowser, "open", none)
    open_browser("http://127.0.0.1/")


# The command


def wait_for(condition: Callable[[], bool], seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < end, "it did not come about in time"
        time.sleep(0.05)


@contextmanager
def command(house: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    process = subprocess.Popen(
        [sys.executable, "-m", "kb", "preview", "--no-open", "--house", str(house), *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
        # Ctrl-C reaches it even where the tests run in the background, which ignores it.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    assert process.stdout
    try:
        yield process, process.stdout.readline().split()[0]
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate(timeout=20)


def test_ctrl_c_ends_the_command_cleanly_even_with_a_page_open(tmp_path: Path) -> None:
    house = write_house(tmp_path / "bulletins")
    with command(house, "--port", "0") as (process, address):
        page = urlopen(address + "-/events", timeout=10)
        time.sleep(0.5)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=20)
        page.close()
    assert process.returncode == 0
    assert "Traceback" not in err
    assert err.rstrip().endswith("Preview ended.")


def test_the_command_tells_of_another_port_and_of_every_build(tmp_path: Path) -> None:
    house = write_house(tmp_path / "bulletins")
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        with command(house, "--port", port) as (process, address):
            assert f":{port}/" not in address
            process.send_signal(signal.SIGINT)
            _, err = process.communicate(timeout=20)
    assert f"Port {port} is taken" in err
    assert "files written" in err


# In a browser


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A preview that keeps up with saves."""
    house = write_house(tmp_path_factory.mktemp("live") / "bulletins")
    with previewing(house, watched=True) as running:
        yield running


@pytest.fixture(scope="module")
def page(live: Running, browser: Browser) -> Iterator[Page]:
    found = browser.new_page()
    found.set_default_timeout(20_000)
    yield found
    found.close()


def panel(page: Page) -> Any:
    return page.locator(".preview-problems")


def test_a_save_reloads_the_page(live: Running, page: Page) -> None:
    page.goto(live.address + "bulletins/2024-007/")
    expect(page.locator("main")).to_contain_text("Drum.")
    live.edit(DRUM, lambda text: text.replace("Drum.", "The shaft is worn."))
    expect(page.locator("main")).to_contain_text("The shaft is worn.", timeout=20_000)
    live.restore(DRUM)
    expect(page.locator("main")).to_contain_text("Drum.", timeout=20_000)


def test_a_broken_file_is_shown_on_the_page_and_gone_once_mended(live: Running, page: Page) -> None:
    page.goto(live.address + "bulletins/2024-007/")
    live.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar"))
    expect(panel(page)).to_contain_text(f"{DRUM}:4", timeout=20_000)
    error = page.locator(".preview-error").first
    expect(error).to_contain_text("repiar")
    expect(error.locator(".preview-remedy")).not_to_be_empty()
    expect(panel(page).locator("summary")).to_contain_text("1 error")
    expect(page.locator("main")).to_contain_text("Drum.")
    live.restore(DRUM)
    expect(page.locator(".preview-error")).to_have_count(0, timeout=20_000)


def test_a_broken_table_is_shown_too(live: Running, page: Page) -> None:
    table = "reference/families.yaml"
    page.goto(live.address)
    (live.house / table).write_text("Tarn: [\n")
    expect(panel(page)).to_contain_text(f"{table}:", timeout=20_000)
    expect(page.locator(".preview-note").first).to_contain_text("stay as they were")
    live.restore(table)
    expect(page.locator(".preview-error")).to_have_count(0, timeout=20_000)


def test_a_new_bulletin_comes_up_by_itself_where_its_page_was_missing(
    live: Running, page: Page
) -> None:
    page.goto(live.address + "bulletins/2025-077/")
    expect(page.locator("h1")).to_contain_text("no such page")
    fresh = live.house / "2025/2025-077.md"
    fresh.parent.mkdir(exist_ok=True)
    fresh.write_text(BULLETINS[DRUM].replace("2024-007", "2025-077"))
    expect(page.locator("main")).to_contain_text("Drum", timeout=20_000)
    fresh.unlink()


def contrast(page: Page, selector: str) -> float:
    """Return the contrast of words to ground, by the formula of WCAG 2.2 (1.4.3)."""
    ratio: float = page.evaluate(
        """(selector) => {
        const lum = (text) => {
          const [r, g, b] = text.match(/[\\d.]+/g).slice(0, 3).map((v) => {
            const c = v / 255;
            return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
          });
          return 0.2126 * r + 0.7152 * g + 0.0722 * b;
        };
        const words = document.querySelector(selector);
        const ground = document.querySelector(".preview-problems");
        const [a, b] = [getComputedStyle(words).color, getComputedStyle(ground).backgroundColor]
          .map(lum).sort((x, y) => y - x);
        return (a + 0.05) / (b + 0.05);
      }""",
        selector,
    )
    return ratio


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_panel_reads_well_in_light_and_dark_and_on_a_narrow_screen(
    live: Running, page: Page, scheme: Any
) -> None:
    live.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar\nhazrds: [x]"))
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": 360, "height": 740})
    page.goto(live.address + "bulletins/2024-007/")
    expect(page.locator(".preview-error").first).to_be_visible(timeout=20_000)
    page.wait_for_function(  # the panel's own style is there, which comes after its words
        "getComputedStyle(document.querySelector('.preview-list')).listStyleType === 'none'"
    )
    for selector in (".preview-head", ".preview-level", ".preview-message", ".preview-remedy"):
        assert contrast(page, selector) >= 4.5, selector  # WCAG 2.2, 1.4.3
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    box = page.locator(".preview-head").bounding_box()
    assert box
    assert box["height"] >= 44
    shots = os.environ.get("KB_SHOTS")
    if shots:
        page.screenshot(path=f"{shots}/preview-{scheme}.png")
    live.restore(DRUM)
    expect(page.locator(".preview-error")).to_have_count(0, timeout=20_000)


def test_the_panel_is_announced_and_can_be_folded_with_the_keyboard(
    live: Running, page: Page
) -> None:
    live.edit(DRUM, lambda text: text.replace("kind: repair", "kind: repiar"))
    page.goto(live.address + "bulletins/2024-007/")
    expect(page.get_by_role("status")).to_contain_text("error", timeout=20_000)
    page.locator(".preview-head").focus()
    page.keyboard.press("Enter")
    expect(page.locator(".preview-list")).to_be_hidden()
    page.reload()
    expect(page.locator(".preview-list")).to_be_hidden()
    page.locator(".preview-head").click()
    expect(page.locator(".preview-list")).to_be_visible()
    live.restore(DRUM)
    expect(page.locator(".preview-error")).to_have_count(0, timeout=20_000)


def test_warnings_alone_are_folded_away_until_asked_for(live: Running, page: Page) -> None:
    page.goto(live.address + "bulletins/2024-007/")
    page.evaluate("sessionStorage.clear()")
    page.reload()
    expect(page.locator(".preview-head")).to_contain_text("warning")
    expect(page.locator(".preview-list")).to_be_hidden()
    page.locator(".preview-head").click()
    expect(page.locator(".preview-warning").first).to_be_visible()


def test_the_pages_rules_on_what_may_be_loaded_are_kept(live: Running, page: Page) -> None:
    refused: list[str] = []
    page.on("console", lambda message: refused.append(message.text))
    page.on("pageerror", lambda error: refused.append(str(error)))
    page.goto(live.address)
    page.wait_for_function("document.documentElement.dataset.preview")
    assert not [text for text in refused if "Content Security Policy" in text or "Error" in text]


def test_derived_data_of_the_preview_are_no_change_of_the_house(live: Running) -> None:
    before: list[str] | None = None
    while before != live.said:  # an edit of another test may still be on its way
        before = live.said[:]
        time.sleep(1.5)
    (derived.home(live.house) / "preview" / "touched.txt").write_text("x")
    time.sleep(1.5)
    assert live.said == before
