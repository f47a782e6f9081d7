"""The proof: everything that is wrong in a house, with file, line and remedy.

Each rule is a small function in a table (`RULES`); a module here holds the rules on one subject.
What is wrong with the form of a file was collected when it was read; the rules are about meaning.
"""

from __future__ import annotations

from collections.abc import Iterable
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
from kb.proof.base import Rule
from kb.proof.look import Look
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
    look = Look(house, today)
    with uncollected():
        found = {*house.problems, *text.notes(look)}
        for rule in RULES:
            found.update(rule.problems(look))
    return in_order(found)


def in_order(problems: Iterable[Problem]) -> list[Problem]:
    """Return problems by file and line, errors before warnings on the same line."""
    return sorted(problems, key=lambda p: (p.file, p.line, p.level, p.rule, p.message))
