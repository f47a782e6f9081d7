"""Rules on how bulletins refer to one another."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import parse_days
from kb.records import Block
from tests.proof_house import broken, bulletin, house, said


def given_under(key: str, *items: str) -> dict[str, Any]:
    return {key: items}


@pytest.mark.parametrize("key", ["related", "supersedes"])
@pytest.mark.parametrize(
    ("typed", "near"), [("2026-020", "2026-002"), ("2026-0002", "2026-002"), ("XY-77", None)]
)
def test_an_unknown_number_is_told_with_the_one_meant(
    key: str, typed: str, near: str | None
) -> None:
    one = house(bulletin(**given_under(key, typed)), bulletin("2026-002"))
    (problem,) = broken(one, "bulletin-unknown")
    assert problem.message == f"there is no bulletin {typed}"
    assert problem.remedy.startswith(f"did you mean {near}?") is (near is not None)


@pytest.mark.parametrize("typed", ["2026-002", "2026 002", "2026002", "2026.002"])
def test_a_number_is_known_however_it_is_typed(typed: str) -> None:
    one = house(bulletin(related=(typed,)), bulletin("2026-002"))
    assert said(one, "bulletin-unknown") == []


def test_a_file_that_could_not_be_read_still_has_its_number() -> None:
    one = house(bulletin(related=("2025-033",)), files=("2026/2026-001.md", "2025/2025-033.md"))
    assert said(one, "bulletin-unknown") == []


def test_a_picture_is_no_bulletin() -> None:
    one = house(bulletin(related=("pump",)), files=("2026/2026-001.md", "2026/2026-001/pump.svg"))
    assert len(said(one, "bulletin-unknown")) == 1


@pytest.mark.parametrize("key", ["related", "supersedes"])
def test_a_bulletin_does_not_name_itself(key: str) -> None:
    one = house(bulletin(**given_under(key, "2026 001")))
    assert said(one, "names-itself") == [f"the bulletin names itself under '{key}'"]
    assert said(one, "supersedes-round") == []


def test_a_ring_is_told_once_at_the_oldest() -> None:
    one = house(
        bulletin("2024-001", issued=date(2024, 1, 1), supersedes=("2026-001",)),
        bulletin("2025-001", issued=date(2025, 1, 1), supersedes=("2024-001",)),
        bulletin("2026-001", issued=date(2026, 1, 1), supersedes=("2025-001",)),
    )
    (problem,) = broken(one, "supersedes-round")
    assert problem.file == "2024/2024-001.md".replace("2024/", "2026/", 1)
    assert problem.message.count("→") == 3


@given(st.dictionaries(st.integers(1, 9), st.lists(st.integers(1, 9), max_size=2), max_size=9))
def test_a_ring_is_told_just_where_following_leads_back(steps: dict[int, list[int]]) -> None:
    bulletins = [
        bulletin(f"N-{n}", supersedes=tuple(f"N-{old}" for old in olds if old != n))
        for n, olds in steps.items()
    ]

    def back(start: int) -> bool:
        seen: set[int] = set()
        waiting = [old for old in steps[start] if old != start]
        while waiting:
            here = waiting.pop()
            if here == start:
                return True
            if here in steps and here not in seen:
                seen.add(here)
                waiting += [old for old in steps[here] if old != here]
        return False

    assert bool(said(house(*bulletins), "supersedes-round")) == any(map(back, steps))


def test_two_successors_in_force_are_told_at_the_later() -> None:
    one = house(
        bulletin("2025-001"),
        bulletin("2026-002", issued=date(2026, 2, 1), supersedes=("2025-001",)),
        bulletin("2026-003", issued=date(2026, 3, 1), supersedes=("2025-001",)),
    )
    (problem,) = broken(one, "two-successors")
    assert (problem.file, problem.level) == ("2026/2026-003.md", "warning")
    assert problem.message == (
        "2025-001 is also superseded by 2026-002, for some of the same units"
    )


@pytest.mark.parametrize("status", ["draft", "withdrawn"])
def test_a_successor_not_in_force_does_not_count(status: str) -> None:
    one = house(
        bulletin("2025-001"),
        bulletin("2026-002", supersedes=("2025-001",), status=status),
        bulletin("2026-003", supersedes=("2025-001",)),
    )
    assert said(one, "two-successors") == []


def test_a_row_of_successors_is_sound() -> None:
    one = house(
        bulletin("2024-001", issued=date(2024, 1, 1)),
        bulletin("2025-001", issued=date(2025, 1, 1), supersedes=("2024-001",)),
        bulletin("2026-001", issued=date(2026, 1, 1), supersedes=("2025-001", "2024-001")),
    )
    for rule in ("two-successors", "supersedes-round", "older-successor", "successor-narrower"):
        assert said(one, rule) == []


def test_a_successor_older_than_what_it_supersedes_is_told() -> None:
    one = house(
        bulletin("2026-009", issued=date(2026, 9, 1)),
        bulletin("2026-001", issued=date(2026, 1, 1), supersedes=("2026-009",)),
    )
    assert said(one, "older-successor") == [
        "2026-009, which this supersedes, was issued later (2026-09-01)"
    ]


@pytest.mark.parametrize(("revised", "wrong"), [(1, True), (2, False), (3, False)])
def test_a_revision_does_not_come_before_the_issue(revised: int, wrong: bool) -> None:
    one = house(bulletin(issued=date(2026, 3, 2), revised=date(2026, 3, revised)))
    assert bool(said(one, "revised-early")) is wrong


@pytest.mark.parametrize(
    ("issued", "status", "wrong"),
    [
        (date(2026, 11, 25), "in-force", False),
        (date(2026, 11, 26), "in-force", True),
        (date(2026, 11, 26), "draft", False),
    ],
)
def test_a_date_after_today_is_told_unless_in_a_draft(
    issued: date, status: str, wrong: bool
) -> None:
    assert bool(said(house(bulletin(issued=issued, status=status)), "future")) is wrong


@pytest.mark.parametrize(
    ("one", "other", "told"),
    [
        (Block(families=("Tarn",)), Block(families=("Cairn",)), False),
        (Block(models=("TD45A",)), Block(models=("TD45B",)), False),
        (Block(models=("TD45?",)), Block(models=("TD45B",)), True),
        (Block(built=parse_days("..2019")), Block(built=parse_days("2020..")), False),
        (Block(built=parse_days("..2020-01-01")), Block(built=parse_days("2020..")), True),
        (Block(plants=("K",)), Block(plants=("L",)), False),
    ],
)
def test_two_successors_are_told_only_where_they_share_a_unit(
    one: Block, other: Block, told: bool
) -> None:
    given_one = house(
        bulletin("2025-001"),
        bulletin("2026-002", issued=date(2026, 2, 1), supersedes=("2025-001",), where=(one,)),
        bulletin("2026-003", issued=date(2026, 3, 1), supersedes=("2025-001",), where=(other,)),
    )
    assert bool(said(given_one, "two-successors")) is told


def test_only_the_rivals_for_the_same_units_are_named() -> None:
    units = {"2026-002": "TD45A", "2026-003": "TD60A", "2026-004": "TD45?"}
    later = [
        bulletin(
            n, issued=date(2026, 1, 1 + at), supersedes=("2025-001",), where=(Block(models=(m,)),)
        )
        for at, (n, m) in enumerate(units.items())
    ]
    assert said(house(bulletin("2025-001"), *later), "two-successors") == [
        "2025-001 is also superseded by 2026-002, for some of the same units"
    ]
