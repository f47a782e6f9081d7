from __future__ import annotations

from datetime import date
from typing import Any

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.asking import Asked
from kb.dates import parse_days
from kb.finding import Found, Result
from kb.lookup import Card
from kb.plate import Line, Plate
from kb.records import Age, Answer, Family, Reading, Unit
from kb.shown import (
    WIDTH,
    counted,
    found,
    no_order,
    nothing_found,
    order,
    plate,
    unit_line,
    wrapped,
)

FAMILY = Family(
    name="Tarn", product="dishwasher", models=("TD45A",), produced=parse_days("2016.."), schemes=()
)
LONG = "a settling fact that goes on for many words until it has to be carried over " * 3


def plain(text: str, **style: Any) -> str:
    return text


def reading(built: str, plant: str | None = "K", sequence: int | None = 31) -> Reading:
    days = parse_days(built)
    return Reading(scheme="hollin", plant=plant, built=days, sequence=sequence, code_days=days)


def unit(**given_: Any) -> Unit:
    return Unit(**{"model": "TD45A", "family": FAMILY, **given_})


def card(number: str = "2024-001", **given_: Any) -> Card:
    basic: dict[str, Any] = {
        "number": number,
        "title": "Hums",
        "kind": "repair",
        "status": "in-force",
        "issued": "2024-01-01",
        "superseded_by": "",
        "where": (),
        "age": None,
    }
    return Card(**{**basic, **given_})


def too_long(text: str) -> list[str]:
    return [line for line in text.splitlines() if len(line) > WIDTH and len(line.split()) > 1]


# Filling


@given(st.lists(st.text(alphabet="abc-.", min_size=1, max_size=100), max_size=20))
def test_filled_text_keeps_every_word_whole_and_to_the_width(words: list[str]) -> None:
    text = wrapped(" ".join(words), 4, "  - ")
    assert text.removeprefix("  - ").split() == words
    assert not [line for line in text.splitlines() if len(line) > WIDTH and len(line.split()) > 2]


def test_a_number_is_never_broken_at_its_hyphens() -> None:
    text = wrapped("x " * 36 + "HR-310-4120 follows")
    assert any(line.startswith("HR-310-4120") for line in text.splitlines())


def test_an_address_longer_than_the_width_stays_whole() -> None:
    address = "https://service.example/" + "x" * 90
    assert address in wrapped(f"see {address} for more").splitlines()


@pytest.mark.parametrize(("count", "said"), [(0, "0 errors"), (1, "1 error"), (2, "2 errors")])
def test_counts_agree_with_their_noun(count: int, said: str) -> None:
    assert counted(count, "error") == said


# The unit


@pytest.mark.parametrize(
    ("given_", "lines"),
    [
        (
            {"revision": 3, "readings": (reading("2022-W14"),)},
            [
                "TD45A, digit 3, family Tarn",
                "  built 2022-W14, plant K, number 31 (serial scheme hollin)",
            ],
        ),
        (
            {"readings": (reading("2024-03", None, None),)},
            ["TD45A, digit not given, family Tarn", "  built 2024-03 (serial scheme hollin)"],
        ),
        (
            {"revision": 0},
            ["TD45A, digit 0, family Tarn", "  no serial given: a unit of any production date"],
        ),
        (
            {"readings": (reading("2018-W14"), reading("2026-W14"))},
            [
                "TD45A, digit not given, family Tarn",
                "  the serial can mean:",
                "  - 2018-W14, plant K, number 31 (serial scheme hollin)",
                "  - 2026-W14, plant K, number 31 (serial scheme hollin)",
            ],
        ),
        (
            {"serial": "zz", "unreadable": "serial zz: too short"},
            ["TD45A, digit not given, family Tarn", "  serial zz: too short"],
        ),
    ],
)
def test_what_is_known_of_a_unit(given_: dict[str, Any], lines: list[str]) -> None:
    assert unit_line(unit(**given_), plain).splitlines() == lines


# Plates

YES = Answer("yes", "all of Tarn is named")
MAYBE = Answer("maybe", "the digit is not known", "the digit behind the model number: 4 or higher")
NO = Answer("no", "built after 2021")


