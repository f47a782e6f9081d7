"""What each kind of page costs to make: python tests/bench/page_kinds.py HOUSE [--json]

Makes every page of a house in memory, as a publish into an empty folder does, in one process, and
prints how many there are of each kind and the processor seconds that they took. The first page of a
kind also pays for what is gathered once, such as the sweep of a family; what is gathered for all
kinds is told apart, as is the data of the phone. Nothing is written.
"""

from __future__ import annotations

import gc
import json
import sys
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import TypeVar

from kb import phone
from kb.house import read_house
from kb.pages import Asset, Desk, Page, Unit, units
from kb.proof import run
from kb.records import House
from kb.render import Renderer

TODAY = date(2026, 11, 25)
T = TypeVar("T")


class Kinds:
    """Pages and processor seconds by kind."""

    def __init__(self) -> None:
        self.pages: dict[str, int] = defaultdict(int)
        self.seconds: dict[str, float] = defaultdict(float)
        self.bytes: dict[str, int] = defaultdict(int)

    def timed(self, kind: str, work: Callable[[], T]) -> T:
        """Do *work*, whose time counts as that of *kind*."""
        begun = time.process_time()
        try:
            return work()
        finally:
            self.seconds[kind] += time.process_time() - begun

    def make(self, unit: Unit, renderer: Renderer) -> None:
        """Make the pages of *unit*."""
        made = iter(unit.make())
        begun = time.process_time()
        for each in made:
            kind = kind_of(each.path)
            self.bytes[kind] += len(_content(each, renderer))
            self.pages[kind] += 1
            ended = time.process_time()
            self.seconds[kind] += ended - begun
            begun = ended

    def rows(self) -> Iterator[tuple[str, int, float, int]]:
        """Yield each kind, the dearest first: pages, seconds and bytes."""
        for kind in sorted(self.seconds, key=lambda kind: -self.seconds[kind]):
            yield kind, self.pages[kind], self.seconds[kind], self.bytes[kind]


def _content(each: Page | Asset, renderer: Renderer) -> bytes:
    return each.content if isinstance(each, Asset) else renderer.text(each).encode()


def kind_of(path: str) -> str:
    """Return of what kind the page at *path* is: the folder that it lies in, spans told apart."""
    steps = path.split("/")
    if steps[0] == "models" and len(steps) == 4:
        return "spans"
    return steps[0] if len(steps) > 2 else "other"


def kinds_of(folder: Path) -> Kinds:
    """Read, proof and make the house in *folder*."""
    kinds = Kinds()
    house = kinds.timed("(reading)", lambda: read_house(folder))
    kinds.timed("(proof)", lambda: run(house, TODAY))
    _make_all(house, kinds)
    return kinds


def _make_all(house: House, kinds: Kinds) -> None:
    desk = Desk(house, TODAY)
    kinds.timed("(gathered once)", lambda: (desk.all_places(), desk.families, desk.published))
    kinds.timed("(bodies read)", lambda: [desk.told(b) for b in desk.published])
    written = kinds.timed("(phone data)", lambda: phone.write(house, TODAY, desk.told))
    renderer = Renderer()
    for unit in units(desk, written.start.path):
        kinds.make(unit, renderer)


def main(house: str, form: str = "") -> None:
    """Make all pages and print what they cost."""
    gc.set_threshold(100_000, 50, 50)  # as `kb` sets it
    rows = list(kinds_of(Path(house)).rows())
    if form == "--json":
        print(json.dumps(rows))
        return
    print(f"{'kind':16}{'pages':>9}{'CPU s':>9}{'a second':>10}{'MB':>8}")
    for kind, pages, seconds, size in rows:
        rate = f"{pages / seconds:10.0f}" if pages and seconds else " " * 10
        print(f"{kind:16}{pages:9}{seconds:9.2f}{rate}{size / 1e6:8.1f}")


if __name__ == "__main__":
    main(*sys.argv[1:])
