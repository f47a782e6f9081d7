"""Quantities: published factors, published roundings, the traps of unit names, what is refused."""

from __future__ import annotations

import subprocess
import sys
import time
from fractions import Fraction
from typing import Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.conversion import convert
from kb.quantities import QuantityError, find, looks_like_quantity, read, show
from kb.rounding import half_step, place_for, round_to, written
from kb.unitnames import UNITS, nearest_unit, unit_named

# NIST SP 811 (2008 edition), Appendix B.8 and B.9, seven printed digits unless exact.
SP_811 = [
    ("psi", "Pa", 6.894757e3),
    ("inH2O", "Pa", 2.490889e2),  # conventional
    ("inHg", "kPa", 3.386389),  # conventional
    ("lbf", "N", 4.448222),
    ("lbfin", "Nm", 1.129848e-1),
    ("lbfft", "Nm", 1.355818),
    ("in", "m", 2.54e-2),  # exact
    ("ft", "m", 3.048e-1),  # exact
    ("gal", "L", 3.785412),
    ("cfm", "L/s", 4.719474e-1),
    ("Btu", "kJ", 1.055056),  # International Table
    ("tonref", "kW", 3.516853),
    ("lb", "kg", 4.535924e-1),
    ("oz", "g", 2.834952e1),
]
# Derived from the rows above.
DERIVED = [("Btu/h", "W", 0.2930711), ("cfm", "m3/h", 1.699011)]


@pytest.fixture(autouse=True, scope="module")
def _units_ready() -> None:
    """Start the units library first: its half second is no test's own."""
    convert(Fraction(1), "psi", "kPa")


@pytest.mark.parametrize(("source", "target", "factor"), SP_811 + DERIVED)
def test_factors_are_those_of_sp_811(source: str, target: str, factor: float) -> None:
    assert float(convert(Fraction(1), source, target)) == pytest.approx(factor, rel=5e-7)


@pytest.mark.parametrize(
    ("source", "target", "exact"),
    [
        ("in", "mm", "25.4"),
        ("ft", "m", "0.3048"),
        ("lb", "kg", "0.45359237"),
        ("gal", "L", "3.785411784"),
    ],
)
def test_exact_factors_are_exact(source: str, target: str, exact: str) -> None:
    """NIST SP 811 (2008) B.8, factors in bold."""
    assert convert(Fraction(1), source, target) == Fraction(exact)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(120, 48.889), (140, 60), (180, 82.222), (-40, -40), (32, 0)]
)
def test_thermometer_degrees_follow_sp_811(fahrenheit: int, celsius: float) -> None:
    """NIST SP 811 (2008) B.8: t/°C = (t/°F - 32) / 1.8."""
    assert float(convert(Fraction(fahrenheit), "degF", "degC")) == pytest.approx(celsius, abs=5e-4)
    assert float(convert(Fraction(fahrenheit), "degF", "degC")) == pytest.approx(
        (fahrenheit - 32) / 1.8
    )


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ("36 ft", "11.0 m (36 ft)"),  # NIST SP 811 (2008) B.7.2
        ("36 in", "91 cm (36 in)"),  # NIST LC 1137
        ("40.1 in", "101.9 cm (40.1 in)"),  # NIST LC 1137
        # By the one rule that meets all three:
        ("35 ft", "10.7 m (35 ft)"),
        ("8 ft", "2.4 m (8 ft)"),
        ("20 psi", "138 kPa (20 psi)"),
        ("120 psi", "827 kPa (120 psi)"),
        ("25 lbf in", "2.8 N·m (25 lbf·in)"),
        ("150 lbf ft", "203 N·m (150 lbf·ft)"),
        ("1.6 gal", "6.1 L (1.6 gal)"),
        ("150 cfm", "255 m³/h (150 cfm)"),
        # IRC 2021 M1502.4.6.1 gives the duct length as 35 ft (10.7 m); CPSC document 5098 and the
        # advice of many makers 120 °F as 49 °C.
        ("120 degF", "49 °C (120 °F)"),
        # A maximum is not exceeded: ASME A112.18.1-2018/CSA B125.1-18, Annex A.2(e).
        ("max 35 ft", "max 10.6 m (35 ft)"),
        ("min 20 psi", "min 138 kPa (20 psi)"),
        ("min 35 ft", "min 10.7 m (35 ft)"),
    ],
)
def test_roundings_are_the_published_ones(asked: str, shown: str) -> None:
    assert show(asked) == shown


