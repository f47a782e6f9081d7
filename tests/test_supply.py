"""How many of which number are taken along: worked by hand from small tables."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from kb.supply import Supplier
from tests.partrows import kit, part

PARTS = (
    "A-1,current",
    "A-2,gone,A-3,forward",
    "A-3,running-out",
    "B-1,gone,K-2,kit",
    "B-2,gone,K-2,kit",
    "K-2,current",
    "C-1,gone",
    "D-1,pending",
    "E-9,gone",
    "E-1,current",
    "E-2,gone",
    "F-9,gone",
    "G-1,gone,G-2,same",
    "G-2,gone,K-2,kit",
    "M-1,gone,M-2,forward,TD45A",
    "M-1,gone,M-3,forward,TD60A",
    "M-2,current",
    "M-3,current",
    "H-1,current,H-2,forward",
    "H-2,pending",
)
KITS = ("K-2,B-1,2", "K-2,B-2,1", "K-2,G-2,4", "E-9,E-1,2", "E-9,E-2,1", "F-9,E-1,3")


def supplier(model: str = "TD45A") -> Supplier:
    return Supplier(Catalogue(map(part, PARTS), map(kit, KITS)), model)


def taken(number: str, quantity: int = 1, model: str = "TD45A") -> list[tuple[str, int]]:
    lines = supplier(model).supply(number, quantity).lines
    return [(line.number, line.quantity) for line in lines]


@pytest.mark.parametrize(
    ("number", "quantity", "expected"),
    [
        ("A-1", 1, [("A-1", 1)]),
        ("A-1", 4, [("A-1", 4)]),
        ("a 1", 4, [("A-1", 4)]),
        ("A-2", 3, [("A-3", 3)]),
        ("B-1", 1, [("K-2", 1)]),  # one kit holds two
        ("B-1", 2, [("K-2", 1)]),
        ("B-1", 3, [("K-2", 2)]),
        ("B-2", 3, [("K-2", 3)]),
        ("G-1", 4, [("K-2", 1)]),  # by way of its equal, four in the kit
        ("G-1", 5, [("K-2", 2)]),
        ("F-9", 2, [("E-1", 6)]),  # a kit that is gone: three of each
        ("E-9", 1, [("E-1", 2)]),
        ("H-1", 2, [("H-1", 2)]),  # the next is not to be had yet
        ("C-1", 1, []),
        ("D-1", 1, []),
        ("Z-1", 1, []),
    ],
)
def test_quantities_follow_substitution_and_kits(
    number: str, quantity: int, expected: list[tuple[str, int]]
) -> None:
    assert taken(number, quantity) == expected


@pytest.mark.parametrize(("model", "expected"), [("TD45A", "M-2"), ("TD60A", "M-3")])
def test_of_several_successors_the_one_for_the_model_is_taken(model: str, expected: str) -> None:
    assert taken("M-1", 2, model) == [(expected, 2)]


@pytest.mark.parametrize(
    ("number", "why"),
    [
        ("C-1", "C-1 is gone and nothing takes its place"),
        ("D-1", "D-1 cannot be ordered yet"),
        ("Z-1", "there is no part Z-1"),
        ("E-9", "E-2, held by kit E-9, cannot be ordered"),
    ],
)
def test_what_cannot_be_had_says_why(number: str, why: str) -> None:
    assert supplier().supply(number).why == why


@pytest.mark.parametrize("number", ["A-1", "A-2", "B-1", "G-1", "F-9", "H-1"])
def test_what_can_be_had_whole_has_nothing_to_say(number: str) -> None:
    assert supplier().supply(number).why == ""


@pytest.mark.parametrize(
    ("number", "in_kit"), [("A-1", False), ("A-2", False), ("B-1", True), ("G-1", True)]
)
def test_a_part_taken_in_its_kit_is_known_as_such(number: str, in_kit: bool) -> None:
    assert supplier().supply(number).in_kit is in_kit


@pytest.mark.parametrize(
    ("number", "same"),
    [
        ("A-1", {"A1"}),
        ("A-2", {"A2", "A3"}),
        ("B-1", {"B1"}),  # the kit holds other parts too
        ("F-9", {"F9"}),
        ("Z-1", {"Z1"}),
        ("C-1", {"C1"}),
    ],
)
def test_a_kept_part_also_stands_for_its_successor_but_for_no_kit(
    number: str, same: set[str]
) -> None:
    assert supplier().same_place(number) == same


@given(st.integers(1, 500), st.integers(1, 40))
def test_kits_hold_enough_and_not_a_whole_kit_too_many(needed: int, held: int) -> None:
    rows = map(part, ["P-1,gone,K-1,kit", "K-1,current"])
    found = Supplier(Catalogue(rows, [kit(f"K-1,P-1,{held}")]), "TD45A").supply("P-1", needed)
    (line,) = found.lines
    assert line.quantity * held >= needed > (line.quantity - 1) * held
