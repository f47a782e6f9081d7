"""When in a model's production a bulletin applies: the answer by day, for the store's plain SQL."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from kb.dates import Days
from kb.judge import Case, judge_blocks, plants_of
from kb.ranges import Ranges
from kb.records import Block, Family, Verdict
from kb.serials import uses_of
from kb.units import Reference

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days of production over which the answer for a unit known by model and day is the same."""

    days: Days
    applies: Verdict


def stretches(
    where: tuple[Block, ...], model: str, family: Family, house: Reference
) -> list[Stretch]:
    """Return when *where* applies or may apply to *model*, as stretches of built days in order.

    Plant, revision and serial count as unknown, so a condition on them makes a maybe. Nothing is
    cut to today.
    """
    uses = uses_of(family, house.schemes)
    ranges = Ranges(uses, None)
    plants = plants_of(uses)
    found: list[Stretch] = []
    for days in _pieces(family.produced, _starts(where, ranges)):
        case = Case(
            model=model, family=family.name, ranges=ranges, built=days, plants=plants, reading=None
        )
        _append(found, Stretch(days, judge_blocks(where, case)))
    return [stretch for stretch in found if stretch.applies != "no"]


def _append(found: list[Stretch], stretch: Stretch) -> None:
    """Add a stretch, joined to the one before where the answer is the same."""
    if found and found[-1].applies == stretch.applies:
        found[-1] = Stretch(Days(found[-1].days.first, stretch.days.last), stretch.applies)
    else:
        found.append(stretch)


def _starts(where: Iterable[Block], ranges: Ranges) -> set[date]:
    """Return the days on which the answer can change."""
    starts: set[date] = set()
    for block in where:
        spans = [block.built] if block.built else []
        spans += [ends.days for serials in block.serials for ends in ranges.of(serials)]
        for days in spans:
            starts.update(filter(None, (days.first, days.last and days.last + _DAY)))
        starts |= _starts(block.but_not, ranges)
    return starts


def _pieces(produced: Days, starts: Iterable[date]) -> Iterator[Days]:
    first = produced.first
    for start in sorted(starts):
        if (first is None or first < start) and start in produced:
            yield Days(first, start - _DAY)
            first = start
    yield Days(first, produced.last)