@pytest.mark.parametrize(("value", "rounded"), [("1.655000", "1.66"), ("1.625000", "1.62")])
def test_halves_go_to_the_even_digit(value: str, rounded: str) -> None:
    """ASME A112.18.1-2018/CSA B125.1-18, Annex A.2(d)."""
    assert round_to(Fraction(value), -2) == Fraction(rounded)


@pytest.mark.parametrize(
    ("asked", "metric", "us"),
    [
        ("12 N m", "12 N·m (106 lbf·in)", "106 lbf·in (12 N·m)"),
        ("50 N·m", "50 N·m (36.9 lbf·ft)", "36.9 lbf·ft (50 N·m)"),
        ("106 lbf in", "12.0 N·m (106 lbf·in)", "106 lbf·in (12.0 N·m)"),
        ("60 degC", "60 °C (140 °F)", "140 °F (60 °C)"),
        ("-18 °C", "−18 °C (0 °F)", "0 °F (−18 °C)"),
        ("-40 degF", "−40 °C (−40 °F)", "−40 °F (−40 °C)"),
        ("0 degC", "0 °C (32 °F)", "32 °F (0 °C)"),
        ("max 120 degF", "max 48 °C (120 °F)", "max 120 °F (48 °C)"),
        ("delta 5 degC", "5 °C (9 °F)", "9 °F (5 °C)"),
        ("10 K", "10 K (18 °F)", "18 °F (10 K)"),
        ("5/16 in", "7.94 mm (5/16 in)", "5/16 in (7.94 mm)"),
        ("1 1/2 in", "38.1 mm (1 1/2 in)", "1 1/2 in (38.1 mm)"),
        ("3/8 in", "9.525 mm (3/8 in)", "3/8 in (9.525 mm)"),
        ("2 ft 6 in", "76 cm (2 ft 6 in)", "2 ft 6 in (76 cm)"),
        ("20..120 psi", "138 to 827 kPa (20 to 120 psi)", "20 to 120 psi (138 to 827 kPa)"),
        ("-5..5 degC", "−5 to 5 °C (23 to 41 °F)", "23 to 41 °F (−5 to 5 °C)"),
        ("12 +/- 2 N m", "12 ± 2 N·m (106 ± 17 lbf·in)", "106 ± 17 lbf·in (12 ± 2 N·m)"),
        ("60 ± 5 degC", "60 ± 5 °C (140 ± 9 °F)", "140 ± 9 °F (60 ± 5 °C)"),
        ("± 5 degC", "± 5 °C (9 °F)", "± 9 °F (5 °C)"),
        ("22000 Btu/h", "6.45 kW (22000 Btu/h)", "22000 Btu/h (6.45 kW)"),
        ("7 in w.c.", "17 mbar (7 inH₂O)", "7 inH₂O (17 mbar)"),
        ("20 mbar", "20 mbar (8.0 inH₂O)", "8.0 inH₂O (20 mbar)"),
        ("1 bar", "1 bar (15 psi)", "15 psi (1 bar)"),
        ("about 3 L", "about 3 L (0.8 gal)", "about 0.8 gal (3 L)"),
        ("250 mL", "250 mL (8.45 fl oz)", "8.45 fl oz (250 mL)"),
        ("8 lb", "3.6 kg (8 lb)", "8 lb (3.6 kg)"),
        ("max 32 degF", "max 0 °C (32 °F)", "max 32 °F (0 °C)"),
        ("min 41 degF", "min 5 °C (41 °F)", "min 41 °F (5 °C)"),
        ("0 psi", "0 kPa (0 psi)", "0 psi (0 kPa)"),
        ("> 5 degC", "above 5 °C (41 °F)", "above 41 °F (5 °C)"),
    ],
)
def test_both_systems_are_shown_the_house_s_first(asked: str, metric: str, us: str) -> None:
    assert show(asked, "metric") == metric
    assert show(asked, "us") == us


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ("230 V", "230 V"),
        ("24 V DC", "24 V DC"),
        ("120 VAC", "120 V AC"),
        ("50..60 Hz", "50 to 60 Hz"),
        ("6.5 kohm", "6.5 kΩ"),
        ("12 Mohm", "12 MΩ"),
        ("10 uF", "10 µF"),
        ("10 μF", "10 µF"),
        ("45 min", "45 min"),
        ("1500 W", "1500 W"),
        ("50 %", "50%"),
        ("1400 rpm", "1400 r/min"),
        ("max 16 A", "max 16 A"),
        ("nominal 4 in", "4 in nominal"),
        ("12 000 h", "12\u202f000 h"),
    ],
)
def test_what_is_the_same_in_both_systems_is_shown_once(asked: str, shown: str) -> None:
    assert show(asked, "metric") == show(asked, "us") == shown


