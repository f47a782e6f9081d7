"""How many digits a converted value keeps.

The rule of NIST SP 811 (2008) B.7.2: keep the fewest digits whose greatest rounding error, in
proportion, is not above that of the value as written. On top of the rule, a result is never more
than a twentieth off, as 1 bar would be as 10 psi. Halves go to the even digit, a maximum is
rounded down and a minimum up, so that neither limit is passed (ASME A112.18.1-2018/
CSA B125.1-18, Annex A.2).
"""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from typing import Literal

Way = Literal["near", "down", "up"]

_MOST_DIGITS = 12
_FARTHEST = Fraction(1, 20)
_STEADY_DIGITS = 18
_EXACT_DIGITS = 4  # a fraction such as 3/8 in has no digits of its own: 9.525 mm, but 7.94 mm
_FRACTION_DIGITS = 3


def half_step(number: str) -> Fraction:
    """Return the greatest rounding error of a plain decimal *number* as written.

    That is half its last digit. In a whole number of four digits and more, ending zeros after the
    third digit only fill up: 22000 stands for 21950 to 22050, 120 for 119.5 to 120.5.
    """
    digits = number.lstrip("-+")
    whole, point, decimals = digits.partition(".")
    if point:
        return Fraction(1, 2 * 10 ** len(decimals))
    filling = len(whole) - len(whole.rstrip("0"))
    return Fraction(10 ** max(0, min(filling, len(whole) - _FRACTION_DIGITS)), 2)


def place_for(value: Fraction, error: Fraction | None) -> int:
    """Return the power of ten of the last digit to keep of *value*.

    *error* is the source's rounding error in proportion to it; None for a source without one.
    """
    if not value:
        return 0
    if error is None:
        return _place_of_fraction(value)
    for digits in range(1, _MOST_DIGITS):
        place = _place(value, digits)
        rounded = abs(round_to(value, place))
        near = abs(rounded - abs(value)) <= _FARTHEST * abs(value)
        if near and Fraction(10) ** place / 2 <= error * rounded:
            return place
    return _place(value, _MOST_DIGITS)


def round_to(value: Fraction, place: int, way: Way = "near") -> Fraction:
    """Return *value* rounded to the power of ten *place*."""
    step = Fraction(10) ** place
    turns = value / step
    if way == "near":
        return round(turns) * step
    return (math.floor(turns) if way == "down" else math.ceil(turns)) * step


def written(value: Fraction, place: int) -> str:
    """Return a rounded *value* with its digits down to *place*; thousands from 10 000 on apart."""
    text = f"{Decimal(abs(value.numerator)) / value.denominator:.{max(0, -place)}f}"
    whole, point, decimals = text.partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", "\u202f")
    return ("−" if value < 0 else "") + whole + point + decimals


def steady(value: Fraction) -> Fraction:
    """Return *value* to 18 digits: without the last traces of a factor that has no end (5/9)."""
    step = Fraction(10) ** (_first_place(value) - _STEADY_DIGITS) if value else Fraction(1)
    return round(value / step) * step


def _place_of_fraction(value: Fraction) -> int:
    for digits in range(1, _EXACT_DIGITS + 1):
        if round_to(value, _place(value, digits)) == value:
            return _place(value, digits)
    return _place(value, _FRACTION_DIGITS)


def _place(value: Fraction, digits: int) -> int:
    """Return the place of the last of *digits* digits of *value*."""
    return _first_place(value) - digits + 1


def _first_place(value: Fraction) -> int:
    first = math.floor(math.log10(abs(value)))
    return first + 1 if Fraction(10) ** (first + 1) <= abs(value) else first
