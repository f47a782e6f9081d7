"""Rules on the reference tables."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from kb.dates import parse_days
from kb.records import Example, House, HouseWords, PartRow, SchemeUse
from tests.proof_house import CAIRN, HOLLIN, TARN, broken, house, kit, part, said


def table(*rows: PartRow, **fields: Any) -> House:
    numbered = [row._replace(line=line) for line, row in enumerate(rows, 3)]
    return house(parts=numbered, **fields)


def moved(number: str, after: str, relation: Any = "same", **fields: Any) -> PartRow:
    return part(number, replaced_by=after, relation=relation, **fields)


@pytest.mark.parametrize(("name", "near"), [("holin", True), ("fell", False)])
def test_a_scheme_is_one_of_serials_yaml(name: str, near: bool) -> None:
    tarn = replace(TARN, schemes=(SchemeUse(name),), lines={"scheme": 5})
    (problem,) = broken(house(families={"Tarn": tarn}), "scheme-unknown")
    assert (problem.file, problem.line) == ("reference/families.yaml", 5)
    assert problem.remedy.startswith("did you mean hollin?") is near


def test_a_scheme_over_before_the_family_began_is_told() -> None:
    old = replace(HOLLIN, used=parse_days("2010..2015"))
    one = house(schemes={"hollin": old}, families={"Tarn": TARN})
    assert said(one, "scheme-unused") == [
        "the scheme hollin was never in use while this family was made"
    ]
    assert said(house(schemes={"hollin": old}, families={"Cairn": CAIRN}), "scheme-unused") == []


@pytest.mark.parametrize(
    ("example", "wrong"),
    [
        (
            Example(serial="K P 14 00031", plant="K", built=parse_days("2022-W14"), sequence=31),
            False,
        ),
        (Example(serial="K P 14 00031", plant="L"), True),
        (Example(serial="K P 14 00031", built=parse_days("2022-W15")), True),
        (Example(serial="K P 14 00031", sequence=32), True),
        (Example(serial="K P 60 00031"), True),
        (Example(serial="K I 14 00031"), True),
    ],
)
def test_every_example_is_proved(example: Example, wrong: bool) -> None:
    scheme = replace(HOLLIN, examples=(replace(example, line=9),))
    found = broken(house(schemes={"hollin": scheme}), "example-fails")
    assert [(p.file, p.line) for p in found] == [("reference/serials.yaml", 9)] * wrong


def test_a_successor_has_a_row_of_its_own() -> None:
    one = table(moved("A-1", "A-3"), part("A-2"))
    (problem,) = broken(one, "successor-unknown")
    assert (problem.file, problem.line) == ("reference/parts.csv", 3)
    assert "did you mean A-2?" in problem.remedy or "did you mean A-1?" in problem.remedy


@pytest.mark.parametrize(
    ("steps", "ring"),
    [
        ([("A", "B"), ("B", "A")], "A → B → A"),
        ([("A", "A")], "A → A"),
        ([("A", "B"), ("B", "C"), ("C", "B")], "B → C → B"),
    ],
)
def test_parts_in_a_ring_are_told_at_the_last_row(steps: list[tuple[str, str]], ring: str) -> None:
    (problem,) = broken(table(*(moved(*step) for step in steps)), "parts-ring")
    assert ring in problem.message
    assert problem.line == 2 + len(steps)


@pytest.mark.parametrize(
    "rows",
    [
        (moved("A", "B"), moved("B", "C"), part("C")),
        (moved("A", "A", "changed", note="red dot"),),
        (
            moved("A", "C", models=("TD45A",)),
            moved("A", "D", models=("TD60A",)),
            part("C"),
            part("D"),
        ),
    ],
)
def test_rows_that_lead_somewhere_are_sound(rows: tuple[PartRow, ...]) -> None:
    for rule in ("parts-ring", "successor-unknown", "parts-dead-end", "several-successors"):
        assert said(table(*rows), rule) == []


@pytest.mark.parametrize(
    ("status", "told"), [("gone", True), ("current", False), ("pending", False)]
)
def test_a_successor_that_is_gone_itself_is_told(status: Any, told: bool) -> None:
    assert bool(said(table(moved("A", "B"), part("B", status=status)), "parts-dead-end")) is told


def test_a_kit_that_is_gone_but_has_contents_is_no_dead_end() -> None:
    rows = (moved("A", "K", "kit"), part("K", status="gone"))
    assert said(table(*rows, kits=kit("K", "A")), "parts-dead-end") == []


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        (moved("A", "B", None), "relation-missing"),
        (part("A", relation="same"), "relation-alone"),
        (part("A", relation="changed"), "changed-note"),
        (part("A", relation="changed", note="red dot"), None),
        (moved("A", "B", "forward"), None),
    ],
)
def test_relation_and_successor_go_together(row: PartRow, rule: str | None) -> None:
    one = table(row, part("B"))
    for name in ("relation-missing", "relation-alone", "changed-note"):
        assert bool(said(one, name)) == (name == rule)
    assert all(p.level == "warning" for p in broken(one, rule or "changed-note"))


def test_a_part_is_sold_in_a_kit_that_holds_it() -> None:
    rows = (moved("A", "K", "kit"), part("B"), part("K"))
    assert said(table(*rows, kits=kit("K", "A")), "not-a-kit") == []
    assert len(said(table(*rows), "not-a-kit")) == 1
    assert len(said(table(*rows, kits=kit("K", "B")), "not-in-kit")) == 1
    assert said(table(*rows, kits=kit("K", "A", "B")), "not-in-kit") == []


def test_a_kit_may_hold_what_replaced_the_part() -> None:
    rows = (
        moved("A", "K", "kit", models=("TD45A",)),
        moved("A", "A2", "same", models=("TD60A",)),
        part("A2"),
        part("K"),
    )
    assert said(table(*rows, kits=kit("K", "A2")), "not-in-kit") == []


def test_two_successors_for_one_model_are_told_at_the_later_row() -> None:
    rows = (
        moved("A", "B", models=("TD45A", "TD60*")),
        moved("A", "C", models=("TD60A",)),
        part("B"),
        part("C"),
    )
    (problem,) = broken(table(*rows), "several-successors")
    assert problem.line == 4
    assert "TD60A" in problem.message


def test_a_successor_for_the_models_that_no_other_row_names_is_in_order() -> None:
    rows = (moved("A", "B"), moved("A", "C", models=("TD45A",)), part("B"), part("C"))
    assert broken(table(*rows), "several-successors") == []


def test_an_unknown_kit_is_told_once() -> None:
    one = table(part("A"), part("B"), kits=kit("K", "A", "B"))
    assert [(p.file, p.line) for p in broken(one, "kit-part-unknown")] == [
        ("reference/kits.csv", 2)
    ]


def test_an_unknown_part_of_a_kit_is_told_on_its_row() -> None:
    one = table(part("A"), part("K"), kits=kit("K", "A", "Z-9"))
    assert [p.line for p in broken(one, "kit-part-unknown")] == [3]


@pytest.mark.parametrize(
    ("kits", "rings"),
    [
        (kit("K", "K"), 1),
        ([*kit("K", "M"), *kit("M", "K")], 1),
        ([*kit("K", "M"), *kit("M", "A")], 0),
    ],
)
def test_a_kit_does_not_hold_itself(kits: Any, rings: int) -> None:
    one = table(part("A"), part("K"), part("M"), kits=kits)
    assert len(said(one, "kits-ring")) == rings


@pytest.mark.parametrize(
    ("spelled", "wrong"),
    [
        ({"gaskit": "gasket"}, False),
        ({"gasket": "Gasket"}, True),
        ({"gaskit": "gaskt", "gaskt": "gasket"}, True),
        ({}, False),
    ],
)
def test_a_spelling_leads_to_a_right_one(spelled: dict[str, str], wrong: bool) -> None:
    assert bool(said(house(words=HouseWords(spelled=spelled)), "spelled")) is wrong


@pytest.mark.parametrize(
    ("ring", "wrong"), [(("leak", "drip"), False), (("leak",), True), (("leak", "LEAK"), True)]
)
def test_a_ring_needs_two_words(ring: tuple[str, ...], wrong: bool) -> None:
    assert bool(said(house(words=HouseWords(same=(ring,))), "ring-of-one")) is wrong


def test_only_the_relation_kit_asks_what_a_kit_holds() -> None:
    rows = (moved("A", "K", "forward"), part("B"), part("K"))
    assert said(table(*rows, kits=kit("K", "B")), "not-in-kit") == []


def test_a_ring_of_kits_that_have_no_row_of_their_own_is_told() -> None:
    one = table(part("A"), kits=[*kit("K", "M"), *kit("M", "K", "A")])
    (problem,) = broken(one, "kits-ring")
    assert problem.message == "a kit holds itself: K → M → K"


def test_a_dead_end_is_seen_whatever_the_number_is_typed_like() -> None:
    rows = (moved("HR-1-1", "hr 1 2"), part("HR-1-2", status="gone"))
    assert said(table(*rows), "parts-dead-end") == [
        "HR-1-1 is replaced by HR-1-2, which is gone with nothing after it"
    ]
