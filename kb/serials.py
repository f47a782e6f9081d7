"""Serials read as sets of possible units, the examples of a scheme proved, prefixes composed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date

from kb.dates import EARLIEST, EVER, LATEST, Days, show_days
from kb.errors import KbError
from kb.folding import fold
from kb.places import NAMES, Code, Fault, days_in, places, take_apart, years
from kb.prefixes import compose
from kb.records import Example, Family, Reading, Scheme

Use = tuple[Scheme, Days]


class SerialError(KbError):
    """A serial that cannot be read: which place is wrong, and what a sound one looks like."""


def uses_of(family: Family, schemes: Mapping[str, Scheme]) -> tuple[Use, ...]:
    """Return the schemes of *family*, each with the days on which a unit can bear it.

    These are the scheme's own days, cut to the family's use of it and to the production.
    """
    found = []
    for use in family.schemes:
        scheme = schemes.get(use.name)
        cut = scheme.used.meet(use.used) if scheme else None
        days = cut.meet(family.produced) if cut else None
        if scheme and days:
            found.append((scheme, days))
    return tuple(found)


def _bounded(days: Days) -> Days:
    return Days(days.first or EARLIEST, days.last or LATEST)


def _coded(code: Code, scheme: Scheme, window: Days) -> Iterator[Days]:
    """Yield the stretches of days that *code* can stand for, year by year."""
    if code.year is None:
        yield _bounded(scheme.used)
        return
    for year in years(code, scheme, window):
        if days := days_in(code, scheme, year):
            yield days


def readings_within(code: Code, scheme: Scheme, window: Days) -> tuple[Reading, ...]:
    """Return the readings of a taken-apart serial that have a day in *window*, oldest first."""
    window = _bounded(window)
    return tuple(
        Reading(
            scheme=scheme.name,
            plant=code.plant,
            built=built,
            sequence=code.sequence,
            code_days=days,
        )
        for days in _coded(code, scheme, window)
        if (built := days.meet(window))
    )


def read_serial(text: str, uses: Sequence[Use], today: date) -> tuple[Reading, ...]:
    """Return every way to read *text*; SerialError where there is none.

    *uses* holds each scheme with the days on which the unit can bear it (`uses_of`); no reading
    reaches beyond *today*.
    """
    serial = fold(text)
    if not uses:
        raise SerialError("no serial scheme is known for this model", "leave the serial out")
    found: list[Reading] = []
    for scheme, days in uses:
        code = take_apart(serial, scheme)
        window = days.meet(Days(None, today))
        if isinstance(code, Code) and window:
            found += readings_within(code, scheme, window)
    if not found:
        raise _refusal(text, serial, uses, today)
    return tuple(sorted(dict.fromkeys(found), key=lambda reading: reading.built))


def looks_like(scheme: Scheme) -> str:
    """Return what a sound serial of *scheme* looks like, with its places named."""
    names = ", ".join(NAMES[letter] for letter, _ in places(scheme.layout))
    return f"a sound one looks like {sample_of(scheme)}: {names}"


def sample_of(scheme: Scheme) -> str:
    """Return the first example of *scheme*, else a serial made up, its parts set apart.

    A layout with a letter that stands for nothing, which the proof reports, has none.
    """
    if scheme.examples:
        return scheme.examples[0].serial
    if not all(letter in NAMES for letter, _ in places(scheme.layout)):
        return ""
    used = _bounded(scheme.used)
    first = scheme.used.first or date(max(scheme.year_first, 2020), 1, 1)
    spring = date(first.year + 1, 3, 15)
    plant = next(iter(scheme.plants), "A")
    whole = compose(scheme, plant, spring if spring in used else first, number=31)
    parts = ["".join(whole[place] for place in at) for _, at in places(scheme.layout)]
    return " ".join(parts) if "".join(parts) == whole else whole


def _refusal(text: str, serial: str, uses: Sequence[Use], today: date) -> SerialError:
    """Return the error for the scheme that fits best: by length, then by sound places."""
    codes = [(take_apart(serial, scheme), scheme, days) for scheme, days in uses]
    for code, scheme, days in codes:
        if isinstance(code, Code):
            reason = _cut_away(code, scheme, days, today)
            return SerialError(f"serial {text.strip()}: {reason}", looks_like(scheme))
    faults = [(code, scheme) for code, scheme, _ in codes if isinstance(code, Fault)]
    fault, scheme = max(faults, key=lambda pair: (pair[0].right_length, pair[0].sound))
    return SerialError(f"serial {text.strip()}: {fault.message}", looks_like(scheme))


def _cut_away(code: Code, scheme: Scheme, days: Days, today: date) -> str:
    """Say why a serial with sound places has no day left: no such day, too early or too late."""
    window = days.meet(Days(None, today)) or days
    near = [year for year in years(code, scheme, window) if _bounded(window).meet(_year(year))]
    if near and not any(days_in(code, scheme, year) for year in near):
        return f"{' or '.join(map(str, near))} has no {_day_named(code)}"
    stretches = list(_coded(code, scheme, EVER))
    early = [s for s in stretches if s.last and days.first and s.last < days.first]
    coming = [s for s in stretches if s.meet(days)]
    late = [s for s in stretches if s.first and days.last and s.first > days.last]
    told = [_told(stretch, days, today) for stretch in (*early[-1:], *(coming or late)[:1])]
    return f"a unit with this serial would have been built in {', or '.join(told)}"


def _year(year: int) -> Days:
    return Days(date(year, 1, 1), date(year, 12, 31))


def _day_named(code: Code) -> str:
    if code.yearday is not None:
        return f"day {code.yearday}"
    if code.day is not None and code.month is not None:
        return f"day {code.month:02}-{code.day:02}"
    return f"week {code.week}"


def _told(stretch: Days, days: Days, today: date) -> str:
    if stretch.first and stretch.first > today:
        return f"{show_days(stretch)}, after today"
    return f"{show_days(stretch)}, outside the production of this model ({show_days(days)})"


def prove_example(scheme: Scheme, example: Example, today: date) -> str | None:
    """Return what is wrong with *example*, or None where it reads as it says.

    It is read up to the later of *today* and its own date, so that a clock set back proves nothing
    false.
    """
    stated = example.built.last if example.built else None
    try:
        readings = read_serial(example.serial, [(scheme, scheme.used)], max(today, stated or today))
    except SerialError as error:
        return f"example {error.message}"
    if any(_as_stated(reading, example) for reading in readings):
        return None
    return f"example {example.serial}: {_difference(readings[-1], example)}"


def prove(scheme: Scheme, today: date) -> list[str]:
    """Return a message for each example of *scheme* that does not read as stated."""
    wrong = (prove_example(scheme, example, today) for example in scheme.examples)
    return [message for message in wrong if message]


def _as_stated(reading: Reading, example: Example) -> bool:
    plant = example.plant is None or fold(example.plant) == (reading.plant or "")
    built = example.built is None or example.built in (reading.built, reading.code_days)
    return plant and built and example.sequence in (None, reading.sequence)


def _difference(reading: Reading, example: Example) -> str:
    told = []
    if example.plant is not None and fold(example.plant) != (reading.plant or ""):
        told.append(f"the plant is {reading.plant or 'not told'}, not {example.plant}")
    if example.built and example.built not in (reading.built, reading.code_days):
        told.append(f"built {show_days(reading.code_days)}, not {show_days(example.built)}")
    if example.sequence not in (None, reading.sequence):
        told.append(f"the number is {reading.sequence}, not {example.sequence}")
    return "; ".join(told)
