"""Days, and ranges of days as they are written: 2024, 2024-03, 2024-W10, 2024-03-04, FROM..TO."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from kb.errors import DateError
from kb.pickled import pickled_by_values

_DAY = timedelta(days=1)


@pickled_by_values
@dataclass(frozen=True, slots=True, order=True)
class Days:
    """A stretch of days, both ends included; ``None`` leaves an end open."""

    first: date | None = None
    last: date | None = None

    def meet(self, other: Days) -> Days | None:
        """Return the days in both stretches, or None where they share none."""
        first, last = self.first, self.last
        if first is None or (other.first is not None and other.first > first):
            first = other.first
        if last is None or (other.last is not None and other.last < last):
            last = other.last
        if first and last and first > last:
            return None
        return Days(first, last)

    def __contains__(self, day: date) -> bool:
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def covers(self, other: Days) -> bool:
        """Tell whether every day of *other* lies in this stretch."""
        starts = self.first is None or (other.first is not None and self.first <= other.first)
        ends = self.last is None or (other.last is not None and other.last <= self.last)
        return starts and ends


EVER = Days()
EARLIEST = date(1900, 1, 1)
LATEST = date(2199, 12, 31)

_REMEDY = "write 2024, 2024-03, 2024-W10 or 2024-03-04, and a range as 2024-W10..2025-W22"
_FORMS = (
    ("year", re.compile(r"([0-9]{4})")),
    ("month", re.compile(r"([0-9]{4})-([0-9]{2})")),
    ("week", re.compile(r"([0-9]{4})-?[Ww]([0-9]{2})")),
    ("day", re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")),
)
_SHORT_PLACES = re.compile(r"([0-9]{4})-([Ww]?)([0-9]{1,2})(?:-([0-9]{1,2}))?")
_DASHED_RANGE = re.compile(
    r"([0-9]{4}(?:-[Ww]?[0-9]{2}){0,2})\s*(?:[-\u2013\u2014]|to)\s*"
    r"([0-9]{4}(?:-[Ww]?[0-9]{2}){0,2})"
)


def long_year(year: int) -> bool:
    """Tell whether *year* has 53 ISO weeks: 28 December always lies in the last one (ISO 8601)."""
    return date(year, 12, 28).isocalendar().week == 53


def iso_week(year: int, week: int) -> Days:
    """Return the seven days of an ISO 8601 week; DateError where *year* has no such week."""
    weeks = 53 if long_year(year) else 52
    if not 1 <= week <= weeks:
        raise DateError(
            f"{year} has {weeks} weeks: there is no {year}-W{week:02}",
            f"the last week of {year} is {year}-W{weeks}, the week after it {year + 1}-W01",
        )
    monday = date.fromisocalendar(year, week, 1)
    return Days(monday, monday + 6 * _DAY)


def jan1_week(year: int, week: int) -> Days:
    """Return a week counted from 1 January: seven days each, week 52 runs to 31 December."""
    if not 1 <= week <= 52:
        raise DateError(
            f"weeks counted from 1 January run from 1 to 52: there is no week {week}",
            "the last days of December belong to week 52",
        )
    first = date(year, 1, 1) + (week - 1) * 7 * _DAY
    return Days(first, date(year, 12, 31) if week == 52 else first + 6 * _DAY)


def year_days(year: int) -> Days:
    """Return the whole calendar year."""
    return Days(date(year, 1, 1), date(year, 12, 31))


def month_days(year: int, month: int) -> Days:
    """Return the whole calendar month; *month* is 1..12."""
    return Days(date(year, month, 1), date(year, month, monthrange(year, month)[1]))


def add_months(day: date, months: int) -> date:
    """Return the same day *months* later, the month's last day where it is shorter.

    A unit of 29 February is a year old on 28 February.
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def _month(year: int, month: int) -> Days:
    if not 1 <= month <= 12:
        raise DateError(f"there is no month {month:02}", "months run from 01 to 12")
    return month_days(year, month)


def _day(year: int, month: int, day: int) -> Days:
    last = _month(year, month).last
    if last and not 1 <= day <= last.day:
        raise DateError(
            f"there is no {year}-{month:02}-{day:02}", f"that month ends with {last.isoformat()}"
        )
    only = date(year, month, day)
    return Days(only, only)


