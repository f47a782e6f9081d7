"""Serials composed from plant, day and number, and the prefixes that a day's serials share."""

from __future__ import annotations

from datetime import date

from kb.dates import Days, iso_week, jan1_week, month_days, year_days
from kb.folding import fold
from kb.places import places
from kb.records import Scheme


def year_and_week(scheme: Scheme, day: date) -> tuple[int, int]:
    """Return the year and week under which *scheme* files *day*; the year is the week's own."""
    if "W" in scheme.layout and scheme.week == "iso":
        year, week, _ = day.isocalendar()
        return year, week
    return day.year, min((day.timetuple().tm_yday - 1) // 7 + 1, 52)


def coded_days(scheme: Scheme, day: date) -> Days:
    """Return all days whose serials have the same date places as those of *day*."""
    letters = set(scheme.layout)
    if "Y" not in letters:
        return scheme.used
    year, week = year_and_week(scheme, day)
    if "J" in letters or {"M", "D"} <= letters or {"W", "D"} <= letters:
        return Days(day, day)
    if "W" in letters:
        return iso_week(year, week) if scheme.week == "iso" else jan1_week(year, week)
    return month_days(year, day.month) if "M" in letters else year_days(year)


def _year_place(scheme: Scheme, year: int, width: int) -> str:
    if scheme.year_letters:
        letters = scheme.year_letters.upper()
        return letters[(year - scheme.year_first) % len(letters)]
    return f"{year:04}"[-width:]


def _month_place(scheme: Scheme, month: int, width: int) -> str:
    if scheme.month_letters:
        return scheme.month_letters.upper()[month - 1]
    return f"{month:0{width}}"


def _text(letter: str, width: int, scheme: Scheme, plant: str, day: date, number: int) -> str:
    """Return what stands in the *width* places of one letter of the layout."""
    year, week = year_and_week(scheme, day)
    match letter:
        case "P":
            return fold(plant)[:width].ljust(width, "X")
        case "Y":
            return _year_place(scheme, year, width).rjust(width, "0")
        case "M":
            return _month_place(scheme, day.month, width).rjust(width, "0")
        case "X":
            return "X" * width
    numbers = {"W": week, "D": day.day, "J": day.timetuple().tm_yday, "N": number}
    return f"{numbers[letter]:0{width}}"


def compose(scheme: Scheme, plant: str, day: date, number: int = 0) -> str:
    """Return the serial of a unit without blanks; places that may be anything show as `X`."""
    characters: dict[int, str] = {}
    for letter, at in places(scheme.layout):
        text = _text(letter, len(at), scheme, plant, day, number)
        characters.update(zip(at, text, strict=False))
    return "".join(characters[place] for place in sorted(characters))


def prefix_of(scheme: Scheme, plant: str, day: date) -> str:
    """Return the places before the number for *plant* and *day*, such as `KP14`.

    Where the number comes first, all other places stand for it.
    """
    layout = scheme.layout.replace(" ", "")
    serial = compose(scheme, plant, day)
    before = serial[: layout.index("N")] if "N" in layout else serial
    return before or "".join(c for c, p in zip(serial, layout, strict=True) if p != "N")
