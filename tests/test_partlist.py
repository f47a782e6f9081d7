"""Rows and kits by number, however it is typed."""

from __future__ import annotations

import pytest

from kb.partlist import moves
from tests.partrows import catalogue, part

CHAIN = ["A-1,gone,B,same", "B,gone,C,forward", "X,gone,C,same", "C,current,C,changed", "Y,current"]


def test_a_number_is_found_however_it_is_typed() -> None:
    row = catalogue(CHAIN).find("a.1")
    assert row is not None
    assert row.number == "A-1"
    assert catalogue(CHAIN).find("nothing") is None


def test_all_rows_of_a_number_come_in_the_order_of_the_file() -> None:
    cat = catalogue(["A,gone,B,same,TD45*", "B,current", "A,gone,C,same,TD60*"])
    assert [row.replaced_by for row in cat.rows("a")] == ["B", "C"]


def test_a_kit_tells_what_it_holds() -> None:
    cat = catalogue(["K,current", "L,gone", "X,current"], ["K,X-1,2", "K,Y,1", "K,x 1,3"])
    assert [row.number for row in cat.contents("k")] == ["X-1", "Y", "x 1"]
    assert cat.held("K", "x1") == 5
    assert cat.held("X", "K") == 0
    assert cat.contents("X") == ()


@pytest.mark.parametrize(
    ("line", "onward"),
    [
        ("A,gone,B,same", True),
        ("A,gone", False),
        ("A,current,a,changed", False),
        ("A,current,A,same", True),
        ("A,gone,B,changed", True),
    ],
)
def test_a_changed_row_leads_nowhere_by_its_own_number(line: str, onward: bool) -> None:
    assert moves(part(line)) is onward
