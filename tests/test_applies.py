"""Answers for a unit: shared cases, a slow judge that tries every day, and what falls due."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.applies import answer, can_apply, due, model_matches, possible_days
from kb.dates import Days, parse_days
from kb.records import Age, Answer, Block, Unit
from kb.serials import uses_of
from kb.units import make_unit
from tests.random_blocks import FAMILIES, TODAY, WHOLE, WORLD, random_serial, random_where
from tests.shared_cases import block, day, load, tables
from tests.slow_units import SlowUnit, fits, inside, slow_answer, slow_readings

SHARED = load("applies.json")
HOUSE = tables(SHARED["house"])
NOW = day(SHARED["today"])


def _answer(case: dict[str, Any]) -> Answer:
    unit = make_unit(HOUSE, case["model"], case.get("serial"), NOW)
    return answer(tuple(block(entry) for entry in case["where"]), unit, HOUSE, NOW)


@pytest.mark.parametrize("case", SHARED["cases"], ids=lambda case: case["name"])
def test_the_answer_and_its_reason(case: dict[str, Any]) -> None:
    found = _answer(case)
    assert found.applies == case["applies"]
    assert case["why"] in found.why
    assert case.get("settle", "") in found.settle


@pytest.mark.parametrize("case", SHARED["cases"], ids=lambda case: case["name"])
def test_a_maybe_and_only_a_maybe_says_what_would_settle_it(case: dict[str, Any]) -> None:
    found = _answer(case)
    assert bool(found.settle) == (found.applies == "maybe")


# ---- Against every day, plant and revision ---------------------------------------------------


def ways_of(unit: Unit) -> list[SlowUnit]:
    """Return every way the unit can be, found without the product's readings."""
    family = unit.family
    schemes = uses_of(family, WORLD.schemes)
    typed = "".join(c for c in unit.serial.upper() if c.isalnum())
    readings = [
        (scheme, found)
        for scheme, used in schemes
        for found in slow_readings(
            typed, scheme, Days(used.first, min(used.last or TODAY, TODAY)), WHOLE
        )
    ]
    common = SlowUnit(
        model=unit.model,
        family=family,
        schemes=schemes,
        days=[d for d in WHOLE if d <= TODAY and inside(d, family.produced)],
        plants=_united([frozenset(scheme.plants) for scheme, _ in schemes]),
        revision=unit.revision,
        reading=None,
        today=TODAY,
        whole=WHOLE,
    )
    return [
        replace(
            common,
            days=found.built,
            plants=frozenset({found.plant}) if found.plant else frozenset(scheme.plants) or None,
            reading=found,
        )
        for scheme, found in readings
    ] or [common]


def _united(tables: list[frozenset[str]]) -> frozenset[str] | None:
    return frozenset().union(*tables) if all(tables) else None


