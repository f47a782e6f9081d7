"""What the tables say by themselves: older numbers, steps, kits, rings, numbers nobody knows."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.applies import model_matches
from kb.modelsets import Models, fits
from kb.partlist import moves
from kb.records import KitRow, PartRow
from tests.partrows import catalogue, part

CHAIN = ["A-1,gone,B,same", "B,gone,C,forward", "X,gone,C,same", "C,current,C,changed", "Y,current"]


def test_older_numbers_are_told_with_their_steps_near_first() -> None:
    assert catalogue(CHAIN).predecessors("c") == {"B": 1, "X": 1, "A-1": 2}
    assert catalogue(CHAIN).predecessors("A1") == {}
    assert catalogue(CHAIN).predecessors("unknown") == {}


@pytest.mark.parametrize(
    ("old", "new", "steps"),
    [
        ("a1", "C", 2),
        ("B", "C", 1),
        ("C", "C", 0),
        ("C", "B", None),
        ("Y", "C", None),
        ("Q", "C", None),
    ],
)
def test_steps_between_two_numbers(old: str, new: str, steps: int | None) -> None:
    assert catalogue(CHAIN).steps_between(old, new) == steps


def test_the_fewest_steps_count() -> None:
    cat = catalogue(["A,gone,B,same,TD45*", "A,gone,C,same,TD60*", "B,gone,C,same", "C,current"])
    assert cat.steps_between("A", "C") == 1
    assert cat.predecessors("C") == {"A": 1, "B": 1}


def test_rings_do_not_hang_the_search_for_older_numbers() -> None:
    cat = catalogue(["A,gone,B,same", "B,gone,A,same"])
    assert cat.predecessors("A") == {"B": 1}
    assert cat.steps_between("A", "B") == 1


def test_a_number_is_found_however_it_is_typed() -> None:
    row = catalogue(CHAIN).find("a.1")
    assert row is not None
    assert row.number == "A-1"
    assert catalogue(CHAIN).find("nothing") is None


def test_all_rows_of_a_number_come_in_the_order_of_the_file() -> None:
    cat = catalogue(["A,gone,B,same,TD45*", "B,current", "A,gone,C,same,TD60*"])
    assert [row.replaced_by for row in cat.rows("a")] == ["B", "C"]


def test_kits_are_found_by_what_they_hold() -> None:
    cat = catalogue(["K,current", "L,gone", "X,current"], ["K,X-1,2", "L,x1,3", "K,Y,1"])
    assert [(row.kit, row.quantity) for row in cat.kits_with("X1")] == [("K", 2), ("L", 3)]
    assert cat.kits_with("K") == ()
    assert [row.number for row in cat.contents("k")] == ["X-1", "Y"]
    assert cat.held("K", "x 1") == 2
    assert cat.held("X", "K") == 0


def test_numbers_that_no_row_knows_are_listed() -> None:
    cat = catalogue(["A,gone,Q,same", "B,current", "K,gone"], ["K,B,1", "K,R,1", "M,B,1"])
    found = list(cat.dangling())
    assert [row.replaced_by for row in found if isinstance(row, PartRow)] == ["Q"]
    assert [(r.kit, r.number) for r in found if isinstance(r, KitRow)] == [("K", "R"), ("M", "B")]


@pytest.mark.parametrize(
    ("parts", "kits", "rings"),
    [
        (["A,gone,B,same", "B,gone,A,same"], [], [("A", "B")]),
        (["A,gone,A,same"], [], [("A",)]),
        (["A,current,A,changed"], [], []),
        (["A,gone,B,same", "B,gone,C,same", "C,gone,B,same"], [], [("B", "C")]),
        (["A,gone,B,same", "B,current", "C,gone,B,same"], [], []),
        (["K,gone", "L,gone"], ["K,L,1", "L,K,1"], [("K", "L")]),
        (["A,gone,K,kit", "K,current"], ["K,A,1"], []),
    ],
    ids=["pair", "itself", "changed", "behind", "none", "kits", "part sold in its kit"],
)
def test_rings_are_found(parts: list[str], kits: list[str], rings: list[tuple[str, ...]]) -> None:
    assert catalogue(parts, kits).cycles() == rings


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
