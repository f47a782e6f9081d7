"""The cases of tests/cases/proof.md, each read from real files."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.errors import Problem
from tests.proof_cases import Case, changed, load, proofed, told

CASES = load().cases


def test_the_sound_house_has_no_problem(tmp_path: Path) -> None:
    assert [told(p) for p in proofed(tmp_path, load().house)] == []


@pytest.mark.parametrize("case", CASES, ids=[case.title for case in CASES])
def test_the_proof_says_what_the_case_says_and_nothing_else(case: Case, tmp_path: Path) -> None:
    left = proofed(tmp_path, changed(case))
    for said in case.says:
        found = next((p for p in left if _is(p, said)), None)
        assert found, f"not said: {said}\nsaid: " + "\n".join(map(told, left))
        left.remove(found)
    assert [told(problem) for problem in left] == []


def _is(problem: Problem, said: tuple[str, int, str, str]) -> bool:
    file, line, level, words = said
    placed = (problem.file, problem.line, problem.level) == (file, line, level)
    return placed and words in f"{problem.message}. {problem.remedy}"


def test_every_title_stands_once() -> None:
    titles = [case.title for case in CASES]
    assert sorted(titles) == sorted(set(titles))
