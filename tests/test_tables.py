"""parts.csv and kits.csv: what is read from a row, and what is said about a wrong one."""

from __future__ import annotations

import csv
import io
import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import parse_days
from kb.faults import Faults
from kb.plainfile import decode
from kb.records import KitRow, PartRow
from kb.tables import KIT_COLUMNS, PART_COLUMNS, read_kits, read_parts

HEADER = ",".join(PART_COLUMNS) + "\n"
SOUND = "HR-1,Hose,inlet hose,current,,,,,\n"


def parts(text: str | bytes) -> tuple[tuple[PartRow, ...], list[tuple[int, str]]]:
    faults = Faults("reference/parts.csv")
    data = text.encode() if isinstance(text, str) else text
    rows = read_parts(decode(data, faults), faults)
    return rows, [(problem.line, problem.rule) for problem in faults.problems]


def kits(text: str) -> tuple[tuple[KitRow, ...], list[tuple[int, str]]]:
    faults = Faults("reference/kits.csv")
    return read_kits(text, faults), [(problem.line, problem.rule) for problem in faults.problems]


def message(text: str) -> str:
    faults = Faults("reference/parts.csv")
    read_parts(text, faults)
    return "\n".join(f"{problem.message}. {problem.remedy}" for problem in faults.problems)


def test_every_cell_of_a_row_is_read() -> None:
    row = 'HR-310-4120,"Pump, old",drain pump,gone,HR-310-4126,forward,TD45A TD6*,2019-W08,Blue cap'
    assert parts(HEADER + row + "\n") == (
        (
            PartRow(
                number="HR-310-4120",
                name="Pump, old",
                component="drain pump",
                status="gone",
                replaced_by="HR-310-4126",
                relation="forward",
                models=("TD45A", "TD6*"),
                since=parse_days("2019-W08"),
                since_text="2019-W08",
                note="Blue cap",
                line=2,
            ),
        ),
        [],
    )


@pytest.mark.parametrize("models", ["TD45A TD6*", '"TD45A, TD6*"', "TD45A;TD6*", '"TD45A\nTD6*"'])
def test_models_are_parted_by_blanks_commas_or_semicolons(models: str) -> None:
    rows, problems = parts(f"number,name,models\nHR-1,Hose,{models}\n")
    assert rows[0].models == ("TD45A", "TD6*") and not problems


@pytest.mark.parametrize(
    "header",
    [
        "number,name",
        "name,number",
        "Number,NAME",
        "number , name",
        '"number","name"',
        "number,name,x-shelf",
        "number,name,x_shelf,",
        "number,name,replaced by",
    ],
)
def test_columns_stand_in_any_order_and_only_number_and_name_are_needed(header: str) -> None:
    by_column = {"number": "HR-1", "name": "Hose", "x-shelf": "B7", "x_shelf": "B7"}
    names = [name.strip('" ').casefold() for name in header.split(",")]
    row = ",".join(by_column.get(name, "") for name in names)
    rows, problems = parts(f"{header}\n{row}\n")
    assert [(r.number, r.name, r.status) for r in rows] == [("HR-1", "Hose", "current")]
    assert not problems


@pytest.mark.parametrize(
    ("header", "rule", "says"),
    [
        ("number;name;component", "header", "semicolons"),
        ("number\tname\tcomponent", "header", "tabs"),
        ("number|name", "header", "bars"),
        ("HR-1,Hose", "header", "does not name the columns"),
        ("number,component", "header", "“name” is missing"),
        ("name,component", "header", "“number” is missing"),
        ("number,name,sttus", "header", "did you mean “status”"),
        ("number,name,weather", "header", "the columns are"),
        ("number,name,name", "header", "twice"),
    ],
)
def test_a_wrong_header_is_told_in_its_line(header: str, rule: str, says: str) -> None:
    _, problems = parts(header + "\n")
    assert (1, rule) in problems
    assert says in message(header + "\n")


def test_a_mistyped_column_is_still_read() -> None:
    rows, problems = parts("number,name,relaton\nHR-1,Hose,sideways\n")
    assert problems == [(1, "header"), (2, "unknown-word")]
    assert rows[0].relation is None


