"""Judge the search by tests/cases/questions.json: python tests/bench/judge_search.py [tune|report]

Prints, by sort, how often the right note stands first and among the first three, and the questions
that miss (with --show).
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from kb.desk import Desk

ROOT = Path(__file__).resolve().parent.parent.parent
QUESTIONS = ROOT / "tests" / "cases" / "questions.json"


@dataclass(frozen=True)
class Judged:
    """One question: what it should find and what it found."""

    sort: str
    ask: str
    want: list[str]
    got: list[str]

    @property
    def place(self) -> int:
        """Where the first acceptable note stands (0: nowhere); 1 where rightly nothing is given."""
        if not self.want and not self.got:
            return 1
        return next((at for at, number in enumerate(self.got, 1) if number in self.want), 0)


def judge(desk: Desk, half: str) -> Iterator[Judged]:
    """Ask every question of one half."""
    for question in json.loads(QUESTIONS.read_text(encoding="utf-8")):
        if question["half"] == half:
            found = desk.finder.find(question["ask"], limit=50)
            numbers = [result.card.number for result in found.results]
            yield Judged(question["sort"], question["ask"], question["want"], numbers)


def share(judged: Iterable[Judged], within: int) -> float:
    """Return the share of questions whose right note stands among the first *within*."""
    places = [each.place for each in judged]
    return sum(1 <= place <= within for place in places) / len(places)


def by_sort(judged: Iterable[Judged]) -> dict[str, list[Judged]]:
    """Return the questions by sort, and all of them under ``all``, which stands last."""
    sorts: dict[str, list[Judged]] = defaultdict(list)
    every = list(judged)
    for each in every:
        sorts[each.sort].append(each)
    return {**dict(sorted(sorts.items())), "all": every}


def main(half: str = "report", show: bool = False) -> None:
    """Ask every question of one half and print the shares."""
    sorts = by_sort(judge(Desk(ROOT / "bulletins", date(2026, 11, 25)), half))
    for each in sorts["all"] if show else ():
        if each.place != 1:
            print(f"{each.sort:12} {each.place:3} {each.ask!r}")
            print(f"{'':17}want {each.want}, got {each.got[:4] or 'nothing'}")
    print(f"{'sort':14}{'asked':>6}{'first':>8}{'three':>8}")
    for sort, judged in sorts.items():
        print(f"{sort:14}{len(judged):6}{share(judged, 1):8.2f}{share(judged, 3):8.2f}")


if __name__ == "__main__":
    halves = [word for word in sys.argv[1:] if word != "--show"] or ["report"]
    main(halves[0], show="--show" in sys.argv)
