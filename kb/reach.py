"""All units that a bulletin can reach, as boxes, and what one bulletin leaves uncovered of another.

Serial ranges count by the days and plant of their ends. Exceptions that depend on serials are not
taken away: a box may be too large, never too small.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kb.dates import EARLIEST, LATEST, Days, show_days, show_start
from kb.folding import fold
from kb.judge import family_named, model_named
from kb.ranges import Ranges
from kb.records import Block, Count, Family
from kb.serials import uses_of
from kb.settle import listed, show_count
from kb.units import Reference

_TOP = 10**9
_FIRST, _LAST = EARLIEST.toordinal(), LATEST.toordinal()


@dataclass(frozen=True, slots=True, order=True)
class Area:
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


Place = tuple[str, str | None]
Region = dict[Place, list[Area]]


@dataclass(frozen=True, slots=True, order=True)
class Box:
    """Units of one model and plant (None: any), with a range of revisions and of days."""

    model: str
    plant: str | None
    revision: Count
    days: Days


def _area(days: Days, revision: Count | None = None) -> Area:
    low = revision.low if revision and revision.low is not None else 0
    high = revision.high if revision and revision.high is not None else _TOP
    first = days.first.toordinal() if days.first else _FIRST
    return Area(low, high, first, days.last.toordinal() if days.last else _LAST)


def _minus(areas: Iterable[Area], taken: Iterable[Area]) -> list[Area]:
    left = list(areas)
    for area in taken:
        left = [piece for kept in left for piece in kept.without(area)]
    return left


def _add(region: Region, place: Place, areas: Iterable[Area]) -> None:
    held = region.setdefault(place, [])
    for area in areas:
        held += _minus([area], held)


def _joined(one: Area, other: Area) -> Area | None:
    """Return the area that two neighbours make together, or None."""
    if (one.low, one.high) == (other.low, other.high) and one.end + 1 == other.start:
        return Area(one.low, one.high, one.start, other.end)
    if (one.start, one.end) == (other.start, other.end) and one.high + 1 == other.low:
        return Area(one.low, other.high, one.start, one.end)
    return None


def _coalesced(areas: Sequence[Area]) -> list[Area]:
    left = sorted(areas)
    pairs = [(a, b) for a in left for b in left if _joined(a, b)]
    while pairs:
        one, other = pairs[0]
        joined = _joined(one, other)
        left = sorted([a for a in left if a not in (one, other)] + ([joined] if joined else []))
        pairs = [(a, b) for a in left for b in left if _joined(a, b)]
    return left


class _Frame:
    """The production of one family by plant; None stands for a plant that no serial tells."""

    def __init__(self, family: Family, house: Reference, today: date) -> None:
        uses = uses_of(family, house.schemes)
        self.family = family
        self.ranges = Ranges(uses, today)
        self.plants: dict[str | None, list[Area]] = {}
        told: Region = {}
        for scheme, days in uses:
            for plant in map(fold, scheme.plants) if scheme.plants else (None,):
                _add(told, ("", plant), [_area(days)])
        named = [area for areas in told.values() for area in areas]
        _add(told, ("", None), _minus([_area(family.produced)], named))
        self.plants = {plant: _coalesced(areas) for (_, plant), areas in told.items() if areas}

    def areas(self, block: Block, plant: str | None, surely: bool) -> list[Area]:
        """Return what *block*, its exceptions aside, reaches in one plant."""
        if block.plants:
            named = plant in map(fold, block.plants) if plant else not surely
            if not named:
                return []
        wanted = [_area(block.built or Days(), block.revision)]
        if block.serials:
            wanted = [
                meet
                for a in wanted
                for b in self._serial_areas(block, plant)
                if (meet := a.meet(b))
            ]
        return [meet for a in wanted for b in self.plants[plant] if (meet := a.meet(b))]

    def _serial_areas(self, block: Block, plant: str | None) -> Iterator[Area]:
        for serials in block.serials:
            for ends in self.ranges.of(serials):
                if None in (ends.plant, plant) or ends.plant == plant:
                    yield _area(ends.days)


def _has_serials(block: Block) -> bool:
    return bool(block.serials) or any(map(_has_serials, block.but_not))


def _block_areas(
    block: Block, frame: _Frame, model: str, plant: str | None, surely: bool = False
) -> list[Area]:
    """Return the areas of one block, exceptions taken away where they are sure to hold."""
    if not (family_named(block, frame.family.name) and model_named(block, model)):
        return []
    left = frame.areas(block, plant, surely)
    for other in block.but_not:
        if left and not _has_serials(other):
            left = _minus(left, _block_areas(other, frame, model, plant, surely=True))
    return left


def _walk(
    where: Sequence[Block], house: Reference, today: date
) -> Iterator[tuple[_Frame, Place, list[Area]]]:
    """Yield the areas that *where* reaches, model by model and plant by plant."""
    for family in house.families.values():
        blocks = [block for block in where if family_named(block, family.name)]
        if not blocks:
            continue
        frame = _Frame(family, house, today)
        for model in family.models:
            for plant in frame.plants:
                region: Region = {}
                for block in blocks:
                    _add(region, ("", plant), _block_areas(block, frame, model, plant))
                if areas := region.get(("", plant)):
                    yield frame, (model, plant), _coalesced(areas)


def _box(place: Place, area: Area) -> Box:
    revision = Count(area.low or None, None if area.high == _TOP else area.high)
    first = date.fromordinal(area.start) if area.start > _FIRST else None
    last = date.fromordinal(area.end) if area.end < _LAST else None
    return Box(place[0], place[1], revision, Days(first, last))


def reach(where: Sequence[Block], house: Reference, today: date) -> frozenset[Box]:
    """Return all units that *where* can reach, in the past and in planned production.

    *today* only tells which year is meant by the serials in *where*.
    """
    return frozenset(
        _box(place, area) for _, place, areas in _walk(where, house, today) for area in areas
    )


def is_empty(where: Sequence[Block], house: Reference, today: date) -> bool:
    """Tell whether *where* can apply to no unit at all."""
    return next(_walk(where, house, today), None) is None


def uncovered(
    old: Sequence[Block], new: Sequence[Block], house: Reference, today: date
) -> list[str]:
    """Return in words the units that *old* reaches and *new* does not; empty where none is."""
    covered = {place: areas for _, place, areas in _walk(new, house, today)}
    left: dict[str, dict[str, None]] = {}
    by_model: dict[str, tuple[_Frame, dict[str | None, list[Area]]]] = {}
    for frame, place, areas in _walk(old, house, today):
        if rest := _coalesced(_minus(areas, covered.get(place, []))):
            by_model.setdefault(place[0], (frame, {}))[1][place[1]] = rest
    for model, (frame, by_plant) in by_model.items():
        for told in _told(frame, by_plant):
            left.setdefault(told, {})[model] = None
    return [f"{listed(list(models), 'and')}{told}" for told, models in left.items()]


def _told(frame: _Frame, by_plant: Mapping[str | None, list[Area]]) -> Iterator[str]:
    """Yield what is left of one model in words; plants are named only where they differ."""
    words: dict[str, list[str]] = {}
    for plant, areas in by_plant.items():
        for area in areas:
            words.setdefault(_words(area, frame, plant), []).append(plant or "")
    for told, plants in words.items():
        everywhere = set(plants) >= {plant or "" for plant in frame.plants}
        named = sorted({plant for plant in plants if plant})
        yield told if everywhere or not named else f"{told}, plant {listed(named)}"


def _words(area: Area, frame: _Frame, plant: str | None) -> str:
    start = min(known.start for known in frame.plants[plant])
    end = max(known.end for known in frame.plants[plant])
    told = _when(area, start, end, frame.ranges.by_week())
    box = _box(("", None), area)
    if (box.revision.low, box.revision.high) == (None, None):
        return told
    return f"{told}, revision {show_count(box.revision)}"


def _when(area: Area, start: int, end: int, weeks: bool) -> str:
    if area.start == start and area.end == end:
        return ""
    if area.start == start:
        return f" built before {show_start(date.fromordinal(area.end + 1), weeks)}"
    first = date.fromordinal(area.start)
    if area.end == end:
        return f" built {show_days(Days(first, None), weeks)}"
    return f" built {show_days(Days(first, date.fromordinal(area.end)), weeks)}"