@pytest.mark.parametrize(
    ("row", "rule", "says"),
    [
        (",Hose,,,,,,,", "empty", "“number” is empty"),
        ("-,Hose,,,,,,,", "empty", "“number” is empty"),
        ("HR-2,Hose", "cells", "2 cells, the header 9"),
        ("HR-2,Hose,,,,,,,,more", "cells", "10 cells"),
        ("HR-2,Hose, long,,,,,,,x", "cells", "quotes"),
        ("HR-2,Hose,,curent,,,,,", "unknown-word", "did you mean current"),
        ("HR-2,Hose,,sold out,,,,,", "unknown-word", "running-out"),
        ("HR-2,Hose,,gone,HR-1,forwards,,,", "unknown-word", "did you mean forward"),
        ("HR-2,Hose,,gone,HR-1,same,,yesterday,", "bad-date", "“since”"),
        ("HR-2,Hose,,gone,HR-1,same,,2024-13,", "bad-date", "month"),
        ("HR-2,Hose,,,,,,,=1+1", "formula", "spreadsheet"),
        ("HR-2,+Hose,,,,,,,", "formula", "“name” begins with +"),
        ("HR-2,@Hose,,,,,,,", "formula", "“name” begins with @"),
        ("HR-2,-Hose(1),,,,,,,", "formula", "“name” begins with -"),
        ("HR-2,\tHose,,,,,,,", "formula", "a tab"),
        ('HR-2,"Hose,,,,,,,', "syntax", "not closed"),
        ('HR-2,"Hose"s,,,,,,,', "syntax", "behind a closing quotation mark"),
        ("hr 1,Hose,,,,,,,", "repeated-row", "line 2"),
        ("HR.1,Hose,inlet hose,gone,,,,,", "repeated-row", "line 2"),
    ],
)
def test_a_wrong_row_is_told_at_its_line_and_the_others_are_read(
    row: str, rule: str, says: str
) -> None:
    text = HEADER + SOUND + row + "\nHR-9,Seal,,,,,,,\n"
    rows, problems = parts(text)
    assert problems == [(3, rule)]
    assert says in message(text)
    assert {"HR-1", "HR-9"} <= {found.number for found in rows}


@pytest.mark.parametrize("cell", ["-", "-5", "+5", "-0.5", "-12,5"])
def test_a_lone_sign_or_number_is_no_formula(cell: str) -> None:
    _, problems = parts(f'{HEADER}HR-1,Hose,,,,,,,"{cell}"\n')
    assert not problems


@pytest.mark.parametrize("status", ["Running-out", "running out", "RUNNING-OUT"])
def test_words_are_known_whatever_their_case_and_hyphens(status: str) -> None:
    rows, problems = parts(f"{HEADER}HR-1,Hose,,{status},,,,,\n")
    assert rows[0].status == "running-out" and not problems


def test_one_number_may_have_a_row_for_each_model() -> None:
    rows, problems = parts(
        HEADER
        + "HR-1,Hose,,gone,HR-2,same,TD45A,,\n"
        + "HR-1,Hose,,gone,HR-3,same,TD45B,,\n"
        + "HR-1,Hose,,gone,HR-4,same,TD45A,,\n"
        + "HR-1,Hose,,gone,HR-4,same,TD60A TD60B,,\n"
        + "HR-1,Hose,,gone,HR-5,same,TD60B TD60A,,\n"
    )
    assert problems == [(4, "repeated-row"), (6, "repeated-row")]
    assert [row.replaced_by for row in rows] == ["HR-2", "HR-3", "HR-4"]


def test_lines_are_right_behind_cells_of_several_lines() -> None:
    text = HEADER + 'HR-1,Hose,,,,,,,"one\ntwo\nthree"\n\nHR-2,Seal,,oops,,,,,\n'
    rows, problems = parts(text)
    assert problems == [(6, "unknown-word")]
    assert [row.line for row in rows] == [2, 6]


def test_a_quotation_mark_too_many_costs_one_row() -> None:
    text = (
        HEADER
        + 'HR-1,"Hose,,,,,,,\n'
        + 'HR-2,"Hose, long",,,,,,,\n'
        + "HR-3,Seal,,oops,,,,,\n"
        + 'HR-4,"Seal,,,,,,,\n'
        + "HR-5,Seal,,,,,,,\n"
    )
    rows, problems = parts(text)
    assert problems == [(2, "syntax"), (4, "unknown-word"), (5, "syntax")]
    assert [row.number for row in rows] == ["HR-2", "HR-3", "HR-5"]