@pytest.mark.parametrize("seed", range(16))
def test_answers_are_those_of_a_judge_that_tries_every_day(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(8):
        family = rng.choice(FAMILIES)
        model = rng.choice(family.models) + rng.choice(["", "", "2", "/5"])
        unit = make_unit(WORLD, model, random_serial(rng, family), TODAY)
        ways = ways_of(unit)
        for _ in range(8):
            where = random_where(rng)
            found = answer(where, unit, WORLD, TODAY)
            assert found.applies == slow_answer(where, ways, unit.serial), (where, unit)
            assert bool(found.settle) == (found.applies == "maybe"), (where, unit)
            assert found.why


def test_the_random_units_meet_every_answer_and_several_readings() -> None:
    rng = random.Random("all kinds")
    answers, readings = set(), set()
    for _ in range(600):
        family = rng.choice(FAMILIES)
        unit = make_unit(WORLD, rng.choice(family.models), random_serial(rng, family), TODAY)
        readings.add(len(unit.readings))
        answers.add(answer(random_where(rng), unit, WORLD, TODAY).applies)
    assert answers == {"yes", "no", "maybe"}
    assert readings >= {0, 1, 2, 3}


# ---- Models ---------------------------------------------------------------------------------


@given(
    st.text(alphabet="AB1*?", max_size=5),
    st.text(alphabet="AB1", max_size=6),
)
def test_patterns_match_as_trying_every_way_does(pattern: str, model: str) -> None:
    assert model_matches(pattern, model) == fits(pattern, model)


@pytest.mark.parametrize(
    ("pattern", "model", "matches"),
    [
        ("td-45*", "TD45A", True),
        ("TD45A", "td 45 a", True),
        ("[A-Z]D45A", "TD45A", False),
        ("TD45+", "TD4555", False),
        ("TD45", "TD45A", False),
        ("D45A", "TD45A", False),
    ],
)
def test_only_star_and_question_mark_are_special(pattern: str, model: str, matches: bool) -> None:
    assert model_matches(pattern, model) == matches


def test_a_block_that_names_nothing_is_open_to_every_model() -> None:
    assert can_apply([Block()], "Tarn", "TD45A")
    assert not can_apply([Block(families=("Scree",)), Block(models=("SD*",))], "Tarn", "TD45A")
    assert not can_apply([], "Tarn", "TD45A")


def test_no_block_at_all_applies_to_nothing() -> None:
    assert answer((), make_unit(HOUSE, "TD45A", None, NOW), HOUSE, NOW).applies == "no"


# ---- Age ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("serial", "years", "today", "found"),
    [
        ("KM1400001", 5, "2026-11-25", "yes"),  # built 2020-03-30..04-05
        ("KM1400001", 5, "2025-04-05", "yes"),
        ("KM1400001", 5, "2025-04-04", "maybe"),
        ("KM1400001", 5, "2025-03-30", "maybe"),
        ("KM1400001", 5, "2025-03-29", "no"),
        ("KM1400001", 0.5, "2020-10-05", "yes"),
        ("KM1400001", 0.5, "2020-09-29", "no"),
        ("KM1400001", 2.5, "2022-10-05", "yes"),
        ("KM0900001", 1, "2021-02-28", "maybe"),  # 24 February to 1 March 2020, a leap day inside
        ("KM0900001", 1, "2021-03-01", "yes"),
        ("", 5, "2026-11-25", "maybe"),
        ("", 5, "2021-08-31", "no"),  # production began on 2016-09-01
        ("", 11, "2026-11-25", "no"),
        ("", 0, "2026-11-25", "yes"),
    ],
)
def test_advice_falls_due_with_age(serial: str, years: float, today: str, found: str) -> None:
    unit = make_unit(HOUSE, "TD45A", serial, day(today))
    assert due(Age(years, "check the hoses"), unit, day(today)) == found


def test_readings_that_disagree_make_it_perhaps_due() -> None:
    unit = make_unit(HOUSE, "MR30F", "S07300412", NOW)
    assert [r.built.first for r in unit.readings] == [date(2013, 2, 12), date(2023, 2, 12)]
    assert due(Age(5, "renew the seal"), unit, NOW) == "maybe"
    assert due(Age(2, "renew the seal"), unit, NOW) == "yes"
    assert due(Age(20, "renew the seal"), unit, NOW) == "no"


def test_a_family_given_up_long_ago_is_due_without_a_serial() -> None:
    unit = make_unit(HOUSE, "SD7V", None, NOW)
    assert due(Age(5, "clean the duct"), unit, NOW) == "yes"


def test_planned_production_is_what_can_be_known_of_a_model_to_come() -> None:
    assert possible_days(HOUSE.families["Cairn"], NOW) == parse_days("2027..")
    assert possible_days(HOUSE.families["Scree"], NOW) == parse_days("2010..2019")
    assert possible_days(HOUSE.families["Tarn"], NOW) == Days(date(2016, 9, 1), NOW)


@pytest.mark.parametrize("seed", range(10))
def test_due_is_what_every_possible_day_says(seed: int) -> None:
    rng = random.Random(3000 + seed)
    for _ in range(20):
        family = rng.choice(FAMILIES)
        unit = make_unit(WORLD, family.models[0], random_serial(rng, family), TODAY)
        years = rng.choice([1, 2.5, 4, 7])
        told = set()
        for way in ways_of(unit):
            come = {_come_of_age(d, round(years * 12)) <= TODAY for d in way.days}
            told.add("maybe" if len(come) == 2 else "yes" if True in come else "no")
        found = told.pop() if len(told) == 1 else "maybe"
        assert due(Age(years, "look"), unit, TODAY) == found


