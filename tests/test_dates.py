"""Days and ranges of days: as typed, as shown, week numbers against published tables."""

from __future__ import annotations

from calendar import monthrange
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from isoweek import Week

from kb.dates import (
    EARLIEST,
    EVER,
    LATEST,
    Days,
    add_months,
    iso_week,
    jan1_week,
    long_year,
    month_days,
    parse_days,
    show_days,
    show_start,
    year_days,
)
from kb.errors import DateError
from tests.shared_cases import load

SHARED = load("dates.json")
PARSED = [case for case in SHARED["parse"] if "error" not in case]
REFUSED = [case for case in SHARED["parse"] if "error" in case]

# ISO 8601 week dates. Cases 2008-12-29 and 2010-01-03 stand in published test suites of date
# libraries; the others were recomputed with four libraries that agree (datetime, isoweek, luxon,
# date-fns).
WEEK_DATES = {
    "2005-01-01": "2004-W53-6",
    "2005-01-02": "2004-W53-7",
    "2005-12-31": "2005-W52-6",
    "2006-01-01": "2005-W52-7",
    "2006-01-02": "2006-W01-1",
    "2006-12-31": "2006-W52-7",
    "2007-01-01": "2007-W01-1",
    "2007-12-30": "2007-W52-7",
    "2007-12-31": "2008-W01-1",
    "2008-01-01": "2008-W01-2",
    "2008-12-28": "2008-W52-7",
    "2008-12-29": "2009-W01-1",
    "2008-12-30": "2009-W01-2",
    "2008-12-31": "2009-W01-3",
    "2009-01-01": "2009-W01-4",
    "2009-12-31": "2009-W53-4",
    "2010-01-01": "2009-W53-5",
    "2010-01-02": "2009-W53-6",
    "2010-01-03": "2009-W53-7",
    "2010-01-04": "2010-W01-1",
    "2020-12-31": "2020-W53-4",
    "2021-01-03": "2020-W53-7",
    "2021-01-04": "2021-W01-1",
    "2024-12-30": "2025-W01-1",
    "2026-12-31": "2026-W53-4",
    "2027-01-03": "2026-W53-7",
}
# Years of 53 ISO weeks, 1970-2050: own formula, datetime, isoweek, luxon and date-fns agree.
LONG_YEARS = [1970, 1976, 1981, 1987, 1992, 1998, 2004, 2009, 2015, 2020, 2026, 2032, 2037]
LONG_YEARS += [2043, 2048]

some_days = st.dates(date(2015, 1, 1), date(2027, 12, 31))
ends = st.none() | some_days


@st.composite
def stretches(draw: st.DrawFn) -> Days:
    first, last = draw(ends), draw(ends)
    if first and last and first > last:
        first, last = last, first
    return Days(first, last)


@pytest.mark.parametrize("case", PARSED, ids=lambda case: case["text"])
def test_a_date_or_range_means_its_days(case: dict[str, Any]) -> None:
    days = parse_days(case["text"])
    assert [d and d.isoformat() for d in (days.first, days.last)] == [case["first"], case["last"]]


@pytest.mark.parametrize("case", REFUSED, ids=lambda case: case["text"])
def test_a_wrong_date_is_told_with_its_remedy(case: dict[str, Any]) -> None:
    with pytest.raises(DateError) as refused:
        parse_days(case["text"])
    assert case["error"] in refused.value.message
    assert case["remedy"] in refused.value.remedy


@pytest.mark.parametrize("case", SHARED["show"], ids=lambda case: case["shown"])
def test_days_are_shown_in_the_coarsest_form_that_fits(case: dict[str, str]) -> None:
    assert show_days(parse_days(case["days"])) == case["shown"]


@pytest.mark.parametrize(("day", "week_date"), WEEK_DATES.items())
def test_published_week_dates_lie_in_their_weeks(day: str, week_date: str) -> None:
    year, week, weekday = week_date.split("-")
    days = parse_days(f"{year}-{week}")
    assert days.first is not None
    assert days.first + timedelta(days=int(weekday) - 1) == date.fromisoformat(day)
    assert days == iso_week(int(year), int(week[1:]))


def test_long_years_are_those_of_the_published_table() -> None:
    assert [year for year in range(1970, 2051) if long_year(year)] == LONG_YEARS