_MAKERS: dict[str, Callable[..., Days]] = {
    "year": year_days,
    "month": _month,
    "week": iso_week,
    "day": _day,
}


def _misspelt(text: str) -> DateError:
    """Return the error for text that is no date, with the nearest right way to write it."""
    if dashed := _DASHED_RANGE.fullmatch(text):
        remedy = f"write a range with two dots: {dashed[1]}..{dashed[2]}"
        return DateError(f'"{text}" is no date and no range', remedy)
    if short := _SHORT_PLACES.fullmatch(text):
        year, week, second, third = short.groups()
        ends = [f"{week.upper()}{second:0>2}"] + ([f"{third:0>2}"] if third and not week else [])
        return DateError(f'"{text}" is no date', f"write {'-'.join([year, *ends])}")
    return DateError(f'"{text}" is no date', _REMEDY)


def _one(text: str) -> Days:
    for form, pattern in _FORMS:
        if found := pattern.fullmatch(text):
            numbers = [int(group) for group in found.groups()]
            if not EARLIEST.year <= numbers[0] <= LATEST.year:
                years = f"years run from {EARLIEST.year} to {LATEST.year}"
                raise DateError(f"the year {found[1]} cannot be meant", years)
            return _MAKERS[form](*numbers)
    raise _misspelt(text)


def parse_days(text: str) -> Days:
    """Read a date or a range of dates; DateError says what is wrong and how to write it.

    A lone date is that whole day, week, month or year; in a range both ends are included and
    either may be left out.
    """
    text = text.strip()
    if not text:
        raise DateError("the date is blank", _REMEDY)
    if "\u2026" in text or re.search(r"\.{3,}", text):
        raise DateError(f'"{text}" has too many dots', "write a range with two dots: FROM..TO")
    if ".." not in text:
        return _one(text)
    start, _, end = (part.strip() for part in text.partition(".."))
    first = _one(start).first if start else None
    last = _one(end).last if end else None
    if first and last and first > last:
        raise DateError(f"{start}..{end} ends before it starts", f"write {end}..{start}")
    return Days(first, last)


def _as_year(day: date, end: bool) -> str | None:
    return f"{day.year}" if (day.month, day.day) == ((12, 31) if end else (1, 1)) else None


def _as_month(day: date, end: bool) -> str | None:
    edge = monthrange(day.year, day.month)[1] if end else 1
    return f"{day.year}-{day.month:02}" if day.day == edge else None


def _as_week(day: date, end: bool) -> str | None:
    year, week, weekday = day.isocalendar()
    return f"{year}-W{week:02}" if weekday == (7 if end else 1) else None


def _as_day(day: date, end: bool) -> str | None:
    return day.isoformat()


_SHOWN = (_as_year, _as_month, _as_week, _as_day)
_WEEKS_FIRST = (_as_year, _as_week, _as_month, _as_day)


def show_start(day: date, weeks: bool = False) -> str:
    """Return *day* as the start of a year, month or week where it is one, else as it is.

    *weeks* as in `show_days`.
    """
    forms = _WEEKS_FIRST if weeks else _SHOWN
    return next(shown for show in forms if (shown := show(day, False)))


def _ends(days: Days, weeks: bool) -> tuple[str | None, str | None]:
    """Return both ends in the coarsest form that fits the two of them; None for an open end."""
    for show in _WEEKS_FIRST if weeks else _SHOWN:
        first = show(days.first, False) if days.first else None
        last = show(days.last, True) if days.last else None
        if (first or not days.first) and (last or not days.last):
            return first, last
    raise AssertionError("a plain date fits every day")


def show_days(days: Days, weeks: bool = False) -> str:
    """Return *days* in words: `2022-W14`, `2024-W10 to 2025-W22`, `2024-03 or later`, `any time`.

    Whole years, months and weeks are named as such, all else by plain dates. With *weeks*, an end
    that could be called by month or by week (1 April 2024 is a Monday) is called by week.
    """
    first, last = _ends(days, weeks)
    if first and last:
        return first if first == last else f"{first} to {last}"
    if first:
        return f"{first} or later"
    return f"up to {last}" if last else "any time"
