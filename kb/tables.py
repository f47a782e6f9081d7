"""parts.csv and kits.csv: rows with the line where each begins, checked cell by cell."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple, TypeVar

from kb.dates import Days, parse_days
from kb.errors import DateError
from kb.faults import Faults, quoted
from kb.fields import Unfit, quantity
from kb.folding import fold, nearest
from kb.records import PART_STATUSES, RELATIONS, KitRow, PartRow

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
KIT_COLUMNS = ("kit", "number", "quantity")

# A cell that begins so is run as a formula by the usual spreadsheets.
_FORMULA = ("=", "+", "-", "@", "\t")
_SURELY = "=\t"
_HARMLESS = re.compile(r"[-+](?:\d+(?:[.,]\d+)?)?\s*")
_RESTARTS = 100

_T = TypeVar("_T", bound=str)


class Row(NamedTuple):
    """The cells of one row by column, and the line where it begins."""

    cells: dict[str, str]
    line: int


def read_parts(text: str, faults: Faults) -> tuple[PartRow, ...]:
    """Return the rows of parts.csv; a row with an error is left out and reported."""
    found: list[PartRow] = []
    seen: dict[tuple[str, ...], int] = {}
    for row in _rows(text, faults, PART_COLUMNS, ("number", "name")):
        part = _part(row, faults)
        key = _key(part)
        if part.number and key in seen:
            models = f" for {', '.join(part.models)}" if part.models else ""
            faults.add(
                row.line,
                "repeated-row",
                f"the part {part.number}{models} is listed already in line {seen[key]}",
                "keep one of the rows, or limit each to its own models",
            )
            continue
        seen[key] = row.line
        if part.number:
            found.append(part)
    return tuple(found)


def _key(part: PartRow) -> tuple[str, ...]:
    """Return what two rows may not share: a part may change several times, not have two fates."""
    change = (part.since_text, part.note) if part.relation == "changed" else ()
    return (fold(part.number), *sorted(map(fold, part.models)), "", *change)


def _part(row: Row, faults: Faults) -> PartRow:
    cells = row.cells
    relation = _word("relation", row, RELATIONS, faults)
    return PartRow(
        number=_number("number", row, faults),
        name=cells["name"],
        component=cells["component"],
        status=_word("status", row, PART_STATUSES, faults) or "current",
        replaced_by=cells["replaced_by"],
        relation=relation,
        models=tuple(cells["models"].replace(",", " ").replace(";", " ").split()),
        since=_days("since", row, faults),
        since_text=cells["since"],
        note=cells["note"],
        line=row.line,
    )


def read_kits(text: str, faults: Faults) -> tuple[KitRow, ...]:
    """Return the rows of kits.csv; a row with an error is left out and reported."""
    found = []
    seen: dict[tuple[str, str], int] = {}
    for row in _rows(text, faults, KIT_COLUMNS, ("kit", "number")):
        kit, number = _number("kit", row, faults), _number("number", row, faults)
        key = (fold(kit), fold(number))
        if not (kit and number):
            continue
        if key in seen:
            message = f"the part {number} is listed already in line {seen[key]} for kit {kit}"
            faults.add(row.line, "repeated-row", message, "keep one row and give its quantity")
            continue
        seen[key] = row.line
        found.append(KitRow(kit=kit, number=number, quantity=_count(row, faults), line=row.line))
    return tuple(found)


def _number(column: str, row: Row, faults: Faults) -> str:
    text = row.cells[column]
    if not fold(text):
        message = f"the column “{column}” is empty in this row"
        faults.add(row.line, "empty", message, "fill in the part number, or delete the row")
        return ""
    return text


def _count(row: Row, faults: Faults) -> int:
    text = row.cells["quantity"]
    try:
        return quantity(text) if text else 1
    except Unfit as trouble:
        faults.add(row.line, "bad-value", f"“quantity”: {trouble}", trouble.remedy)
        return 1


def _days(column: str, row: Row, faults: Faults) -> Days | None:
    text = row.cells[column]
    try:
        return parse_days(text) if text else None
    except DateError as trouble:
        faults.add(row.line, "bad-date", f"“{column}”: {trouble}", trouble.remedy)
        return None


def _word(column: str, row: Row, known: Sequence[_T], faults: Faults) -> _T | None:
    text = row.cells[column]
    found = {fold(word): word for word in known}.get(fold(text)) if text else None
    if text and found is None and not faults.full:
        near = nearest(text, known)
        start = f"did you mean {near}? " if near else ""
        faults.add(
            row.line,
            "unknown-word",
            f"“{column}” does not know {quoted(text)}",
            f"{start}It takes one of {', '.join(known)}",
        )
    return found


def _rows(
    text: str, faults: Faults, columns: Sequence[str], needed: Sequence[str]
) -> Iterator[Row]:
    """Yield every row that has as many cells as the header; report the others."""
    records = _records(text, faults)
    first = next(records, None)
    if first is None:
        return
    header = _header(first, faults, columns, needed)
    if header is None:
        return
    for line, cells in records:
        while len(cells) > len(header) and not cells[-1].strip():
            cells.pop()
        while len(cells) < len(header) and set(header[len(cells) :]) == {"x-"}:
            cells.append("")  # the header ends with commas, this row does not
        if len(cells) != len(header):
            _wrong_count(line, len(cells), len(header), faults)
        elif _safe(line, header, cells, faults):
            by_column = dict.fromkeys(columns, "")
            by_column.update((name, cell.strip()) for name, cell in zip(header, cells, strict=True))
            yield Row(by_column, line)


def _records(text: str, faults: Faults) -> Iterator[tuple[int, list[str]]]:
    """Yield each record that is not empty with the line where it begins.

    Behind a record that cannot be read, reading starts again with the next line: one quotation
    mark too many costs a row, not the rest of the file.
    """
    lines = text.split("\n")
    start = 0
    for _ in range(_RESTARTS):
        table = (line + "\n" for line in lines[start:])
        reader = csv.reader(table, strict=True, skipinitialspace=True)
        begins = 0
        try:
            for cells in reader:
                if any(map(str.strip, cells)):
                    yield start + begins + 1, cells
                begins = reader.line_num
            return
        except csv.Error as trouble:
            _unreadable(start + begins + 1, trouble, faults)
            start += begins + 1


def _unreadable(line: int, trouble: csv.Error, faults: Faults) -> None:
    if "expected after" in str(trouble):
        message = "text goes on behind a closing quotation mark, or a quotation mark is missing"
    elif "limit" in str(trouble) or "end of data" in str(trouble):
        message = "a quotation mark is opened and not closed"
    else:
        message = "this row cannot be read"
    remedy = 'put the whole cell in quotes, and write "" for a quotation mark inside it'
    faults.add(line, "syntax", message, remedy)


def _header(
    record: tuple[int, list[str]], faults: Faults, columns: Sequence[str], needed: Sequence[str]
) -> list[str] | None:
    """Return the column of each cell; None where the file cannot be read by its header."""
    line, cells = record
    names = [_own_spelling("_".join(cell.split()).casefold(), columns) for cell in cells]
    for sign, called in ((";", "semicolons"), ("\t", "tabs"), ("|", "bars")):
        if len(cells) == 1 and sign in cells[0]:
            message = f"the columns are separated by {called}, not by commas"
            faults.add(line, "header", message, "save the table as CSV with commas")
            return None
    if not set(names) & set(columns):
        message = "the first row does not name the columns"
        faults.add(line, "header", message, f"put this row first: {','.join(columns)}")
        return None
    found = [_column(name, names, line, faults, columns) for name in names]
    for name in needed:
        if name not in found:
            message = f"the column “{name}” is missing"
            faults.add(line, "header", message, f"the columns are {','.join(columns)}")
            return None
    return found


def _own_spelling(name: str, columns: Sequence[str]) -> str:
    """Return the column that is meant by *name* with a hyphen where a low line belongs."""
    bare = name.replace("-", "_")
    return bare if bare in columns else name


def _column(
    name: str, names: Sequence[str], line: int, faults: Faults, columns: Sequence[str]
) -> str:
    if name in columns:
        if names.count(name) > 1:
            remedy = "keep one of them, or begin the other with “x-”"
            faults.add(line, "header", f"the column “{name}” is there twice", remedy)
        return name
    if name.startswith(("x-", "x_")) or not name:
        return f"x-{name}"
    near = nearest(name, [column for column in columns if column not in names])
    start = f"did you mean “{near}”? " if near else f"the columns are {','.join(columns)}; "
    faults.add(
        line,
        "header",
        f"there is no column {quoted(name)}",
        f"{start}Columns of your own begin with “x-”",
        level="warning" if set(columns) <= set(names) else "error",
    )
    return near or f"x-{name}"


def _wrong_count(line: int, cells: int, columns: int, faults: Faults) -> None:
    faults.add(
        line,
        "cells",
        f"this row has {cells} cells, the header {columns}",
        "put a cell that holds a comma in quotes, and leave empty cells empty between commas",
    )


def _safe(line: int, header: Sequence[str], cells: Sequence[str], faults: Faults) -> bool:
    safe = True
    for name, cell in zip(header, cells, strict=True):
        start = cell.lstrip(" ")
        if start.startswith(_FORMULA) and not _HARMLESS.fullmatch(start):
            certain = start[0] in _SURELY
            safe = safe and not certain
            faults.add(
                line,
                "formula",
                f"“{name}” begins with {start[0].replace(chr(9), 'a tab')}: "
                f"a spreadsheet {'would' if certain else 'may'} run it as a formula",
                "begin the cell with a word",
                level="error" if certain else "warning",
            )
    return safe
