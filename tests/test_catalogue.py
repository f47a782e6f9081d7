"""What to order for a part number: a table of situations, an obvious slow walk, and laws."""

from __future__ import annotations

import json
import time
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.catalogue import Catalogue, nearest_numbers, order
from kb.errors import NotFound
from kb.records import PartRow
from tests.partrows import catalogue, kit, part

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "cases" / "parts.json").read_text(encoding="utf-8")
)


@pytest.fixture(params=CASES, ids=lambda case: case["says"])
def case(request: pytest.FixtureRequest) -> dict[str, Any]:
    """Each situation of the table that desk and phone share."""
    found: dict[str, Any] = request.param
    return found


def _asked(case: dict[str, Any]) -> dict[str, Any]:
    return order(catalogue(case["parts"], case["kits"]), case["ask"], case["model"]).as_json()


def test_orders_what_the_table_says(case: dict[str, Any]) -> None:
    lines = [
        {key: line[key] for key in ("number", "quantity", "models")}
        for line in _asked(case)["order"]
    ]
    assert lines == case["order"]


def test_asks_for_a_choice_only_where_the_model_matters(case: dict[str, Any]) -> None:
    assert _asked(case)["choose"] is case["choose"]


def test_tells_the_steps_taken(case: dict[str, Any]) -> None:
    steps = [f"{step['from']}>{step['to']}" for step in _asked(case)["chain"]]
    assert steps == case["chain"]


def test_tells_how_the_parts_interchange(case: dict[str, Any]) -> None:
    assert _asked(case)["interchange"] == case["interchange"]


def test_names_what_is_coming(case: dict[str, Any]) -> None:
    coming = [[each["number"], each["since"]] for each in _asked(case)["coming"]]
    assert coming == case["coming"]


def test_says_why(case: dict[str, Any]) -> None:
    notes = "\n".join(_asked(case)["notes"])
    assert [said for said in case["notes"] if said not in notes] == []
    if not case["order"]:
        assert notes, "an empty order must say why"


def test_the_table_is_long_enough() -> None:
    assert len(CASES) >= 60
    assert len({case["says"] for case in CASES}) == len(CASES)


# The fields of the answer


def test_the_answer_has_the_fields_of_the_command() -> None:
    cat = catalogue(["A-1,gone,B,same,TD45*,2024-W10,turn it", "B,running-out"])
    answer = order(cat, "a 1", "TD45A").as_json()
    assert answer["asked"] == "a 1"
    assert answer["order"] == [
        {
            "number": "B",
            "quantity": 1,
            "name": "part B",
            "status": "running-out",
            "models": ["TD45*"],
        }
    ]
    assert answer["chain"] == [{"from": "A-1", "to": "B", "relation": "same", "since": "2024-W10"}]
    assert list(answer) == [
        *("asked", "order", "choose", "chain", "interchange", "coming", "notes"),
    ]
    assert json.loads(json.dumps(answer)) == answer


def test_an_unsaid_relation_is_told_as_forward() -> None:
    answer = order(catalogue(["A,gone,B", "B,current"]), "A")
    assert [step.relation for step in answer.chain] == ["forward"]


def test_a_changed_step_to_another_number_does_not_interchange() -> None:
    answer = order(catalogue(["A,gone,B,changed", "B,current"]), "A")
    assert [line.number for line in answer.order] == ["B"]
    assert answer.interchange == "none"


def test_an_empty_model_is_no_model() -> None:
    cat = catalogue(["A,current,,,TD45*"])
    assert order(cat, "A", "") == order(cat, "A", None)


def test_notes_are_not_said_twice() -> None:
    cat = catalogue(
        [
            *("A,gone,B,same,TD45*", "A,gone,C,same,TD60*", "B,gone,D,same", "C,gone,D,same"),
            "D,current,,,,,mind the seal",
        ]
    )
    notes = order(cat, "A").notes
    assert notes.count("D: mind the seal") == 1
    assert len(set(notes)) == len(notes)


def test_a_long_chain_of_gone_numbers_says_briefly_why() -> None:
    cat = catalogue([*(f"A{i},gone,A{i + 1},same" for i in range(30)), "A30,gone"])
    notes = order(cat, "A0").notes
    assert notes == (
        "A30 is gone and nothing takes its place",
        "A0 is gone and nothing that can be ordered takes its place",
    )