# A general units library reads these as something else, or not at all.


@pytest.mark.parametrize(
    ("asked", "shown"),
    [
        ("150 cfm", "255 m³/h (150 cfm)"),  # centi-femto-metres
        ("150 CFM", "255 m³/h (150 cfm)"),
        ("120 F", "49 °C (120 °F)"),  # farads
        ("60 C", "60 °C (140 °F)"),  # coulombs
        ("50 psig", "345 kPa (50 psig)"),
        ("5 gpm", "19 L/min (5 gal/min)"),
        ("3.5 inwc", "8.7 mbar (3.5 inH₂O)"),
        ("25 in-lb", "2.8 N·m (25 lbf·in)"),
        ("25 in_lb", "2.8 N·m (25 lbf·in)"),
        ("25 lb-in", "2.8 N·m (25 lbf·in)"),
        ("150 ft-lbs", "203 N·m (150 lbf·ft)"),
        ("9000 BTU/hr", "2.638 kW (9000 Btu/h)"),
        ('36"', "91 cm (36 in)"),
        ("36″", "91 cm (36 in)"),
        ("8'", "2.4 m (8 ft)"),
        ("120℉", "49 °C (120 °F)"),
        ("255 m³/h", "255 m³/h (150.1 cfm)"),
        ("255 m^3/h", "255 m³/h (150.1 cfm)"),
        ("3½ in", "88.9 mm (3 1/2 in)"),
        ("1-1/2 in", "38.1 mm (1 1/2 in)"),
        ("20-120 psi", "138 to 827 kPa (20 to 120 psi)"),
        ("20 to 120 psi", "138 to 827 kPa (20 to 120 psi)"),
        ("≤ 35 ft", "max 10.6 m (35 ft)"),
        ("max. 35 ft", "max 10.6 m (35 ft)"),
        ("at most 35 ft", "max 10.6 m (35 ft)"),
        ("22,000 Btu/h", "6.45 kW (22\u202f000 Btu/h)"),
        (".5 gal", "1.9 L (0.5 gal)"),
        ("  12   N  m ", "12 N·m (106 lbf·in)"),
    ],
)
def test_the_trade_s_spellings_are_read_as_meant(asked: str, shown: str) -> None:
    assert show(asked) == shown


def test_milli_is_never_read_as_mega() -> None:
    assert unit_named("mohm") is None
    assert unit_named("Mohm") == "Mohm"
    assert unit_named("mPa") is None
    assert unit_named("kpa") == "kPa"


@pytest.mark.parametrize("name", sorted(UNITS))
def test_every_unit_is_known_by_its_own_name_and_as_shown(name: str) -> None:
    assert unit_named(name) == name
    shown_as = {"delta degC": "degC", "delta degF": "degF"}.get(name, name)
    assert unit_named(UNITS[name].shown) == shown_as


@pytest.mark.parametrize("name", sorted(n for n in UNITS if UNITS[n].turns_into))
def test_every_unit_turns_into_one_of_the_other_system(name: str) -> None:
    for limit, target in UNITS[name].turns_into:
        assert UNITS[target].system != UNITS[name].system
        assert limit > 0
        there = convert(Fraction(7), name, target)
        assert float(convert(there, target, name)) == pytest.approx(7)
    assert UNITS[name].turns_into[-1][0] == float("inf")


# What is refused


@pytest.mark.parametrize(
    ("asked", "message", "remedy"),
    [
        ("5", "has no unit", "behind the number"),
        ("2026-014", "has no unit", "take the braces away"),
        ("12 furlong", "'furlong' is no unit", "take the braces away"),
        ("12 kpaa", "'kpaa' is no unit", "kPa"),
        ("1,5 bar", "cannot be read", "point"),
        ("1.5e3 Pa", "no unit", "Pa"),
        ("12..", "cannot be read", "write it like"),
        ("1.2.3 bar", "cannot be read", "write it like"),
        ("1/0 in", "divides by zero", "write it like"),
        ("max", "cannot be read", "write it like"),
        ("", "cannot be read", "write it like"),
        ("--5 bar", "cannot be read", "write it like"),
    ],
)
def test_what_cannot_be_read_says_why_and_what_to_do(asked: str, message: str, remedy: str) -> None:
    with pytest.raises(QuantityError) as trouble:
        show(asked)
    assert message in trouble.value.message
    assert remedy in trouble.value.remedy


@given(st.text(max_size=40))
def test_no_text_does_more_than_be_refused(text: str) -> None:
    try:
        shown = show(text)
    except QuantityError as trouble:
        assert trouble.message
        assert trouble.remedy
    else:
        assert shown


