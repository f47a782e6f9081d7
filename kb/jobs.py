"""The work that bulletins ask for, read from the store: checks, parts, tools, hazards, minutes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from kb.folding import fold
from kb.lookup import Lookup
from kb.records import Check, PartLine

_ONE_OF = "WHERE bulletin IN (SELECT value FROM json_each(?))"
_LISTS: Mapping[str, str] = {
    "hazards": "hazard",
    "tools": "tool",
    "consumables": "consumable",
    "keeps": "part",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """What one bulletin asks of whoever goes by it.

    *order* is the places of *checks* in their best order. *minutes* is the labour for the whole
    correction where the bulletin tells it. Part numbers stand as typed.
    """

    number: str
    minutes: float | None = None
    checks: tuple[Check, ...] = ()
    order: tuple[int, ...] = ()
    lines: tuple[PartLine, ...] = ()
    keep: tuple[str, ...] = ()
    hazards: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()

    @property
    def numbers(self) -> set[str]:
        """The folded numbers of all parts that the bulletin asks for, by itself or for a cause."""
        listed = {fold(line.number) for line in self.lines}
        return listed | {fold(part) for check in self.checks for part in check.parts}


def jobs(lookup: Lookup, numbers: Iterable[str]) -> dict[str, Job]:
    """Return the work of the bulletins with these numbers, in the given order."""
    wanted = list(dict.fromkeys(numbers))
    query = "SELECT number, minutes FROM bulletins WHERE number IN (SELECT value FROM json_each(?))"
    minutes = dict(lookup.listed(query, wanted))
    checks, orders = _checks(lookup, wanted)
    lines = _lines(lookup, wanted)
    lists = {name: _list(lookup, name, item, wanted) for name, item in _LISTS.items()}
    return {
        number: Job(
            number=number,
            minutes=minutes[number],
            checks=tuple(checks.get(number, ())),
            order=tuple(orders.get(number, ())),
            lines=tuple(lines.get(number, ())),
            keep=tuple(lists["keeps"].get(number, ())),
            hazards=tuple(lists["hazards"].get(number, ())),
            tools=tuple(lists["tools"].get(number, ())),
            consumables=tuple(lists["consumables"].get(number, ())),
        )
        for number in wanted
        if number in minutes
    }


def _list(lookup: Lookup, name: str, item: str, wanted: list[str]) -> dict[str, list[str]]:
    query = f"SELECT bulletin, {item} FROM bulletin_{name} {_ONE_OF} ORDER BY bulletin, position"
    return _gathered(lookup.listed(query, wanted))


def _gathered(rows: Iterable[tuple[Any, Any]]) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for bulletin, value in rows:
        found.setdefault(bulletin, []).append(value)
    return found


def _checks(
    lookup: Lookup, wanted: list[str]
) -> tuple[dict[str, list[Check]], dict[str, list[int]]]:
    parts: dict[tuple[str, int], list[str]] = {}
    for bulletin, place, part in lookup.listed(
        f"SELECT bulletin, check_position, part FROM check_parts {_ONE_OF} ORDER BY rowid", wanted
    ):
        parts.setdefault((bulletin, place), []).append(part)
    rows = lookup.listed(
        "SELECT bulletin, position, cause, test, likelihood, minutes, fix, is_last FROM checks "
        f"{_ONE_OF} ORDER BY bulletin, position",
        wanted,
    )
    checks = _gathered(
        (
            bulletin,
            Check(
                cause=cause,
                test=test,
                likelihood=likelihood,
                minutes=minutes,
                fix=fix,
                parts=tuple(parts.get((bulletin, place), ())),
                last=bool(last),
            ),
        )
        for bulletin, place, cause, test, likelihood, minutes, fix, last in rows
    )
    best = f"SELECT bulletin, position FROM checks {_ONE_OF} ORDER BY bulletin, best_position"
    return checks, _gathered(lookup.listed(best, wanted))


def _lines(lookup: Lookup, wanted: list[str]) -> dict[str, list[PartLine]]:
    rows = lookup.listed(
        "SELECT bulletin, part, quantity, in_hand_first, replace_all, note FROM bulletin_parts "
        f"{_ONE_OF} ORDER BY bulletin, position",
        wanted,
    )
    return _gathered(
        (
            bulletin,
            PartLine(
                number=part,
                quantity=quantity,
                in_hand=bool(in_hand),
                all=bool(together),
                note=note or "",
            ),
        )
        for bulletin, part, quantity, in_hand, together, note in rows
    )
