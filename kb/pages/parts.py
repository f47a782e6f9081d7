"""A part's page: what to order today for a number, old or new, and who speaks of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Any

from kb.folding import fold
from kb.pages.byname import natural
from kb.pages.desk import Desk
from kb.pages.lists import cut, entries
from kb.pages.ordering import STATUS_WORDS, models_named, ordered
from kb.pages.page import Page, Unit, Way
from kb.records import KitRow, PartRow


class _Rows:
    """The rows of the part lists by the numbers that they are looked up by; made when needed."""

    def __init__(self, desk: Desk) -> None:
        self._house = desk.house

    @cached_property
    def own(self) -> Mapping[str, list[PartRow]]:
        """Rows by the number that they are about."""
        return _grouped(self._house.parts, lambda row: row.number)

    @cached_property
    def older(self) -> Mapping[str, list[PartRow]]:
        """Rows by the number that takes the place of theirs."""
        return _grouped(self._house.parts, lambda row: row.replaced_by)

    @cached_property
    def contents(self) -> Mapping[str, list[KitRow]]:
        """What kits hold, by kit."""
        return _grouped(self._house.kits, lambda row: row.kit)

    @cached_property
    def kits(self) -> Mapping[str, list[KitRow]]:
        """What kits hold, by part."""
        return _grouped(self._house.kits, lambda row: row.number)


def units(desk: Desk) -> Iterator[Unit]:
    """Yield the page of every part and kit number, and their list."""
    rows = desk.once(("rows of parts", ""), lambda: _Rows(desk))
    for key in sorted(desk.part_names):
        yield Unit(f"part {key}", partial(_page, key, rows, desk))
    yield Unit("parts", partial(_list, desk))


def _page(key: str, rows: _Rows, desk: Desk) -> Iterator[Page]:
    data = _data(key, rows.own.get(key, []), desk)
    data |= {
        "older": _ways((row.number for row in rows.older.get(key, [])), desk),
        "contents": _contents(rows.contents.get(key, []), desk),
        "kits": _ways((row.kit for row in rows.kits.get(key, [])), desk),
    }
    place = desk.part_place(desk.part_names[key]) or ""
    found = entries(desk.bulletins_of_part(key), desk)
    yield from cut(("parts", place), "part.html", data, "entries", found)


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
    lead = "Any number, old or new, leads to what can be ordered today."
    ways = sorted(desk.part_ways(), key=lambda way: natural(way.text))
    yield from cut(("parts",), "ways.html", {"title": "Parts", "lead": lead}, "ways", ways)