def test_rows_left_empty_by_a_spreadsheet_are_passed_over() -> None:
    rows, problems = parts(f"{HEADER}{SOUND},,,,,,,,\n\n   \nHR-2,Seal,,,,,,,,,,\n")
    assert [row.number for row in rows] == ["HR-1", "HR-2"] and not problems


@pytest.mark.parametrize("data", [b"", b"\n", b"\xef\xbb\xbf"])
def test_an_empty_table_is_sound(data: bytes) -> None:
    assert parts(data) == ((), [])


@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_marks_and_line_ends_of_any_editor_are_taken(ends: str, mark: bytes) -> None:
    text = HEADER + SOUND + "HR-2,Seal,,oops,,,,,\n"
    rows, problems = parts(mark + text.replace("\n", ends).encode())
    assert [row.number for row in rows] == ["HR-1", "HR-2"]
    assert problems == [(3, "unknown-word")]


def test_other_encodings_and_nul_are_told_at_their_line() -> None:
    assert parts(HEADER.encode() + b"HR-1,Gr\xfcn,,,,,,,\n")[1] == [(2, "encoding")]
    assert parts((HEADER + SOUND).encode("utf-16"))[1] == [(1, "encoding")]
    assert parts(HEADER + "HR-1,Ho\0se,,,,,,,\n")[1] == [(2, "control-character")]


def test_leading_zeros_and_number_like_texts_stay_as_typed() -> None:
    rows, problems = parts("number,name\n0012,1e5\n12,007\n")
    assert [(row.number, row.name) for row in rows] == [("0012", "1e5"), ("12", "007")]
    assert not problems


def test_kits_are_read_with_one_as_the_usual_quantity() -> None:
    rows, problems = kits("kit,number,quantity\nHR-1,HR-2,3\nHR-1,HR-3,\n")
    assert rows == (
        KitRow(kit="HR-1", number="HR-2", quantity=3, line=2),
        KitRow(kit="HR-1", number="HR-3", quantity=1, line=3),
    )
    assert not problems


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        (",HR-3,1", "empty"),
        ("HR-1,,1", "empty"),
        ("HR-1,HR-3,0", "bad-value"),
        ("HR-1,HR-3,1.5", "bad-value"),
        ("HR-1,HR-3,two", "bad-value"),
        ("HR-1,HR-3,٣", "bad-value"),
        ("hr1,HR 2,4", "repeated-row"),
        ("HR-1,HR-3", "cells"),
    ],
)
def test_a_wrong_kit_row_is_told_at_its_line(row: str, rule: str) -> None:
    _, problems = kits(f"kit,number,quantity\nHR-1,HR-2,3\n{row}\n")
    assert problems == [(3, rule)]


CELL = st.text(alphabet=string.ascii_letters + string.digits + ' ,"\n/', max_size=12)


@given(st.lists(st.tuples(CELL, CELL), max_size=12))
def test_what_a_spreadsheet_writes_is_what_is_read(cells: list[tuple[str, str]]) -> None:
    """Held against the standard library's own writer of CSV (RFC 4180 quoting)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("number", "name", "note"))
    writer.writerows((f"N{at}", name, note) for at, (name, note) in enumerate(cells))
    rows, problems = parts(out.getvalue())
    assert not problems
    assert [(row.number, row.name, row.note) for row in rows] == [
        (f"N{at}", name.strip(), note.strip()) for at, (name, note) in enumerate(cells)
    ]


@given(st.binary(max_size=200), st.integers(0, len(HEADER + SOUND)))
def test_no_bytes_whatever_end_in_more_than_problems(data: bytes, at: int) -> None:
    text = (HEADER + SOUND).encode()
    faults = Faults("reference/parts.csv")
    read_parts(decode(text[:at] + data + text[at:], faults), faults)
    assert all(problem.line >= 1 and problem.remedy for problem in faults.problems)


def test_the_columns_are_those_of_the_documents() -> None:
    assert ",".join(PART_COLUMNS) == (
        "number,name,component,status,replaced_by,relation,models,since,note"
    )
    assert ",".join(KIT_COLUMNS) == "kit,number,quantity"
