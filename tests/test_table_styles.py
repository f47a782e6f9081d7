"""Tables written at random, in any quoting and with any line ends, are read back equal."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.dates import parse_days
from kb.faults import Faults
from kb.plainfile import decode
from kb.records import PART_STATUSES, RELATIONS, KitRow, PartRow
from kb.tables import KIT_COLUMNS, PART_COLUMNS, read_kits, read_parts

QUOTING = [csv.QUOTE_MINIMAL, csv.QUOTE_ALL, csv.QUOTE_NONNUMERIC]
ENDS = ["\n", "\r\n", "\r"]

CELL = (
    st.text(alphabet="abcXYZ019 ,;\"'\n/#\u00e4\u2013", max_size=14)
    .map(lambda text: " ".join(text.split(" ")).strip())
    .filter(lambda text: not text.startswith(("=", "+", "-", "@")))
)
NAME = CELL.filter(bool)
NUMBER = st.from_regex(r"[A-Z]{1,2}-[0-9]{1,4}(-[0-9]{1,4})?", fullmatch=True)
SINCE = st.sampled_from(
    ["", "2024", "2024-03", "2024-W10", "2024-03-04", "2019..2024-W10", "2020.."]
)
MODELS = st.lists(st.sampled_from(["TD45A", "TD6*", "CW?8", "0012"]), max_size=3, unique=True)


@st.composite
def part_rows(draw: Any) -> list[PartRow]:
    numbers = draw(st.lists(NUMBER, max_size=8, unique_by=lambda text: text.replace("-", "")))
    rows = []
    for number in numbers:
        since = draw(SINCE)
        rows.append(
            PartRow(
                number=number,
                name=draw(NAME),
                component=draw(CELL),
                status=draw(st.sampled_from(PART_STATUSES)),
                replaced_by=draw(st.just("") | NUMBER),
                relation=draw(st.none() | st.sampled_from(RELATIONS)),
                models=tuple(draw(MODELS)),
                since=parse_days(since) if since else None,
                since_text=since,
                note=draw(CELL),
            )
        )
    return rows


def cells(row: PartRow) -> list[str]:
    return [
        row.number,
        row.name,
        row.component,
        row.status,
        row.replaced_by,
        row.relation or "",
        " ".join(row.models),
        row.since_text,
        row.note,
    ]


def written(rows: Sequence[Sequence[str]], quoting: Any, ends: str) -> bytes:
    """Return CSV by the standard library's own writer (quoting as in RFC 4180)."""
    out = io.StringIO(newline="")
    csv.writer(out, quoting=quoting, lineterminator="\n").writerows(rows)
    return out.getvalue().replace("\n", ends).encode()


def without_lines(rows: Sequence[Any]) -> list[Any]:
    return [row._replace(line=1) for row in rows]


def parts(data: bytes) -> tuple[tuple[PartRow, ...], list[tuple[int, str]]]:
    faults = Faults("reference/parts.csv")
    rows = read_parts(decode(data, faults), faults)
    return rows, [(problem.line, problem.rule) for problem in faults.problems]


@settings(max_examples=80, deadline=None)
@given(part_rows(), st.sampled_from(QUOTING), st.sampled_from(ENDS), st.booleans())
def test_parts_in_any_style_are_read_back_equal(
    rows: list[PartRow], quoting: Any, ends: str, mark: bool
) -> None:
    data = written([PART_COLUMNS, *map(cells, rows)], quoting, ends)
    found, problems = parts(b"\xef\xbb\xbf" * mark + data)
    assert not problems and without_lines(found) == without_lines(rows)


@settings(max_examples=60, deadline=None)
@given(part_rows(), st.permutations(range(len(PART_COLUMNS))), st.integers(0, 3))
def test_columns_in_any_order_and_blank_ones_behind_change_nothing(
    rows: list[PartRow], order: list[int], blanks: int
) -> None:
    table = [PART_COLUMNS, *map(cells, rows)]
    shuffled = [[row[at] for at in order] + [""] * blanks for row in table]
    found, problems = parts(written(shuffled, csv.QUOTE_MINIMAL, "\n"))
    assert not problems and without_lines(found) == without_lines(rows)


@settings(max_examples=60, deadline=None)
@given(part_rows(), st.sampled_from(ENDS), st.data())
def test_every_row_has_the_line_where_it_begins(
    rows: list[PartRow], ends: str, data: st.DataObject
) -> None:
    pieces, line, lines = [written([PART_COLUMNS], csv.QUOTE_MINIMAL, "\n")], 2, []
    for row in rows:
        gap = data.draw(st.sampled_from([b"", b"\n", b"  \n", b",,,,,,,,\n"]))
        text = written([cells(row)], csv.QUOTE_MINIMAL, "\n")
        lines.append(line + gap.count(b"\n"))
        line += (gap + text).count(b"\n")
        pieces += [gap, text]
    found, problems = parts(b"".join(pieces).replace(b"\n", ends.encode()))
    assert not problems and [row.line for row in found] == lines


@settings(max_examples=60, deadline=None)
@given(part_rows(), st.integers(0, 8), st.sampled_from([3, 5, 7]))
def test_one_wrong_cell_is_told_at_its_row_and_the_rest_is_read(
    rows: list[PartRow], at: int, column: int
) -> None:
    table = [list(cells(row)) for row in rows]
    wrong = ["ZZ-99999", "wrong", *[""] * 7]
    wrong[column] = "neither this nor that"
    table.insert(min(at, len(table)), wrong)
    data = written([PART_COLUMNS, *table], csv.QUOTE_MINIMAL, "\n")
    above = written([PART_COLUMNS, *table[: table.index(wrong)]], csv.QUOTE_MINIMAL, "\n")
    found, problems = parts(data)
    assert problems == [(above.count(b"\n") + 1, "bad-date" if column == 7 else "unknown-word")]
    others = [row for row in found if row.number != "ZZ-99999"]
    assert without_lines(others) == without_lines(rows)


