"""Judge the search by the questions of tests/cases/questions.json: python tests/bench/judge_search.py [tune|report]

Prints, by sort, how often the right note stands first and among the first three, and the questions
that miss.
"""

from __future__ import annotations

import json
import sys
from collections import defaultdict
from datetime import date
from pathlib import Path
from typing import Any

from kb.desk import Desk

ROOT = Path(__file__).resolve().parent.parent.parent
QUESTIONS = ROOT / "tests" / "cases" / "questions.json"


def place(results: list[str], want: list[str]) -> int:
    """Return the place (from 1) of the first acceptable note, 0 where none is shown."""
    return next((at for at, number in enumerate(results, 1) if number in want), 0)


def main(half: str = "report", show: bool = False) -> None:
    """Ask every question of one half and print the shares."""
    desk = Desk(ROOT / "bulletins", date(2026, 11, 25))
    by_sort: dict[str, list[int]] = defaultdict(list)
    questions: list[dict[str, Any]] = json.loads(QUESTIONS.read_text(encoding="utf-8"))
    for question in questions:
        if question["half"] != half:
            continue
        results = [r.card.number for r in desk.finder.find(question["ask"], limit=50).results]
        right = 1 if not question["want"] and not results else place(results, question["want"])
        by_sort[question["sort"]].append(right)
        if show and right != 1:
            shown = results[:4] if results else "nothing"
            print(f"{question['sort']:12} {right:3} {question['ask']!r}")
            print(f"{'':17}want {question['want']}, got {shown}")
    print(f"{'sort':14}{'asked':>6}{'first':>8}{'three':>8}")
    for sort, places in [*sorted(by_sort.items()), ("all", sum(by_sort.values(), []))]:
        first = sum(at == 1 for at in places) / len(places)
        three = sum(1 <= at <= 3 for at in places) / len(places)
        print(f"{sort:14}{len(places):6}{first:8.2f}{three:8.2f}")


if __name__ == "__main__":
    main(*(word for word in sys.argv[1:] if word != "--show"), show="--show" in sys.argv)