def test_every_400_years_have_71_long_ones() -> None:
    assert sum(long_year(year) for year in range(1800, 2200)) == 71


@pytest.mark.parametrize("text", ["2021-W53", "2020-W00", "2020-W54"])
def test_weeks_that_a_year_has_not_are_refused(text: str) -> None:
    # Two libraries silently turn 2021-W53 into January 2022; datetime refuses it, and so do we.
    with pytest.raises(DateError, match=text):
        parse_days(text)


@given(st.integers(1950, 2150), st.integers(1, 52))
def test_iso_weeks_are_those_of_isoweek(year: int, week: int) -> None:
    reference = Week(year, week)
    assert iso_week(year, week) == Days(reference.monday(), reference.sunday())


@given(some_days)
def test_a_day_lies_in_the_week_that_datetime_gives_it(day: date) -> None:
    year, week, _ = day.isocalendar()
    assert day in iso_week(year, week)


@pytest.mark.parametrize("year", [2019, 2020, 2023, 2024])
def test_weeks_from_new_year_share_out_the_year_without_gaps(year: int) -> None:
    days: list[date] = []
    for week in range(1, 53):
        stretch = jan1_week(year, week)
        assert stretch.first is not None and stretch.last is not None
        length = (stretch.last - stretch.first).days + 1
        assert length == 7 if week < 52 else length in (8, 9)
        days += [stretch.first + timedelta(days=n) for n in range(length)]
    assert days == [date(year, 1, 1) + timedelta(days=n) for n in range(len(days))]
    assert days[-1] == date(year, 12, 31)


@pytest.mark.parametrize("week", [0, 53, 54])
def test_weeks_from_new_year_end_with_52(week: int) -> None:
    with pytest.raises(DateError, match="1 to 52"):
        jan1_week(2024, week)


def test_whole_years_and_months() -> None:
    assert year_days(2024) == Days(date(2024, 1, 1), date(2024, 12, 31))
    assert month_days(2024, 2) == Days(date(2024, 2, 1), date(2024, 2, 29))
    assert month_days(2023, 12) == Days(date(2023, 12, 1), date(2023, 12, 31))


@given(stretches(), stretches(), some_days)
def test_a_day_is_in_the_meeting_where_it_is_in_both(a: Days, b: Days, day: date) -> None:
    both = a.meet(b)
    assert (both is not None and day in both) == (day in a and day in b)


@given(stretches(), stretches())
def test_a_stretch_covers_what_their_meeting_leaves_whole(a: Days, b: Days) -> None:
    assert a.covers(b) == (a.meet(b) == b)


@given(stretches())
def test_any_time_covers_everything_and_cuts_nothing(days: Days) -> None:
    assert EVER.covers(days)
    assert EVER.meet(days) == days
    assert all(day in EVER for day in (EARLIEST, LATEST))


@given(some_days, some_days)
def test_plain_dates_are_read_back_as_typed(a: date, b: date) -> None:
    first, last = sorted((a, b))
    assert parse_days(f"{first}..{last}") == Days(first, last)


@given(stretches())
def test_what_is_shown_can_be_typed_again(days: Days) -> None:
    shown = show_days(days).replace("any time", "..").replace("up to ", "..")
    shown = shown.replace(" or later", "..").replace(" to ", "..")
    assert parse_days(shown) == days


@given(st.text(alphabet="0123456789-W. ", max_size=14))
def test_any_text_is_read_or_refused_with_a_remedy(text: str) -> None:
    try:
        days = parse_days(text)
    except DateError as error:
        assert error.message and error.remedy
    else:
        assert days.first is None or days.last is None or days.first <= days.last


@pytest.mark.parametrize(
    ("day", "shown"),
    [
        ("2024-01-01", "2024"),
        ("2023-05-01", "2023-05"),
        ("2020-03-02", "2020-W10"),
        ("2020-03-03", "2020-03-03"),
    ],
)
def test_a_start_is_shown_as_what_begins_on_it(day: str, shown: str) -> None:
    assert show_start(date.fromisoformat(day)) == shown


@given(some_days, st.integers(0, 240))
def test_months_later_is_the_same_day_or_the_last_of_a_shorter_month(day: date, n: int) -> None:
    later = add_months(day, n)
    assert (later.year - day.year) * 12 + later.month - day.month == n
    assert later.day == min(day.day, monthrange(later.year, later.month)[1])


