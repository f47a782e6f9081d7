"""`kb publish` beside Hugo and Pagefind: python tests/bench/publish_ratio.py [HOUSE …] [options]

    python tests/bench/publish_ratio.py --sizes 1000,5000 --check
    python tests/bench/publish_ratio.py --sizes 20000 --rounds 1 --save build/20000.json

For each house (folders, or made by big_house.py in the sizes named, with a quarter as many models
and ten times as many parts) both are timed in turn, round by round, each into an empty folder; then
what `kb` needs where nothing, one bulletin, one part row or one template has changed, and for a
proof and two questions. Theirs has nothing to put beside these but its whole run. Prints the least
and the median of seconds, processor seconds and megabytes, children included, and how times grow
with the number of bulletins. Until the first question a house has no store for the desk, which a
publish then keeps up to date: the last case has one. What is built lies in --work (git ignores it).

--check: after each change the site must be, byte for byte, as one published into an empty folder.
--without: only the parts named are left out of: theirs, edits, questions, lean.
"""

from __future__ import annotations

import argparse
import json
import math
import shutil
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import astuple
from pathlib import Path
from random import Random

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from kb.house import read_house
from tests.bench.beside_publish import Beside
from tests.bench.big_house import write_house
from tests.bench.costs_of import ROOT, Cost, Program, best, middle
from tests.bench.house_edits import Edits

Costs = dict[str, list[Cost]]
_PARTS = {1000: 10_000, 5000: 50_000, 20_000: 200_000}
_SAMPLE = 4000
# Neither has a counterpart with them: all other pages, to be set beside what they make.
_LEAN = """
import kb.pages.models, kb.pages.parts
assert kb.pages.models._span and kb.pages.parts.units
kb.pages.models._span = kb.pages.parts.units = lambda *given: iter(())
"""


class Trial:
    """One house, published again and again."""

    def __init__(self, house: Path, work: Path, options: argparse.Namespace) -> None:
        self._options = options
        self._house = work / "bulletins"
        self._site = work / "site"
        self._program = Program(work / "program")
        shutil.rmtree(self._house, ignore_errors=True)
        shutil.copytree(house, self._house, ignore=shutil.ignore_patterns(".kb"))
        self.size = len(read_house(self._house).bulletins)
        self._work = work
        self.costs: Costs = {}

    def run(self) -> None:
        """Time everything that was asked for."""
        self._in_turn()
        if self._without("full"):
            return
        self._time("nothing", self._published)
        if not self._without("edits"):
            self._edits()
        if not self._without("questions"):
            self._questions()

    def _in_turn(self) -> None:
        theirs = None if self._without("theirs") else Beside(self._house, self._work)
        for _ in range(self._options.rounds):
            if not self._without("lean"):
                self._note("full, lean", self._whole(_LEAN))
            if theirs:
                hugo, pagefind = theirs.publish()
                self._note("hugo", hugo)
                self._note("pagefind", pagefind)
                self._note("theirs", hugo + pagefind)
            if not self._without("full"):
                self._note("full", self._whole())

    def _without(self, what: str) -> bool:
        return what in self._options.without

    def _whole(self, code: str = "") -> Cost:
        """Publish into an empty folder, with nothing kept from before."""
        clear(self._site)
        shutil.rmtree(self._house / ".kb", ignore_errors=True)
        return self._published(code)

    def _published(self, code: str = "") -> Cost:
        return self._kb("publish", "--out", self._site, code=code)

    def _kb(self, *words: str | Path, code: str = "", within: Sequence[int] = (0,)) -> Cost:
        return self._program.kb(*words, "--house", self._house, code=code, within=within)

    def _time(self, name: str, work: Callable[[], Cost]) -> None:
        for _ in range(self._options.rounds):
            self._note(name, work())

    def _note(self, name: str, cost: Cost) -> None:
        self.costs.setdefault(name, []).append(cost)
        print(
            f"  {name:14}{cost.wall:9.2f} s{cost.cpu:9.2f} s CPU{cost.memory:8.0f} MB", flush=True
        )

    # What is changed

    def _edits(self) -> None:
        edits = Edits(self._house, self._program.folder / "templates")
        for name, edit in edits.all.items():
            if self._without(name.removeprefix("one ")):
                continue
            turns = min(self._options.rounds, 2) if "template" in name else self._options.rounds
            for turn in range(1, turns + 1):
                edit(turn)
                self._note(name, self._published())
            if self._options.check:
                self._check(name)

    def _check(self, name: str) -> None:
        fresh = self._work / "fresh"
        clear(fresh)
        self._kb("publish", "--out", fresh)
        differing = differences(self._site, fresh)
        print(f"  {name:14}{'as published anew' if not differing else differing[:5]}", flush=True)
        if differing:
            sys.exit(f"after {name} the site is not as one published into an empty folder")

    # What is asked

    def _questions(self) -> None:
        edits = Edits(self._house, self._program.folder / "templates")
        bulletin = edits.bulletin
        house = read_house(self._house)
        family = house.families[bulletin.where[0].families[0]]
        serial = house.schemes[family.schemes[0].name].examples[0].serial
        self._time("proof", lambda: self._kb("proof"))
        self._note("find, first", self._kb("find", bulletin.symptoms[0]))  # it makes the store
        self._time("find", lambda: self._kb("find", bulletin.symptoms[0]))
        self._time("plate", lambda: self._kb("plate", family.models[0], serial, within=(0, 1)))
        for turn in range(self._options.rounds):
            edits.text(turn)
            self._note("one text, desk", self._published())


