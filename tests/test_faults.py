"""The problems of one file: kept in order, cut short where it is wrecked, quoted on one line."""

from __future__ import annotations

import pytest

from kb.errors import Problem
from kb.faults import Faults, quoted


def test_a_problem_keeps_its_place_and_its_words() -> None:
    faults = Faults("2026/2026-014.md")
    faults.add(7, "bad-date", "there is no 2024-13", "months run to 12")
    assert faults.problems == [
        Problem(
            file="2026/2026-014.md",
            line=7,
            level="error",
            rule="bad-date",
            message="there is no 2024-13",
            remedy="months run to 12",
        )
    ]


def test_problems_stay_in_the_order_in_which_they_were_met() -> None:
    faults = Faults("a.md")
    for line in (9, 2, 5):
        faults.add(line, "r", "m", "r")
    assert [problem.line for problem in faults.problems] == [9, 2, 5]


def test_warnings_are_no_errors() -> None:
    faults = Faults("a.md")
    assert faults.errors == 0
    faults.add(1, "r", "m", "r", level="warning")
    assert faults.errors == 0 and faults.problems[0].level == "warning"
    faults.add(2, "r", "m", "r", "error")
    faults.add(3, "r", "m", "r")
    assert faults.errors == 2


def test_a_wrecked_file_is_cut_short_at_200_problems() -> None:
    faults = Faults("a.md")
    for line in range(1, 200):
        faults.add(line, "r", "m", "r")
    assert not faults.full
    faults.add(200, "r", "m", "r")
    assert faults.full
    faults.add(201, "r", "m", "r")
    assert len(faults.problems) == 200 and faults.problems[-1].line == 200


@pytest.mark.parametrize(
    ("text", "most", "shown"),
    [
        ("hose", 40, "“hose”"),
        ("", 40, "“”"),
        ("  two\n lines\t here ", 40, "“two lines here”"),
        ("x" * 40, 40, "“" + "x" * 40 + "”"),
        ("x" * 41, 40, "“" + "x" * 39 + "…”"),
        ("abcdef", 5, "“abcd…”"),
        ("abcde", 5, "“abcde”"),
    ],
)
def test_a_quoted_text_stands_on_one_line_and_is_not_too_long(
    text: str, most: int, shown: str
) -> None:
    assert quoted(text, most) == shown
    if most == 40:
        assert quoted(text) == shown
