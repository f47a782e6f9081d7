"""Slow, obvious answers: every day of the calendar, every plant and revision, one by one.

Shares no code with the product but its records. A unit is judged by listing all the days, plants
and revisions that it can have; a verdict is a number (no 0, maybe 1, yes 2), so that Kleene's and,
or and not are min, max and 2 - x.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kb.dates import Days
from kb.records import Block, Count, Family, Scheme, SerialRange

NO, MAYBE, YES = 0, 1, 2
WORDS = ("no", "maybe", "yes")
REVISIONS = range(10)


def calendar(first: date, last: date) -> list[date]:
    """Every day from *first* to *last*."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]


def inside(day: date, days: Days) -> bool:
    """Whether a day lies in a range."""
    after = days.first is None or day >= days.first
    return after and (days.last is None or day <= days.last)


def _place(letter: str, scheme: Scheme, day: date) -> str | None:
    """What the date places of one letter hold on *day*; None for plant, number and anything."""
    iso = scheme.week == "iso" and "W" in scheme.layout
    year = day.isocalendar()[0] if iso else day.year
    width = scheme.layout.count(letter)
    if letter == "Y":
        if scheme.year_letters:
            turn = year - scheme.year_first
            letters = scheme.year_letters
            return letters[turn % len(letters)] if turn >= 0 else "-"
        return str(year)[4 - width :]
    if letter == "W":
        week = day.isocalendar()[1] if iso else int(day.strftime("%j")) // 7
        if not iso:
            week = min(week + (int(day.strftime("%j")) % 7 > 0), 52)
        return str(week).zfill(width)
    if letter == "M":
        return scheme.month_letters[day.month - 1] if scheme.month_letters else day.strftime("%m")
    if letter == "D":
        return day.strftime("%d")
    return day.strftime("%j") if letter == "J" else None


def stamped(serial: str, scheme: Scheme, day: date) -> bool:
    """Whether a unit of *serial* (bare, in capitals) can have been built on *day*."""
    return _date_places(serial, scheme) == _code_on(scheme, day)


def _date_places(serial: str, scheme: Scheme) -> str:
    """What stands in the date places of a serial, letter by letter."""
    letters = sorted(set(scheme.layout) & set("YWMDJ"))
    pairs = list(zip(serial, scheme.layout, strict=True))
    return "".join(c for letter in letters for c, other in pairs if other == letter)


def _code_on(scheme: Scheme, day: date) -> str:
    """What the date places of a unit built on *day* hold, letter by letter."""
    letters = sorted(set(scheme.layout) & set("YWMDJ"))
    return "".join(_place(letter, scheme, day) or "" for letter in letters)


_Known = tuple[tuple[str, str, int, str, str], date, date]
_FILED: dict[_Known, dict[str, list[date]]] = {}


def _filed(scheme: Scheme, whole: Sequence[date]) -> dict[str, list[date]]:
    """Every day of *whole* under the code of its date places; worked out once a scheme."""
    ways = scheme.layout, scheme.year_letters, scheme.year_first, scheme.month_letters, scheme.week
    known = ways, whole[0], whole[-1]
    if known not in _FILED:
        filed: dict[str, list[date]] = {}
        for day in whole:
            filed.setdefault(_code_on(scheme, day), []).append(day)
        _FILED[known] = filed
    return _FILED[known]


def sound(serial: str, scheme: Scheme) -> bool:
    """Whether length, plant and number fit the layout."""
    if len(serial) != len(scheme.layout):
        return False
    held = {"P": "", "N": ""}
    for character, letter in zip(serial, scheme.layout, strict=True):
        held[letter] = held.get(letter, "") + character
    plant = "P" not in scheme.layout or not scheme.plants or held["P"] in scheme.plants
    return plant and all(c in "0123456789" for c in held["N"])


def runs(days: Iterable[date]) -> Iterator[list[date]]:
    """Days without a gap, together."""
    run: list[date] = []
    for day in sorted(days):
        if run and day - run[-1] > timedelta(days=1):
            yield run
            run = []
        run.append(day)
    if run:
        yield run


@dataclass(frozen=True)
class SlowReading:
    """One meaning of a serial: all the days of its code, and those left after every cut."""

    scheme: str
    plant: str | None
    sequence: int | None
    code: tuple[date, ...]
    built: tuple[date, ...]


def _held(serial: str, scheme: Scheme, letter: str) -> str | None:
    if letter not in scheme.layout:
        return None
    return "".join(c for c, other in zip(serial, scheme.layout, strict=True) if other == letter)


def slow_readings(
    serial: str, scheme: Scheme, window: Days, whole: Sequence[date]
) -> list[SlowReading]:
    """Every meaning of a bare serial, by trying all days of *whole*."""
    if not sound(serial, scheme):
        return []
    number = _held(serial, scheme, "N")
    found = []
    for run in runs(_filed(scheme, whole).get(_date_places(serial, scheme), [])):
        built = tuple(day for day in run if inside(day, window))
        if built:
            plant = _held(serial, scheme, "P")
            sequence = int(number) if number is not None else None
            found.append(SlowReading(scheme.name, plant, sequence, tuple(run), built))
    return found


