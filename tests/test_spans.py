"""Spans: every day of production judged by itself, runs of equal days put together."""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import date, timedelta
from itertools import pairwise

import pytest

from kb.applies import answer
from kb.dates import Days, parse_days
from kb.folding import fold
from kb.prefixes import compose
from kb.records import Block, Count, Family, SchemeUse, SerialRange
from kb.serials import uses_of
from kb.spans import Span, Sweep, for_family, prefix_table, spans
from kb.units import make_unit
from tests.random_blocks import FAMILIES, TODAY, WHOLE, WORLD, random_where
from tests.shared_cases import load, tables
from tests.slow_units import MAYBE, NO, YES, SlowUnit, inside, judge

HOUSE = tables(load("applies.json")["house"])
TARN = HOUSE.families["Tarn"]
NOW = date(2026, 11, 25)
Blocks = Mapping[str, tuple[Block, ...]]


def _of(blocks: Blocks, model: str = "TD45A", today: date = NOW) -> tuple[Span, ...]:
    return spans(TARN, model, blocks, HOUSE, today)


def _built(text: str, **more: tuple[str, ...]) -> tuple[Block, ...]:
    return (Block(families=("Tarn",), built=parse_days(text), **more),)  # type: ignore[arg-type]


# ---- Against every day ----------------------------------------------------------------------


def _day_units(family: Family, model: str) -> list[SlowUnit]:
    """Return a unit for each day of production, known by model and day alone."""
    schemes = uses_of(family, WORLD.schemes)
    units = []
    for day in WHOLE:
        if day <= TODAY and inside(day, family.produced):
            known = [frozenset(scheme.plants) for scheme, used in schemes if inside(day, used)]
            plants = frozenset().union(*known) if known and all(known) else None
            units.append(SlowUnit(model, family, schemes, [day], plants, None, None, TODAY, WHOLE))
    return units


def _slow_spans(blocks: Blocks, family: Family, model: str) -> list[list[object]]:
    found: list[list[object]] = []
    for unit in _day_units(family, model):
        said = {n: max((judge(b, unit) for b in where), default=NO) for n, where in blocks.items()}
        now = [[n for n in said if said[n] == YES], [n for n in said if said[n] == MAYBE]]
        if not found or found[-1][2:] != now:
            found.append([unit.days[0], unit.days[0], *now])
        found[-1][1] = unit.days[0]
    return found


@pytest.mark.parametrize("seed", range(9))
def test_spans_are_the_runs_of_days_with_equal_answers(seed: int) -> None:
    rng = random.Random(seed)
    family = FAMILIES[seed % 3]
    model = rng.choice(family.models)
    blocks = {f"b{n}": random_where(rng, serials=n < 2) for n in range(5)}
    found = spans(family, model, blocks, WORLD, TODAY)
    assert [[s.days.first, s.days.last, [*s.yes], [*s.maybe]] for s in found] == _slow_spans(
        blocks, family, model
    )


@pytest.mark.parametrize("seed", range(30))
def test_spans_share_out_production_under_names_of_their_own(seed: int) -> None:
    rng = random.Random(1000 + seed)
    family = rng.choice(FAMILIES)
    blocks = {f"b{n}": random_where(rng) for n in range(8)}
    found = spans(family, rng.choice(family.models), blocks, WORLD, TODAY)
    for before, after in pairwise(found):
        assert before.days.last and after.days.first == before.days.last + timedelta(days=1)
        assert (before.yes, before.maybe) != (after.yes, after.maybe)
    names = [span.name.lower() for span in found]
    assert len(set(names)) == len(names)
    assert all(fold(name.partition("-")[0]) == name.partition("-")[0].upper() for name in names)
    assert all(len(span.settle) == len(span.maybe) and all(span.settle) for span in found)


@pytest.mark.parametrize("seed", range(12))
def test_a_unit_of_the_span_is_never_told_otherwise(seed: int) -> None:
    """Where a span says yes, so does the answer for a unit of that prefix; where no, no."""
    rng = random.Random(2000 + seed)
    blocks = {f"b{n}": random_where(rng) for n in range(5)}
    family = WORLD.families["Scree"]
    for span in spans(family, "SD7", blocks, WORLD, TODAY):
        row = span.rows[0]
        if not row.first_whole:
            continue
        unit = make_unit(WORLD, "SD7", f"{row.first}07", TODAY)
        for number, where in blocks.items():
            found = answer(where, unit, WORLD, TODAY).applies
            if found == "yes":
                assert number in (*span.yes, *span.maybe)
            if found == "no":
                assert number not in span.yes


