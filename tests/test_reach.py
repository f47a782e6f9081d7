"""What a bulletin can reach: boxes held against every unit of a small world, and words by hand."""

from __future__ import annotations

import random
from collections.abc import Sequence
from datetime import date

import pytest

from kb.areas import Area
from kb.dates import Days, parse_days
from kb.reach import Box, Reach
from kb.records import Block, Count, SerialRange
from kb.serials import uses_of
from kb.units import Reference
from tests.random_blocks import FAMILIES, TODAY, WORLD, random_where
from tests.shared_cases import block, load, tables
from tests.slow_units import YES, SlowUnit, inside, judge

HOUSE = tables(load("applies.json")["house"])
NOW = date(2026, 11, 25)


def reach(where: Sequence[Block], house: Reference, today: date) -> frozenset[Box]:
    return Reach(house, today).boxes(where)


def is_empty(where: Sequence[Block], house: Reference, today: date) -> bool:
    return Reach(house, today).is_empty(where)


def uncovered(
    old: Sequence[Block], new: Sequence[Block], house: Reference, today: date
) -> list[str]:
    return Reach(house, today).uncovered(old, new)


def _where(*entries: dict[str, object]) -> tuple[Block, ...]:
    return tuple(block(entry) for entry in entries)


# ---- Against every unit ---------------------------------------------------------------------


def _some_units(rng: random.Random) -> list[SlowUnit]:
    """Return units known to the last detail, of any model, plant, revision and day."""
    units: list[SlowUnit] = []
    while len(units) < 250:
        family = rng.choice(FAMILIES)
        day = date(rng.randint(2014, 2026), rng.randint(1, 12), rng.randint(1, 28))
        schemes = [(s, used) for s, used in uses_of(family, WORLD.schemes) if inside(day, used)]
        plants = sorted({plant for scheme, _ in schemes for plant in scheme.plants})
        if inside(day, family.produced) and plants:
            units.append(
                SlowUnit(
                    model=rng.choice(family.models),
                    family=family,
                    schemes=schemes,
                    days=[day],
                    plants=frozenset({rng.choice(plants)}),
                    revision=rng.randrange(10),
                    reading=None,
                    today=TODAY,
                    whole=[day],
                )
            )
    return units


def _holds(box: Box, unit: SlowUnit) -> bool:
    return (
        box.model == unit.model
        and unit.plants is not None
        and box.plant in unit.plants
        and unit.revision is not None
        and unit.revision in box.revision
        and unit.days[0] in box.days
    )


def _applies(where: tuple[Block, ...], unit: SlowUnit) -> bool:
    return any(judge(block, unit) == YES for block in where)


@pytest.mark.parametrize("seed", range(25))
def test_the_boxes_hold_exactly_the_units_to_which_it_applies(seed: int) -> None:
    rng = random.Random(seed)
    units = _some_units(rng)
    for _ in range(6):
        where = random_where(rng, serials=False)
        boxes = reach(where, WORLD, TODAY)
        for unit in units:
            assert sum(_holds(box, unit) for box in boxes) == _applies(where, unit), where
        assert is_empty(where, WORLD, TODAY) == (not boxes)


@pytest.mark.parametrize("seed", range(25))
def test_nothing_is_uncovered_only_where_no_unit_is(seed: int) -> None:
    rng = random.Random(100 + seed)
    units = _some_units(rng)
    for _ in range(6):
        old, new = random_where(rng, serials=False), random_where(rng, serials=False)
        left = uncovered(old, new, WORLD, TODAY)
        if any(_applies(old, unit) and not _applies(new, unit) for unit in units):
            assert left
        assert uncovered(old, old, WORLD, TODAY) == []
        assert uncovered(old, (*new, *old), WORLD, TODAY) == []


def test_areas_taken_apart_hold_each_point_once() -> None:
    rng = random.Random("areas")
    for _ in range(300):
        a, b = (_area(rng) for _ in range(2))
        pieces = list(a.without(b))
        for x in range(8):
            for y in range(8):
                wanted = _has(a, x, y) and not _has(b, x, y)
                assert sum(_has(piece, x, y) for piece in pieces) == wanted


def _area(rng: random.Random) -> Area:
    low, high = sorted(rng.choices(range(8), k=2))
    start, end = sorted(rng.choices(range(8), k=2))
    return Area(low, high, start, end)


def _has(area: Area, x: int, y: int) -> bool:
    return area.low <= x <= area.high and area.start <= y <= area.end


# ---- By hand --------------------------------------------------------------------------------


def test_a_box_is_model_plant_revisions_and_days() -> None:
    where = _where({"models": ["TD45A"], "plant": ["K"], "revision": "2..", "built": "2020"})
    assert reach(where, HOUSE, NOW) == {Box("TD45A", "K", Count(2, None), parse_days("2020"))}


def test_open_production_has_no_end_and_today_cuts_nothing() -> None:
    boxes = reach(_where({"models": ["TD45A"], "plant": ["K"], "built": "2030.."}), HOUSE, NOW)
    assert boxes == {Box("TD45A", "K", Count(), parse_days("2030.."))}


