"""A part's page: what to order today for a number, old or new, and who speaks of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from kb.folding import fold
from kb.pages.desk import Desk, natural
from kb.pages.lists import cut, entries
from kb.pages.ordering import STATUS_WORDS, models_named, ordered
from kb.pages.page import Page, Way
from kb.records import KitRow, PartRow


def pages(desk: Desk) -> Iterator[Page]:
    """Yield the page of every part and kit number, and their list."""
    rows = _grouped(desk.house.parts, lambda row: row.number)
    older = _grouped(desk.house.parts, lambda row: row.replaced_by)
    contents = _grouped(desk.house.kits, lambda row: row.kit)
    kits = _grouped(desk.house.kits, lambda row: row.number)
    for key in sorted(desk.part_names):
        data = _data(key, rows.get(key, []), desk)
        data |= {
            "older": _ways((row.number for row in older.get(key, [])), desk),
            "contents": _contents(contents.get(key, []), desk),
            "kits": _ways((row.kit for row in kits.get(key, [])), desk),
        }
        place = desk.part_place(desk.part_names[key]) or ""
        found = entries(desk.bulletins_of_part(key), desk)
        yield from cut(("parts", place), "part.html", data, "entries", found)
    yield from _list(desk)


def _grouped(rows: Sequence[Any], key: Any) -> Mapping[str, list[Any]]:
    found: dict[str, list[Any]] = defaultdict(list)
    for row in rows:
        if fold(key(row)):
            found[fold(key(row))].append(row)
    return found


def _ways(numbers: Iterator[str], desk: Desk) -> list[Way]:
    return [desk.part_way(number) for number in dict.fromkeys(numbers)]


def _contents(rows: Sequence[KitRow], desk: Desk) -> list[tuple[Way, int]]:
    return [(desk.part_way(row.number), row.quantity) for row in rows]


def _data(key: str, rows: Sequence[PartRow], desk: Desk) -> dict[str, Any]:
    number = desk.part_names[key]
    name = desk.part_name(number)
    components = dict.fromkeys(row.component for row in rows if row.component)
    return {
        "title": f"{number} {name}".strip(),
        "number": number,
        "name": name,
        "status": [STATUS_WORDS[s] for s in dict.fromkeys(row.status for row in rows)],
        "components": [desk.components.way(name) for name in components],
        "models": [", ".join(models_named(row.models, desk)) for row in rows if row.models],
        "remarks": list(dict.fromkeys(row.note for row in rows if row.note)),
        "order": ordered(number, desk),
    }


def _list(desk: Desk) -> Iterator[Page]:
    numbers = sorted(desk.part_names.values(), key=natural)
    lead = "Any number, old or new, leads to what can be ordered today."
    ways = [desk.part_way(number) for number in numbers]
    yield from cut(("parts",), "ways.html", {"title": "Parts", "lead": lead}, "ways", ways)
