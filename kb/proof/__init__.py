"""The proof: everything that is wrong in a house, with file, line and remedy.

Each rule is a small function in a table (`RULES`); a module here holds the rules on one subject.
What is wrong with the form of a file was collected when it was read; the rules are about meaning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from kb.errors import Problem
from kb.proof import (
    across,
    between,
    keepfit,
    names,
    partlines,
    safety,
    serialnos,
    tables,
    text,
    where,
)
from kb.proof.again import Proofed, proofed
from kb.proof.base import Rule
from kb.records import House
from kb.uncollected import uncollected

RULES: tuple[Rule, ...] = (
    *where.RULES,
    *serialnos.RULES,
    *names.RULES,
    *between.RULES,
    *partlines.RULES,
    *safety.RULES,
    *text.RULES,
    *across.RULES,
    *keepfit.RULES,
    *tables.RULES,
)


def run(house: House, today: date) -> list[Problem]:
    """Return every problem of *house*, those met in reading included, by file and line."""
    return run_again(house, today, None)[0]


def run_again(house: House, today: date, before: Proofed | None) -> tuple[list[Problem], Proofed]:
    """Return what `run` does, and what to hand to the next run, where little has changed since."""
    rules = (text.NOTES, *RULES)
    with uncollected():
        done = proofed(rules, house, today, before)
        told = {*house.problems, *_told(rules, done)}
    return in_order(told), done


def _told(rules: Iterable[Rule], done: Proofed) -> Iterator[Problem]:
    for rule in rules:
        for found in done.found[rule.name].values():
            yield from map(rule.problem, found)


def in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Return problems by file and line, errors before warnings on the same line."""
    return sorted(problems, key=lambda p: (p.file, p.line, p.level, p.rule, p.message))
