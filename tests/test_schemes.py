"""serials.yaml: schemes as read, and every way in which one can contradict itself."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import parse_days
from kb.faults import Faults
from kb.plainfile import decode
from kb.records import Example, Scheme
from kb.schemes import read_schemes

HOLLIN = """\
hollin:
  layout: P Y WW NNNNN
  plant: {K: Kirkholm works, L: Langrigg works}
  year: {letters: ABCDEFHJKLMNPRSTUVWX, first: 2010}
  week: iso
  used: 2010..
  examples:
    - {serial: K P 14 00031, plant: K, built: 2022-W14, sequence: 31}
    - serial: ls-01-00007
"""
PLAIN = "beck:\n  layout: {layout}\n"


def schemes(text: str) -> tuple[dict[str, Scheme], list[tuple[int, str]]]:
    faults = Faults("reference/serials.yaml")
    return read_schemes(text, faults), [(p.line, p.rule) for p in faults.problems]


def test_all_of_a_scheme_is_read() -> None:
    found, problems = schemes(HOLLIN)
    assert found == {
        "hollin": Scheme(
            name="hollin",
            layout="PYWWNNNNN",
            plants={"K": "Kirkholm works", "L": "Langrigg works"},
            year_letters="ABCDEFHJKLMNPRSTUVWX",
            year_first=2010,
            week="iso",
            used=parse_days("2010.."),
            examples=(
                Example(
                    serial="K P 14 00031",
                    plant="K",
                    built=parse_days("2022-W14"),
                    sequence=31,
                    line=8,
                ),
                Example(serial="ls-01-00007", line=9),
            ),
            line=1,
        )
    }
    assert not problems


@pytest.mark.parametrize(
    ("text", "layout"),
    [
        (PLAIN.format(layout="YYWWNNNN"), "YYWWNNNN"),
        (PLAIN.format(layout="yy ww nnnn"), "YYWWNNNN"),
        (PLAIN.format(layout="YY-WW-NNN.N"), "YYWWNNNN"),
        (PLAIN.format(layout="YYYY MM DD NNN"), "YYYYMMDDNNN"),
        (PLAIN.format(layout="Y JJJ NNN"), "YJJJNNN"),
        (PLAIN.format(layout="XX Y WW X NNN"), "XXYWWXNNN"),
        (PLAIN.format(layout="NNNNNN"), "NNNNNN"),
        (PLAIN.format(layout="YY WW NNN") + "  week: jan-1\n  year: digits\n", "YYWWNNN"),
        (PLAIN.format(layout="Y M NNN") + "  month: {letters: 123456789OND}\n", "YMNNN"),
        (PLAIN.format(layout="PP YY WW N") + "  plant: {K1: One, K2: Two}\n", "PPYYWWN"),
    ],
)
def test_sound_layouts_are_taken(text: str, layout: str) -> None:
    found, problems = schemes(text)
    assert found["beck"].layout == layout and not problems


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("beck:\n  week: iso\n", [(1, "missing-key")]),
        ("beck: YYWW\n", [(1, "wrong-shape")]),
        ("beck:\n  layout:\n", [(2, "empty")]),
        (PLAIN.format(layout="[YY, WW]"), [(2, "wrong-shape")]),
        (PLAIN.format(layout="YY WW QQQ"), [(2, "layout")]),
        (PLAIN.format(layout='"--"'), [(2, "layout")]),
        (PLAIN.format(layout="NN YY WW NN"), [(2, "layout")]),
        (PLAIN.format(layout="Y WW Y NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YYY WW NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY W NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY MM D NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY JJ NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY M NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY WW MM NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY WW JJJ NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY DD NNN"), [(2, "layout")]),
        (PLAIN.format(layout="WW NNN"), [(2, "layout")]),
        (PLAIN.format(layout="YY " + "N" * 60), [(2, "layout")]),
        (PLAIN.format(layout="P YY WW NNN"), [(2, "missing-key")]),
        (PLAIN.format(layout="YY WW NNN") + "  plant: {K: One}\n", [(3, "layout")]),
        (PLAIN.format(layout="P YY WW N") + "  plant:\n    K: One\n    LL: Two\n", [(5, "layout")]),
        (PLAIN.format(layout="P YY WW N") + "  plant:\n    K: One\n    k: Two\n", [(5, "layout")]),
        (PLAIN.format(layout="P YY WW N") + "  plant: {K: }\n", [(3, "empty")]),
        (PLAIN.format(layout="P YY WW N") + "  plant: [K, L]\n", [(3, "wrong-shape")]),
        (PLAIN.format(layout="YY WW N") + "  week: jan1\n", []),
        (PLAIN.format(layout="YY WW N") + "  week: monday\n", [(3, "unknown-word")]),
        (PLAIN.format(layout="YY WW N") + "  used: always\n", [(3, "bad-date")]),
        (PLAIN.format(layout="YY WW N") + "  weeks: iso\n", [(3, "unknown-key")]),
        (
            PLAIN.format(layout="Y WW N") + "  year: {letters: AABC, first: 2010}\n",
            [(3, "bad-value")],
        ),
        (PLAIN.format(layout="Y WW N") + "  year: {letters: ABC}\n", [(3, "missing-key")]),
        (PLAIN.format(layout="Y WW N") + "  year: {first: 2010}\n", [(3, "missing-key")]),
        (PLAIN.format(layout="Y WW N") + "  year: {letters: ABC, first: 10}\n", [(3, "bad-value")]),
        (PLAIN.format(layout="YY WW N") + "  year: {letters: ABC, first: 2010}\n", [(2, "layout")]),
        (PLAIN.format(layout="Y WW N") + "  year: letters\n", [(3, "wrong-shape")]),
        (PLAIN.format(layout="Y M N") + "  month: {letters: ABC}\n", [(3, "bad-value")]),
        (PLAIN.format(layout="Y M N") + "  month: {}\n", [(3, "missing-key")]),
        (PLAIN.format(layout="Y MM N") + "  month: {letters: 123456789OND}\n", [(2, "layout")]),
        (
            PLAIN.format(layout="Y WW N")
            + "  examples:\n    - {plant: K}\n    - {serial: 1011, built: X}\n",
            [(4, "missing-key"), (5, "bad-date")],
        ),
        (
            PLAIN.format(layout="Y WW N") + "  examples:\n    - {serial: 1011, sequence: one}\n",
            [(4, "bad-value")],
        ),
    ],
)
def test_a_scheme_at_odds_with_itself_is_told_at_its_line(
    text: str, expected: list[tuple[int, str]]
) -> None:
    assert schemes(text)[1] == expected


def test_everything_wrong_in_a_scheme_comes_out_at_once() -> None:
    text = (
        "beck:\n"
        "  layout: YYY W NNN N\n"
        "  week: monday\n"
        "  used: always\n"
        "fell:\n"
        "  layout: YY: JJJ\n"
        "  week: iso\n"
        "tarn:\n"
        "  layout: YYWWNNN\n"
    )
    found, problems = schemes(text)
    assert problems.count((2, "layout")) == 2
    assert {(3, "unknown-word"), (4, "bad-date"), (6, "syntax")} <= set(problems)
    assert found["tarn"].layout == "YYWWNNN"


@given(st.binary(max_size=30), st.integers(0, len(HOLLIN)), st.integers(0, 40))
def test_no_bytes_whatever_end_in_more_than_problems(data: bytes, at: int, cut: int) -> None:
    text = HOLLIN.encode()
    faults = Faults("reference/serials.yaml")
    read_schemes(decode(text[:at] + data + text[at + cut :], faults), faults)
    assert all(p.line >= 1 and p.remedy for p in faults.problems)
