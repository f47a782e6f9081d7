"""Revisions and days as areas: what they share, what is left when one is taken from another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from kb.dates import EARLIEST, LATEST, Days
from kb.records import Count

TOP = 10**9
FIRST, LAST = EARLIEST.toordinal(), LATEST.toordinal()


class Area(NamedTuple):
    """Revisions *low*..*high* built on the days *start*..*end* (ordinals), all ends included."""

    low: int
    high: int
    start: int
    end: int

    def meet(self, other: Area) -> Area | None:
        """Return what both areas share, or None."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        start, end = max(self.start, other.start), min(self.end, other.end)
        return Area(low, high, start, end) if low <= high and start <= end else None

    def without(self, other: Area) -> Iterator[Area]:
        """Yield the up to four areas that are left when *other* is taken away."""
        cut = self.meet(other)
        if cut is None:
            yield self
            return
        if self.start < cut.start:
            yield Area(self.low, self.high, self.start, cut.start - 1)
        if cut.end < self.end:
            yield Area(self.low, self.high, cut.end + 1, self.end)
        if self.low < cut.low:
            yield Area(self.low, cut.low - 1, cut.start, cut.end)
        if cut.high < self.high:
            yield Area(cut.high + 1, self.high, cut.start, cut.end)


Plants = dict[str | None, list[Area]]


def area_of(days: Days, revision: Count | None = None) -> Area:
    """Return the area of a stretch of days and a range of revisions."""
    low = revision.low if revision and revision.low is not None else 0
    high = revision.high if revision and revision.high is not None else TOP
    first = days.first.toordinal() if days.first else FIRST
    return Area(low, high, first, days.last.toordinal() if days.last else LAST)


def minus(areas: Iterable[Area], taken: Iterable[Area]) -> list[Area]:
    """Return what is left of *areas* when all of *taken* are taken away."""
    left = list(areas)
    for area in taken:
        left = [piece for kept in left for piece in kept.without(area)]
    return left


def add(plants: Plants, plant: str | None, areas: Iterable[Area]) -> None:
    """Add *areas* to those of a plant, so that none of them lies over another."""
    held = plants.setdefault(plant, [])
    for area in areas:
        held += minus([area], held)


def _joined(one: Area, other: Area) -> Area | None:
    """Return the area that two neighbours make together, or None."""
    if (one.low, one.high) == (other.low, other.high) and one.end + 1 == other.start:
        return Area(one.low, one.high, one.start, other.end)
    if (one.start, one.end) == (other.start, other.end) and one.high + 1 == other.low:
        return Area(one.low, other.high, one.start, one.end)
    return None


def coalesced(areas: list[Area]) -> list[Area]:
    """Return *areas* in order, neighbours made one where together they are an area."""
    if len(areas) < 2:
        return areas
    left = sorted(areas)
    pairs = [(a, b) for a in left for b in left if _joined(a, b)]
    while pairs:
        one, other = pairs[0]
        joined = _joined(one, other)
        left = sorted([a for a in left if a not in (one, other)] + ([joined] if joined else []))
        pairs = [(a, b) for a in left for b in left if _joined(a, b)]
    return left


def meet(areas: Iterable[Area], others: Iterable[Area]) -> bool:
    """Tell whether any of *areas* shares anything with any of *others*."""
    return any(area.meet(other) for area in areas for other in others)
