"""parts.csv and kits.csv: rows with the line where each begins, checked cell by cell."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, TypeVar

from kb.csvtext import is_whole, rows
from kb.dates import Days, parse_days
from kb.errors import DateError
from kb.faults import Faults, quoted
from kb.fields import Unfit, quantity
from kb.folding import fold, nearest
from kb.records import PART_STATUSES, RELATIONS, KitRow, PartRow, PartStatus, Relation

PART_COLUMNS = (
    "number",
    "name",
    "component",
    "status",
    "replaced_by",
    "relation",
    "models",
    "since",
    "note",
)
NONE: Mapping[str, Any] = MappingProxyType({})
KIT_COLUMNS = ("kit", "number", "quantity")

_T = TypeVar("_T", bound=str)
_Row = TypeVar("_Row", PartRow, KitRow)


def by_line(text: str, found: Iterable[_Row], wrong: Collection[int]) -> dict[str, _Row]:
    """Return the rows *found* in *text* by the line that each stands on, for the next reading.

    Lines with anything *wrong* are left out, so that it is told again. Where a row runs over
    several lines there is none: what a line means would depend on those before it.
    """
    lines = text.split("\n")
    if not all(map(is_whole, lines)):
        return {}
    return {lines[row.line - 1]: row for row in found if row.line not in wrong}


def read_parts(
    text: str, faults: Faults, known: Mapping[str, PartRow] = NONE
) -> tuple[PartRow, ...]:
    """Return the rows of parts.csv; a row with an error is left out and reported.

    *known* are rows of a table with the same header by their lines (`by_line`): not read again.
    """
    cells = _PartCells(faults)
    found: list[PartRow] = []
    seen: dict[str | tuple[str, ...], int] = {}
    for line, typed, before in rows(text, faults, PART_COLUMNS, ("number", "name"), known):
        part = cells.part(typed, line) if before is None else _moved(before, line)
        key = _key(part)
        if part.number and key in seen:
            _repeated(part, seen[key], faults)
            continue
        seen[key] = line
        if part.number:
            found.append(part)
    return tuple(found)


def _moved(row: _Row, line: int) -> _Row:
    return row if row.line == line else row._replace(line=line)


def _repeated(part: PartRow, first: int, faults: Faults) -> None:
    models = f" for {', '.join(part.models)}" if part.models else ""
    faults.add(
        part.line,
        "repeated-row",
        f"the part {part.number}{models} is listed already in line {first}",
        "keep one of the rows, or limit each to its own models",
    )


def _key(part: PartRow) -> str | tuple[str, ...]:
    """Return what two rows may not share: a part may change several times, not have two fates."""
    if not part.models and part.relation != "changed":
        return fold(part.number)
    change = (part.since_text, part.note) if part.relation == "changed" else ()
    return (fold(part.number), *sorted(map(fold, part.models)), "", *change)


class _PartCells:
    """Makes parts of cells. What few words mean is worked out once for a table of many rows."""

    def __init__(self, faults: Faults) -> None:
        self._faults = faults
        self._statuses: dict[str, PartStatus | None] = {"": None}
        self._relations: dict[str, Relation | None] = {"": None}
        self._models: dict[str, tuple[str, ...]] = {"": ()}
        self._since: dict[str, Days | None] = {"": None}

    def part(self, cells: Sequence[str], line: int) -> PartRow:
        """Return the part of one row."""
        number, name, component, status, after, relation, models, since, note = cells
        if relation not in self._relations:
            found = _word("relation", relation, RELATIONS, line, self._faults)
            if found:
                self._relations[relation] = found
        if not fold(number):
            number = _no_number("number", line, self._faults)
        if status not in self._statuses:
            known = _word("status", status, PART_STATUSES, line, self._faults)
            if known:
                self._statuses[status] = known
        if models not in self._models:
            self._models[models] = tuple(models.replace(",", " ").replace(";", " ").split())
        return PartRow(
            number,
            name,
            component,
            self._statuses.get(status) or "current",
            after,
            self._relations.get(relation),
            self._models[models],
            self._days(since, line),
            since,
            note,
            line,
        )

    def _days(self, text: str, line: int) -> Days | None:
        if text not in self._since:
            try:
                self._since[text] = parse_days(text)
            except DateError as trouble:
                self._faults.add(line, "bad-date", f"“since”: {trouble}", trouble.remedy)
        return self._since.get(text)


def read_kits(text: str, faults: Faults, known: Mapping[str, KitRow] = NONE) -> tuple[KitRow, ...]:
    """Return the rows of kits.csv; a row with an error is left out and reported.

    *known* as for `read_parts`.
    """
    found: list[KitRow] = []
    seen: dict[tuple[str, str], int] = {}
    for line, cells, before in rows(text, faults, KIT_COLUMNS, ("kit", "number"), known):
        kit = _kit(cells, line, faults) if before is None else _moved(before, line)
        key = (fold(kit.kit), fold(kit.number))
        if not all(key):
            continue
        if key in seen:
            message = (
                f"the part {kit.number} is listed already in line {seen[key]} for kit {kit.kit}"
            )
            faults.add(line, "repeated-row", message, "keep one row and give its quantity")
            continue
        seen[key] = line
        if before is None:
            kit = kit._replace(quantity=_count(cells[2], line, faults))
        found.append(kit)
    return tuple(found)


def _kit(cells: Sequence[str], line: int, faults: Faults) -> KitRow:
    kit, number = (
        text if fold(text) else _no_number(column, line, faults)
        for column, text in zip(("kit", "number"), cells, strict=False)
    )
    return KitRow(kit, number, line=line)


def _no_number(column: str, line: int, faults: Faults) -> str:
    message = f"the column “{column}” is empty in this row"
    faults.add(line, "empty", message, "fill in the part number, or delete the row")
    return ""


def _count(text: str, line: int, faults: Faults) -> int:
    try:
        return quantity(text) if text else 1
    except Unfit as trouble:
        faults.add(line, "bad-value", f"“quantity”: {trouble}", trouble.remedy)
        return 1


def _word(column: str, text: str, known: Sequence[_T], line: int, faults: Faults) -> _T | None:
    found = {fold(word): word for word in known}.get(fold(text))
    if found is None and not faults.full:
        near = nearest(text, known)
        start = f"did you mean {near}? " if near else ""
        faults.add(
            line,
            "unknown-word",
            f"“{column}” does not know {quoted(text)}",
            f"{start}It takes one of {', '.join(known)}",
        )
    return found