# Numbers that are not there


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("HR-310-1119", "HR-310-1118"), ("hr310-1l18", "HR-310-1118"), ("HR-30-1118", "HR-310-1118")],
)
def test_an_unknown_number_names_the_nearest(typed: str, meant: str) -> None:
    cat = catalogue(["HR-310-1118,current", "HR-522-0007,current", "QX-9,current"])
    with pytest.raises(NotFound) as trouble:
        order(cat, typed)
    assert typed in trouble.value.message
    assert meant in trouble.value.remedy


@pytest.mark.parametrize("typed", ["", " ", "---", "zzzzzz", "Ω", "x" * 5000])
def test_a_number_like_no_other_is_not_found_and_says_where_to_look(typed: str) -> None:
    with pytest.raises(NotFound) as trouble:
        order(catalogue(["HR-310-1118,current"]), typed)
    assert "parts.csv" in trouble.value.remedy


def test_the_nearest_numbers_come_best_first() -> None:
    known = ["HR-100-0001", "HR-100-0011", "HR-199-0999", "KX-5"]
    assert nearest_numbers("HR 199-O999", known)[0] == "HR-199-0999"


def test_an_empty_catalogue_knows_no_number() -> None:
    with pytest.raises(NotFound):
        order(catalogue([]), "A")


# Broken tables and large ones


def test_a_chain_of_thousands_is_followed_to_its_end() -> None:
    count = 3000
    cat = catalogue([*(f"A{i},gone,A{i + 1},same" for i in range(count)), f"A{count},current"])
    answer = order(cat, "A0")
    assert [line.number for line in answer.order] == [f"A{count}"]
    assert len(answer.chain) == count


def test_forks_that_meet_again_and_again_end() -> None:
    rows = [
        f"{old}{i},gone,{new}{i + (new == 'A')},same"
        for i in range(60)
        for old, new in (("A", "L"), ("A", "R"), ("L", "A"), ("R", "A"))
    ]
    answer = order(catalogue([*rows, "A60,current"]), "A0")
    assert [line.number for line in answer.order] == ["A60"]
    assert not answer.choose


def test_a_kit_nested_deep_is_multiplied_out() -> None:
    kits = [f"K{i},K{i + 1},2" for i in range(40)]
    cat = catalogue([*(f"K{i},gone" for i in range(40)), "K40,current"], kits)
    assert [(line.number, line.quantity) for line in order(cat, "K0").order] == [("K40", 2**40)]


def test_two_hundred_thousand_rows_are_found_quickly() -> None:
    rows = [
        PartRow(
            number=f"HR-{i // 1000}-{i % 1000:04}",
            name="part",
            status="gone" if (i + 1) % 20 else "current",
            replaced_by=f"hr {(i + 1) // 1000} {(i + 1) % 1000:04}" if (i + 1) % 20 else "",
        )
        for i in range(200_000)
    ]
    start = time.process_time()
    cat = Catalogue(rows)
    built = time.process_time() - start
    answers = [order(cat, row.number) for row in rows[::1000]]
    asked = time.process_time() - start - built
    assert all(answer.order[0].status == "current" for answer in answers)
    assert built < 2, "building the index"
    assert asked < 1, "two hundred questions"


# An obvious slow walk for one successor each, no models, against the real one


def _slow(rows: dict[str, PartRow], number: str, way: tuple[str, ...] = ()) -> str | None:
    row = rows[number]
    if row.status == "pending" or number in way:
        return None
    if row.replaced_by in rows:
        further = _slow(rows, row.replaced_by, (*way, number))
        if further:
            return further
    return None if row.status == "gone" else number


_STATUS = st.sampled_from(["current", "running-out", "pending", "gone"])
_NUMBERS = [f"N{i}" for i in range(7)]


@st.composite
def _plain_tables(draw: st.DrawFn) -> list[str]:
    """Tables of single rows: any successor, rings and unknown numbers among them."""
    return [
        f"{number},{draw(_STATUS)},{draw(st.sampled_from(['', 'Q', *_NUMBERS]))},"
        f"{draw(st.sampled_from(['same', 'forward']))}"
        for number in _NUMBERS
    ]


@given(_plain_tables())
@settings(max_examples=150, deadline=None)
def test_the_order_is_that_of_a_slow_walk(table: list[str]) -> None:
    rows = {row.number: row for row in map(part, table)}
    cat = catalogue(table)
    for number in _NUMBERS:
        answer = order(cat, number)
        expected = _slow(rows, number)
        assert [line.number for line in answer.order] == ([expected] if expected else [])
        assert (answer.chain[-1].new if answer.chain else number) == (expected or number)