@pytest.mark.parametrize(
    ("content", "meant"),
    [
        ("12 N m", True),
        ("-18 degC", True),
        ("+5 K", True),
        (".5 L", True),
        ("max 35 ft", True),
        ("± 5 K", True),
        ("delta 5 degC", True),
        ("nominal 4 in", True),
        ("foo", False),
        ("E21", False),
        ("maximum", False),
        ("minutes", False),
        ("", False),
        ("mind 4 in", False),
    ],
)
def test_other_braces_are_left_alone(content: str, meant: bool) -> None:
    assert looks_like_quantity(content) is meant


def test_braces_are_found_with_their_places() -> None:
    text = "Torque {12 N m}, see {name} and { max 3 ft }."
    found = list(find(text))
    assert [(each.content, each.is_quantity) for each in found] == [
        ("12 N m", True),
        ("name", False),
        ("max 3 ft", True),
    ]
    assert [text[each.start : each.end] for each in found] == [
        "{12 N m}",
        "{name}",
        "{ max 3 ft }",
    ]


# Laws of rounding


@given(st.decimals(min_value="0.001", max_value="99999", places=3), st.sampled_from(["36", "1.6"]))
def test_a_rounded_value_is_no_coarser_than_the_source(value: str, source: str) -> None:
    exact = Fraction(value)
    error = half_step(source) / Fraction(source)
    place = place_for(exact, error)
    rounded = round_to(exact, place)
    assert Fraction(10) ** place / 2 <= error * rounded
    assert abs(rounded - exact) <= exact / 20


@given(
    st.decimals(min_value="-500", max_value="500", places=1),
    st.sampled_from(["psi", "ft", "degF", "degC", "N m", "L", "in"]),
)
def test_a_limit_is_never_passed(value: str, unit: str) -> None:
    asked = read(f"max {value} {unit}")
    source = UNITS[asked.unit]
    first: Literal["metric", "us"] = "us" if source.system == "metric" else "metric"
    there = [convert(asked.low.value, asked.unit, name) for _, name in source.turns_into]
    most = _first_number(show(f"max {value} {unit}", first))
    least = _first_number(show(f"min {value} {unit}", first))
    assert any(most <= limit <= least for limit in there)


def _first_number(shown: str) -> Fraction:
    return Fraction(shown.split()[1].replace("−", "-").replace("\u202f", ""))


@pytest.mark.parametrize(
    ("number", "half"),
    [
        ("36", "0.5"),
        ("40.1", "0.05"),
        ("120", "0.5"),
        ("1500", "5"),
        ("22000", "50"),
        ("22050", "5"),
        ("1.50", "0.005"),
        ("-18", "0.5"),
        ("0", "0.5"),
    ],
)
def test_a_number_is_as_precise_as_it_is_written(number: str, half: str) -> None:
    assert half_step(number) == Fraction(half)


@pytest.mark.parametrize(
    ("value", "place", "text"),
    [
        ("11", -1, "11.0"),
        ("-18", 0, "−18"),
        ("6450", 1, "6450"),
        ("22000", 3, "22\u202f000"),
        ("1234567.5", -1, "1\u202f234\u202f567.5"),
        ("0.031", -3, "0.031"),
    ],
)
def test_numbers_are_written_as_in_print(value: str, place: int, text: str) -> None:
    assert written(Fraction(value), place) == text


def test_the_nearest_unit_is_named_as_shown() -> None:
    assert nearest_unit("N mm") in ("N·m", "mm")
    assert nearest_unit("zzzzzz") is None


# Cost


def test_thousands_of_quantities_are_shown_in_a_second_or_two() -> None:
    show("1 psi")
    start = time.process_time()
    for number in range(2000):
        show(f"{number}.75 psi")
    assert time.process_time() - start < 2