# ---- By hand --------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(12))
def test_what_one_model_is_told_does_not_hang_on_the_models_before_it(seed: int) -> None:
    rng = random.Random(5000 + seed)
    blocks = {f"b{n}": random_where(rng) for n in range(12)}
    for family in FAMILIES:
        sweep = Sweep(family, blocks, WORLD, TODAY)
        alone = [spans(family, model, blocks, WORLD, TODAY) for model in family.models]
        assert [sweep.spans(model) for model in family.models] == alone


def test_ranges_cut_production_into_named_stretches() -> None:
    found = _of({"A": _built("2020-W10..2020-W30"), "B": _built("2020-W20..")})
    assert [(s.name, s.days, s.yes) for s in found] == [
        ("KH35", Days(date(2016, 9, 1), date(2020, 3, 1)), ()),
        ("KM10", parse_days("2020-W10..2020-W19"), ("A",)),
        ("KM20", parse_days("2020-W20..2020-W30"), ("A", "B")),
        ("KM31", Days(date(2020, 7, 27), NOW), ("B",)),
    ]
    assert [span.latest for span in found] == [False, False, False, True]


def test_without_bulletins_all_of_production_is_one_span() -> None:
    (only,) = _of({})
    assert (only.days, only.yes, only.maybe) == (Days(date(2016, 9, 1), NOW), (), ())


def test_bulletins_of_other_models_do_not_cut() -> None:
    other = (Block(models=("TD60*",), built=parse_days("2020")),)
    assert len(_of({"A": other, "B": (Block(families=("Scree",)),)})) == 1


def test_a_range_that_begins_inside_a_week_gets_a_name_of_its_own() -> None:
    found = _of({"A": _built("2020-W10.."), "B": _built("2020-03-04..")})
    assert [span.name for span in found] == ["KH35", "KM10", "KM10-2020-03-04"]
    (monday, wednesday) = found[1].rows[0], found[2].rows[0]
    assert (monday.first, monday.last, monday.first_whole, monday.last_whole) == (
        "KM10",
        "KM10",
        True,
        False,
    )
    assert (wednesday.first, wednesday.first_whole) == ("KM10", False)


def test_revision_plant_and_serials_make_a_maybe_that_says_what_to_look_for() -> None:
    found = _of(
        {
            "R": (Block(families=("Tarn",), revision=Count(3, None)),),
            "P": (Block(families=("Tarn",), plants=("L",)),),
            "S": (Block(serials=(SerialRange("KM1000001", "KM1099999"),)),),
        }
    )
    assert [span.maybe for span in found] == [("R", "P"), ("R", "P", "S"), ("R", "P")]
    assert found[1].days == parse_days("2020-W10")
    assert found[1].settle == (
        "the digit behind the model number: 3 or higher",
        "the serial: plant L",
        "the serial: KM1000001 to KM1099999",
    )


def test_an_exception_cuts_too() -> None:
    where = (Block(families=("Tarn",), but_not=(Block(built=parse_days("2020")),)),)
    assert [(s.days.first, s.yes) for s in _of({"A": where})] == [
        (date(2016, 9, 1), ("A",)),
        (date(2020, 1, 1), ()),
        (date(2021, 1, 1), ("A",)),
    ]


def test_neighbours_with_the_same_answer_are_one_span() -> None:
    where = _built("2020-W10..2020-W19") + _built("2020-W20..2020-W30")
    assert [s.yes for s in _of({"A": where})] == [(), ("A",), ()]


def test_production_to_come_has_no_spans_yet() -> None:
    assert spans(HOUSE.families["Cairn"], "CW9D", {}, HOUSE, NOW) == ()


def test_production_that_has_ended_leaves_no_latest_span() -> None:
    found = spans(HOUSE.families["Scree"], "SD7V", {}, HOUSE, NOW)
    # 1 January 2010 was a Friday of week 53 of 2009.
    assert [(s.name, s.days, s.latest) for s in found] == [
        ("0953", parse_days("2010..2019"), False)
    ]


