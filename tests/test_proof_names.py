"""Rules on components and codes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from kb.records import Bulletin, Coverage
from tests.proof_house import broken, bulletin, house, part, said


def given(key: str, *items: str) -> dict[str, Any]:
    return {key: items}


def named(*components: str, **fields: Any) -> Bulletin:
    return bulletin(component=components, **fields)


@pytest.mark.parametrize(
    "typed", ["drain pmup", "drian pump", "drain pum", "drainpump", "drain-pump"]
)
def test_a_mistyped_component_is_an_error_with_the_one_meant(typed: str) -> None:
    (problem,) = broken(house(named(typed)), "component-unknown")
    assert problem.level == "error"
    assert "did you mean 'drain pump'?" in problem.remedy.lower()
    assert said(house(named(typed)), "component-alone") == []


@pytest.mark.parametrize(
    "typed", ["heater", "drain pump 2", "drain pumps", "fill valve", "rain pipe"]
)
def test_a_component_of_its_own_is_only_a_warning(typed: str) -> None:
    assert said(house(named(typed)), "component-unknown") == []
    (problem,) = broken(house(named(typed)), "component-alone")
    assert problem.level == "warning"


@pytest.mark.parametrize("typed", ["drain pump", "Drain Pump", "DRAIN  PUMP"])
def test_a_component_of_the_parts_table_is_known(typed: str) -> None:
    one = house(named(typed))
    assert said(one, "component-unknown") == said(one, "component-alone") == []


def test_a_house_that_lists_no_component_learns_them_from_its_bulletins() -> None:
    bare = replace(house(named("door lock")), parts=())
    assert said(bare, "component-alone") == []
    listed = replace(bare, components=("door seal",))
    assert len(said(listed, "component-alone")) == 1


def test_two_bulletins_make_a_component_known() -> None:
    one = house(named("door lock"), bulletin("2026-002", component=("Door Lock",)))
    assert said(one, "component-alone") == []


def test_a_third_bulletin_that_mistypes_it_is_told() -> None:
    longer = house(
        named("circulation pump"),
        bulletin("2026-002", component=("circulation pump",)),
        bulletin("2026-003", component=("circultion pump",)),
    )
    assert [p.file for p in broken(longer, "component-unknown")] == ["2026/2026-003.md"]


def test_the_component_of_a_warranty_may_be_the_bulletin_s_own() -> None:
    warranty = Coverage("sump", 5, "purchase")
    assert said(house(named("sump", coverage=warranty)), "component-unknown") == []
    mistyped = named("inner sump seal", coverage=Coverage("inner smup seal", 5, "purchase"))
    assert said(house(mistyped), "component-unknown") == ["there is no component 'inner smup seal'"]


def codes(*lists: tuple[str, ...]) -> list[Bulletin]:
    return [bulletin(f"2026-{n:03}", codes=each) for n, each in enumerate(lists, 1)]


@pytest.mark.parametrize("slip", ["E2l", "E2I", "EZ1"])
def test_a_code_that_looks_like_another_is_told(slip: str) -> None:
    one = house(*codes(("E21",), ("E21",), (slip,)))
    (problem,) = broken(one, "code-alike")
    assert (problem.file, problem.level) == ("2026/2026-003.md", "error")
    assert "'E21'" in problem.remedy


def test_a_letter_beside_a_digit_is_the_slip_even_if_each_is_used_once() -> None:
    assert said(house(*codes(("F05",), ("FO5",))), "code-alike") == [
        "the code 'FO5' is used nowhere else and looks like 'F05'"
    ]


@pytest.mark.parametrize(
    "lists",
    [
        (("E21",), ("E12",), ("F21",)),
        (("E21",), ("e-21",), ("E 21",)),
        (("SO",), ("50",)),
        (("FO5", "F05"), ("FO5", "F05"), ("F05",)),
        (("OE",), ("0E",)),
    ],
)
def test_codes_that_may_be_meant_are_left_alone(lists: tuple[tuple[str, ...], ...]) -> None:
    assert said(house(*codes(*lists)), "code-alike") == []


@pytest.mark.parametrize("key", ["symptoms", "hazards", "related", "component"])
def test_an_item_said_twice_is_told(key: str) -> None:
    one = bulletin(**given(key, "gas", "heavy", "Gas"), lines={key: 9})
    assert said(house(one), "said-twice") == [f"'Gas' stands twice under '{key}'"]


@pytest.mark.parametrize(("number", "what"), [("E-21", "fault code"), ("td45a", "model")])
def test_a_part_number_that_means_something_else_too_is_told(number: str, what: str) -> None:
    one = house(bulletin(codes=("E21",)), parts=[part(number, line=7)])
    (problem,) = broken(one, "part-number-taken")
    assert (problem.line, problem.level) == (7, "warning")
    assert problem.message == f"the part number {number} is also a {what}"


def test_a_part_number_with_several_rows_is_told_once() -> None:
    rows = [part("E21", models=("TD45A",)), part("E21", models=("TD60A",))]
    assert len(said(house(bulletin(codes=("E21",)), parts=rows), "part-number-taken")) == 1
