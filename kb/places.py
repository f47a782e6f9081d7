"""The places of a serial layout: what each character may be, and which days they stand for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from kb.dates import EARLIEST, LATEST, Days, iso_week, jan1_week, long_year, month_days, year_days
from kb.folding import fold
from kb.records import Scheme

NAMES = {
    "P": "plant",
    "Y": "year",
    "W": "week",
    "M": "month",
    "D": "day",
    "J": "day of the year",
    "N": "number",
    "X": "anything",
}
_ORDINALS = (
    *("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth"),
    *("tenth", "eleventh", "twelfth", "thirteenth", "fourteenth", "fifteenth", "sixteenth"),
    *("seventeenth", "eighteenth", "nineteenth", "twentieth"),
)
_LOOKALIKES = {"O": "0", "Q": "0", "D": "0", "I": "1", "L": "1", "Z": "2", "S": "5", "B": "8"}


@dataclass(frozen=True, slots=True)
class Code:
    """The parts of one serial, each sound by itself; None where the layout has no such place.

    *year* is kept as typed, for it may stand for several years.
    """

    plant: str | None = None
    year: str | None = None
    week: int | None = None
    month: int | None = None
    day: int | None = None
    yearday: int | None = None
    sequence: int | None = None


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a serial does not fit a layout, and how many of its places are sound."""

    message: str
    right_length: bool
    sound: int


class _Unsound(ValueError):
    """A place holds what it cannot hold; the text says why."""


@lru_cache(maxsize=512)
def places(layout: str) -> tuple[tuple[str, tuple[int, ...]], ...]:
    """Return each letter of *layout* with its places, counted from 0, in order of appearance."""
    bare = layout.replace(" ", "")
    return tuple(
        (letter, tuple(at for at, other in enumerate(bare) if other == letter))
        for letter in dict.fromkeys(bare)
    )


def ordinal(number: int) -> str:
    """Return `first`, `second`… for a place counted from 1."""
    if number <= len(_ORDINALS):
        return _ORDINALS[number - 1]
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _where(letter: str, at: tuple[int, ...]) -> str:
    """Return e.g. `the third and fourth place are the week`."""
    first, last = ordinal(at[0] + 1), ordinal(at[-1] + 1)
    if len(at) == 1:
        return f"the {first} place is the {NAMES[letter]}"
    joint = "and" if len(at) == 2 else "to"
    return f"the {first} {joint} {last} place are the {NAMES[letter]}"


def _digits(text: str) -> int:
    if text.isascii() and text.isdigit():
        return int(text)
    wrong = next((c for c in text if c in _LOOKALIKES), None)
    hint = f" (the letter {wrong} where the digit {_LOOKALIKES[wrong]} belongs?)" if wrong else ""
    raise _Unsound(f"{text} is no number{hint}")


def _within(text: str, low: int, high: int) -> int:
    number = _digits(text)
    if not low <= number <= high:
        raise _Unsound(f"{text} is none")
    return number


def _plant(text: str, scheme: Scheme) -> str:
    known = {fold(code): code for code in scheme.plants}
    if known and text not in known:
        raise _Unsound(f"{text} is none of {', '.join(scheme.plants)}")
    return text


def _year(text: str, scheme: Scheme) -> str:
    if not scheme.year_letters:
        _digits(text)
    elif text not in scheme.year_letters.upper():
        raise _Unsound(f"{text} is none of {scheme.year_letters}")
    return text


def _month(text: str, scheme: Scheme) -> int:
    if not scheme.month_letters:
        return _within(text, 1, 12)
    if text not in scheme.month_letters.upper():
        raise _Unsound(f"{text} is none of {scheme.month_letters}")
    return scheme.month_letters.upper().index(text) + 1


def _week(text: str, scheme: Scheme) -> int:
    return _within(text, 1, 53 if scheme.week == "iso" else 52)


