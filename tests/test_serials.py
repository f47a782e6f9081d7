"""Serials: shared cases, published year codes, and every day of the calendar tried one by one."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.records import Example, Family, Scheme, SchemeUse
from kb.serials import SerialError, looks_like, prove, read_serial, uses_of
from tests.shared_cases import day, days, load, scheme
from tests.slow_units import calendar, slow_readings

SHARED = load("serials.json")
SCHEMES = {name: scheme(name, entry) for name, entry in SHARED["schemes"].items()}
TODAY = date(2026, 11, 25)
READ = [case for case in SHARED["cases"] if "readings" in case]
REFUSED = [case for case in SHARED["cases"] if "error" in case]


def _read(case: dict[str, Any]) -> list[dict[str, Any]]:
    uses = [(SCHEMES[name], days(text)) for name, text in case["uses"].items()]
    return [
        {
            "scheme": reading.scheme,
            "plant": reading.plant,
            "built": reading.built,
            "code": reading.code_days,
            "sequence": reading.sequence,
        }
        for reading in read_serial(case["serial"], uses, day(case["today"]))
    ]


@pytest.mark.parametrize("case", READ, ids=lambda case: case["name"])
def test_a_serial_has_exactly_these_readings(case: dict[str, Any]) -> None:
    wanted = [
        {
            **reading,
            "built": days(reading["built"]),
            "code": days(reading.get("code", reading["built"])),
        }
        for reading in case["readings"]
    ]
    assert _read(case) == wanted


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case["name"])
def test_a_serial_without_reading_says_which_place_is_wrong(case: dict[str, Any]) -> None:
    with pytest.raises(SerialError) as refused:
        _read(case)
    assert case["error"] in refused.value.message
    assert "a sound one looks like" in refused.value.remedy


# ---- Published year and month codes ---------------------------------------------------------

# IEC 60062 / EN 60062, two characters, cycle of 20 years from 1970. D1, K3, XN, X5, XO, XD: test
# cases of a public encoder for DIN EN 60062; E..M: the second table of newtoncbraga.com.br,
# "codigo de datas"; R..W: the Wikipedia text on ceramic capacitors; A, B, C, N and P follow from
# their neighbours. (The first table of that page is a year late against all other sources.)
IEC_60062 = [
    ("D1", "1973-01 1993-01 2013-01 2033-01"),
    ("K3", "1978-03 1998-03 2018-03 2038-03"),
    ("XN", "1989-11 2009-11 2029-11"),
    ("X5", "1989-05 2009-05 2029-05"),
    ("XO", "1989-10 2009-10 2029-10"),
    ("XD", "1989-12 2009-12 2029-12"),
    ("A1", "1970-01 1990-01 2010-01 2030-01"),
    ("E9", "1974-09 1994-09 2014-09 2034-09"),
    ("F1", "1975-01 1995-01 2015-01 2035-01"),
    ("H1", "1976-01 1996-01 2016-01 2036-01"),
    ("J1", "1977-01 1997-01 2017-01 2037-01"),
    ("L1", "1979-01 1999-01 2019-01 2039-01"),
    ("M1", "1980-01 2000-01 2020-01"),
    ("R1", "1983-01 2003-01 2023-01"),
    ("S1", "1984-01 2004-01 2024-01"),
    ("T1", "1985-01 2005-01 2025-01"),
    ("U1", "1986-01 2006-01 2026-01"),
    ("V1", "1987-01 2007-01 2027-01"),
    ("W1", "1988-01 2008-01 2028-01"),
]
TWO_LETTERS = replace(SCHEMES["two-letters"], layout="YM")


@pytest.mark.parametrize(("code", "months"), IEC_60062)
def test_two_character_date_codes_of_iec_60062(code: str, months: str) -> None:
    readings = read_serial(code, [(TWO_LETTERS, Days())], date(2039, 12, 31))
    assert [reading.built for reading in readings] == [parse_days(m) for m in months.split()]


@pytest.mark.parametrize("letter", "GIOQYZ")
def test_letters_that_iec_60062_leaves_out_are_no_years(letter: str) -> None:
    with pytest.raises(SerialError, match="the first place is the year"):
        read_serial(f"{letter}1", [(TWO_LETTERS, Days())], TODAY)


def test_the_cycle_of_iec_60062_begins_in_1970_and_not_before() -> None:
    # The public encoder refuses any month of 1969.
    with pytest.raises(SerialError):
        read_serial("X5", [(TWO_LETTERS, parse_days("..1975"))], TODAY)


# 49 CFR 565.15(d), the model-year letter of a vehicle identification number: 30 codes from 1980.
# Chart of allaboutvehicles.com and the Wikipedia text (secondary; the Regulation was not read).
VIN_YEARS = "ABCDEFGHJKLMNPRSTVWXY123456789"
VIN = Scheme(name="vin-year", layout="YN", year_letters=VIN_YEARS, year_first=1980)


@pytest.mark.parametrize(
    ("letter", "years"),
    [("A", [1980, 2010]), ("Y", [2000, 2030]), ("9", [2009, 2039]), ("K", [1989, 2019])],
)
def test_year_letters_of_vehicle_numbers(letter: str, years: list[int]) -> None:
    readings = read_serial(f"{letter}1", [(VIN, Days())], date(2039, 12, 31))
    assert [reading.built for reading in readings] == [parse_days(str(y)) for y in years]


def test_v_is_2027_because_u_is_skipped() -> None:
    # A table in public code has U = 2027 and V = 2028, which is wrong.
    (old, new) = read_serial("V1", [(VIN, Days())], date(2039, 12, 31))
    assert (old.built, new.built) == (parse_days("1997"), parse_days("2027"))


@pytest.mark.parametrize("letter", "IOQUZ0")
def test_characters_that_are_never_a_year_of_a_vehicle(letter: str) -> None:
    with pytest.raises(SerialError, match=f"{letter} is none of"):
        read_serial(f"{letter}1", [(VIN, Days())], TODAY)


# ---- Against the calendar -------------------------------------------------------------------

WINDOW = Days(date(2009, 3, 5), date(2034, 8, 20))
WHOLE = calendar(date(2005, 1, 1), date(2040, 1, 31))
LAYOUTS = ["PYWWNN", "PWWYN", "YYJJJPN", "YYYYMMDDN", "YMNN", "YMMDD", "NNYYWW", "YWWMM", "YYXN"]


def _scheme(layout: str, rng: random.Random) -> Scheme:
    letters = "Y" in layout and layout.count("Y") == 1 and rng.random() < 0.6
    return Scheme(
        name="made-up",
        layout=layout,
        plants=rng.choice([{}, {"K": "one", "4": "two"}]) if "P" in layout else {},
        year_letters="ABCDEFH" if letters else "",
        year_first=2004,
        month_letters="123456789OND" if layout.count("M") == 1 else "",
        week=rng.choice(["iso", "jan-1"]),
        used=Days(date(2005, 6, 1), date(2039, 2, 2)),
    )


def _serial(made: Scheme, rng: random.Random) -> str:
    """Return a serial that is often sound: places drawn from what such places can hold."""
    high = {"W": 54, "J": 368, "D": 32, "M": 13, "Y": 36, "N": 99}
    parts = {"P": rng.choice(["K", "4", "Q"]), "X": "?"}
    for letter in set(made.layout) - {"P", "X"}:
        width = made.layout.count(letter)
        number = rng.randint(0, high[letter]) if width < 4 else rng.randint(2004, 2036)
        parts[letter] = str(number)[-width:].zfill(width)
    if made.year_letters:
        parts["Y"] = rng.choice("ABCDEFHG")
    if made.month_letters:
        parts["M"] = rng.choice("123456789OND0")
    taken = dict.fromkeys(parts, 0)
    out = ""
    for letter in made.layout:
        out += parts[letter][taken[letter]]
        taken[letter] += 1
    return out


@pytest.mark.parametrize("layout", LAYOUTS)
def test_readings_are_the_days_that_a_search_of_the_calendar_finds(layout: str) -> None:
    rng = random.Random(layout)
    found = 0
    for _ in range(200):
        made = _scheme(layout, rng)
        serial = _serial(made, rng)
        first = date(rng.randint(2006, 2030), rng.randint(1, 12), rng.randint(1, 28))
        today = date(rng.randint(2015, 2038), rng.randint(1, 12), rng.randint(1, 28))
        window = Days(first, min(today, date(2039, 2, 2)))
        slow = slow_readings(serial, made, window, WHOLE)
        try:
            fast = read_serial(serial, [(made, Days(first, made.used.last))], today)
        except SerialError:
            fast = ()
        assert [(r.plant, r.sequence, r.built, r.code_days) for r in fast] == [
            (s.plant, s.sequence, Days(s.built[0], s.built[-1]), Days(s.code[0], s.code[-1]))
            for s in slow
        ], (made, serial, window)
        found += bool(fast)
    assert found >= 3


@given(st.text(max_size=12))
def test_any_text_is_read_or_refused_with_a_sound_example(text: str) -> None:
    uses = [(SCHEMES[name], SCHEMES[name].used) for name in ("hollin", "fell", "beck")]
    try:
        readings = read_serial(text, uses, TODAY)
    except SerialError as error:
        assert error.message.startswith("serial ") and error.remedy
    else:
        assert all(r.built.last and r.built.last <= TODAY for r in readings)


# ---- Schemes in use, examples ---------------------------------------------------------------


def _family(produced: str, **uses: str) -> Family:
    return Family(
        name="Moraine",
        product="refrigerator",
        models=("MR30F",),
        produced=parse_days(produced),
        schemes=tuple(SchemeUse(name, days(used)) for name, used in uses.items()),
    )


def test_a_use_is_cut_to_scheme_family_and_production() -> None:
    family = _family("2012-05..2025", fell="2013..", beck="")
    assert [(s.name, used) for s, used in uses_of(family, SCHEMES)] == [
        ("fell", parse_days("2013..2021-06")),
        ("beck", parse_days("2019..2025")),
    ]


def test_a_scheme_that_never_met_the_production_is_not_in_use() -> None:
    family = _family("2022..", fell="", unknown="")
    assert uses_of(family, SCHEMES) == ()
    with pytest.raises(SerialError, match="no serial scheme"):
        read_serial("18045K0117", uses_of(family, SCHEMES), TODAY)


def test_the_same_scheme_in_two_periods_gives_each_reading_once() -> None:
    hollin = SCHEMES["hollin"]
    uses = [(hollin, parse_days("2016..2022-W14")), (hollin, parse_days("2022-W14.."))]
    assert len(read_serial("KP1400031", uses, TODAY)) == 1


def test_a_scheme_that_comes_into_use_later_says_so() -> None:
    coming = replace(SCHEMES["free-plant"], used=parse_days("2027.."))
    with pytest.raises(SerialError, match="2027-W14, after today"):
        read_serial("Z2714", [(coming, coming.used)], TODAY)


def _with(*examples: Example) -> Scheme:
    return replace(SCHEMES["hollin"], examples=examples)


SOUND = Example(serial="K P 14 00031", plant="K", built=parse_days("2022-W14"), sequence=31)


def test_sound_examples_are_proved_without_a_word() -> None:
    assert prove(_with(SOUND, Example(serial="ls0100007"), replace(SOUND, plant="k")), TODAY) == []


def test_an_example_is_proved_even_where_the_clock_stands_before_it() -> None:
    assert prove(_with(SOUND), date(2012, 1, 1)) == []


@pytest.mark.parametrize(
    ("example", "message"),
    [
        (replace(SOUND, plant="L"), "the plant is K, not L"),
        (replace(SOUND, built=parse_days("2022-W15")), "built 2022-W14, not 2022-W15"),
        (replace(SOUND, built=parse_days("2022-04-05")), "built 2022-W14, not 2022-04-05"),
        (replace(SOUND, sequence=13), "the number is 31, not 13"),
        (replace(SOUND, serial="KP6000031"), "60 is none"),
    ],
)
def test_an_example_that_reads_otherwise_is_told(example: Example, message: str) -> None:
    (told,) = prove(_with(SOUND, example), TODAY)
    assert message in told and example.serial in told


def test_a_reading_cut_to_the_days_of_the_scheme_proves_an_example() -> None:
    cut = replace(SCHEMES["hollin"], used=parse_days("2022-04-06.."))
    stated = replace(SOUND, built=parse_days("2022-04-06..2022-04-10"))
    assert prove(replace(cut, examples=(stated,)), TODAY) == []


def test_what_a_sound_serial_looks_like_is_the_first_example() -> None:
    assert looks_like(_with(SOUND)) == (
        "a sound one looks like K P 14 00031: plant, year, week, number"
    )


@pytest.mark.parametrize("name", SCHEMES)
def test_without_an_example_a_sound_serial_is_made_up_that_can_be_read(name: str) -> None:
    made_up = looks_like(SCHEMES[name]).removeprefix("a sound one looks like ").partition(":")[0]
    assert read_serial(made_up, [(SCHEMES[name], SCHEMES[name].used)], date(2039, 1, 1))
