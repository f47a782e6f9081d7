"""Quantities in braces, such as {12 N m} or {max 35 ft}, shown in both unit systems.

Written: a number (``12``, ``-18.5``, ``22 000``, ``5/16``, ``1 1/2``), a range (``20..120``) or a
number with tolerance (``12 +/- 2``), then the unit. ``max`` or ``min`` before it makes a limit,
``about`` a rough value, ``delta`` a temperature difference, ``nominal`` a size in name only.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from kb.conversion import convert
from kb.errors import KbError
from kb.rounding import Way, half_step, place_for, round_to, written
from kb.unitnames import UNITS, nearest_unit, unit_named

First = Literal["metric", "us"]

_EXAMPLE = "write it like {12 N m}, {5/16 in} or {max 35 ft}"
_WORDS = {
    "max": "max", "maximum": "max", "at most": "max", "up to": "max", "≤": "max", "<=": "max",
    "min": "min", "minimum": "min", "at least": "min", "≥": "min", ">=": "min", "<": "below",
    "below": "below", ">": "above", "above": "above", "about": "about", "approx": "about",
    "approx.": "about", "~": "about", "≈": "about", "delta": "delta", "δ": "delta",
    "nominal": "nominal", "±": "±", "+/-": "±", "+-": "±",
}  # fmt: skip
_WAYS: dict[str, Way] = {"max": "down", "below": "down", "±": "down", "min": "up", "above": "up"}

_KEPT = 8192  # texts that are remembered: a house says the same values over and over

_BRACES = re.compile(r"\{\s*([^{}\n]{1,80}?)\s*\}")
_WORD = re.compile("|".join(sorted((re.escape(w) for w in _WORDS), key=len, reverse=True)), re.I)
_NUMBER = r"[-+−]?(?:\d+[ -]\d+/\d+|\d+/\d+|\d{1,3}(?:[ ,]\d{3})+(?!\d)(?:\.\d+)?|\d*\.\d+|\d+)"
_FEET = re.compile(rf"(\d+) ?(?:ft|') ?({_NUMBER.removeprefix('[-+−]?')}) ?(?:in|\")$")
_PARTS = re.compile(
    rf"(?P<low>{_NUMBER})"
    rf"(?: ?(?P<join>\.\.|to\b|–|-(?= ?\d)|±|\+/?-) ?(?P<high>{_NUMBER}))?(?P<unit>.*)"
)


class QuantityError(KbError):
    """Braces that look like a quantity and cannot be read as one."""


class Number(NamedTuple):
    """A number as read: *text* as shown, and its rounding error (None for a fraction)."""

    text: str
    value: Fraction
    half: Fraction | None

    @property
    def error(self) -> Fraction | None:
        """The rounding error in proportion to the value."""
        return None if self.half is None or not self.value else self.half / abs(self.value)


@dataclass(frozen=True, slots=True)
class Quantity:
    """What stands in braces. *word* is a limit or the like, *join* ``to``, ``±`` or nothing."""

    unit: str
    low: Number
    high: Number | None = None
    join: str = ""
    word: str = ""


class Braces(NamedTuple):
    """Braces in a text: from *start* to *end*, what stands in them, whether as a quantity."""

    start: int
    end: int
    content: str
    is_quantity: bool


def find(text: str) -> Iterator[Braces]:
    """Yield all braces of one line, with whether they look like a quantity."""
    for found in _BRACES.finditer(text):
        yield Braces(found.start(), found.end(), found[1], looks_like_quantity(found[1]))


@lru_cache(maxsize=_KEPT)
def looks_like_quantity(content: str) -> bool:
    """Tell whether the *content* of braces is meant as a quantity: a number, or a word and one."""
    _, rest = _take_word(_plain(content))
    return bool(re.match(r"[-+−]?[.,]?\d", rest))


def show(text: str, first: First = "metric") -> str:
    """Return the quantity *text* (the content of braces) in both systems, *first* in front.

    The value that was written stays as it is; the other is rounded to fit it.
    Raises QuantityError.

    >>> show("12 N m"), show("max 35 ft")
    ('12 N·m (106 lbf·in)', 'max 10.6 m (35 ft)')
    """
    return _show(text, first)


@lru_cache(maxsize=_KEPT)
def _show(text: str, first: First) -> str:
    asked = read(text)
    source = UNITS[asked.unit]
    word = f"{asked.word} " if asked.word not in ("", "delta", "±", "nominal") else ""
    if asked.word == "±":
        word = "± "
    mine = _with_unit(_as_written(asked), source.shown)
    if asked.word == "nominal":
        return f"{mine} nominal"
    if not source.turns_into:
        return word + mine
    other = _turned(asked)
    pair = (mine, other) if source.system == first else (other, mine)
    return f"{word}{pair[0]} ({pair[1]})"


@lru_cache(maxsize=_KEPT)
def read(text: str) -> Quantity:
    """Return the quantity that *text* writes. Raises QuantityError."""
    word, rest = _take_word(_plain(text))
    if feet := _FEET.match(rest):
        return _feet_and_inches(feet, word)
    parts = _PARTS.match(rest)
    if parts is None or re.match(r"[\d.,/]", parts["unit"]):
        remedy = "write 1.5 with a point" if re.search(r"\d,\d", rest) else _EXAMPLE
        raise QuantityError(f"the number in '{{{text}}}' cannot be read", remedy)
    unit = _unit(text, parts["unit"].strip(), word)
    join = parts["join"] or ""
    high = _number(parts["high"], text) if parts["high"] else None
    join = "±" if join in ("±", "+/-", "+-") else "to" if join else ""
    return Quantity(unit, _number(parts["low"], text), high, join, word)


# Reading


def _plain(text: str) -> str:
    """Return *text* with odd blanks, signs and fraction characters made plain."""
    spaced = re.sub(r"(?<=\d)(?=[\u00bc-\u00be\u2150-\u215e])", " ", text)
    for mark, plain in (("\u2033", '"'), ("\u201d", '"'), ("\u2032", "'"), ("\u2019", "'")):
        spaced = spaced.replace(mark, plain)
    plain = unicodedata.normalize("NFKC", spaced).replace("\u2044", "/").replace("\u2212", "-")
    plain = re.sub(r"[\u2010\u2011]", "-", plain)
    return " ".join(plain.split())


def _take_word(text: str) -> tuple[str, str]:
    """Return the word before the number, in its plain form, and the rest of *text*."""
    found = _WORD.match(text)
    if not found or text[found.end() : found.end() + 1].isalpha():
        return "", text
    return _WORDS[found[0].lower()], re.sub(r"^\. +", "", text[found.end() :]).strip()


def _unit(text: str, unit: str, word: str) -> str:
    if not unit:
        remedy = "write the unit behind the number, or take the braces away"
        raise QuantityError(f"'{{{text}}}' has no unit", remedy)
    name = unit_named(unit)
    if name is None:
        near = nearest_unit(unit)
        meant = f"did you mean {near}? Otherwise " if near else ""
        raise QuantityError(
            f"'{unit}' is no unit that is known here", f"{meant}take the braces away"
        )
    if word in ("delta", "±") and UNITS[name].scale:
        return f"delta {name}"
    return name


def _feet_and_inches(found: re.Match[str], word: str) -> Quantity:
    """Return a length such as 2 ft 6 in, as precise as its inches."""
    inches = _number(found[2], found[0])
    text = f"{found[1]} ft {inches.text}"
    return Quantity(
        "in", Number(text, inches.value + 12 * int(found[1]), inches.half), None, "", word
    )


def _number(text: str, whole: str) -> Number:
    sign = -1 if text[0] in "-−" else 1
    body = text.lstrip("-+−")
    minus = "−" if sign < 0 else ""
    if "/" in body:
        return Number(minus + body.replace("-", " "), sign * _fraction(body, whole), None)
    digits = re.sub("[ ,]", "", body)
    shown = re.sub("[ ,]", "\u202f", f"0{body}" if body[0] == "." else body)
    return Number(minus + shown, sign * Fraction(digits), half_step(digits))


def _fraction(body: str, whole: str) -> Fraction:
    *before, fraction = re.split("[ -]", body)
    top, bottom = fraction.split("/")
    if not int(bottom):
        raise QuantityError(f"'{{{whole}}}' divides by zero", _EXAMPLE)
    return sum(map(Fraction, before), Fraction(0)) + Fraction(int(top), int(bottom))


# Showing


def _with_unit(number: str, unit: str) -> str:
    return f"{number}{unit}" if unit == "%" else f"{number} {unit}"


def _as_written(asked: Quantity) -> str:
    return f"{asked.low.text} {asked.join} {asked.high.text}" if asked.high else asked.low.text


def _turned(asked: Quantity) -> str:
    """Return the quantity in the other system."""
    most = max(abs(n.value) for n in (asked.low, asked.high) if n)
    target = next(name for limit, name in UNITS[asked.unit].turns_into if most < limit)
    if asked.high is None:
        number = written(*_rounded(asked, asked.low, target, _WAYS.get(asked.word, "near")))
    elif asked.join == "±":
        number = _with_tolerance(asked, asked.high, target)
    else:
        number = _range(asked, asked.high, target)
    return _with_unit(number, UNITS[target].shown)


def _rounded(asked: Quantity, number: Number, target: str, way: Way) -> tuple[Fraction, int]:
    """Return the converted *number* and the place of its last digit."""
    value = convert(number.value, asked.unit, target)
    place = _degree_place(number) if UNITS[asked.unit].scale else place_for(value, number.error)
    return round_to(value, place, way), place


def _degree_place(number: Number) -> int:
    """Return the place for a thermometer reading: as many decimals as were written.

    A proportion means nothing on a scale whose zero is not the end of it.
    """
    decimals = len(number.text.partition(".")[2]) if number.half is not None else 1
    return -decimals


def _range(asked: Quantity, high: Number, target: str) -> str:
    """Return a range, rounded so that it is not made wider where that is possible."""
    ends = [_rounded(asked, asked.low, target, "up"), _rounded(asked, high, target, "down")]
    if ends[0][0] > ends[1][0]:
        ends = [_rounded(asked, n, target, "near") for n in (asked.low, high)]
    return " to ".join(written(value, place) for value, place in ends)


def _with_tolerance(asked: Quantity, tolerance: Number, target: str) -> str:
    """Return a value and its tolerance to the same place; the tolerance is not made wider."""
    _, place = _rounded(asked, asked.low, target, "near")
    spread = f"delta {asked.unit}" if UNITS[asked.unit].scale else asked.unit
    onto = f"delta {target}" if UNITS[target].scale else target
    width = convert(tolerance.value, spread, onto)
    place = min(place, place_for(width, tolerance.error))
    middle = round_to(convert(asked.low.value, asked.unit, target), place)
    return f"{written(middle, place)} ± {written(round_to(width, place, 'down'), place)}"
