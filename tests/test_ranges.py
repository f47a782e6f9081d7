"""Ranges of serials: what their ends mean under a scheme, and how they are ordered."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from kb.dates import Days, parse_days
from kb.ranges import Ends, Ranges, key_of, meanings, read_end
from kb.records import SerialRange
from kb.serials import read_serial, uses_of
from tests.shared_cases import load, tables

HOUSE = tables(load("applies.json")["house"])
HOLLIN, BECK, FELL = (HOUSE.schemes[name] for name in ("hollin", "beck", "fell"))
NOW = date(2026, 11, 25)
TARN = parse_days("2016-09..")


def _years(text: str, days: Days, today: date | None = NOW) -> list[int]:
    found = read_end(text, HOLLIN, days, today)
    return [reading.code_days.first.year for reading in found if reading.code_days.first]


def test_a_single_serial_of_two_possible_years_is_no_range_between_them() -> None:
    scheme = replace(HOLLIN, year_letters="ABCDEFGH", year_first=2010, used=parse_days("2010.."))
    one = SerialRange("KA1000005", "K A 10 00005")
    found = meanings(one, scheme, parse_days("2010.."), NOW)
    assert [(ends.first, ends.last) for ends in found] == [
        ((day, 5), (day, 5)) for day in (date(2010, 3, 8), date(2018, 3, 5), date(2026, 3, 2))
    ]


def test_a_range_announced_ahead_is_not_read_as_long_past() -> None:
    scheme = replace(FELL, layout="PYYWWNNNNN", used=Days(), plants={"K": "Kirkholm works"})
    ahead = SerialRange("K263000001", "K265299999")
    (ends,) = meanings(ahead, scheme, parse_days("2010.."), NOW)
    assert (ends.first[0], ends.last[0]) == (date(2026, 7, 20), date(2026, 12, 21))


@pytest.mark.parametrize(
    ("text", "years"),
    [
        ("KP1400031", [2022]),
        ("k p 14-00031", [2022]),
        ("KA2000001", [2010]),  # before the family's production, not in twenty years
        ("KV1400031", [2027]),  # written for the future
        ("KW1400031", [2028]),
        ("KP5700031", []),
        ("18045K0117", []),
        ("", []),
    ],
)
def test_an_end_means_the_days_nearest_to_the_use(text: str, years: list[int]) -> None:
    assert _years(text, TARN) == years


def test_an_end_that_fits_two_turns_of_the_cycle_has_two_meanings() -> None:
    assert _years("KA2000001", parse_days("2010.."), date(2031, 1, 1)) == [2010, 2030]


def test_the_cycle_is_narrowed_by_the_days_of_use_first() -> None:
    assert _years("KA2000001", TARN, date(2031, 1, 1)) == [2030]


def test_a_range_is_plant_first_and_last_key_and_the_days_between() -> None:
    (ends,) = meanings(SerialRange("KP1400031", "KP2200100"), HOLLIN, TARN, NOW)
    assert ends == Ends(
        plant="K",
        first=(date(2022, 4, 4), 31),
        last=(date(2022, 5, 30), 100),
        days=parse_days("2022-W14..2022-W22"),
    )


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("KP1400031", "LP2200100"),
        ("KP2200100", "KP1400031"),
        ("KP1400031", "KP1400030"),
        ("KP1400031", "18045K0117"),
        ("nonsense", "KP1400031"),
    ],
)
def test_ends_of_two_plants_or_out_of_order_mean_nothing(first: str, last: str) -> None:
    assert meanings(SerialRange(first, last), HOLLIN, TARN, NOW) == ()


def test_a_single_serial_is_a_range_of_one() -> None:
    (ends,) = meanings(SerialRange("KP1400031", "KP1400031"), HOLLIN, TARN, NOW)
    assert ends.first == ends.last


def test_serials_are_ordered_by_date_then_number_not_by_letter() -> None:
    typed = ["KH4000001", "KX4000001", "KA2000001", "KP1400032", "KP1400031", "KP1300099"]
    keys = {
        text: key_of(read_serial(text, [(HOLLIN, parse_days("2010.."))], date(2029, 12, 31))[0])
        for text in typed
    }
    assert sorted(typed, key=keys.__getitem__) == [
        "KA2000001",
        "KH4000001",
        "KP1300099",
        "KP1400031",
        "KP1400032",
        "KX4000001",
    ]


def test_a_family_of_two_schemes_reads_a_range_under_the_one_that_fits() -> None:
    uses = uses_of(HOUSE.families["Moraine"], HOUSE.schemes)
    ranges = Ranges(uses, NOW)
    days_of_year = SerialRange("18045K0117", "20366K0009")
    assert len(ranges.of(days_of_year)) == 1
    assert ranges.of(days_of_year, "fell") == ranges.of(days_of_year)
    assert ranges.of(days_of_year, "beck") == ()
    assert ranges.of(SerialRange("junk", "junk")) == ()


def test_ends_of_one_digit_years_are_all_told() -> None:
    found = meanings(SerialRange("S01300001", "S52300100"), BECK, parse_days("2012-05.."), NOW)
    spans = [(ends.first[0].year, ends.last[0].year) for ends in found]
    assert spans == [(2013, 2013), (2013, 2023), (2023, 2023)]


def test_what_was_read_once_is_kept() -> None:
    ranges = Ranges([(FELL, parse_days("2012-05.."))], NOW)
    serials = SerialRange("18045K0117", "20366K0009")
    assert ranges.of(serials)[0] is ranges.of(serials)[0]


@pytest.mark.parametrize(
    ("family", "scheme", "weekly"),
    [
        ("Tarn", "", True),
        ("Tarn", "hollin", True),
        ("Moraine", "", False),  # days of the year, and weeks that are counted from 1 January
        ("Moraine", "beck", False),
        ("Scree", "plain", True),
        ("Tarn", "unknown", False),
    ],
)
def test_serials_tell_the_iso_week_or_not(family: str, scheme: str, weekly: bool) -> None:
    ranges = Ranges(uses_of(HOUSE.families[family], HOUSE.schemes), NOW)
    assert ranges.by_week(scheme) is weekly
