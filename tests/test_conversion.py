"""Conversion: published factors to seven digits, there and back, differences and thermometers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.conversion import convert
from kb.unitnames import UNITS

PAIRS = [(name, to) for name, unit in UNITS.items() for _, to in unit.turns_into]

# NIST SP 811 (2008 edition), Appendix B.8 and B.9, and products of its rows.
FACTORS = [
    ("ft", "m", "0.3048"),
    ("in", "mm", "25.4"),
    ("in", "cm", "2.54"),
    ("yd", "m", "0.9144"),
    ("in2", "mm2", "645.16"),
    ("ft2", "m2", "0.09290304"),
    ("ft3", "m3", "0.02831685"),
    ("gal", "L", "3.785412"),
    ("qt", "L", "0.9463529"),
    ("pt", "L", "0.4731765"),
    ("cup", "mL", "236.5882"),
    ("floz", "mL", "29.57353"),
    ("lb", "kg", "0.4535924"),
    ("oz", "g", "28.34952"),
    ("lbf", "N", "4.448222"),
    ("lbfin", "Nm", "0.1129848"),
    ("lbfft", "Nm", "1.355818"),
    ("psi", "kPa", "6.894757"),
    ("psi", "Pa", "6894.757"),
    ("psig", "kPa", "6.894757"),
    ("inH2O", "Pa", "249.0889"),
    ("inHg", "kPa", "3.386389"),
    ("cfm", "L/s", "0.4719474"),
    ("cfm", "m3/h", "1.699011"),
    ("ft/min", "m/s", "0.00508"),
    ("Btu", "kJ", "1.055056"),
    ("Btu/h", "W", "0.2930711"),
    ("tonref", "kW", "3.516853"),
    ("hp", "W", "745.6999"),
]


@pytest.mark.parametrize(("source", "target", "factor"), FACTORS)
def test_factors_agree_with_sp_811_to_seven_digits(source: str, target: str, factor: str) -> None:
    assert float(convert(Fraction(1), source, target)) == pytest.approx(float(factor), rel=5e-7)


@pytest.mark.parametrize(("source", "target", "factor"), FACTORS)
def test_ten_times_as_much_is_ten_times_as_much(source: str, target: str, factor: str) -> None:
    once = convert(Fraction(1), source, target)
    assert float(convert(Fraction(10), source, target) / once) == pytest.approx(10)
    assert float(once) == pytest.approx(float(Fraction(factor)), rel=1e-5)


@pytest.mark.parametrize(("source", "target"), PAIRS)
@given(value=st.decimals(min_value="-1e5", max_value="1e5", places=2))
@settings(max_examples=12, deadline=None)
def test_there_and_back_is_where_one_was(source: str, target: str, value: str) -> None:
    there = convert(Fraction(value), source, target)
    assert float(convert(there, target, source)) == pytest.approx(float(value), abs=1e-9)


@pytest.mark.parametrize(("source", "target"), PAIRS)
def test_more_stays_more(source: str, target: str) -> None:
    values = [convert(Fraction(n), source, target) for n in (-40, -1, 0, 1, 2, 100)]
    assert values == sorted(set(values))


@pytest.mark.parametrize(("source", "target"), [p for p in PAIRS if not UNITS[p[0]].scale])
def test_nothing_is_nothing_but_on_a_thermometer(source: str, target: str) -> None:
    assert convert(Fraction(0), source, target) == 0


@pytest.mark.parametrize(
    ("celsius", "fahrenheit"),
    [("0", 32), ("100", 212), ("-40", -40), ("37.5", "99.5"), ("-18", "-0.4"), ("60", 140)],
)
def test_thermometers_follow_their_scales(celsius: str, fahrenheit: str | int) -> None:
    """NIST SP 811 (2008) B.8: t/°F = 1.8 t/°C + 32."""
    assert convert(Fraction(celsius), "degC", "degF") == Fraction(fahrenheit)
    assert convert(Fraction(fahrenheit), "degF", "degC") == Fraction(celsius)


@pytest.mark.parametrize("degrees", [-10, 0, 5, 50])
def test_differences_know_no_zero_of_their_own(degrees: int) -> None:
    """NIST SP 811 (2008) B.8: a difference of 1 °C is one of 1.8 °F and of 1 K."""
    for unit in ("K", "delta degC"):
        assert convert(Fraction(degrees), unit, "delta degF") == Fraction(degrees) * 9 / 5
