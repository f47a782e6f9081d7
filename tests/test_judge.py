"""Single conditions: yes, no or maybe, one fact at a time."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from kb.dates import parse_days
from kb.judge import (
    CONDITIONS,
    Case,
    judge_block,
    judge_blocks,
    judge_built,
    judge_plant,
    judge_revision,
    judge_serials,
    plants_of,
    reaches,
)
from kb.ranges import Ranges
from kb.records import Block, Scheme, SerialRange, Verdict
from kb.serials import read_serial, uses_of
from tests.shared_cases import count, load, tables

HOUSE = tables(load("applies.json")["house"])
NOW = date(2026, 11, 25)
USES = uses_of(HOUSE.families["Tarn"], HOUSE.schemes)
UNKNOWN = Case(
    model="TD45A",
    family="Tarn",
    ranges=Ranges(USES, NOW),
    built=parse_days("2016-09..2026"),
    plants=frozenset("KL"),
)


def _known(serial: str) -> Case:
    (reading,) = read_serial(serial, USES, NOW)
    return replace(
        UNKNOWN,
        built=reading.built,
        plants=frozenset({reading.plant or ""}),
        reading=reading,
        serial=serial,
    )


@pytest.mark.parametrize(
    ("wanted", "revision", "found"),
    [
        ("2", 2, "yes"),
        ("2", 3, "no"),
        ("2..", 2, "yes"),
        ("2..", 1, "no"),
        ("..3", 3, "yes"),
        ("..3", 4, "no"),
        ("2..4", 5, "no"),
        ("2..4", None, "maybe"),
        ("0..", 0, "yes"),
        ("..", None, "yes"),
        ("0..", None, "yes"),
        ("0..3", None, "maybe"),
        ("1..", None, "maybe"),
    ],
)
def test_revision(wanted: str, revision: int | None, found: Verdict) -> None:
    case = replace(UNKNOWN, revision=revision)
    assert judge_revision(Block(revision=count(wanted)), case) == found


@pytest.mark.parametrize(
    ("wanted", "built", "found"),
    [
        ("2022-W14", "2022-W14", "yes"),
        ("2022", "2022-W14", "yes"),
        ("2022-04-05..", "2022-W14", "maybe"),
        ("..2022-04-04", "2022-W14", "maybe"),
        ("2022-04-05", "2022-W14", "maybe"),
        ("2022-W15..", "2022-W14", "no"),
        ("..2022-W13", "2022-W14", "no"),
        ("..", "2022-W14", "yes"),
    ],
)
def test_built(wanted: str, built: str, found: Verdict) -> None:
    case = replace(UNKNOWN, built=parse_days(built))
    assert judge_built(Block(built=parse_days(wanted)), case) == found


@pytest.mark.parametrize(
    ("wanted", "possible", "found"),
    [
        ("K", "K", "yes"),
        ("KL", "K", "yes"),
        ("KL", "KL", "yes"),
        ("K", "KL", "maybe"),
        ("K", "L", "no"),
        ("S", "KL", "no"),
        ("k", "K", "yes"),
    ],
)
def test_plant(wanted: str, possible: str, found: Verdict) -> None:
    case = replace(UNKNOWN, plants=frozenset(possible))
    assert judge_plant(Block(plants=tuple(wanted)), case) == found


def test_a_plant_that_nothing_tells_is_a_maybe() -> None:
    assert judge_plant(Block(plants=("K",)), replace(UNKNOWN, plants=None)) == "maybe"


@pytest.mark.parametrize(
    ("serial", "found"),
    [
        ("KP1400031", "yes"),
        ("KP1400030", "no"),
        ("KP2200100", "yes"),
        ("KP2200101", "no"),
        ("KP2000000", "yes"),
        ("LP2000000", "no"),
        ("KR2000000", "no"),
    ],
)
def test_serials(serial: str, found: Verdict) -> None:
    block = Block(serials=(SerialRange("KP1400031", "KP2200100"),))
    assert judge_serials(block, _known(serial)) == found
    assert judge_serials(block, UNKNOWN) == "maybe"


def test_any_of_several_serial_ranges_is_enough() -> None:
    two = (SerialRange("KP1400031", "KP1400031"), SerialRange("LR0100001", "LR0199999"))
    assert judge_serials(Block(serials=two), _known("LR0100500")) == "yes"
    assert judge_serials(Block(serials=two), _known("LR0200500")) == "no"


def test_dates_rule_a_serial_range_out_even_without_a_serial() -> None:
    block = Block(serials=(SerialRange("KP1400031", "KP2200100"),))
    assert judge_serials(block, replace(UNKNOWN, built=parse_days("2023"))) == "no"
    assert judge_serials(block, replace(UNKNOWN, plants=frozenset("L"))) == "no"


@pytest.mark.parametrize("name", CONDITIONS)
def test_a_condition_that_is_not_given_holds(name: str) -> None:
    assert CONDITIONS[name](Block(), UNKNOWN) == "yes"


def test_an_empty_block_holds_for_every_unit_and_no_block_for_none() -> None:
    assert judge_block(Block(), UNKNOWN) == "yes"
    assert judge_blocks((), UNKNOWN) == "no"


@pytest.mark.parametrize(
    ("block", "found"),
    [
        (Block(families=("Tarn",)), True),
        (Block(families=(" tarn ",)), True),
        (Block(families=("Scree", "Tarn"), models=("TD60A", "TD4*")), True),
        (Block(families=("Scree",), models=("TD45A",)), False),
        (Block(families=("Tarn",), models=("TD60*",)), False),
        (Block(models=("*45a",)), True),
    ],
)
def test_family_and_models_must_both_be_open(block: Block, found: bool) -> None:
    assert reaches(block, "Tarn", "TD45A") == found


def test_a_maybe_and_a_no_make_a_no_but_a_maybe_exception_a_maybe() -> None:
    maybe, no = count("3.."), parse_days("2010")
    assert judge_block(Block(revision=maybe, built=no), UNKNOWN) == "no"
    assert judge_block(Block(but_not=(Block(revision=maybe),)), UNKNOWN) == "maybe"
    assert judge_block(Block(but_not=(Block(revision=maybe, built=no),)), UNKNOWN) == "yes"
    assert judge_block(Block(but_not=(Block(models=("TD*",)),)), UNKNOWN) == "no"


def test_plants_are_those_of_all_tables_or_unknown() -> None:
    moraine = uses_of(HOUSE.families["Moraine"], HOUSE.schemes)
    assert plants_of(moraine) == frozenset("KSL")
    assert plants_of(uses_of(HOUSE.families["Scree"], HOUSE.schemes)) is None
    assert plants_of([]) is None


def test_both_ends_count_for_other_serials_of_the_same_day_and_number() -> None:
    scheme = Scheme(name="any", layout="YYMMXN", used=parse_days("2010..2026"))
    ranges = Ranges([(scheme, scheme.used)], NOW)
    block = Block(serials=(SerialRange("2203A3", "2205A7"),))
    for serial, found in {"2203B3": "yes", "2205B7": "yes", "2203B2": "no", "2205B8": "no"}.items():
        (reading,) = read_serial(serial, ranges.uses, NOW)
        case = replace(UNKNOWN, ranges=ranges, built=reading.built, reading=reading, serial=serial)
        assert judge_serials(block, case) == found, serial
