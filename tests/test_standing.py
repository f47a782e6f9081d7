from __future__ import annotations

from datetime import date
from itertools import permutations
from typing import Any

import pytest

from kb.records import Bulletin
from kb.standing import in_force, standing, superseded_by


def told(number: str, supersedes: str = "", status: Any = "in-force", day: int = 1) -> Bulletin:
    return Bulletin(
        number=number,
        title="t",
        kind="repair",
        issued=date(2024, 1, day),
        component=("c",),
        where=(),
        status=status,
        supersedes=tuple(supersedes.split()),
    )


def state(*bulletins: Bulletin) -> dict[str, str]:
    superseded = superseded_by(bulletins)
    return {b.number: standing(b, superseded) for b in bulletins}


def test_superseded_follows_from_the_one_that_supersedes() -> None:
    assert state(told("A"), told("B", "A")) == {"A": "superseded", "B": "in-force"}


@pytest.mark.parametrize("status", ["draft", "withdrawn"])
def test_only_a_bulletin_that_is_itself_in_force_supersedes(status: str) -> None:
    assert state(told("A"), told("B", "A", status))["A"] == "in-force"


@pytest.mark.parametrize("status", ["draft", "withdrawn"])
def test_what_is_draft_or_withdrawn_stays_so_even_if_superseded(status: str) -> None:
    assert state(told("A", status=status), told("B", "A"))["A"] == status


def test_numbers_compare_without_blanks_hyphens_and_case() -> None:
    assert state(told("A-1"), told("B", "a1"))["A-1"] == "superseded"


def test_a_chain_leaves_the_last() -> None:
    chain = [told("A"), told("B", "A"), told("C", "B")]
    for order in permutations(chain):
        assert [b.number for b in in_force(order)] == ["C"]


def test_of_several_that_supersede_the_latest_issued_is_named_whatever_the_order() -> None:
    several = [told("A"), told("B", "A", day=9), told("C", "A", day=5), told("D", "A", day=9)]
    for order in permutations(several):
        assert superseded_by(order) == {"A": "D"}


def test_a_superseding_bulletin_that_is_superseded_itself_still_supersedes() -> None:
    assert [b.number for b in in_force([told("A"), told("B", "A"), told("C", "B")])] == ["C"]


def test_one_may_supersede_several_and_unknown_numbers_do_no_harm() -> None:
    bulletins = [told("A"), told("B"), told("C", "A B nosuch")]
    assert [b.number for b in in_force(bulletins)] == ["C"]
    assert superseded_by([]) == {}


def test_in_force_keeps_the_given_order() -> None:
    bulletins = [told("C"), told("A"), told("B", status="draft")]
    assert [b.number for b in in_force(iter(bulletins))] == ["C", "A"]
