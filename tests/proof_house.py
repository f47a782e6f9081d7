"""A small house made of records, for rules that are tried without reading files."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any

from kb.dates import parse_days
from kb.errors import Problem
from kb.proof import RULES
from kb.proof.look import Look
from kb.records import Block, Bulletin, Family, House, KitRow, PartRow, Scheme, SchemeUse

TODAY = date(2026, 11, 25)

HOLLIN = Scheme(
    name="hollin",
    layout="PYWWNNNNN",
    plants={"K": "Kirkholm works", "L": "Langrigg works"},
    year_letters="ABCDEFHJKLMNPRSTUVWX",
    year_first=2010,
    used=parse_days("2010.."),
)


def family(name: str, produced: str, *models: str) -> Family:
    """A family that uses the one scheme of the house."""
    return Family(
        name=name,
        product="dishwasher",
        models=models,
        produced=parse_days(produced),
        schemes=(SchemeUse("hollin"),),
    )


TARN = family("Tarn", "2016-09..", "TD45A", "TD45B", "TD60A")
CAIRN = family("Cairn", "2014-03..2024-06", "CW7A", "CW8B")


def part(number: str, **fields: Any) -> PartRow:
    """A row of parts.csv."""
    return PartRow(number=number, name=fields.pop("name", "drain pump"), **fields)


def kit(name: str, *numbers: str) -> list[KitRow]:
    """The rows of one kit."""
    return [KitRow(kit=name, number=number, line=2 + i) for i, number in enumerate(numbers)]


def bulletin(number: str = "2026-001", **fields: Any) -> Bulletin:
    """A bulletin in its own file; every field given stands on the line of its place, from 2 on."""
    given: dict[str, Any] = {
        "title": f"Title of {number}",
        "kind": "repair",
        "issued": date(2026, 3, 2),
        "component": ("drain pump",),
        "where": (Block(families=("Tarn",)),),
        "file": f"2026/{number}.md",
        "body_line": 40,
        **fields,
    }
    lines = {key: 2 + place for place, key in enumerate(("number", *given))}
    return Bulletin(number=number, lines=given.pop("lines", lines), **given)


def house(
    *bulletins: Bulletin, parts: Iterable[PartRow] = (), kits: Iterable[KitRow] = (), **fields: Any
) -> House:
    """A house of two families that knows the component *drain pump*."""
    given: dict[str, Any] = {
        "families": {"Tarn": TARN, "Cairn": CAIRN},
        "schemes": {"hollin": HOLLIN},
        "contact": "desk@hollin-ridge.example",
        "files": tuple(b.file for b in bulletins),
        **fields,
    }
    rows = (part("HR-1", component="drain pump", line=2), *parts)
    return House(folder=Path(), bulletins=bulletins, parts=rows, kits=tuple(kits), **given)


def broken(of: House, rule: str, today: date = TODAY) -> list[Problem]:
    """Return what one rule says of a house, in order of file and line."""
    (found,) = (r for r in RULES if r.name == rule)
    return sorted(found.problems(Look(of, today)), key=lambda p: (p.file, p.line))


def said(of: House, rule: str) -> list[str]:
    """Return the messages of one rule."""
    return [problem.message for problem in broken(of, rule)]