def test_a_plate_in_groups_the_surest_first() -> None:
    answer = Plate(
        unit(),
        (
            Line(card("A"), YES, None),
            Line(card("B", kind="safety"), MAYBE, None),
            Line(card("C"), NO, None),
        ),
    )
    assert plate(answer, True, plain).split("\n\n")[1:] == [
        "Applies\n  A  repair\n    Hums",
        "May apply\n  B  SAFETY\n    Hums\n"
        "      settled by the digit behind the model number: 4 or higher",
        "Does not apply\n  C  repair\n    Hums\n      built after 2021",
    ]
    less = plate(answer, False, plain)
    assert "Does not apply" not in less
    assert less.endswith("1 more for this model does not apply to the unit; --all shows them.")


def test_a_plate_with_nothing_says_so() -> None:
    assert plate(Plate(unit(), ()), False, plain).endswith("No bulletin in force applies.")
    rest = plate(Plate(unit(), (Line(card(), NO, None), Line(card("B"), NO, None))), False, plain)
    assert "No bulletin in force applies." in rest
    assert rest.endswith("2 more for this model do not apply to the unit; --all shows them.")


@pytest.mark.parametrize(
    ("due", "said"), [("yes", "Due:"), ("no", "Not due yet:"), ("maybe", "May be due:")]
)
def test_advice_by_age_is_told_with_whether_it_is_due(due: Any, said: str) -> None:
    aged = card(age=Age(5, "Renew the hose"))
    shown = plate(Plate(unit(), (Line(aged, YES, due),)), False, plain)
    assert f"      {said} Renew the hose" in shown


def test_several_ways_to_settle_stand_in_lines_of_their_own() -> None:
    several = Answer("maybe", "why", "the serial: built 2022; the plant of production: K")
    shown = plate(Plate(unit(), (Line(card(), several, None),)), False, plain)
    assert shown.splitlines()[-3:] == [
        "      settled by:",
        "        - the serial: built 2022",
        "        - the plant of production: K",
    ]


def test_nothing_in_a_plate_is_wider_than_the_screen() -> None:
    answers = (
        Answer("yes", LONG),
        Answer("maybe", LONG, LONG),
        Answer("maybe", LONG, f"{LONG}; {LONG}"),
        Answer("no", LONG),
    )
    aged = card(title=LONG, age=Age(5, LONG))
    lines = tuple(Line(aged, answer, "maybe") for answer in answers)
    wide = unit(unreadable=LONG, serial="x")
    assert not too_long(plate(Plate(wide, lines), True, plain))


# Searches


def asked(**given_: Any) -> Asked:
    return Asked(**{"text": "hums", **given_})


def test_results_carry_number_kind_verdict_title_and_reason() -> None:
    shown = found(
        Found(
            asked(words=("hums",), codes=("E21",)),
            unit(),
            (Result(card("A"), 1.0, "code E21", YES), Result(card("B"), 0.5, '"hums"', MAYBE)),
        ),
        plain,
    )
    blocks = shown.split("\n\n")
    assert blocks[1] == "Looked for: code E21; hums"
    assert blocks[2] == "A  repair  applies\n  Hums\n    matches: code E21"
    assert blocks[3].splitlines()[0] == "B  repair  may apply"
    assert "settled by the digit" in blocks[3]
    assert "--all" in blocks[4]


def test_without_a_unit_no_verdict_is_told() -> None:
    shown = found(Found(asked(words=("hums",)), None, (Result(card("A"), 1.0, "x"),)), plain)
    assert "A  repair\n  Hums" in shown
    assert "--all" not in shown


def test_what_does_not_apply_says_why_where_it_is_asked_for() -> None:
    result = Result(card("A"), 1.0, "x", NO)
    shown = found(Found(asked(), unit(), (result,)), plain, everything=True)
    assert "A  repair  does not apply" in shown
    assert "built after 2021" in shown
    assert "--all" not in shown


def test_a_superseded_bulletin_names_its_successor() -> None:
    result = Result(card("A", superseded_by="B"), 1.0, "its number; superseded by B")
    assert "  superseded by B\n" in found(Found(asked(), None, (result,)), plain)


def test_results_that_were_cut_are_told_of() -> None:
    results = tuple(Result(card(f"A{i}"), 1.0, "") for i in range(3))
    assert "--limit 6" in found(Found(asked(), None, results), plain, more=True)
    assert "--limit" not in found(Found(asked(), None, results), plain)


def test_nothing_found_says_what_was_looked_for_and_why_nothing_came() -> None:
    shown = found(
        Found(asked(words=("qqq",), quotes=(("not", "there"),)), None, (), "no bulletin has it"),
        plain,
    )
    assert shown == 'Looked for: "not there"; qqq\n\nNothing found: no bulletin has it.'


