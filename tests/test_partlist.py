"""Rows and kits by number, the nearest known numbers, and sets of models."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.applies import model_matches
from kb.modelsets import Models, fits
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


# Sets of models


@pytest.mark.parametrize(
    ("one", "other", "both"),
    [
        ((), ("TD45*",), ("TD45*",)),
        (("TD45*",), (), ("TD45*",)),
        (("TD45*",), ("TD45A",), ("TD45A",)),
        (("TD45A",), ("TD45*",), ("TD45A",)),
        (("TD*",), ("TD45*", "TD60*", "CW7A"), ("TD45*", "TD60*")),
        (("TD45*",), ("TD60*",), None),
        (("TD45?",), ("TD45*",), ("TD45?",)),
        (("TD45*",), ("TD45?",), ("TD45?",)),
        (("*A",), ("TD45*",), ("TD45*",)),
        (("td-45 a",), ("TD45A",), ("TD45A",)),
    ],
)
def test_models_in_two_sets(
    one: tuple[str, ...], other: tuple[str, ...], both: tuple[str, ...] | None
) -> None:
    found = Models(one).within(other)
    assert (found.only if found else None) == both


@pytest.mark.parametrize(
    ("only", "but", "left"),
    [
        ((), ("TD45*",), ()),
        (("TD45A", "TD60A"), ("TD45*",), ("TD60A",)),
        (("TD45*",), ("TD45A",), ("TD45*",)),
        (("TD45A",), ("TD*",), None),
    ],
)
def test_models_without_others(
    only: tuple[str, ...], but: tuple[str, ...], left: tuple[str, ...] | None
) -> None:
    found = Models(only).without(but)
    assert (found.only if found else None) == left


def test_what_was_taken_away_does_not_come_back() -> None:
    rest = Models().without(("TD45*",))
    assert rest is not None
    assert rest.within(("TD45A",)) is None
    assert rest.within(("TD60A",)) is not None


_PATTERN = st.text(alphabet="AB*?", min_size=1, max_size=4)


@given(_PATTERN, _PATTERN, st.text(alphabet="AB", min_size=1, max_size=4))
def test_a_model_that_fits_both_patterns_is_never_lost(one: str, other: str, model: str) -> None:
    found = Models((one,)).within((other,))
    if model_matches(one, model) and model_matches(other, model):
        assert found is not None
        assert fits(found.only, model)