def test_reading_a_quantity_alone_does_not_start_pint() -> None:
    code = (
        "import sys; from kb.quantities import show, looks_like_quantity; show('230 V');"
        "looks_like_quantity('12 N m'); sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# Laws that hold for every quantity

_LINEAR = sorted(n for n, u in UNITS.items() if u.turns_into and not u.scale)
_NUMBERS = st.one_of(
    st.integers(1, 99_999).map(str),
    st.decimals(min_value="0.01", max_value="999", places=2).map(str),
)


def _typed(name: str) -> str:
    """Return a unit as typed: with `delta` in front where its name has it."""
    return UNITS[name].shown if name.startswith("delta") else name


def _other(shown: str) -> tuple[str, str]:
    """Return what was written and what it was turned into, the metric one first or not."""
    front, _, behind = shown.removesuffix(")").partition(" (")
    return front, behind


@given(_NUMBERS, st.sampled_from(_LINEAR))
def test_what_was_written_stays_as_it_is_whichever_system_comes_first(
    number: str, name: str
) -> None:
    asked = f"{'delta ' if name.startswith('delta') else ''}{number} {_typed(name)}"
    metric, us = (_other(show(asked, first)) for first in ("metric", "us"))
    assert metric == us[::-1]
    mine = metric if UNITS[name].system == "metric" else us
    assert mine[0].replace("\u202f", "").startswith(number)


@given(_NUMBERS, st.sampled_from(_LINEAR))
def test_what_is_shown_is_never_a_twentieth_off(number: str, name: str) -> None:
    value = Fraction(number)
    target = next(to for limit, to in UNITS[name].turns_into if value < limit)
    exact = convert(value, name, target)
    place = place_for(exact, half_step(number) / value)
    assert abs(round_to(exact, place) - exact) <= exact / 20


@given(st.integers(-60, 250), st.sampled_from(["degC", "degF"]))
def test_thermometer_limits_stay_on_the_safe_side(degrees: int, name: str) -> None:
    other = "degF" if name == "degC" else "degC"
    exact = convert(Fraction(degrees), name, other)
    first: Literal["metric", "us"] = "us" if name == "degC" else "metric"
    most = _first_number(show(f"max {degrees} {name}", first))
    least = _first_number(show(f"min {degrees} {name}", first))
    assert exact - 1 < most <= exact <= least < exact + 1
    assert (most == least) == (exact.denominator == 1)


@given(st.integers(1, 400), st.integers(1, 400), st.sampled_from(["psi", "kPa", "ft", "mm", "cfm"]))
def test_a_range_is_never_wider_than_written_where_its_ends_are_apart(
    one: int, other: int, name: str
) -> None:
    low, high = sorted((one, other))
    if high < low * 2:
        return
    asked = read(f"{low}..{high} {name}")
    assert asked.high is not None
    target = next(to for limit, to in UNITS[name].turns_into if high < limit)
    first: Literal["metric", "us"] = "us" if UNITS[name].system == "metric" else "metric"
    ends = show(f"{low}..{high} {name}", first).partition(f" {UNITS[target].shown}")[0]
    least, most = (Fraction(end.replace("\u202f", "")) for end in ends.split(" to "))
    assert convert(Fraction(low), name, target) <= least
    assert most <= convert(Fraction(high), name, target)


@given(st.integers(-40, 120), st.integers(1, 20))
def test_a_tolerance_in_degrees_is_turned_as_a_difference(degrees: int, spread: int) -> None:
    shown = show(f"{degrees} ± {spread} degC", "us").partition(" °F")[0].replace("−", "-")
    middle, width = map(Fraction, shown.split(" ± "))
    assert abs(middle - (Fraction(degrees) * 9 / 5 + 32)) <= Fraction(1, 2)
    assert width <= Fraction(spread) * 9 / 5
    assert width > 0


@pytest.mark.parametrize(
    ("reading", "difference"),
    [("10 degC", "delta 10 degC"), ("18 degF", "delta 18 degF"), ("0 degC", "delta 0 degC")],
)
def test_a_reading_and_a_difference_are_told_apart(reading: str, difference: str) -> None:
    assert show(reading) != show(difference)


@pytest.mark.parametrize("word", ["max", "maximum", "at most", "up to", "≤", "<=", "MAX", "Max."])
def test_every_word_for_a_maximum_is_one(word: str) -> None:
    assert show(f"{word} 35 ft") == "max 10.6 m (35 ft)"


@pytest.mark.parametrize("word", ["min", "minimum", "at least", "≥", ">=", "Min."])
def test_every_word_for_a_minimum_is_one(word: str) -> None:
    assert show(f"{word} 36.1 ft") == "min 11.01 m (36.1 ft)"


@pytest.mark.parametrize("word", ["about", "approx", "approx.", "~", "≈"])
def test_every_word_for_a_rough_value_is_one(word: str) -> None:
    assert show(f"{word} 3 L") == "about 3 L (0.8 gal)"


@pytest.mark.parametrize("join", ["..", " to ", "-", "–", " - "])
def test_every_way_to_write_a_range_is_one(join: str) -> None:
    assert show(f"20{join}120 psi") == "138 to 827 kPa (20 to 120 psi)"


@pytest.mark.parametrize("join", ["±", " ± ", "+/-", "+-"])
def test_every_way_to_write_a_tolerance_is_one(join: str) -> None:
    assert show(f"12{join}2 N m") == "12 ± 2 N·m (106 ± 17 lbf·in)"