_READ: dict[str, tuple[str, Callable[[str, Scheme], int | str]]] = {
    "P": ("plant", _plant),
    "Y": ("year", _year),
    "W": ("week", _week),
    "M": ("month", _month),
    "D": ("day", lambda text, scheme: _within(text, 1, 31)),
    "J": ("yearday", lambda text, scheme: _within(text, 1, 366)),
    "N": ("sequence", lambda text, scheme: _digits(text)),
}


def take_apart(serial: str, scheme: Scheme) -> Code | Fault:
    """Return the parts of a folded *serial*, or the first place that does not fit *scheme*."""
    length = len(scheme.layout.replace(" ", ""))
    found: dict[str, int | str] = {}
    messages: list[str] = []
    sound = 0
    for letter, at in places(scheme.layout):
        text = "".join(serial[place] for place in at if place < len(serial))
        try:
            if letter in _READ and len(text) == len(at):
                name, read = _READ[letter]
                found[name] = read(text, scheme)
            sound += len(text)
        except _Unsound as unsound:
            messages.append(f"{_where(letter, at)}; {unsound}")
    if len(serial) != length:
        return Fault(f"it has {len(serial)} places instead of {length}", False, sound)
    if messages:
        return Fault(messages[0], True, sound)
    return Code(**found)  # type: ignore[arg-type]


def begins(serial: str, scheme: Scheme) -> bool:
    """Tell whether a folded *serial* is the beginning of one: shorter, each place sound so far."""
    if len(serial) >= len(scheme.layout.replace(" ", "")):
        return False
    fault = take_apart(serial, scheme)
    in_letters = {"Y": scheme.year_letters, "M": scheme.month_letters}
    partly = [
        "".join(serial[place] for place in at if place < len(serial))
        for letter, at in places(scheme.layout)
        if letter in "YMWDJN" and not in_letters.get(letter)
    ]
    figures = all(text.isdecimal() for text in partly if text)
    return isinstance(fault, Fault) and fault.sound == len(serial) and figures


def years(code: Code, scheme: Scheme, window: Days) -> Iterator[int]:
    """Yield the years that the year's places can stand for, in and next to *window*."""
    low = max((window.first or EARLIEST).year - 1, EARLIEST.year)
    high = min((window.last or LATEST).year + 1, LATEST.year)
    if code.year is None:
        return
    if scheme.year_letters:
        step = len(scheme.year_letters)
        base = scheme.year_first + scheme.year_letters.upper().index(code.year)
        low = max(low, base)
    else:
        step, base = 10 ** len(code.year), int(code.year)
    yield from range(low + (base - low) % step, high + 1, step)


def _stretch(code: Code, scheme: Scheme, year: int) -> Days | None:
    """Return the days of the finest place that is given: day of the year, week, month, year."""
    if code.yearday is not None:
        day = date(year, 1, 1) + timedelta(days=code.yearday - 1)
        return Days(day, day) if day.year == year else None
    if code.week is not None:
        if scheme.week == "jan-1":
            return jan1_week(year, code.week)
        return iso_week(year, code.week) if code.week < 53 or long_year(year) else None
    return month_days(year, code.month) if code.month is not None else year_days(year)


def _fits(code: Code, day: date) -> bool:
    return (code.month is None or day.month == code.month) and (
        code.day is None or day.day == code.day
    )


def days_in(code: Code, scheme: Scheme, year: int) -> Days | None:
    """Return the days that *code* stands for in *year*, or None where that year has no such."""
    days = _stretch(code, scheme, year)
    narrowed = code.day is not None or (
        code.month is not None and (code.week is not None or code.yearday is not None)
    )
    if days is None or not narrowed or not (days.first and days.last):
        return days
    span = (days.last - days.first).days
    fitting = [d for n in range(span + 1) if _fits(code, d := days.first + timedelta(days=n))]
    return Days(fitting[0], fitting[-1]) if fitting else None
