"""Values from one unit to another, by the exact sizes that the units are defined with.

The sizes follow NIST SP 811 (2008), Appendix B, and NIST Handbook 44, Appendix C; from memory, held
by the tests to what is printed there and to pint. Inch, pound, gallon (231 cubic inches), standard
gravity and the International Table Btu are exact; columns of water and of mercury are the
conventional ones, of 1000 and 13 595.1 kg/m³.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache

from kb.rounding import steady
from kb.unitnames import UNITS

_INCH = Fraction("0.0254")
_POUND = Fraction("0.45359237")
_GALLON = 231 * _INCH**3
_GRAVITY = Fraction("9.80665")
_FORCE = _POUND * _GRAVITY
_BTU = Fraction("1055.05585262")

# In metres, kilograms, seconds and kelvins, and what is made of them.
_SIZES: Mapping[str, Fraction] = {
    "meter": Fraction(1), "centimeter": Fraction(1, 100), "millimeter": Fraction(1, 1000),
    "inch": _INCH, "foot": 12 * _INCH, "yard": 36 * _INCH,
    "liter": Fraction(1, 1000), "milliliter": Fraction(1, 10**6),
    "US_liquid_gallon": _GALLON, "US_liquid_quart": _GALLON / 4, "liquid_pint": _GALLON / 8,
    "US_liquid_cup": _GALLON / 16, "US_fluid_ounce": _GALLON / 128,
    "kilogram": Fraction(1), "gram": Fraction(1, 1000), "milligram": Fraction(1, 10**6),
    "pound": _POUND, "ounce": _POUND / 16,
    "second": Fraction(1), "minute": Fraction(60), "hour": Fraction(3600),
    "newton": Fraction(1), "pound_force": _FORCE, "ounce_force": _FORCE / 16,
    "pascal": Fraction(1), "hectopascal": Fraction(100), "kilopascal": Fraction(1000),
    "megapascal": Fraction(10**6), "millibar": Fraction(100), "bar": Fraction(10**5),
    "psi": _FORCE / _INCH**2, "inH2O": _INCH * 1000 * _GRAVITY,
    "inHg": _INCH * Fraction("13595.1") * _GRAVITY,
    "watt": Fraction(1), "kilowatt": Fraction(1000), "horsepower": 550 * 12 * _INCH * _FORCE,
    "kilojoule": Fraction(1000), "megajoule": Fraction(10**6), "Btu_it": _BTU,
    "refrigeration_ton": 12_000 * _BTU / 3600,
    "degC": Fraction(1), "delta_degC": Fraction(1),
    "degF": Fraction(5, 9), "delta_degF": Fraction(5, 9),
}  # fmt: skip
# Where the scale of a thermometer has its zero, in degrees Celsius.
_ZEROS: Mapping[str, Fraction] = {"degF": -32 * Fraction(5, 9)}
_FACTOR = re.compile(r"(/ )?(\w+)(?: \*\* (\d))?")


def convert(value: Fraction, source: str, target: str) -> Fraction:
    """Return *value* of the unit *source* in *target*, both names of ``UNITS``.

    >>> float(convert(Fraction(36), "ft", "m"))
    10.9728
    """
    zero = _ZEROS.get(source, 0) - _ZEROS.get(target, 0)
    return steady((value * _size(source) + zero) / _size(target))


@cache
def _size(name: str) -> Fraction:
    """Return how large a unit is, from what it is made of: ``foot ** 3 / minute``."""
    size = Fraction(1)
    for over, each, power in _FACTOR.findall(UNITS[name].made_of):
        factor = _SIZES[each] ** int(power or 1)
        size = size / factor if over else size * factor
    return size
