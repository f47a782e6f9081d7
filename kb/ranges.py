"""Ranges of whole serials, read with the schemes that a family uses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kb.dates import Days, add_months
from kb.folding import fold
from kb.places import Code, take_apart
from kb.records import Reading, Scheme, SerialRange
from kb.serials import Use, readings_within

Key = tuple[date, int]

_AHEAD = 24  # months that production is announced ahead


@dataclass(frozen=True, slots=True)
class Ends:
    """One meaning of a serial range: *plant*, and the first and last (day, number) in it.

    *days* is what the date places of the two ends span.
    """

    plant: str | None
    first: Key
    last: Key
    days: Days


def key_of(reading: Reading) -> Key:
    """Return what serials of one plant and scheme are ordered by: date, then number."""
    return reading.code_days.first or date.min, reading.sequence or 0


def read_end(text: str, scheme: Scheme, days: Days, today: date | None) -> tuple[Reading, ...]:
    """Return the meanings of a range's end under *scheme*; none where it does not fit.

    An end is looked for in the days of the family's use up to *today*, then in those planned soon
    (a range may be announced ahead), then in the scheme's own days up to *today* (a range may begin
    before the family did); one that means no such day was written for the far future, and the
    nearest day counts. Without *today* nothing is cut.
    """
    code = take_apart(fold(text), scheme)
    if not isinstance(code, Code):
        return ()
    soon = add_months(today, _AHEAD) if today else None
    for window, last in ((days, today), (days, soon), (scheme.used, today)):
        cut = window.meet(Days(None, last))
        if found := readings_within(code, scheme, cut) if cut else ():
            return found
    return readings_within(code, scheme, days)[:1] or readings_within(code, scheme, scheme.used)[:1]


def meanings(
    serials: SerialRange, scheme: Scheme, days: Days, today: date | None
) -> tuple[Ends, ...]:
    """Return every meaning of a range whose ends share a plant and stand in order.

    A single serial is a range of one: where its year can mean two, each stands for itself.
    """
    single = fold(serials.first) == fold(serials.last)
    return tuple(
        Ends(first.plant, key_of(first), key_of(last), Days(first.code_days.first, end))
        for first in read_end(serials.first, scheme, days, today)
        for last in read_end(serials.last, scheme, days, today)
        if first.plant == last.plant and key_of(first) <= key_of(last)
        if not single or first == last
        for end in (last.code_days.last,)
    )


class Ranges:
    """The serial ranges met while one family is judged, each read once per scheme."""

    def __init__(self, uses: Sequence[Use], today: date | None) -> None:
        self.uses = tuple(uses)
        self._today = today
        self._read: dict[tuple[str, Days, SerialRange], tuple[Ends, ...]] = {}

    def under(self, scheme: Scheme, days: Days, serials: SerialRange) -> tuple[Ends, ...]:
        """Return the meanings of *serials* under one scheme in its *days* of use."""
        known = self._read.get((scheme.name, days, serials))
        if known is None:
            known = meanings(serials, scheme, days, self._today)
            self._read[scheme.name, days, serials] = known
        return known

    def by_week(self, scheme_name: str = "") -> bool:
        """Tell whether the scheme of that name, or any scheme in use, tells the ISO week."""
        named = (scheme for scheme, _ in self.uses if scheme_name in ("", scheme.name))
        return any("W" in scheme.layout and scheme.week == "iso" for scheme in named)

    def of(self, serials: SerialRange, scheme_name: str = "") -> tuple[Ends, ...]:
        """Return the meanings under the scheme of that name, or under every scheme in use."""
        return tuple(
            ends
            for scheme, days in self.uses
            if scheme_name in ("", scheme.name)
            for ends in self.under(scheme, days, serials)
        )
