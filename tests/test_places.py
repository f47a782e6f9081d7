"""The places of a layout: what may stand in each, how a wrong one is told, which days are meant."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from kb.dates import Days, parse_days
from kb.places import Code, Fault, days_in, ordinal, places, take_apart, years
from kb.records import Scheme

HOLLIN = Scheme(
    name="hollin",
    layout="PYWWNNNNN",
    plants={"K": "Kirkholm works", "L": "Langrigg works"},
    year_letters="ABCDEFHJKLMNPRSTUVWX",
    year_first=2010,
)
PLAIN = Scheme(name="plain", layout="YYWWN")
DATED = Scheme(name="dated", layout="YYYYMMDDXN")
LETTERS = Scheme(name="letters", layout="YMN", month_letters="123456789OND")
YEARDAY = Scheme(name="yearday", layout="YYJJJ")


def _fault(serial: str, scheme: Scheme) -> Fault:
    found = take_apart(serial, scheme)
    assert isinstance(found, Fault)
    return found


def _code(serial: str, scheme: Scheme) -> Code:
    found = take_apart(serial, scheme)
    assert isinstance(found, Code)
    return found


def test_letters_and_their_places_stand_in_order_of_appearance() -> None:
    assert places("P Y WW N") == (("P", (0,)), ("Y", (1,)), ("W", (2, 3)), ("N", (4,)))


def test_a_letter_may_stand_in_places_apart() -> None:
    assert places("YPYN") == (("Y", (0, 2)), ("P", (1,)), ("N", (3,)))
    split = replace(HOLLIN, layout="YPYN", year_letters="")
    assert _code("2K43", split) == Code(plant="K", year="24", sequence=3)


@pytest.mark.parametrize(
    ("number", "word"), [(1, "first"), (9, "ninth"), (20, "twentieth"), (23, "23rd"), (24, "24th")]
)
def test_places_are_counted_in_words(number: int, word: str) -> None:
    assert ordinal(number) == word


@pytest.mark.parametrize(
    ("serial", "scheme", "code"),
    [
        ("KP1400031", HOLLIN, Code(plant="K", year="P", week=14, sequence=31)),
        ("LX5300000", HOLLIN, Code(plant="L", year="X", week=53, sequence=0)),
        ("24017", PLAIN, Code(year="24", week=1, sequence=7)),
        ("20240229?8", DATED, Code(year="2024", month=2, day=29, sequence=8)),
        ("4O1", LETTERS, Code(year="4", month=10, sequence=1)),
        ("411", LETTERS, Code(year="4", month=1, sequence=1)),
        ("20366", YEARDAY, Code(year="20", yearday=366)),
    ],
)
def test_a_sound_serial_comes_apart(serial: str, scheme: Scheme, code: Code) -> None:
    assert take_apart(serial, scheme) == code


@pytest.mark.parametrize(
    ("serial", "scheme", "message"),
    [
        ("QP1400031", HOLLIN, "the first place is the plant; Q is none of K, L"),
        ("KI1400031", HOLLIN, "the second place is the year; I is none of ABCDEFHJKLMNPRSTUVWX"),
        ("K11400031", HOLLIN, "the second place is the year; 1 is none of ABCDEFHJKLMNPRSTUVWX"),
        ("KP5400031", HOLLIN, "the third and fourth place are the week; 54 is none"),
        ("KP1A00031", HOLLIN, "the third and fourth place are the week; 1A is no number"),
        (
            "KP1I00031",
            HOLLIN,
            "1I is no number (the letter I where the digit 1 belongs?)",
        ),
        ("KP14000S1", HOLLIN, "(the letter S where the digit 5 belongs?)"),
        ("KP14000³1", HOLLIN, "the fifth to ninth place are the number"),
        ("2A017", PLAIN, "the first and second place are the year; 2A is no number"),
        ("20240029X8", DATED, "the fifth and sixth place are the month; 00 is none"),
        ("20240232X8", DATED, "the seventh and eighth place are the day; 32 is none"),
        ("401", LETTERS, "the second place is the month; 0 is none of 123456789OND"),
        ("20000", YEARDAY, "the third to fifth place are the day of the year; 000 is none"),
    ],
)
def test_the_first_wrong_place_is_told(serial: str, scheme: Scheme, message: str) -> None:
    assert message in _fault(serial, scheme).message


def test_a_wrong_length_is_told_before_any_place() -> None:
    fault = _fault("KP5", HOLLIN)
    assert (fault.message, fault.right_length) == ("it has 3 places instead of 9", False)


def test_the_better_a_serial_fits_the_more_places_are_sound() -> None:
    sound = [_fault(serial, HOLLIN).sound for serial in ("QGXXABCDE", "KGXXABCDE", "KPXX00031")]
    assert sound == [0, 1, 7]


@pytest.mark.parametrize(
    ("year", "scheme", "window", "found"),
    [
        ("2024", DATED, "2000..2030", [2024]),
        ("2044", DATED, "2000..2030", []),
        ("24", PLAIN, "1920..2030", [1924, 2024]),
        ("99", PLAIN, "2000..2030", [1999]),
        ("4", LETTERS, "1999..2020", [2004, 2014]),
        ("A", HOLLIN, "2000..2055", [2010, 2030, 2050]),
        ("X", HOLLIN, "2000..2031", [2029]),
        ("X", HOLLIN, "2000..2027", []),
    ],
)
def test_a_year_stands_for_all_years_in_and_next_to_a_window(
    year: str, scheme: Scheme, window: str, found: list[int]
) -> None:
    # Next to it too: the first ISO week of a year may begin in December of the year before.
    assert list(years(Code(year=year), scheme, parse_days(window))) == found


def test_without_a_year_there_are_no_years_to_try() -> None:
    assert list(years(Code(week=3), PLAIN, Days())) == []


@pytest.mark.parametrize(
    ("code", "week", "year", "days"),
    [
        (Code(week=1), "iso", 2025, "2024-12-30..2025-01-05"),
        (Code(week=1), "jan-1", 2025, "2025-01-01..2025-01-07"),
        (Code(week=52), "jan-1", 2024, "2024-12-23..2024-12-31"),
        (Code(week=53), "iso", 2020, "2020-W53"),
        (Code(month=2), "iso", 2024, "2024-02"),
        (Code(month=2, day=29), "iso", 2024, "2024-02-29"),
        (Code(yearday=366), "iso", 2024, "2024-12-31"),
        (Code(), "iso", 2024, "2024"),
        (Code(week=5, month=2), "iso", 2024, "2024-02-01..2024-02-04"),
        (Code(week=5, month=1), "iso", 2024, "2024-01-29..2024-01-31"),
        (Code(week=5, day=1), "iso", 2024, "2024-02-01"),
    ],
)
def test_a_code_stands_for_the_days_of_its_finest_places(
    code: Code, week: str, year: int, days: str
) -> None:
    scheme = replace(PLAIN, week="jan-1") if week == "jan-1" else PLAIN
    assert days_in(code, scheme, year) == parse_days(days)


@pytest.mark.parametrize(
    ("code", "year"),
    [
        (Code(week=53), 2021),
        (Code(yearday=366), 2023),
        (Code(month=2, day=30), 2024),
        (Code(month=2, day=29), 2023),
        (Code(week=5, month=6), 2024),
    ],
)
def test_a_year_without_such_a_day_has_no_reading(code: Code, year: int) -> None:
    assert days_in(code, PLAIN, year) is None


def test_a_lone_day_of_the_month_spans_the_months_of_its_year() -> None:
    assert days_in(Code(day=31), PLAIN, 2024) == Days(date(2024, 1, 31), date(2024, 12, 31))