def _come_of_age(day: date, months: int) -> date:
    """Count the months off one by one, then step back to a day that the month has."""
    year, month = day.year, day.month
    for _ in range(months):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    for number in range(day.day, 27, -1):
        try:
            return date(year, month, number)
        except ValueError:
            continue
    return date(year, month, day.day)


# ---- What a full plate is worth -------------------------------------------------------------

EXACT = tables(
    {
        "schemes": {"dated": {"layout": "P YYYY MM DD NN", "plants": {"K": "one", "L": "two"}}},
        "families": {"Tarn": {"models": ["TD45"], "produced": "2015..", "schemes": {"dated": ""}}},
    }
)


@pytest.mark.parametrize("seed", range(10))
def test_a_unit_known_to_plant_day_and_revision_is_never_a_maybe(seed: int) -> None:
    rng = random.Random(4000 + seed)
    for _ in range(60):
        day_built = date(rng.randint(2015, 2023), rng.randint(1, 12), rng.randint(1, 28))
        plate = f"{rng.choice('KL')} {day_built:%Y-%m-%d} {rng.randrange(100):02}"
        unit = make_unit(EXACT, f"TD45/{rng.randrange(9)}", plate, TODAY)
        found = answer(random_where(rng), unit, EXACT, TODAY)
        assert found.applies in ("yes", "no")
        assert found.settle == ""


@pytest.mark.parametrize("seed", range(10))
def test_knowing_more_never_turns_a_yes_into_a_no_or_back(seed: int) -> None:
    rng = random.Random(5000 + seed)
    for _ in range(16):
        where = random_where(rng)
        bare = answer(where, make_unit(EXACT, "TD45", None, TODAY), EXACT, TODAY).applies
        day_built = date(rng.randint(2015, 2023), rng.randint(1, 12), rng.randint(1, 28))
        plate = f"{rng.choice('KL')}{day_built:%Y%m%d}{rng.randrange(100):02}"
        unit = make_unit(EXACT, f"TD45/{rng.randrange(1, 9)}", plate, TODAY)
        full = answer(where, unit, EXACT, TODAY).applies
        assert bare in ("maybe", full), where


# ---- Age at leap days and in parts of a year -------------------------------------------------

BY_DAY = tables(
    {
        "schemes": {"dated": {"layout": "YYYY MM DD N"}},
        "families": {"Tarn": {"models": ["TD45"], "produced": "2000..", "schemes": {"dated": ""}}},
    }
)


@pytest.mark.parametrize(
    ("built", "years", "last_day_before"),
    [
        ("20200229", 1, "2021-02-27"),  # a leap day has its birthday on 28 February
        ("20200229", 4, "2024-02-28"),
        ("20200228", 1, "2021-02-27"),
        ("20200301", 1, "2021-02-28"),
        ("20190131", 1 / 12, "2019-02-27"),
        ("20190131", 0.25, "2019-04-29"),
        ("20190815", 0.5, "2020-02-14"),
        ("20190815", 1.5, "2021-02-14"),
        ("20190815", 2.25, "2021-11-14"),
        ("20181231", 1, "2019-12-30"),
        ("20190815", 10, "2029-08-14"),
    ],
)
def test_a_unit_of_a_known_day_comes_of_age_on_one_day(
    built: str, years: float, last_day_before: str
) -> None:
    before = day(last_day_before)
    for today, found in ((before, "no"), (date.fromordinal(before.toordinal() + 1), "yes")):
        unit = make_unit(BY_DAY, "TD45", f"{built}1", today)
        assert unit.readings
        assert due(Age(years, "renew the hose"), unit, today) == found


@given(st.dates(date(2000, 1, 1), date(2020, 12, 31)), st.integers(0, 60), st.integers(0, 60))
def test_who_is_due_at_a_later_age_was_due_at_an_earlier_one(
    built: date, one: int, other: int
) -> None:
    unit = make_unit(BY_DAY, "TD45", f"{built:%Y%m%d}1", NOW)
    early, late = sorted((one, other))
    if due(Age(late / 4, "look"), unit, NOW) == "yes":
        assert due(Age(early / 4, "look"), unit, NOW) == "yes"