def test_a_leap_day_comes_of_age_on_28_february() -> None:
    assert add_months(date(2020, 2, 29), 12) == date(2021, 2, 28)
    assert add_months(date(2020, 2, 29), 48) == date(2024, 2, 29)


# ---- Laws of stretches ----------------------------------------------------------------------


@given(stretches(), stretches())
def test_meeting_is_the_same_from_both_sides(a: Days, b: Days) -> None:
    assert a.meet(b) == b.meet(a)


@given(stretches(), stretches(), stretches())
def test_of_three_stretches_it_is_the_same_which_two_meet_first(a: Days, b: Days, c: Days) -> None:
    left, right = a.meet(b), b.meet(c)
    assert (left.meet(c) if left else None) == (a.meet(right) if right else None)


@given(stretches(), stretches(), stretches())
def test_what_covers_a_cover_covers_what_is_covered(a: Days, b: Days, c: Days) -> None:
    outer, inner = a.meet(b) or a, a
    assert inner.covers(outer)
    if a.covers(b) and b.covers(c):
        assert a.covers(c)


@given(stretches(), stretches())
def test_two_that_cover_each_other_are_the_same(a: Days, b: Days) -> None:
    assert a.covers(a)
    assert (a.covers(b) and b.covers(a)) == (a == b)


@given(stretches(), stretches())
def test_what_both_share_lies_in_both(a: Days, b: Days) -> None:
    both = a.meet(b)
    if both:
        assert a.covers(both) and b.covers(both)


# ---- Words ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "plain", "by_week"),
    [
        ("2024-04..", "2024-04 or later", "2024-W14 or later"),  # 1 April 2024 was a Monday
        ("..2024-03", "up to 2024-03", "up to 2024-W13"),
        ("2018..", "2018 or later", "2018 or later"),
        ("2024-03..", "2024-03 or later", "2024-03 or later"),  # a Friday
        ("2021-02", "2021-02", "2021-W05 to 2021-W08"),  # four whole weeks
        ("2024-W14..2024-W20", "2024-W14 to 2024-W20", "2024-W14 to 2024-W20"),
        ("2024-03-05..", "2024-03-05 or later", "2024-03-05 or later"),
    ],
)
def test_ends_are_called_by_week_where_that_is_asked_for(
    text: str, plain: str, by_week: str
) -> None:
    assert show_days(parse_days(text)) == plain
    assert show_days(parse_days(text), weeks=True) == by_week


@given(stretches())
def test_by_week_the_same_days_are_meant(days: Days) -> None:
    shown = show_days(days, weeks=True).replace("any time", "..").replace("up to ", "..")
    assert parse_days(shown.replace(" or later", "..").replace(" to ", "..")) == days


@pytest.mark.parametrize(
    ("text", "message", "remedy"),
    [
        ("", "the date is blank", "write 2024, 2024-03, 2024-W10 or 2024-03-04"),
        ("2024-13", "there is no month 13", "months run from 01 to 12"),
        ("2023-02-29", "there is no 2023-02-29", "that month ends with 2023-02-28"),
        ("2021-W53", "2021 has 52 weeks: there is no 2021-W53", "the week after it 2022-W01"),
        ("2024...2025", '"2024...2025" has too many dots', "two dots: FROM..TO"),
        ("2025..2024", "2025..2024 ends before it starts", "write 2024..2025"),
        ("2024 - 2025", "is no date and no range", "write a range with two dots: 2024..2025"),
        ("2024-W10 to 2024-W12", "is no date and no range", "2024-W10..2024-W12"),
        ("2024-3", '"2024-3" is no date', "write 2024-03"),
        ("2024-w3", '"2024-w3" is no date', "write 2024-W03"),
        ("2024-3-4", '"2024-3-4" is no date', "write 2024-03-04"),
        ("1066", "the year 1066 cannot be meant", "years run from 1900 to 2199"),
        ("next week", '"next week" is no date', "write 2024"),
    ],
)
def test_every_wrong_date_has_its_own_words(text: str, message: str, remedy: str) -> None:
    with pytest.raises(DateError) as refused:
        parse_days(text)
    assert message in refused.value.message
    assert remedy in refused.value.remedy
