"""The phone beside Pagefind on a large house: python tests/bench/phone_ratio.py [options]

Makes a house (tests/bench/big_house.py), writes what its search needs and, with npm's Pagefind
1.6.0 as a yardstick, an index over the pages of its bulletins. Asks both ten questions in
Chromium, each on an empty cache and then one further question in the page, at 1.6 Mbit/s, 150 ms a
round trip and a processor four times slower; prints bytes, times and their ratios. What was built
stays in --work, which git ignores; --fresh builds the search anew.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, Page, ViewportSize

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from kb.house import read_house
from tests.bench.big_house import write_house
from tests.bench.phone_pages import Asked, build_pages, build_search, questions
from tests.bench.slow_cpu import slowed
from tests.bench.slow_server import Pace, slowly_served
from tests.browser import chromium

ROOT = Path(__file__).resolve().parent.parent.parent
PHONE: ViewportSize = {"width": 360, "height": 640}
_QUIET = 1.0  # seconds without a byte: nothing goes on in the background any more
_LONGEST = 60  # seconds

# Notes when the answer to what stands in the box has been drawn, and tasks that hold up the page.
WATCH = """
window.tasks = [];
new PerformanceObserver((seen) => window.tasks.push(...seen.getEntries().map((e) => e.duration)))
  .observe({ entryTypes: ["longtask"] });