def test_a_start_of_production_that_is_not_told_is_the_first_known_day() -> None:
    family = Family(
        name="Tarn",
        product="dishwasher",
        models=("TD45A",),
        produced=parse_days("..2024"),
        schemes=(SchemeUse("hollin", parse_days("2012..")),),
    )
    (only,) = spans(family, "TD45A", {}, HOUSE, NOW)
    assert only.days == parse_days("2012..2024")


def test_without_a_scheme_the_day_is_the_name() -> None:
    family = Family(
        name="Tarn", product="dishwasher", models=("X1",), produced=parse_days("2020.."), schemes=()
    )
    (only,) = spans(family, "X1", {}, HOUSE, NOW)
    assert (only.name, only.rows) == ("2020-01-01", ())


def test_prefixes_are_told_by_scheme_and_plant_where_each_was_in_use() -> None:
    uses = uses_of(HOUSE.families["Moraine"], HOUSE.schemes)
    rows = prefix_table(parse_days("2021-05..2021-12"), uses)
    assert [(r.scheme, r.plant, r.first, r.last, r.days.last) for r in rows] == [
        ("fell", "K", "21121K", "21181K", date(2021, 6, 30)),
        ("fell", "S", "21121S", "21181S", date(2021, 6, 30)),
        ("beck", "L", "L181", "L521", date(2021, 12, 31)),
        ("beck", "S", "S181", "S521", date(2021, 12, 31)),
    ]
    assert [r.plant_name for r in rows[:2]] == ["Kirkholm works", "Stainby works"]


def test_sifting_keeps_what_is_open_to_a_model_of_the_family() -> None:
    kept = for_family(
        TARN,
        {
            "A": (Block(models=("TD60*",)),),
            "B": (Block(families=("Scree",)),),
            "C": (Block(families=("Scree",)), Block(families=("Tarn",))),
            "D": (Block(models=("SD*",)),),
        },
    )
    assert list(kept) == ["A", "C"]


# ---- From the plate to the page -------------------------------------------------------------


@pytest.mark.parametrize("seed", range(10))
def test_the_page_found_by_a_units_prefix_says_what_the_answer_for_the_unit_says(
    seed: int,
) -> None:
    """A unit's day lies in one span; where its whole prefix does, page and answer agree."""
    rng = random.Random(3000 + seed)
    scheme = WORLD.schemes["months"]
    blocks = {f"b{n}": random_where(rng, serials=False) for n in range(5)}
    found = spans(WORLD.families["Scree"], "SD9", blocks, WORLD, TODAY)
    for _ in range(12):
        day = date(2017, 1, 1) + timedelta(days=rng.randrange(5 * 365))
        serial = compose(scheme, "", day, rng.randrange(100))
        unit = make_unit(WORLD, "SD9", serial, TODAY)
        (span,) = [each for each in found if day in each.days]
        (reading,) = unit.readings
        for number, where in blocks.items():
            told = answer(where, unit, WORLD, TODAY)
            said = "yes" if number in span.yes else "maybe" if number in span.maybe else "no"
            if span.days.covers(reading.built):
                assert told.applies == said, (serial, where)
            elif told.applies != "maybe":
                assert said in (told.applies, "maybe")


@pytest.mark.parametrize("seed", range(10))
def test_the_prefixes_of_all_spans_name_every_day_of_each_plant_once(seed: int) -> None:
    rng = random.Random(4000 + seed)
    family = FAMILIES[seed % 3]
    blocks = {f"b{n}": random_where(rng) for n in range(5)}
    uses = uses_of(family, WORLD.schemes)
    rows = [r for s in spans(family, family.models[0], blocks, WORLD, TODAY) for r in s.rows]
    for scheme, used in uses:
        for plant in {row.plant for row in rows if row.scheme == scheme.name}:
            mine = [r.days for r in rows if (r.scheme, r.plant) == (scheme.name, plant)]
            for before, after in pairwise(mine):
                assert before.last and after.first == before.last + timedelta(days=1)
            assert (mine[0].first, mine[-1].last) == (used.first, min(used.last or TODAY, TODAY))
