"""Starting a bulletin: the next number, the file in its place, and what last month's looked like."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path

from kb.errors import KbError, NotFound
from kb.folding import fold, nearest
from kb.records import Bulletin, House

_RUNNING = re.compile(r"^(.*?)(\d+)$")
_PLAIN = re.compile(r"[\w .,/()-]*")
_KEY = r"(?m)^{}[ \t]*:.*$"

_SHEET = """\
---
number: {number}
title: {title}
kind: {kind}
issued: {issued}
status: draft                 # take this line out when it may be published
{family}
built: ..                     # 2024-W10..2025-W22, 2024-03.., ..2024: which units, by date of production
component: {component}
symptoms: []                  # what the technician or the owner notices, in their words
codes: []                     # fault codes as displayed
hazards: []                   # electricity, gas, refrigerant, hot-water, hot-surface, sharp-edges, …
minutes: 30                   # labour for the whole correction
---

What the owner sees, and the cause, in one or two sentences.

## What to do

1. …
"""


def next_number(bulletins: Iterable[Bulletin], year: int) -> str:
    """Return the next free number of *year*, counted on in the form the house already uses."""
    numbers = [bulletin.number for bulletin in bulletins]
    start = f"{year}-"
    taken = [m for number in numbers if number.startswith(start) for m in [_RUNNING.match(number)]]
    tails = [match[2] for match in taken if match and match[1] == start]
    width = max(map(len, tails), default=3)
    return f"{start}{max(map(int, tails), default=0) + 1:0{width}}"


def sheet(number: str, today: date, given: Mapping[str, str], house: House) -> str:
    """Return the text of a new bulletin; *given* may hold title, kind, family and component."""
    family = given.get("family") or next(iter(house.families), "")
    return _SHEET.format(
        number=number,
        title=quoted(given.get("title") or "What is wrong, in the words of who sees it"),
        kind=given.get("kind") or "repair",
        issued=today.isoformat(),
        family=f"family: {family}",
        component=given.get("component") or next((p.component for p in house.parts), "name it"),
    )


def quoted(text: str) -> str:
    """Return *text* as a value that front matter reads back unchanged."""
    if _PLAIN.fullmatch(text) and text == text.strip():
        return text
    return "'" + text.replace("'", "''") + "'"


def copied(text: str, number: str, today: date, title: str) -> str:
    """Return the text of a bulletin as a new draft: number, date and title changed, nothing else."""
    head, fence, rest = text.partition("\n---")
    head = re.sub(_KEY.format("number"), f"number: {number}", head, count=1)
    head = re.sub(_KEY.format("issued"), f"issued: {today.isoformat()}", head, count=1)
    head = re.sub(r"(?m)^(?:revised|status|supersedes)[ \t]*:.*\n?", "", head)
    if title:
        said = f"title: {quoted(title)}".replace("\\", "\\\\")
        head = re.sub(_KEY.format("title"), said, head, count=1)
    return f"{head.rstrip()}\nstatus: draft{fence}{rest}"


def draft(
    house: House, today: date, given: Mapping[str, str], like: str = "", number: str = ""
) -> Path:
    """Write a new draft into the house and return its file.

    *like* names a bulletin to copy. KbError where the number is taken; NotFound for an unknown
    *like*.
    """
    taken = {fold(b.number): b for b in house.bulletins}
    number = number or next_number(house.bulletins, today.year)
    path = house.folder / str(today.year) / f"{number}.md"
    if fold(number) in taken or path.exists():
        raise KbError(f"number {number} is taken", "leave --number out for the next free one")
    if like:
        text = copied(_source(house, taken, like), number, today, given.get("title", ""))
    else:
        text = sheet(number, today, given, house)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def _source(house: House, taken: Mapping[str, Bulletin], like: str) -> str:
    bulletin = taken.get(fold(like))
    if bulletin is None:
        near = nearest(like, [b.number for b in taken.values()])
        raise NotFound(
            f"no bulletin {like} is known", f"did you mean {near}?" if near else "see `kb find`"
        )
    return (house.folder / bulletin.file).read_text(encoding="utf-8-sig").replace("\r\n", "\n")
