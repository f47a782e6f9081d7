"""All units that a bulletin can reach, as boxes, and what one bulletin leaves uncovered of another.

Serial ranges count by the days and plant of their ends. Exceptions that depend on serials are not
taken away: a box may be too large, never too small.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from kb.areas import FIRST, LAST, TOP, Area, Plants, add, area_of, coalesced, meet, minus
from kb.dates import Days, show_days, show_start
from kb.folding import fold, fold_name
from kb.judge import family_named, model_named
from kb.modelsets import Models
from kb.ranges import Ranges
from kb.records import Block, Count, Family
from kb.serials import uses_of
from kb.settle import listed, show_count
from kb.units import Reference


@dataclass(frozen=True, slots=True, order=True)
class Box:
    """Units of one model and plant (None: any), with a range of revisions and of days."""

    model: str
    plant: str | None
    revision: Count
    days: Days


class _Frame:
    """The production of one family by plant; None stands for a plant that no serial tells."""

    def __init__(self, family: Family, house: Reference, every: Models, today: date) -> None:
        uses = uses_of(family, house.schemes)
        self.family = family
        self.ranges = Ranges(uses, today)
        self._models = frozenset(family.models)
        self._every = every
        told: Plants = {}
        for scheme, days in uses:
            for plant in map(fold, scheme.plants) if scheme.plants else (None,):
                add(told, plant, [area_of(days)])
        named = [area for areas in told.values() for area in areas]
        add(told, None, minus([area_of(family.produced)], named))
        self.plants: Plants = {plant: coalesced(areas) for plant, areas in told.items() if areas}

    def alike(self, blocks: Iterable[Block]) -> list[frozenset[str]]:
        """Return the models in sets that no pattern of *blocks* or their exceptions tells apart."""
        found = [self._models] if self._models else []
        for pattern in dict.fromkeys(_patterns(blocks)):
            fitting = self._every.of(pattern)
            found = [part for one in found for part in (one & fitting, one - fitting) if part]
        return found

    def areas(self, block: Block, plant: str | None, surely: bool) -> list[Area]:
        """Return what *block*, its exceptions aside, reaches in one plant."""
        if block.plants:
            named = plant in map(fold, block.plants) if plant else not surely
            if not named:
                return []
        wanted = [area_of(block.built or Days(), block.revision)]
        if block.serials:
            wanted = [
                shared
                for a in wanted
                for b in self._serial_areas(block, plant)
                if (shared := a.meet(b))
            ]
        return [shared for a in wanted for b in self.plants[plant] if (shared := a.meet(b))]

    def _serial_areas(self, block: Block, plant: str | None) -> Iterator[Area]:
        for serials in block.serials:
            for ends in self.ranges.of(serials):
                if None in (ends.plant, plant) or ends.plant == plant:
                    yield area_of(ends.days)


def _patterns(blocks: Iterable[Block]) -> Iterator[str]:
    for block in blocks:
        yield from block.models
        yield from _patterns(block.but_not)


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
            left = minus(left, _block_areas(other, frame, model, plant, surely=True))
    return left


class Region(NamedTuple):
    """Models of one family that are all reached alike, and the areas in each plant."""

    frame: _Frame
    models: frozenset[str]
    plants: Plants


def _box(model: str, plant: str | None, area: Area) -> Box:
    revision = Count(area.low or None, None if area.high == TOP else area.high)
    first = date.fromordinal(area.start) if area.start > FIRST else None
    last = date.fromordinal(area.end) if area.end < LAST else None
    return Box(model, plant, revision, Days(first, last))


class Reach:
    """What bulletins of one house reach; each family's production is worked out once.

    *today* only tells which year is meant by the serials in a bulletin.
    """

    def __init__(self, house: Reference, today: date) -> None:
        self._house = house
        self._today = today
        self._families = tuple(house.families.values())
        self._by_name: dict[str, list[int]] = {}
        for place, family in enumerate(self._families):
            self._by_name.setdefault(fold_name(family.name), []).append(place)
        self._models = Models(model for family in self._families for model in family.models)
        self._frames: dict[str, _Frame] = {}

    def regions(self, where: Sequence[Block]) -> Iterator[Region]:
        """Yield all units that *where* can reach, in the past and in planned production."""
        for family in self._open(where):
            blocks = [block for block in where if family_named(block, family.name)]
            frame = self._frame(family)
            for models in frame.alike(blocks):
                if plants := _plants(blocks, frame, next(iter(models))):
                    yield Region(frame, models, plants)

    def _open(self, where: Sequence[Block]) -> Iterable[Family]:
        """Return the families that any block is open to, without asking each of a large house."""
        if not all(block.families for block in where):
            return self._families
        named = {fold_name(name) for block in where for name in block.families}
        found = [place for name in named for place in self._by_name.get(name, ())]
        return [self._families[place] for place in sorted(found)]

    def _frame(self, family: Family) -> _Frame:
        if family.name not in self._frames:
            frame = _Frame(family, self._house, self._models, self._today)
            self._frames[family.name] = frame
        return self._frames[family.name]

    def boxes(self, where: Sequence[Block]) -> frozenset[Box]:
        """Return the units that *where* can reach as boxes."""
        return frozenset(
            _box(model, plant, area)
            for _, models, plants in self.regions(where)
            for plant, areas in plants.items()
            for model in models
            for area in areas
        )

    def is_empty(self, where: Sequence[Block]) -> bool:
        """Tell whether *where* can apply to no unit at all."""
        return next(self.regions(where), None) is None

    def uncovered(self, old: Sequence[Block], new: Sequence[Block]) -> list[str]:
        """Return in words the units that *old* reaches and *new* does not; empty where none is."""
        covered = list(self.regions(new))
        rests: dict[str, tuple[str, ...]] = {}
        for region in self.regions(old):
            for models, rest in _rests(region, covered):
                told = tuple(_told(region.frame, rest))
                rests |= dict.fromkeys(models, told)
        left: dict[str, dict[str, None]] = {}
        for model in self._models.in_order(rests):
            for words in rests[model]:
                left.setdefault(words, {})[model] = None
        return [f"{listed(list(models), 'and')}{told}" for told, models in left.items()]


def _plants(blocks: Sequence[Block], frame: _Frame, model: str) -> Plants:
    """Return the areas that *blocks* reach of one model in each plant; none where all are empty."""
    found: Plants = {}
    for plant in frame.plants:
        reached: Plants = {}
        for block in blocks:
            add(reached, plant, _block_areas(block, frame, model, plant))
        if reached[plant]:
            found[plant] = coalesced(reached[plant])
    return found


def _rests(old: Region, covered: Iterable[Region]) -> Iterator[tuple[frozenset[str], Plants]]:
    """Yield the models of *old* with what is left of them, those of a kind together."""
    left = old.models
    for new in covered:
        models = left & new.models if new.frame is old.frame else frozenset()
        left -= models
        if models and (rest := _rest(old.plants, new.plants)):
            yield models, rest
    if left:
        yield left, old.plants


def _rest(plants: Plants, covered: Plants) -> Plants:
    left = {
        plant: coalesced(minus(areas, covered.get(plant, ()))) for plant, areas in plants.items()
    }
    return {plant: areas for plant, areas in left.items() if areas}


def share(one: Iterable[Region], other: Sequence[Region]) -> bool:
    """Tell whether any unit lies in both."""
    return any(
        not mine.models.isdisjoint(theirs.models)
        and any(meet(areas, theirs.plants.get(plant, ())) for plant, areas in mine.plants.items())
        for mine in one
        for theirs in other
    )


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
    box = _box("", None, area)
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