def clear(site: Path) -> None:
    """Remove a site and what is kept beside it."""
    for place in (site, site.with_name(f".{site.name}.kb")):
        shutil.rmtree(place, ignore_errors=True)


def differences(one: Path, other: Path, sample: int = _SAMPLE) -> list[str]:
    """Return the files that one site has and the other has not, or that differ (a sample)."""
    ours, theirs = (
        {str(path.relative_to(site)) for path in site.rglob("*") if path.is_file()}
        for site in (one, other)
    )
    both = sorted(ours & theirs)
    pages = [name for name in both if name.startswith(("models/", "parts/"))]
    spared = set(pages) - set(Random(len(both)).sample(pages, min(sample, len(pages))))
    differing = [
        name
        for name in both
        if name not in spared and (one / name).read_bytes() != (other / name).read_bytes()
    ]
    return sorted(ours ^ theirs) + differing


def exponent(costs: Mapping[int, float]) -> float:
    """Return *e* where times grow like size to the power of *e*: least squares of the logarithms.

    >>> round(exponent({10: 1.0, 100: 10.0, 1000: 100.0}), 3)
    1.0
    """
    points = [(math.log(size), math.log(cost)) for size, cost in costs.items()]
    over = sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)
    steps = [(x - over[0], y - over[1]) for x, y in points]
    return sum(x * y for x, y in steps) / sum(x * x for x, _ in steps)


def show(size: int, costs: Costs) -> None:
    """Print least and median of each case, and its share of theirs."""
    print(
        f"\n{size} bulletins{'wall s':>16}{'median':>9}{'CPU s':>9}{'median':>9}{'MB':>7}", end=""
    )
    print(f"{'of theirs: wall':>18}{'CPU':>7}")
    theirs = best(costs["theirs"]) if "theirs" in costs else None
    for name, taken in costs.items():
        least, usual = best(taken), middle(taken)
        line = f"  {name:19}{least.wall:9.2f}{usual.wall:9.2f}{least.cpu:9.2f}{usual.cpu:9.2f}"
        ratio = f"{least.wall / theirs.wall:18.2f}{least.cpu / theirs.cpu:7.2f}" if theirs else ""
        print(f"{line}{least.memory:9.0f}{ratio}")


def show_growth(found: Mapping[int, Costs]) -> None:
    """Print how each case grows with the number of bulletins."""
    print(f"\ngrowth, exponent of {'wall':>14}{'CPU':>9}   over {sorted(found)} bulletins")
    for name in next(iter(found.values())):
        if all(name in costs for costs in found.values()):
            least = {size: best(costs[name]) for size, costs in found.items()}
            wall = exponent({size: cost.wall for size, cost in least.items()})
            cpu = exponent({size: cost.cpu for size, cost in least.items()})
            print(f"  {name:31}{wall:5.2f}{cpu:9.2f}")


def houses(options: argparse.Namespace) -> list[tuple[Path, Path]]:
    """Return each house with its work folder; those told by size are made where missing."""
    found = []
    for size in options.sizes:
        house = options.work / f"house-{size}"
        if not house.exists():
            write_house(house, size, size // 4, _PARTS.get(size, size * 10), options.seed)
        found.append((house, options.work / f"trial-{size}"))
    return found + [(house, options.work / f"trial-{house.name}") for house in options.houses]


def load(path: Path | None) -> dict[int, Costs]:
    """Return what earlier runs saved in *path*."""
    if path is None or not path.exists():
        return {}
    told = json.loads(path.read_text("utf-8"))
    return {
        int(size): {name: [Cost(*cost) for cost in taken] for name, taken in costs.items()}
        for size, costs in told.items()
    }


def save(path: Path | None, found: Mapping[int, Costs]) -> None:
    """Keep the costs in *path* for later runs."""
    if path:
        told = {
            size: {name: [astuple(cost) for cost in taken] for name, taken in costs.items()}
            for size, costs in found.items()
        }
        path.write_text(json.dumps(told, indent=1), "utf-8")


def options_of(arguments: Sequence[str] | None) -> argparse.Namespace:
    """Read the command line."""
    reader = argparse.ArgumentParser(description="`kb publish` beside Hugo and Pagefind.")
    reader.add_argument("houses", type=Path, nargs="*")
    reader.add_argument("--sizes", type=lambda text: [int(n) for n in text.split(",")], default=[])
    reader.add_argument("--rounds", type=int, default=3)
    reader.add_argument("--seed", type=int, default=1)
    reader.add_argument("--work", type=Path, default=ROOT / "build" / "publish-ratio")
    reader.add_argument("--save", type=Path, help="keep the figures here, beside earlier ones")
    reader.add_argument("--check", action="store_true", help="hold each site to one made anew")
    reader.add_argument(
        "--without",
        type=lambda text: text.split(","),
        default=[],
        help="theirs,lean,edits,questions …",
    )
    return reader.parse_args(arguments)


def main(arguments: Sequence[str] | None = None) -> None:
    """Measure and print."""
    options = options_of(arguments)
    options.work.mkdir(parents=True, exist_ok=True)
    found = load(options.save)
    for house, work in houses(options):
        trial = Trial(house.resolve(), work.resolve(), options)
        print(f"\n== {house}: {trial.size} bulletins", flush=True)
        trial.run()
        found[trial.size] = {**found.get(trial.size, {}), **trial.costs}
        save(options.save, found)
        show(trial.size, trial.costs)
    if len(found) > 1:
        show_growth(found)


if __name__ == "__main__":
    main()
