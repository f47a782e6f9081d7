"""CSV text as rows with the line where each begins; what cannot be read is reported at its line."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from operator import itemgetter
from typing import Generic, NamedTuple, TypeVar

from kb.faults import Faults, quoted
from kb.folding import nearest

# A cell that begins so is run as a formula by the usual spreadsheets.
_FORMULA = ("=", "+", "-", "@", "\t")
_SURELY = "=\t"
_HARMLESS = re.compile(r"[-+](?:\d+(?:[.,]\d+)?)?\s*")
_MAY_BE_FORMULA = re.compile(r"(?:^|,)[ \"]*[=+\-@\t]", re.MULTILINE)
_RESTARTS = 100

_T = TypeVar("_T")


class _Record(NamedTuple, Generic[_T]):
    """A record as it stands in the text; *before* is what is known of it, and then no cells."""

    line: int
    cells: list[str]
    before: _T | None = None


class Row(NamedTuple, Generic[_T]):
    """The cells of one row in the order of the columns asked for, and the line where it begins.

    *before* is what is known of the row's line; then the line is not read again.
    """

    line: int
    cells: tuple[str, ...]
    before: _T | None = None


def rows(
    text: str,
    faults: Faults,
    columns: Sequence[str],
    needed: Sequence[str],
    known: Mapping[str, _T],
) -> Iterator[Row[_T]]:
    """Yield every row that has as many cells as the header; report the others.

    *known* are lines that held a whole row of the same columns, with what was made of them.
    """
    records = _records(text, faults, known)
    first = next(records, None)
    header = first and _header(first, faults, columns, needed)
    if not header:
        return
    pick, width = _picker(header, columns), len(header)
    risky = bool(known) or _MAY_BE_FORMULA.search(text) is not None
    for line, cells, before in records:
        if before is not None:
            yield Row(line, (), before)
        elif len(cells) != width and not _fitted(cells, header):
            _wrong_count(line, len(cells), width, faults)
        elif not risky or _safe(line, header, cells, faults):
            yield Row(line, pick([*map(str.strip, cells), ""]))


def is_whole(line: str) -> bool:
    """Tell whether *line* by itself is a row, so that none begins or ends elsewhere for it."""
    return '"' not in line or _alone(line) is not None


def _picker(
    header: Sequence[str], columns: Sequence[str]
) -> Callable[[Sequence[str]], tuple[str, ...]]:
    """Return what takes the cells of *columns* out of a row with an empty cell behind it."""
    last = {name: place for place, name in enumerate(header)}
    return itemgetter(*(last.get(name, len(header)) for name in columns))


def _fitted(cells: list[str], header: Sequence[str]) -> bool:
    """Make the row as long as the header where nothing is lost; tell whether that is so."""
    while len(cells) > len(header) and not cells[-1].strip():
        cells.pop()
    while len(cells) < len(header) and set(header[len(cells) :]) == {"x-"}:
        cells.append("")  # the header ends with commas, this row does not
    return len(cells) == len(header)


def _records(text: str, faults: Faults, known: Mapping[str, _T]) -> Iterator[_Record[_T]]:
    """Yield each record that is not empty with the line where it begins."""
    lines = text.split("\n")
    before = list(map(known.get, lines)) if known else []
    if known and all(
        row is not None or is_whole(line) for row, line in zip(before, lines, strict=True)
    ):
        yield from _line_by_line(lines, before)
    else:
        yield from _in_one(lines, faults)


def _line_by_line(lines: Sequence[str], before: Sequence[_T | None]) -> Iterator[_Record[_T]]:
    for number, (line, row) in enumerate(zip(lines, before, strict=True), 1):
        if row is not None:
            yield _Record(number, [], row)
        elif (cells := _alone(line)) and any(map(str.strip, cells)):
            yield _Record(number, cells)


def _alone(line: str) -> list[str] | None:
    try:
        return next(csv.reader([line], strict=True, skipinitialspace=True), [])
    except csv.Error:
        return None


def _in_one(lines: Sequence[str], faults: Faults) -> Iterator[_Record[_T]]:
    """Read all lines together: a cell in quotes may run over several.

    Behind a record that cannot be read, reading starts again with the next line: one quotation
    mark too many costs a row, not the rest of the file.
    """
    start = 0
    for _ in range(_RESTARTS):
        table = (line + "\n" for line in lines[start:])
        reader = csv.reader(table, strict=True, skipinitialspace=True)
        begins = 0
        try:
            for cells in reader:
                if any(map(str.strip, cells)):
                    yield _Record(start + begins + 1, cells)
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
    record: _Record[_T], faults: Faults, columns: Sequence[str], needed: Sequence[str]
) -> list[str] | None:
    """Return the column of each cell; None where the file cannot be read by its header."""
    line, cells, _ = record
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
