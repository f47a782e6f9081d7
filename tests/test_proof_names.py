"""Rules on components and codes."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from kb.records import Block, Bulletin, Coverage
from tests.proof_house import TARN, broken, bulletin, house, part, said


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


SAME, OTHER = (Block(families=("Tarn",)),), (Block(families=("Cairn",)),)


@pytest.mark.parametrize(
    ("odd", "where", "rule"),
    [
        ("E2l", SAME, "code-alike"),
        ("E2l", OTHER, "code-alike-elsewhere"),
        ("E2l", (*SAME, *OTHER), "code-alike"),
        ("E22", SAME, None),
    ],
)
def test_a_look_alike_is_an_error_in_its_family_and_a_warning_elsewhere(
    odd: str, where: tuple[Block, ...], rule: str | None
) -> None:
    one = house(*codes(("E21",), ("E21",)), bulletin("2026-009", codes=(odd,), where=where))
    for name in ("code-alike", "code-alike-elsewhere"):
        assert bool(said(one, name)) == (name == rule)


@pytest.mark.parametrize("place", ["house", "family"])
def test_a_listed_code_is_beyond_doubt(place: str) -> None:
    one = house(*codes(("E21",), ("E21",), ("E2L",)))
    assert len(said(one, "code-alike")) == 1
    tarn = replace(TARN, codes=("e-2l",))
    listed = {"codes": ("E2L",)} if place == "house" else {"families": {"Tarn": tarn}}
    assert said(replace(one, **listed), "code-alike") == []


def test_a_code_of_two_digits_for_letters_in_another_family_is_its_own() -> None:
    one = house(*codes(("5E",), ("5E",)), bulletin("2026-009", codes=("SE",), where=OTHER))
    for name in ("code-alike", "code-alike-elsewhere"):
        assert said(one, name) == []


@pytest.mark.parametrize(
    ("key", "first", "again"),
    [("codes", "E21", "e-21"), ("related", "2026-7", "2026 7"), ("supersedes", "R.1", "r1")],
)
def test_a_number_typed_another_way_is_said_twice(key: str, first: str, again: str) -> None:
    assert said(house(bulletin(**given(key, first, again))), "said-twice") == [
        f"'{again}' stands twice under '{key}'"
    ]


def test_words_a_hyphen_apart_are_two() -> None:
    assert said(house(bulletin(**given("symptoms", "re-starts", "restarts"))), "said-twice") == []


@pytest.mark.parametrize(("uses", "told"), [(1, 0), (2, 1), (3, 1)])
def test_a_code_without_a_doubtful_letter_is_told_where_the_other_is_used_twice(
    uses: int, told: int
) -> None:
    assert len(said(house(*codes(*[("5E",)] * uses, ("SE",))), "code-alike")) == told


def test_a_look_alike_typed_with_hyphens_is_told_as_well() -> None:
    one = house(*codes(("E-21",), ("e 21",), ("E-2l",)))
    assert said(one, "code-alike") == ["the code 'E-2l' is used nowhere else and looks like 'E-21'"]
