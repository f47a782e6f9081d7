"""The broken bulletins of tests/cases/broken.md: each is blamed at the lines a person expects."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.bulletin import read_bulletin
from kb.faults import Faults
from kb.plainfile import decode

CASES = Path(__file__).parent / "cases" / "broken.md"
FAMILIES = {"tarn": "Tarn", "cairn": "Cairn"}
_ESCAPE = re.compile(r"\\(?:t|f|x[0-9a-f]{2}|u[0-9a-f]{4})")


class Case(NamedTuple):
    title: str
    text: str
    expected: list[tuple[int, str, str]]


def typed(text: str) -> str:
    """Return *text* with the signs that a case cannot show put in."""
    return _ESCAPE.sub(lambda found: found[0].encode().decode("unicode_escape"), text)


def load() -> list[Case]:
    found = []
    for part in CASES.read_text(encoding="utf-8").split("\n## ")[1:]:
        title, _, rest = part.partition("\n~~~\n")
        text, _, problems = ("\n" + rest).partition("\n~~~\n")
        lines = [f"{line} error".split()[:3] for line in problems.splitlines() if line.strip()]
        expected = sorted((int(line), rule, level) for line, rule, level in lines)
        found.append(Case(title, typed(text[1:] + "\n"), expected))
    return found


CASE_LIST = load()


def problems(data: bytes) -> tuple[Faults, bool]:
    faults = Faults("2026/2026-014.md")
    return faults, read_bulletin(decode(data, faults), faults, FAMILIES).sound


@pytest.mark.parametrize("case", CASE_LIST, ids=[case.title for case in CASE_LIST])
@pytest.mark.parametrize("ends", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"], ids=["", "BOM"])
def test_each_slip_is_blamed_at_its_line_and_nothing_else_is(
    case: Case, ends: str, mark: bytes
) -> None:
    faults, sound = problems(mark + case.text.replace("\n", ends).encode())
    found = sorted((p.line, p.rule, p.level) for p in faults.problems)
    assert found == case.expected, faults.problems
    assert sound == ("error" not in [level for _, _, level in case.expected])


@pytest.mark.parametrize("case", CASE_LIST, ids=[case.title for case in CASE_LIST])
def test_every_problem_says_what_is_wrong_and_what_to_do(case: Case) -> None:
    faults, _ = problems(case.text.encode())
    for problem in faults.problems:
        assert problem.message and problem.remedy and problem.file == "2026/2026-014.md"
        words = f"{problem.message} {problem.remedy}"
        for jargon in ("scalar", "mapping", "token", "node", "parser", "YAML", "None", "sequence"):
            assert jargon not in words


def test_there_are_enough_cases() -> None:
    assert sum(bool(case.expected) for case in CASE_LIST) >= 80
