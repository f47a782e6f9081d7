"""How serials begin over a stretch of days: a row of prefixes for each scheme and plant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from kb.dates import Days
from kb.folding import fold
from kb.prefixes import coded_days, prefix_of
from kb.records import Scheme
from kb.serials import Use


@dataclass(frozen=True, slots=True, kw_only=True)
class PrefixRow:
    """The serial prefixes of one scheme and plant over *days*, both ends included.

    *first_whole* and *last_whole* tell whether all units under that prefix were built in *days*;
    where not, the neighbouring stretch has the same prefix too. *plant* is empty where the layout
    has none.
    """

    scheme: str
    plant: str
    plant_name: str
    first: str
    last: str
    days: Days
    first_whole: bool
    last_whole: bool


def _plants(use: Use) -> list[tuple[str, str]]:
    scheme, _ = use
    if "P" not in scheme.layout:
        return [("", "")]
    return [(fold(code), name) for code, name in scheme.plants.items()] or [("", "")]


def prefix_table(days: Days, uses: Sequence[Use]) -> tuple[PrefixRow, ...]:
    """Return the first and last prefix of each scheme and plant in *days*; both ends are set."""
    return PrefixRows(uses).over(days)


class PrefixRows:
    """The rows of many stretches of one production; what a day's serials begin with is kept."""

    def __init__(self, uses: Sequence[Use]) -> None:
        self._uses = [(use, _plants(use)) for use in uses]
        self._prefixes: dict[tuple[str, str, date], str] = {}
        self._coded: dict[tuple[str, date], Days] = {}

    def over(self, days: Days) -> tuple[PrefixRow, ...]:
        """Return the first and last prefix of each scheme and plant in *days*."""
        return tuple(
            self._row(use, plant, name, cut)
            for use, plants in self._uses
            if (cut := days.meet(use[1]))
            for plant, name in plants
        )

    def _row(self, use: Use, plant: str, name: str, days: Days) -> PrefixRow:
        scheme, known = use
        first, last = days.first or date.min, days.last or date.max
        starts = self._coded_days(scheme, first).meet(known)
        ends = self._coded_days(scheme, last).meet(known)
        return PrefixRow(
            scheme=scheme.name,
            plant=plant,
            plant_name=name,
            first=self._prefix(scheme, plant, first),
            last=self._prefix(scheme, plant, last),
            days=days,
            first_whole=starts is None or starts.first is None or first <= starts.first,
            last_whole=ends is None or ends.last is None or last >= ends.last,
        )

    def _prefix(self, scheme: Scheme, plant: str, day: date) -> str:
        key = (scheme.name, plant, day)
        if key not in self._prefixes:
            self._prefixes[key] = prefix_of(scheme, plant, day)
        return self._prefixes[key]

    def _coded_days(self, scheme: Scheme, day: date) -> Days:
        key = (scheme.name, day)
        if key not in self._coded:
            self._coded[key] = coded_days(scheme, day)
        return self._coded[key]