def test_nothing_in_a_search_is_wider_than_the_screen() -> None:
    answers = (Answer("yes", LONG), Answer("maybe", LONG, LONG), Answer("no", LONG))
    wide = card("B-" + "9" * 30, title=LONG)
    results = tuple(Result(wide, 1.0, LONG, each) for each in answers)
    shown = found(Found(asked(words=tuple(LONG.split())), unit(), results, LONG), plain, True, True)
    assert not too_long(shown)


# Parts


def answer(**given_: Any) -> dict[str, Any]:
    line = {"number": "A-2", "quantity": 1, "name": "Pump", "status": "current", "models": []}
    return {**no_order("A-1"), "order": [line], **given_}


def test_an_order_in_full() -> None:
    shown = order(
        answer(
            order=[
                {
                    "number": "A-2",
                    "quantity": 2,
                    "name": "Pump",
                    "status": "running-out",
                    "models": ["TD45?", "TD60?"],
                },
                {"number": "A-9", "quantity": 1, "name": "", "status": "current", "models": []},
            ],
            choose=True,
            chain=[{"from": "A-1", "to": "A-2", "relation": "forward", "since": "2019-W08"}],
            interchange="forward",
            coming=[{"number": "A-3", "since": "2027"}, {"number": "A-4", "since": None}],
            notes=["Longer screws"],
            bulletins=["B-1", "B-2"],
        ),
        plain,
    )
    assert shown.split("\n\n") == [
        "Order one of these, by model (asked: A-1)\n"
        "  2 x A-2  Pump\n      running out; for TD45?, TD60?\n  1 x A-9",
        "How it came to this\n  A-1 -> A-2  (new for old, since 2019-W08)",
        "Interchange: the new one replaces the old, never the other way.",
        "Coming, not to be had yet\n  A-3  from 2027\n  A-4",
        "Notes\n  - Longer screws",
        "Bulletins: B-1, B-2",
    ]


@pytest.mark.parametrize(
    ("interchange", "said"),
    [
        ("both", "each stands in for the other"),
        ("forward", "never the other way"),
        ("none", "the part itself has changed"),
    ],
)
def test_interchange_in_words(interchange: str, said: str) -> None:
    step = {"from": "A", "to": "B", "relation": "same", "since": None}
    assert said in order(answer(interchange=interchange, chain=[step]), plain)


def test_a_current_part_is_ordered_as_it_is() -> None:
    shown = order(answer(asked="a 2"), plain)
    assert shown.endswith("\n\nNothing has replaced it.")
    assert "Interchange" not in shown


@pytest.mark.parametrize(
    ("relation", "said"),
    [
        ("same", "either will do"),
        ("forward", "new for old"),
        ("kit", "in a kit now"),
        ("changed", "part changed"),
    ],
)
def test_the_steps_say_how_one_number_stands_to_the_next(relation: str, said: str) -> None:
    step = {"from": "A", "to": "B", "relation": relation, "since": None}
    assert f"A -> B  ({said})" in order(answer(chain=[step], interchange="both"), plain)


def test_nothing_to_order_is_said_in_one_line() -> None:
    assert order(no_order("A-1"), plain) == "A-1: nothing to order."


def test_nothing_in_an_order_is_wider_than_the_screen() -> None:
    number = "HR-310-" + "4120" * 4
    line = {
        "number": number,
        "quantity": 1000,
        "name": LONG,
        "status": "running-out",
        "models": [f"TD{i}" for i in range(50)],
    }
    step = {"from": number, "to": number + "9" * 9, "relation": "changed", "since": "2019-W08"}
    shown = order(
        answer(order=[line], chain=[step], notes=[LONG], bulletins=["2024-001"] * 30), plain
    )
    assert not too_long(shown)


def test_colour_moves_no_line_break() -> None:
    line = {"number": "A-2", "quantity": 1, "name": LONG, "status": "current", "models": []}
    styled = order(answer(order=[line]), click.style)
    assert "\x1b[1mA-2\x1b[0m" in styled
    assert click.unstyle(styled) == order(answer(order=[line]), plain)


@pytest.mark.parametrize("empty", [nothing_found("x"), no_order("x")])
def test_empty_answers_have_the_keys_of_the_contract(empty: dict[str, Any]) -> None:
    assert empty["asked"] == "x"
    wanted = {"read_as", "results"} if "results" in empty else set(answer())
    assert wanted <= empty.keys()


def test_today_is_no_part_of_what_is_shown() -> None:
    assert str(date.today().year + 1) not in unit_line(unit(), plain)
