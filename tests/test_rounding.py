"""Rounding: published rows, and the laws that hold for every number."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.rounding import Way, half_step, place_for, round_to, steady, written

_VALUES = st.fractions(min_value=-(10**6), max_value=10**6, max_denominator=10**6)
_PLACES = st.integers(-6, 4)


@pytest.mark.parametrize(
    ("source", "factor", "shown"),
    [
        # NIST SP 811 (2008) B.7.2: 36 ft x 0.3048 = 10.9728 is 11.0 m, not 11 m nor 10.97 m.
        ("36", "0.3048", "11.0"),
        # NIST LC 1137: 36 in is 91 cm, not 91.44 cm; 40.1 in is 101.9 cm, not 101.854 cm.
        ("36", "2.54", "91"),
        ("40.1", "2.54", "101.9"),
        # Worked by the one rule that meets all three, with the factors of SP 811.
        ("35", "0.3048", "10.7"),
        ("8", "0.3048", "2.4"),
        ("20", "6.894757", "138"),
        ("120", "6.894757", "827"),
        ("25", "0.1129848", "2.8"),
        ("150", "1.355818", "203"),
        ("1.6", "3.785412", "6.1"),
        ("150", "1.699011", "255"),
    ],
)
def test_published_conversions_keep_as_many_digits(source: str, factor: str, shown: str) -> None:
    value = Fraction(source) * Fraction(factor)
    place = place_for(value, half_step(source) / Fraction(source))
    assert written(round_to(value, place), place) == shown


@pytest.mark.parametrize(
    ("way", "value", "rounded"),
    [
        # ASME A112.18.1-2018/CSA B125.1-18, Annex A.2(d): ties to even; (e): a maximum down, a
        # minimum up.
        ("near", "1.655", "1.66"),
        ("near", "1.625", "1.62"),
        ("near", "-1.625", "-1.62"),
        ("down", "10.668", "10.66"),
        ("up", "10.662", "10.67"),
        ("down", "-10.662", "-10.67"),
        ("up", "-10.668", "-10.66"),
        ("down", "10.66", "10.66"),
        ("up", "10.66", "10.66"),
    ],
)
def test_ways_of_rounding(way: Way, value: str, rounded: str) -> None:
    assert round_to(Fraction(value), -2, way) == Fraction(rounded)


@given(_VALUES, _PLACES)
def test_down_never_exceeds_and_up_never_falls_below(value: Fraction, place: int) -> None:
    down, near, up = (round_to(value, place, way) for way in ("down", "near", "up"))
    step = Fraction(10) ** place
    assert down <= value <= up
    assert up - down in (0, step)
    assert near in (down, up)
    assert abs(near - value) <= step / 2


@given(_VALUES, _PLACES)
def test_rounding_twice_changes_nothing(value: Fraction, place: int) -> None:
    for way in ("down", "near", "up"):
        once = round_to(value, place, way)
        assert round_to(once, place, way) == once


@given(_VALUES, _PLACES)
def test_what_is_written_is_the_rounded_value(value: Fraction, place: int) -> None:
    rounded = round_to(value, place)
    text = written(rounded, place).replace("−", "-").replace("\u202f", "")
    assert Fraction(text) == rounded
    assert len(text.partition(".")[2]) == max(0, -place)


@given(_VALUES.filter(bool))
def test_steady_keeps_eighteen_digits_and_the_sign(value: Fraction) -> None:
    kept = steady(value)
    assert abs(kept - value) <= abs(value) / 10**17
    assert (kept > 0) == (value > 0)
    assert steady(kept) == kept


@given(st.fractions(min_value=Fraction(1, 1000), max_value=10**6), st.integers(1, 99))
def test_no_result_claims_less_than_its_source_nor_two_digits_too_many(
    value: Fraction, percent: int
) -> None:
    error = Fraction(percent, 1000)
    place = place_for(value, error)
    rounded = round_to(value, place)
    assert Fraction(10) ** place / 2 <= error * rounded
    coarser = round_to(value, place + 1)
    assert Fraction(10) ** (place + 1) / 2 > error * coarser or abs(coarser - value) > value / 20


@pytest.mark.parametrize(
    ("value", "place"), [("0", 0), ("9.525", -3), ("7.9375", -2), ("38.1", -1), ("25.4", -1)]
)
def test_a_fraction_keeps_all_digits_that_are_its_own_or_three(value: str, place: int) -> None:
    assert place_for(Fraction(value), None) == place


@pytest.mark.parametrize(
    ("number", "half"),
    [
        ("5", "0.5"),
        ("+5", "0.5"),
        ("0.50", "0.005"),
        ("1000", "5"),
        ("100", "0.5"),
        ("10000", "50"),
    ],
)
def test_ending_zeros_after_the_third_digit_only_fill_up(number: str, half: str) -> None:
    assert half_step(number) == Fraction(half)


def test_a_rounding_error_that_is_just_the_source_s_is_allowed() -> None:
    # SP 811 B.7.2 asks for one that is not above it: 10 of 9.5 to 10.5 stays 10, not 10.0.
    assert place_for(Fraction(10), half_step("10") / 10) == 0
    assert place_for(Fraction(10), half_step("10") / 10 * Fraction(99, 100)) == -1
