"""A reference table that is broken as a whole is told of itself, not of all that name its rows."""

from __future__ import annotations

from datetime import date

import pytest

from kb.house import read_house
from kb.proof import run
from tests.conftest import MakeHouse

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize("table", ["families.yaml", "serials.yaml", "parts.csv"])
def test_a_table_of_rubbish_is_the_only_thing_blamed(make_house: MakeHouse, table: str) -> None:
    house = make_house({f"reference/{table}": "}{ rubbish\n"})
    problems = run(read_house(house), TODAY)
    errors = {problem.file for problem in problems if problem.level == "error"}
    assert errors == {f"reference/{table}"}


@pytest.mark.parametrize("table", ["families.yaml", "serials.yaml", "parts.csv"])
def test_a_table_that_is_sound_but_lacks_a_name_leaves_the_blame_with_the_bulletin(
    make_house: MakeHouse, table: str
) -> None:
    slips = {
        "families.yaml": ("family: Tarn", "family: Tarx"),
        "serials.yaml": ("family: Tarn", "family: Tarn\nplant: Q"),
        "parts.csv": ("component: drain pump", "component: drain pump\nkeep: [HR-0-0]"),
    }
    old, new = slips[table]
    text = BULLETIN.replace(old, new)
    problems = run(read_house(make_house({"2026/2026-900.md": text})), TODAY)
    assert "2026/2026-900.md" in {problem.file for problem in problems}


BULLETIN = """\
---
number: 2026-900
title: Hums and moves no water at all
kind: repair
issued: 2026-03-02
family: Tarn
component: drain pump
---
It hums.
"""
