from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest

from kb.dates import Days, parse_days
from kb.judge import Case, judge_blocks, plants_of
from kb.ranges import Ranges
from kb.records import Block, Count, Family, Scheme, SchemeUse, SerialRange
from kb.serials import uses_of
from kb.stretches import by_model, stretches
from tests.random_blocks import FAMILIES, WORLD, random_where
from tests.shared_cases import Tables

OLD = Scheme(name="old", layout="PYYMMNN", plants={"K": "one"}, used=parse_days("2014..2018"))
NEW = Scheme(
    name="new", layout="PYYWWNNN", plants={"K": "one", "L": "two"}, used=parse_days("2019..")
)
TARN = Family(
    name="Tarn",
    product="dishwasher",
    models=("TD45",),
    produced=parse_days("2016..2024"),
    schemes=(SchemeUse("old"), SchemeUse("new")),
)
TABLES = Tables({"Tarn": TARN}, {"old": OLD, "new": NEW})


def told(*where: Block, family: Family = TARN) -> list[tuple[str, str, str]]:
    """Return the stretches as first day, last day and answer."""
    return [
        (str(s.days.first or ""), str(s.days.last or ""), s.applies)
        for s in stretches(where, family.models[0], family, TABLES)
    ]


@pytest.mark.parametrize(
    ("where", "expected"),
    [
        ([Block()], [("2016-01-01", "2024-12-31", "yes")]),
        ([Block(families=("Cairn",))], []),
        ([Block(models=("X*",))], []),
        (
            [Block(built=parse_days("2020-03..2020-W20"))],
            [("2020-03-01", "2020-05-17", "yes")],  # ISO 8601: week 20 of 2020 ends on 17 May
        ),
        ([Block(built=parse_days("..2016-06"))], [("2016-01-01", "2016-06-30", "yes")]),
        ([Block(built=parse_days("2030.."))], []),
        ([Block(revision=Count(2))], [("2016-01-01", "2024-12-31", "maybe")]),
        (
            # Two alternatives that touch are one stretch.
            [Block(built=parse_days("2018")), Block(built=parse_days("2019"))],
            [("2018-01-01", "2019-12-31", "yes")],
        ),
        (
            [Block(built=parse_days("2018..2020"), but_not=(Block(built=parse_days("2019")),))],
            [("2018-01-01", "2018-12-31", "yes"), ("2020-01-01", "2020-12-31", "yes")],
        ),
        (
            [Block(built=parse_days("2018..2020")), Block(revision=Count(2))],
            [
                ("2016-01-01", "2017-12-31", "maybe"),
                ("2018-01-01", "2020-12-31", "yes"),
                ("2021-01-01", "2024-12-31", "maybe"),
            ],
        ),
        # Until 2018 every serial was of plant K; afterwards it may be L.
        (
            [Block(plants=("K",))],
            [("2016-01-01", "2018-12-31", "yes"), ("2019-01-01", "2024-12-31", "maybe")],
        ),
        ([Block(plants=("L",))], [("2019-01-01", "2024-12-31", "maybe")]),
        ([Block(plants=("K", "L"))], [("2016-01-01", "2024-12-31", "yes")]),
        # A range of serials is a maybe on the days that it spans: weeks 10 to 20 of 2022.
        (
            [Block(serials=(SerialRange("K2210001", "K2220999"),))],
            [("2022-03-07", "2022-05-22", "maybe")],
        ),
    ],
)
def test_when_a_bulletin_applies_in_a_models_production(
    where: list[Block], expected: list[tuple[str, str, str]]
) -> None:
    assert told(*where) == expected


def test_open_production_gives_open_ends() -> None:
    family = replace(TARN, produced=Days())
    assert told(Block(), family=family) == [("", "", "yes")]
    assert told(Block(built=parse_days("2020..")), family=family) == [("2020-01-01", "", "yes")]


def test_nothing_is_cut_to_today() -> None:
    family = replace(TARN, produced=parse_days("2016.."))
    assert told(Block(built=parse_days("2090")), family=family) == [
        ("2090-01-01", "2090-12-31", "yes")
    ]


def test_a_family_without_a_scheme_leaves_the_plant_open() -> None:
    family = replace(TARN, schemes=())
    assert told(Block(plants=("K",)), family=family) == [("2016-01-01", "2024-12-31", "maybe")]


@pytest.mark.parametrize("seed", range(8))
def test_the_sweep_agrees_with_judging_every_day_by_itself(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(15):
        where, family = random_where(rng), rng.choice(FAMILIES)
        model = rng.choice(family.models)
        found = stretches(where, model, family, WORLD)
        uses = uses_of(family, WORLD.schemes)
        for _ in range(40):
            day = date(2014, 1, 1) + timedelta(days=rng.randrange(13 * 365))
            if day not in family.produced:
                assert not [s for s in found if day in s.days]
                continue
            borne = [use for use in uses if day in use[1]]
            case = Case(
                model=model,
                family=family.name,
                ranges=Ranges(borne, None),
                built=Days(day, day),
                plants=plants_of(borne),
            )
            expected = judge_blocks(where, case)
            assert [s.applies for s in found if day in s.days] == [expected] * (expected != "no")


@pytest.mark.parametrize("seed", range(8))
def test_stretches_stand_in_order_and_apart(seed: int) -> None:
    rng = random.Random(seed + 100)
    for _ in range(40):
        family = rng.choice(FAMILIES)
        found = stretches(random_where(rng), family.models[0], family, WORLD)
        for one, other in pairwise(found):
            assert one.days.last
            assert other.days.first
            assert one.days.last < other.days.first
            touching = one.days.last + timedelta(days=1) == other.days.first
            assert not touching or one.applies != other.applies


@pytest.mark.parametrize("seed", range(60))
def test_models_that_are_reached_alike_have_the_stretches_of_each_by_itself(seed: int) -> None:
    rng = random.Random(seed)
    for family in FAMILIES:
        where = random_where(rng)
        alone = {m: stretches(where, m, family, WORLD) for m in family.models}
        assert dict(by_model(where, family.models, family, WORLD)) == alone
