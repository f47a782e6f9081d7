"""Values from one unit to another. The only module that knows pint, started when needed."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

from kb.rounding import steady
from kb.unitnames import UNITS

_SURE_DIGITS = 22  # pint reckons with 28


def convert(value: Fraction, source: str, target: str) -> Fraction:
    """Return *value* of the unit *source* in *target*, both names of ``UNITS``.

    >>> float(convert(Fraction(36), "ft", "m"))
    10.9728
    """
    factor, zero = _line(source, target)
    return steady(value * factor + zero)


Line = tuple[Fraction, Fraction]  # a factor, and the value at zero

_lines: dict[tuple[str, str], Line] = {}


def known_lines() -> dict[tuple[str, str], Line]:
    """Return the lines from unit to unit that were asked of pint so far."""
    return dict(_lines)


def know(lines: Mapping[tuple[str, str], Line]) -> None:
    """Take up what `known_lines` told of an earlier run: pint need not be started for it."""
    _lines.update(lines)


def _line(source: str, target: str) -> Line:
    """Return factor and value at zero of the straight line from *source* to *target*."""
    if (source, target) not in _lines:
        zero, hundred = (_by_pint(value, source, target) for value in (0, 100))
        _lines[source, target] = _exact((hundred - zero) / 100), _exact(zero)
    return _lines[source, target]


def _exact(value: Fraction) -> Fraction:
    """Return the short fraction that *value* is but for its last digits: 5/9 for 0.555…

    Without it 32 °F would lie a trace below 0 °C, and a maximum of it be rounded down to -1 °C.
    """
    short = value.limit_denominator(1000)
    return short if abs(short - value) <= abs(value) / 10**_SURE_DIGITS else value


def _by_pint(value: int, source: str, target: str) -> Fraction:
    quantity = _registry().Quantity(Decimal(value), UNITS[source].pint)
    return Fraction(quantity.to(UNITS[target].pint).magnitude)


@cache
def _registry() -> Any:
    import pint  # a fifth of a second, which most commands don't need

    return pint.UnitRegistry(non_int_type=Decimal)