window.answered = new Promise((done) => {
  new MutationObserver(() => {
    if (document.querySelector('[data-results][data-state="ready"]')) {
      requestAnimationFrame(() => done(performance.now()));
    }
  }).observe(document, { attributes: true, subtree: true, attributeFilter: ["data-state"] });
});
"""
ASK = """(text) => new Promise((done) => {
  const box = document.querySelector("input[type=search]");
  const place = document.querySelector("[data-results]");
  const begun = performance.now();
  const watch = new MutationObserver(() => {
    if (place.dataset.state !== "ready") return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - begun));
  });
  watch.observe(place, { attributes: true, attributeFilter: ["data-state"] });
  box.value = text;
  box.dispatchEvent(new InputEvent("input", { bubbles: true }));
})"""


@dataclass
class Answer:
    """One question asked: milliseconds and bytes of the first answer and of a further one."""

    asked: Asked
    first: float
    first_bytes: int
    requests: int
    further: float
    further_bytes: int
    found: int


def ask_all(
    browser: Browser, folder: Path, asked: Sequence[Asked], packed: bool, fast: bool = False
) -> list[Answer]:
    """Ask every question on an empty cache, and the next one as a further question.

    *fast*: at full speed, for the bytes alone.
    """
    pace = Pace(rate=1e9, round_trip=0, gzip=packed) if fast else Pace(gzip=packed)
    with slowly_served(folder, pace) as address, nullcontext() if fast else slowed():
        following = [*asked[1:], asked[0]]
        return [
            ask(browser, address, pace, first, further)
            for first, further in zip(asked, following, strict=True)
        ]


def ask(browser: Browser, address: str, pace: Pace, first: Asked, further: Asked) -> Answer:
    """Open the page with one question in its address, then type another one."""
    window = browser.new_context(viewport=PHONE, has_touch=True)
    try:
        page = window.new_page()
        page.set_default_timeout(_LONGEST * 1000)
        page.add_init_script(WATCH)
        page.goto(f"{address}nothing-here")  # the process for this address is there and slowed
        settle(pace)
        pace.start_over()
        page.goto(f"{address}?{query(first.text)}", wait_until="commit")
        answered = page.evaluate("window.answered")
        sent, requests = pace.sent, len(pace.asked)
        found = page.locator("[data-results] [data-number]").count()
        settle(pace)
        pace.start_over()
        took = page.evaluate(ASK, further.text)
        return Answer(first, answered, sent, requests, took, pace.sent, found)
    finally:
        window.close()


def query(text: str) -> str:
    """Return a question as an address carries it."""
    from urllib.parse import urlencode

    return urlencode({"q": text})


def settle(pace: Pace) -> None:
    """Wait until nothing is sent any more."""
    begun = time.monotonic()
    while time.monotonic() - begun < _LONGEST:
        before = pace.sent
        time.sleep(_QUIET)
        if pace.sent == before:
            return


def keystrokes(browser: Browser, folder: Path, asked: Sequence[Asked]) -> tuple[list[float], float]:
    """Return milliseconds from key to answer with everything in memory, and the longest task.

    Every question is typed letter by letter, once to bring all pieces into memory and once for the
    clock, on a fast line and a slow processor.
    """
    with slowly_served(folder, Pace(rate=1e9, round_trip=0)) as address:
        page = browser.new_context(viewport=PHONE).new_page()
        page.add_init_script(WATCH)
        page.goto(address)
        type_all(page, asked)
        page.evaluate("window.tasks.length = 0")
        with slowed():
            times = type_all(page, asked)
        longest = page.evaluate("Math.max(0, ...window.tasks)")
        page.context.close()
        return times, longest


def type_all(page: Page, asked: Sequence[Asked]) -> list[float]:
    """Type every question letter by letter, from the second letter on."""
    texts = (each.text[:end] for each in asked for end in range(2, len(each.text) + 1))
    return [page.evaluate(ASK, text) for text in texts]


def show(name: str, answers: Sequence[Answer]) -> None:
    """Print every answer of one side."""
    print(f"\n{name}")
    print(
        f"  {'sort':9}{'first ms':>10}{'kB':>8}{'asked':>7}{'further ms':>12}{'kB':>8}{'found':>7}"
    )
    for a in answers:
        print(
            f"  {a.asked.sort:9}{a.first:10.0f}{a.first_bytes / 1000:8.1f}{a.requests:7}"
            f"{a.further:12.0f}{a.further_bytes / 1000:8.1f}{a.found:7}  {a.asked.text[:48]}"
        )


def compare(ours: Sequence[Answer], theirs: Sequence[Answer]) -> None:
    """Print medians and worst of both sides, and the ratio of the medians."""
    sorts: dict[str, Callable[[Answer], float]] = {
        "first answer, s": lambda a: a.first / 1000,
        "first answer, kB": lambda a: a.first_bytes / 1000,
        "further answer, s": lambda a: a.further / 1000,
        "further answer, kB": lambda a: a.further_bytes / 1000,
    }
    print(f"\n  {'':20}{'ours':>9}{'worst':>9}{'theirs':>9}{'worst':>9}{'ratio':>8}")
    for name, figure in sorts.items():
        mine, other = ([figure(a) for a in side] for side in (ours, theirs))
        middle, yardstick = statistics.median(mine), statistics.median(other)
        ratio = f"{middle / yardstick:8.2f}" if yardstick else ""
        print(
            f"  {name:20}{middle:9.2f}{max(mine):9.2f}{yardstick:9.2f}{max(other):9.2f}{ratio}",
            flush=True,
        )


def prepare(asked: argparse.Namespace) -> tuple[Path, list[Asked]]:
    """Make what is missing in the work folder and return it with the questions."""
    work = asked.work / f"{asked.bulletins}-{asked.models}-{asked.parts}"
    house = work / "house"
    if not house.exists():
        write_house(house, asked.bulletins, asked.models, asked.parts)
    if asked.fresh:
        shutil.rmtree(work / "search", ignore_errors=True)
    if not (work / "search").exists():
        build_search(read_house(house), work / "search")
    if not (work / "pages" / "pagefind").exists():
        build_pages(read_house(house), work / "pages")
    return work, questions(house)


def main(arguments: Sequence[str] | None = None) -> None:
    """Build, ask, print."""
    reader = argparse.ArgumentParser(description="The phone beside Pagefind on a large house.")
    for name, usual in {"bulletins": 20000, "models": 5000, "parts": 200000}.items():
        reader.add_argument(f"--{name}", type=int, default=usual)
    reader.add_argument("--work", type=Path, default=ROOT / "build" / "phone-ratio")
    reader.add_argument("--fresh", action="store_true", help="build the search anew")
    reader.add_argument("--bytes", action="store_true", help="at full speed, for bytes alone")
    reader.add_argument("--no-keys", action="store_true", help="leave the keystrokes out")
    options = reader.parse_args(arguments)
    work, asked = prepare(options)
    with chromium() as browser:
        for packed in (False, True):
            print(f"\n== {'texts packed by the server' if packed else 'as the files are'} ==")
            ours = ask_all(browser, work / "search", asked, packed, options.bytes)
            show("Fettlebook", ours)
            theirs = ask_all(browser, work / "pages", asked, packed, options.bytes)
            show("Pagefind", theirs)
            compare(ours, theirs)
        if not options.no_keys:
            times, longest = keystrokes(browser, work / "search", asked)
            told = [times[0], *statistics.quantiles(times, n=20)]
            print(
                f"\nkeystrokes in memory: {len(times)}, median {statistics.median(times):.0f} ms,"
            )
            print(f"  95 % within {told[-1]:.0f} ms, worst {max(times):.0f} ms")
            print(f"  longest task of the page {longest:.0f} ms")


if __name__ == "__main__":
    main()