@dataclass(frozen=True)
class SlowUnit:
    """One way a unit can be; *reading* is None where the serial is not known."""

    model: str
    family: Family
    schemes: Sequence[tuple[Scheme, Days]]
    days: Sequence[date]
    plants: frozenset[str] | None
    revision: int | None
    reading: SlowReading | None
    today: date
    whole: Sequence[date]


def fits(pattern: str, model: str) -> bool:
    """Whether a pattern of letters, `*` and `?` fits, by trying every way."""
    if not pattern:
        return not model
    if pattern[0] == "*":
        return any(fits(pattern[1:], model[n:]) for n in range(len(model) + 1))
    return bool(model) and pattern[0] in ("?", model[0]) and fits(pattern[1:], model[1:])


def told(truths: Iterable[bool]) -> int:
    """Yes where all are true, no where none is, else maybe."""
    found = set(truths)
    return MAYBE if len(found) == 2 else YES if True in found else NO


def _in_count(revision: int, wanted: Count) -> bool:
    low = wanted.low is None or revision >= wanted.low
    return low and (wanted.high is None or revision <= wanted.high)


def _parts(day: date) -> tuple[int, int, int]:
    return day.year, day.month, day.day


def _ends(text: str, scheme: Scheme, days: Days, unit: SlowUnit) -> list[SlowReading]:
    past = {day for day in unit.whole if day <= unit.today}
    soon = {day for day in unit.whole if (day.year - 2, day.month, day.day) <= _parts(unit.today)}
    for window, tried in ((days, past), (days, soon), (scheme.used, past)):
        if found := [
            r
            for r in slow_readings(text, scheme, window, unit.whole)
            if any(day in tried for day in r.built)
        ]:
            return found
    return slow_readings(text, scheme, days, unit.whole)[:1]


_Pair = tuple[Scheme, SlowReading, SlowReading]
_PAIRS: dict[tuple[SerialRange, str, date, date, date], list[_Pair]] = {}


def _pairs(serials: SerialRange, unit: SlowUnit) -> list[_Pair]:
    """Every meaning of a range, tried out once for a family."""
    whole = unit.whole[0], unit.whole[-1]
    known = serials, unit.family.name, unit.today, *whole
    if known not in _PAIRS:
        _PAIRS[known] = list(_tried(serials, unit))
    return _PAIRS[known]


def _tried(serials: SerialRange, unit: SlowUnit) -> Iterator[_Pair]:
    for scheme, days in unit.schemes:
        for first in _ends(serials.first, scheme, days, unit):
            for last in _ends(serials.last, scheme, days, unit):
                ordered = (first.code[0], first.sequence or 0) <= (last.code[0], last.sequence or 0)
                if serials.first == serials.last and first != last:
                    continue  # a single serial: each of its years stands for itself
                if ordered and first.plant == last.plant:
                    yield scheme, first, last


def _serial(serials: SerialRange, unit: SlowUnit, typed: str) -> int:
    pairs = _pairs(serials, unit)
    mine = unit.reading
    if mine is None:
        return MAYBE if any(_dates_allow(a, b, unit) for _, a, b in pairs) else NO
    pairs = [(scheme, a, b) for scheme, a, b in pairs if scheme.name == mine.scheme]
    if typed in (serials.first, serials.last):
        return YES if pairs else NO
    key = (mine.code[0], mine.sequence or 0)
    return told(
        a.plant == mine.plant
        and (a.code[0], a.sequence or 0) <= key <= (b.code[0], b.sequence or 0)
        for _, a, b in pairs
    )


def _dates_allow(first: SlowReading, last: SlowReading, unit: SlowUnit) -> bool:
    plant = unit.plants is None or first.plant is None or first.plant in unit.plants
    return plant and any(first.code[0] <= day <= last.code[-1] for day in unit.days)


def judge(block: Block, unit: SlowUnit, typed: str = "") -> int:
    """The verdict of one block."""
    found = [YES]
    if block.families:
        found.append(told([unit.family.name in block.families]))
    if block.models:
        found.append(told([any(fits(pattern, unit.model) for pattern in block.models)]))
    if block.revision is not None:
        revisions = REVISIONS if unit.revision is None else [unit.revision]
        found.append(told(_in_count(r, block.revision) for r in revisions))
    if block.built is not None:
        found.append(told(inside(day, block.built) for day in unit.days))
    if block.plants:
        known = unit.plants
        found.append(MAYBE if known is None else told(p in block.plants for p in known))
    if block.serials:
        found.append(max(_serial(serials, unit, typed) for serials in block.serials))
    excepted = max((judge(other, unit, typed) for other in block.but_not), default=NO)
    return min(*found, YES - excepted)


def slow_answer(where: Sequence[Block], units: Sequence[SlowUnit], typed: str = "") -> str:
    """The answer over every way a unit can be."""
    found = {max((judge(b, unit, typed) for b in where), default=NO) for unit in units}
    return WORDS[found.pop()] if len(found) == 1 else "maybe"