@given(_plain_tables())
@settings(max_examples=80, deadline=None)
def test_interchange_follows_from_the_steps(table: list[str]) -> None:
    cat = catalogue(table)
    for number in _NUMBERS:
        answer = order(cat, number)
        relations = {step.relation for step in answer.chain}
        expected = {frozenset({"same"}): "both", frozenset(): "none"}
        assert answer.interchange == expected.get(frozenset(relations), "forward")


# The same for kits: every content by itself, added up


def _slow_kit(
    rows: dict[str, PartRow], kits: dict[str, list[tuple[str, int]]], number: str, count: int
) -> dict[str, int]:
    row = rows[number]
    if row.replaced_by:
        return _slow_kit(rows, kits, row.replaced_by, count)
    if row.status != "gone":
        return {number: count}
    total: dict[str, int] = {}
    for held, quantity in kits.get(number, []):
        for each, many in _slow_kit(rows, kits, held, count * quantity).items():
            total[each] = total.get(each, 0) + many
    return total


@st.composite
def _kit_tables(draw: st.DrawFn) -> tuple[list[str], list[str]]:
    """Tables without rings: everything leads to and holds only what stands further down."""
    parts, kits = [], []
    for at, number in enumerate(_NUMBERS):
        later = _NUMBERS[at + 1 :]
        status = draw(st.sampled_from(["current", "gone", "gone"])) if later else "current"
        after = draw(st.sampled_from(["", "", *later])) if later else ""
        parts.append(f"{number},{status},{after},same")
        for held in draw(st.lists(st.sampled_from(later), max_size=3)) if later else []:
            kits.append(f"{number},{held},{draw(st.integers(1, 4))}")
    return parts, kits


@given(_kit_tables())
@settings(max_examples=150, deadline=None)
def test_kits_dissolve_as_counted_by_hand(tables: tuple[list[str], list[str]]) -> None:
    parts, kit_lines = tables
    rows = {row.number: row for row in map(part, parts)}
    kits: dict[str, list[tuple[str, int]]] = {}
    for row in map(kit, kit_lines):
        kits.setdefault(row.kit, []).append((row.number, row.quantity))
    cat = catalogue(parts, kit_lines)
    for number in _NUMBERS:
        if any(_dead(rows, kits, each) for each in _NUMBERS):
            continue
        found = {line.number: line.quantity for line in order(cat, number).order}
        assert found == _slow_kit(rows, kits, number, 1)


def _dead(rows: dict[str, PartRow], kits: dict[str, list[tuple[str, int]]], number: str) -> bool:
    """Tell whether *number* ends at nothing, where the walk by hand has no way back."""
    return not _slow_kit(rows, kits, number, 1)


# With models: what is listed without one is what each model gets by itself


_MODELS = ("TD45A", "TD45B", "TD60A", "TD60S", "CW7A")
_PATTERNS = ("TD45*", "TD60*", "TD45A", "TD45B", "CW7A", "TD60A TD60S", "")


@st.composite
def _forked_tables(draw: st.DrawFn) -> list[str]:
    """Tables without rings, rows limited to models; half of them with a row for all others."""
    lines = []
    closed = draw(st.booleans())
    for at, number in enumerate(_NUMBERS):
        limits = st.lists(st.sampled_from(_PATTERNS), min_size=1, max_size=3, unique=True)
        for models in sorted({*draw(limits), *([""] if closed else [])}):
            after = draw(st.sampled_from(["", *_NUMBERS[at + 1 :]]))
            lines.append(f"{number},{draw(_STATUS)},{after},same,{models}")
    return lines


_EVERY_SORT = (*_MODELS, "TD45Z", "TD60Z", "MR30F")


def _slow_branches(rows: list[PartRow], number: str, model: str) -> list[str | None]:
    """Return what each row that fits *model* ends at, None for nothing. No rings allowed."""
    mine = [row for row in rows if row.number == number]
    fitting = [row for row in mine if row.models and _fits(row, model)]
    ends: list[str | None] = []
    for row in fitting or [row for row in mine if not row.models]:
        own = number if row.status in ("current", "running-out") else None
        if row.status == "pending":
            ends.append(None)
        elif row.replaced_by:
            ends.extend(end or own for end in _slow_branches(rows, row.replaced_by, model))
        else:
            ends.append(own)
    return ends or [None]