KITS = st.lists(
    st.tuples(NUMBER, NUMBER, st.integers(1, 99)),
    max_size=8,
    unique_by=lambda row: (row[0].replace("-", ""), row[1].replace("-", "")),
)


@given(KITS, st.sampled_from(QUOTING), st.sampled_from(ENDS), st.booleans())
def test_kits_in_any_style_are_read_back_equal(
    rows: list[tuple[str, str, int]], quoting: Any, ends: str, zeros: bool
) -> None:
    table = [(kit, number, f"{'00' * zeros}{count}") for kit, number, count in rows]
    faults = Faults("reference/kits.csv")
    data = written([KIT_COLUMNS, *table], quoting, ends)
    found = read_kits(decode(data, faults), faults)
    assert not faults.problems
    assert found == tuple(
        KitRow(kit=kit, number=number, quantity=count, line=at)
        for at, (kit, number, count) in enumerate(rows, 2)
    )


@pytest.mark.parametrize(
    ("text", "line", "message", "remedy"),
    [
        ("number,name\n,Hose\n", 2, "the column “number” is empty in this row", "fill in the part"),
        ("number,name\nA\n", 2, "this row has 1 cells, the header 2", "leave empty cells empty"),
        (
            'number,name\n\nA,"Hose\n',
            3,
            "a quotation mark is opened and not closed",
            "put the whole cell in quotes",
        ),
        (
            'number,name\nA,"Hose" x\n',
            2,
            "text goes on behind a closing quotation mark, or a quotation mark is missing",
            'write "" for a quotation mark inside it',
        ),
        (
            "number,name,status\nA,Hose,runing-out\n",
            2,
            "“status” does not know “runing-out”",
            "did you mean running-out? It takes one of current, running-out, pending, gone",
        ),
        (
            "number,name,relation\nA,Hose,xyzzy\n",
            2,
            "“relation” does not know “xyzzy”",
            "It takes one of same, forward, kit, changed",
        ),
        ("number,name,since\nA,Hose,2024-13\n", 2, "“since”: there is no month 13", "run from 01"),
        (
            "number,name\nA,=Hose\n",
            2,
            "“name” begins with =: a spreadsheet would run it as a formula",
            "begin the cell with a word",
        ),
        (
            "number,name\nA, =Hose\n",
            2,
            "“name” begins with =: a spreadsheet would run it as a formula",
            "begin the cell with a word",
        ),
        (
            "number,name\nA,+Hose\n",
            2,
            "“name” begins with +: a spreadsheet may run it as a formula",
            "begin the cell with a word",
        ),
        (
            "number,name\nA,Hose\n\na,Seal\n",
            4,
            "the part a is listed already in line 2",
            "keep one of the rows, or limit each to its own models",
        ),
        (
            "number,name,models\nA,Hose,T1 T2\na,Seal,t2 t1\n",
            3,
            "the part a for t2, t1 is listed already in line 2",
            "keep one of the rows, or limit each to its own models",
        ),
        ("\nnumber;name\n", 2, "the columns are separated by semicolons", "save the table as CSV"),
        ("A,Hose\n", 1, "the first row does not name the columns", "put this row first: number,"),
        ("number,nam,note\n", 1, "there is no column “nam”", "did you mean “name”?"),
        ("number,note\n", 1, "the column “name” is missing", "the columns are number,name,"),
        ("number,name,name\n", 1, "the column “name” is there twice", "begin the other with “x-”"),
    ],
)
def test_each_slip_in_a_table_has_its_line_its_words_and_its_remedy(
    text: str, line: int, message: str, remedy: str
) -> None:
    faults = Faults("reference/parts.csv")
    read_parts(text, faults)
    problem = faults.problems[0]
    assert (problem.file, problem.line) == ("reference/parts.csv", line)
    assert message in problem.message and remedy in problem.remedy
    assert problem.level == ("warning" if "may run" in message else "error")


@pytest.mark.parametrize(
    ("text", "line", "message", "remedy"),
    [
        ("kit,number,quantity\nA,B,0\n", 2, "“0” is no whole number of 1 or more", "such as 2"),
        ("kit,number,quantity\nA,,1\n", 2, "the column “number” is empty", "delete the row"),
        ("kit,number,quantity\n,B,1\n", 2, "the column “kit” is empty", "delete the row"),
        (
            "kit,number,quantity\nA,B,1\nA,C,1\na,b,2\n",
            4,
            "the part b is listed already in line 2 for kit a",
            "keep one row and give its quantity",
        ),
        ("kit,number,qty\nA,B,2\n", 1, "there is no column “qty”", "the columns are kit,number"),
        ("kit,part\n", 1, "there is no column “part”", "the columns are kit,number,quantity"),
    ],
)
def test_each_slip_in_a_kit_has_its_line_its_words_and_its_remedy(
    text: str, line: int, message: str, remedy: str
) -> None:
    faults = Faults("reference/kits.csv")
    read_kits(text, faults)
    problem = faults.problems[0]
    assert (problem.line, problem.level) == (line, "error")
    assert message in problem.message and remedy in problem.remedy


@pytest.mark.parametrize(("cells_too_many", "level"), [("price", "warning"), ("nmae", "warning")])
def test_a_column_more_than_all_is_only_warned_of(cells_too_many: str, level: str) -> None:
    faults = Faults("reference/parts.csv")
    header = ",".join([*PART_COLUMNS, cells_too_many])
    (row,) = read_parts(f"{header}\nA,Hose,,,,,,,,5\n", faults)
    assert row.name == "Hose" and [p.level for p in faults.problems] == [level]