@pytest.mark.parametrize(
    "entry",
    [
        {"family": ["Tarn"], "built": "..2015"},
        {"family": ["Tarn"], "plant": ["S"]},
        {"family": ["Tarn"], "models": ["SD7V"]},
        {"family": ["Unknown"]},
        {"family": ["Tarn"], "serials": ["18045K0117..18046K0001"]},
        {"family": ["Tarn"], "built": "2023", "serials": ["KP1400001..KP1400099"]},
        {"family": ["Tarn"], "built": "2020", "except": [{"built": "2019..2021"}]},
        {"family": ["Tarn"], "except": [{"plant": ["K"]}, {"plant": ["L"]}]},
        {"family": ["Tarn"], "except": [{"revision": "..3"}, {"revision": "4.."}]},
        {"family": ["Scree"], "built": "2020.."},
        {"family": ["Moraine"], "plant": ["K"], "built": "2022"},
    ],
)
def test_what_can_apply_to_no_unit_is_empty(entry: dict[str, object]) -> None:
    assert is_empty(_where(entry), HOUSE, NOW)


@pytest.mark.parametrize(
    "entry",
    [
        {"family": ["Tarn"]},
        {"family": ["Cairn"], "built": "2028"},
        {"family": ["Scree"], "plant": ["K"]},  # its layout tells no plant: it may be K
        {"family": ["Tarn"], "serials": ["KP1400001"]},
        {"family": ["Tarn"], "except": [{"serials": ["KA0100001..KX5299999"]}]},
        {"models": ["*"], "except": [{"family": ["Tarn"]}]},
    ],
)
def test_what_can_apply_to_some_unit_is_not(entry: dict[str, object]) -> None:
    assert not is_empty(_where(entry), HOUSE, NOW)


@pytest.mark.parametrize(
    ("old", "new", "left"),
    [
        ({"models": ["TD45A"]}, {"family": ["Tarn"]}, []),
        ({"models": ["TD45A"]}, {"models": ["TD60A"]}, ["TD45A"]),
        ({"models": ["TD45*"]}, {"models": ["TD60A"]}, ["TD45A and TD45B"]),
        (
            {"models": ["TD45A"]},
            {"family": ["Tarn"], "built": "2020-W10.."},
            ["TD45A built before 2020-W10"],
        ),
        (
            {"models": ["TD45A"]},
            {"family": ["Tarn"], "built": "..2024-W22"},
            ["TD45A built 2024-W23 or later"],
        ),
        (
            {"models": ["TD45A"], "built": "2020-W10..2020-W30"},
            {"family": ["Tarn"], "built": "2020-W12..2021"},
            ["TD45A built 2020-W10 to 2020-W11"],
        ),
        ({"models": ["TD45A"]}, {"family": ["Tarn"], "plant": ["K"]}, ["TD45A, plant L"]),
        (
            {"models": ["TD45A"]},
            {"family": ["Tarn"], "revision": "3.."},
            ["TD45A, revision up to 2"],
        ),
        ({"family": ["Tarn"]}, {"family": ["Tarn"], "except": [{"models": ["TD60A"]}]}, ["TD60A"]),
        (
            {"family": ["Moraine"], "models": ["MR30F"]},
            {"models": ["MR30F"], "built": "..2024"},
            ["MR30F built 2025 or later, plant L or S"],
        ),
    ],
)
def test_what_is_left_uncovered_is_told_in_words(
    old: dict[str, object], new: dict[str, object], left: list[str]
) -> None:
    assert uncovered(_where(old), _where(new), HOUSE, NOW) == left


def test_serial_ranges_count_by_the_days_and_plant_of_their_ends() -> None:
    where = (Block(serials=(SerialRange("KP1400031", "KP2200100"),), models=("TD45A",)),)
    days = parse_days("2022-W14..2022-W22")
    assert reach(where, HOUSE, NOW) == {Box("TD45A", "K", Count(), days)}
    assert uncovered(where, where, HOUSE, NOW) == []


def test_days_of_production_that_no_scheme_covers_have_a_plant_unknown() -> None:
    where = _where({"models": ["SD7V"]})
    assert reach(where, HOUSE, NOW) == {Box("SD7V", None, Count(), parse_days("2010..2019"))}


def test_nothing_reaches_nothing() -> None:
    assert is_empty((), HOUSE, NOW)
    assert reach((), HOUSE, NOW) == frozenset()
    assert Days() == parse_days("..")


# ---- What is left uncovered, day by day ------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_what_is_left_uncovered_names_the_models_of_the_units_that_are(seed: int) -> None:
    """Any unit reached by the old and not by the new is of a model that is named."""
    rng = random.Random(200 + seed)
    units = _some_units(rng)
    for _ in range(4):
        old, new = random_where(rng, serials=False), random_where(rng, serials=False)
        told = " ".join(uncovered(old, new, WORLD, TODAY))
        for unit in units:
            if _applies(old, unit) and not _applies(new, unit):
                assert unit.model in told


@pytest.mark.parametrize(
    ("built", "left"),
    [
        # 1 April 2024 was a Monday: serials that tell the week have it called by week.
        ("2024-W14..", ["TD45A built before 2024-W14"]),
        ("..2024-W13", ["TD45A built 2024-W14 or later"]),
        ("2018..", ["TD45A built before 2018"]),
        ("2024-04-03..", ["TD45A built before 2024-04-03"]),
    ],
)
def test_ends_are_called_by_week_where_serials_tell_the_week(built: str, left: list[str]) -> None:
    old, new = _where({"models": ["TD45A"]}), _where({"models": ["TD45A"], "built": built})
    assert uncovered(old, new, HOUSE, NOW) == left