def _fits(row: PartRow, model: str) -> bool:
    return any(fnmatchcase(model, pattern) for pattern in row.models)


@given(_forked_tables())
@settings(max_examples=100, deadline=None)
def test_each_model_gets_what_a_slow_walk_finds(table: list[str]) -> None:
    rows, cat = list(map(part, table)), catalogue(table)
    for number in _NUMBERS:
        for model in _EVERY_SORT:
            answer = order(cat, number, model)
            ends = _slow_branches(rows, number, model)
            assert {line.number for line in answer.order} == set(filter(None, ends))
            assert answer.choose == (len(set(ends)) > 1)


@given(_forked_tables())
@settings(max_examples=100, deadline=None)
def test_without_a_model_all_that_the_models_get_is_listed(table: list[str]) -> None:
    rows, cat = list(map(part, table)), catalogue(table)
    for number in _NUMBERS if _closed(table) else ():
        listed = {line.number for line in order(cat, number).order}
        each = (_slow_branches(rows, number, model) for model in _EVERY_SORT)
        assert listed == {end for ends in each for end in ends if end}


@given(_forked_tables())
@settings(max_examples=100, deadline=None)
def test_a_line_s_models_are_those_that_get_it(table: list[str]) -> None:
    rows, cat = list(map(part, table)), catalogue(table)
    for number in _NUMBERS if _closed(table) else ():
        for line in order(cat, number).order:
            fitting = [m for m in _EVERY_SORT if any(fnmatchcase(m, p) for p in line.models)]
            getting = [m for m in _EVERY_SORT if line.number in _slow_branches(rows, number, m)]
            assert getting
            if line.models:
                assert set(getting) <= set(fitting)


def _closed(table: list[str]) -> bool:
    """Tell whether every number has a row for all models: then no model falls through."""
    general = {row.number for row in map(part, table) if not row.models}
    return general == set(_NUMBERS)


@given(_forked_tables())
@settings(max_examples=80, deadline=None)
def test_a_choice_is_asked_for_where_models_differ(table: list[str]) -> None:
    cat = catalogue(table)
    if not _closed(table):
        return
    for number in _NUMBERS:
        alone = {
            tuple(sorted(line.number for line in order(cat, number, model).order))
            for model in _MODELS
        }
        if len(alone - {()}) > 1:
            assert order(cat, number).choose


@given(_forked_tables())
@settings(max_examples=80, deadline=None)
def test_what_is_listed_for_a_model_is_what_is_ordered_with_it(table: list[str]) -> None:
    cat = Catalogue(map(part, table), (), _MODELS)
    for number in _NUMBERS:
        listed = order(cat, number).order
        for model in _MODELS:
            alone = {(line.number, line.quantity) for line in order(cat, number, model).order}
            here = {
                (line.number, line.quantity)
                for line in listed
                if not line.models or model in line.models
            }
            assert here == alone


def test_the_old_number_is_listed_for_the_models_left_to_it_and_not_at_all_where_none_is() -> None:
    table = [
        "A,current,B,same,",
        "B,gone,C,same,TD45A",
        "B,gone,D,same,TD60A",
        "C,current",
        "D,current",
    ]
    every = Catalogue(map(part, table), (), ["TD45A", "TD60A"])
    assert [(o.number, o.models) for o in order(every, "A").order] == [
        ("C", ("TD45A",)),
        ("D", ("TD60A",)),
    ]
    more = Catalogue(map(part, table), (), ["TD45A", "TD60A", "TD60B"])
    assert [(o.number, o.models) for o in order(more, "A").order][-1] == ("A", ("TD60B",))


def test_a_number_that_a_kit_holds_twice_by_different_ways_is_one_line() -> None:
    table = ["K,gone", "P,current", "M,gone,P,same,"]
    every = Catalogue(map(part, table), map(kit, ["K,P,1", "K,M,2"]), ["TD45A", "TD60A"])
    for model in (None, "TD45A"):
        assert [(o.number, o.quantity, o.models) for o in order(every, "K", model).order] == [
            ("P", 3, ())
        ]


@given(_forked_tables(), st.sampled_from(_MODELS))
@settings(max_examples=100, deadline=None)
def test_only_numbers_that_can_be_ordered_are_ordered(table: list[str], model: str) -> None:
    cat = catalogue(table)
    for number in _NUMBERS:
        for answer in (order(cat, number), order(cat, number, model)):
            assert all(line.status in ("current", "running-out") for line in answer.order)
            assert answer.order or answer.notes
