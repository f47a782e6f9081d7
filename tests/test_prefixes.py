"""Prefixes: what a day's serials begin with, and that they read back to that day."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from kb.dates import Days, parse_days
from kb.prefixes import coded_days, compose, prefix_of
from kb.records import Scheme
from kb.serials import read_serial
from tests.shared_cases import load, scheme
from tests.slow_units import calendar, stamped

SCHEMES = {name: scheme(name, entry) for name, entry in load("serials.json")["schemes"].items()}


@pytest.mark.parametrize(
    ("name", "plant", "day", "prefix"),
    [
        ("hollin", "K", "2022-04-05", "KP14"),
        ("hollin", "L", "2024-12-30", "LT01"),  # a Monday that belongs to week 1 of 2025
        ("hollin", "k", "2021-01-03", "KM53"),  # a Sunday that belongs to week 53 of 2020
        ("fell", "K", "2018-02-14", "18045K"),
        ("fell", "S", "2020-12-31", "20366S"),
        ("beck", "S", "2023-02-18", "S073"),
        ("beck", "L", "2020-12-31", "L520"),
        ("whole-date", "", "2024-02-29", "20240229"),
        ("two-letters", "", "2014-10-31", "EO"),
        ("year-only", "", "2014-10-31", "4X"),
        ("no-year", "AB", "2004-01-01", "AB"),
        ("free-plant", "Z", "2024-04-04", "Z2414"),
    ],
)
def test_a_prefix_is_the_places_before_the_number(
    name: str, plant: str, day: str, prefix: str
) -> None:
    assert prefix_of(SCHEMES[name], plant, date.fromisoformat(day)) == prefix


def test_where_the_number_comes_first_all_other_places_are_the_prefix() -> None:
    number_first = replace(SCHEMES["free-plant"], layout="NNNPYYWW")
    assert prefix_of(number_first, "Z", date(2024, 4, 4)) == "Z2414"


@pytest.mark.parametrize("name", ["hollin", "fell", "beck", "whole-date", "two-letters"])
def test_a_composed_serial_reads_back_to_its_day_plant_and_number(name: str) -> None:
    rng = random.Random(name)
    made = SCHEMES[name]
    window = made.used.meet(parse_days("2012..2026")) or Days()
    for _ in range(300):
        assert window.first and window.last
        day = window.first + timedelta(days=rng.randrange((window.last - window.first).days))
        plant = rng.choice(list(made.plants) or [""])
        number = rng.randrange(1, 1000)
        readings = read_serial(
            compose(made, plant, day, number), [(made, window)], date(2026, 12, 31)
        )
        assert any(day in reading.built for reading in readings)
        assert {reading.plant or "" for reading in readings} == {plant}
        assert {reading.sequence for reading in readings} == {number}


@pytest.mark.parametrize("name", ["hollin", "fell", "beck", "whole-date", "two-letters"])
def test_coded_days_are_all_days_around_with_the_same_serials(name: str) -> None:
    rng = random.Random(name)
    made = SCHEMES[name]
    for _ in range(60):
        day = date(rng.randint(2012, 2020), rng.randint(1, 12), rng.randint(1, 28))
        serial = compose(made, next(iter(made.plants), ""), day)
        around = calendar(day - timedelta(days=40), day + timedelta(days=40))
        same = [other for other in around if stamped(serial, made, other)]
        assert coded_days(made, day) == Days(same[0], same[-1])


def test_coded_days_of_a_year_and_of_no_date_at_all() -> None:
    assert coded_days(SCHEMES["year-only"], date(2014, 5, 5)) == parse_days("2014")
    assert coded_days(SCHEMES["no-year"], date(2004, 5, 5)) == parse_days("2001..2009")


# ---- Random schemes -------------------------------------------------------------------------

LAYOUTS = ["PYWWNNN", "YYJJJPNN", "YYYYMMDDN", "PYMNN", "WWYYPNN", "NNYYWW", "YXMPNN", "PPYYWWN"]


def _random_scheme(layout: str, rng: random.Random) -> Scheme:
    plants = {"K": "one", "L": "two"} if layout.count("P") == 1 else {"KA": "one", "LB": "two"}
    lettered = layout.count("Y") == 1
    return Scheme(
        name="made",
        layout=layout,
        plants=plants if "P" in layout else {},
        year_letters="".join(rng.sample("ABCDEFHJKLMNPRSTUVWX", 12)) if lettered else "",
        year_first=2012,
        month_letters="123456789OND" if layout.count("M") == 1 else "",
        week=rng.choice(["iso", "jan-1"]),
        used=parse_days("2012-W01..2023-12-24"),
    )


@pytest.mark.parametrize("layout", LAYOUTS)
def test_a_serial_of_any_scheme_reads_back_to_a_stretch_that_holds_its_day(layout: str) -> None:
    rng = random.Random(layout)
    for _ in range(60):
        made = _random_scheme(layout, rng)
        day = date(2012, 1, 2) + timedelta(days=rng.randrange(4370))
        plant, number = rng.choice(list(made.plants) or [""]), rng.randrange(10)
        text = compose(made, plant, day, number)
        readings = read_serial(text, [(made, made.used)], date(2026, 11, 25))
        found = [reading for reading in readings if day in reading.built]
        assert len(found) == 1, (made, day, text)
        assert (found[0].plant or "", found[0].sequence) == (plant, number)
        assert found[0].code_days == coded_days(made, day)


@pytest.mark.parametrize("layout", LAYOUTS)
def test_each_day_has_one_prefix_a_plant_and_each_prefix_its_own_days(layout: str) -> None:
    made = _random_scheme(layout, random.Random(layout))
    days = calendar(date(2012, 1, 2), date(2016, 12, 31))
    under: dict[tuple[str, str], list[date]] = {}
    for plant in made.plants or [""]:
        for day in days:
            under.setdefault((plant, prefix_of(made, plant, day)), []).append(day)
    assert sum(map(len, under.values())) == len(days) * len(made.plants or [""])
    for (plant, prefix), held in under.items():
        assert (held[-1] - held[0]).days == len(held) - 1, prefix  # no gap
        assert all(coded_days(made, day).covers(Days(held[0], held[-1])) for day in held)
        others = {p for (q, p) in under if q != plant}
        assert "P" not in layout or prefix not in others
