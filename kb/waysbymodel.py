"""What to order for a part number, model by model, and which models share the same answer.

A row of parts.csv can be limited to models, and so can the rows it leads to. Instead of reckoning
with patterns, the number is followed once for each set of models that no row on the way tells
apart; what is said then holds for every model by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from kb.folding import fold
from kb.modelsets import Patterns, fits
from kb.partlist import Catalogue
from kb.records import PartRow
from kb.substitution import ANY_OTHER, Branch, differ, follow


@dataclass(frozen=True, slots=True)
class Needed:
    """A number to order and how many of it, for *models*."""

    part: PartRow
    quantity: int
    models: frozenset[str]


@dataclass(frozen=True, slots=True)
class Way:
    """What a number comes to for *models*, all alike; branches are alternatives."""

    models: tuple[str, ...]
    branches: tuple[Branch, ...]
    concerned: bool

    @property
    def outcomes(self) -> set[tuple[tuple[str, int], ...]]:
        """What is ordered, of which nothing at all does not count."""
        return {branch.outcome for branch in self.branches if branch.lines}


class ByModel:
    """The ways of one number, for every model of the house."""

    def __init__(self, catalogue: Catalogue, number: str) -> None:
        self._catalogue = catalogue
        self._number = number
        rows = list(catalogue.reached(number))
        self._patterns = tuple(dict.fromkeys(row.models for row in rows if row.models))

    @cached_property
    def _models(self) -> tuple[str, ...]:
        named = (pattern for patterns in self._patterns for pattern in patterns)
        return self._catalogue.models or (*dict.fromkeys(named), ANY_OTHER)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The ways that concern any model, in the order in which the rows name the models."""
        alike: dict[tuple[bool, ...], list[str]] = {}
        for model in self._models:
            alike.setdefault(tuple(fits(each, model) for each in self._patterns), []).append(model)
        ways = [self._way(tuple(models)) for _, models in sorted(alike.items(), reverse=True)]
        return tuple(way for way in ways if way.concerned) or tuple(ways)

    def way_of(self, model: str) -> Way:
        """Return the way of one model, known to the house or not."""
        return self._way((model,))

    def _way(self, models: tuple[str, ...]) -> Way:
        rows = self._catalogue.rows(self._number)
        concerned = any(not row.models or fits(row.models, models[0]) for row in rows)
        found = follow(self._catalogue, self._number, models[0])
        return Way(models, tuple(found), concerned)

    def branches(self) -> tuple[Branch, ...]:
        """Return all branches of all ways, those with something to order first."""
        every = [branch for way in self.ways for branch in way.branches]
        return tuple(sorted(every, key=lambda branch: not branch.lines))

    @property
    def choose(self) -> bool:
        """Whether the model decides between numbers to order."""
        outcomes: set[tuple[tuple[str, int], ...]] = set()
        for way in self.ways:
            outcomes |= way.outcomes
        return len(outcomes) > 1 or any(differ(way.branches) for way in self.ways)

    def lines(self, only: Way | None = None) -> Iterator[Needed]:
        """Yield what is ordered; with *only*, what concerns that way, for all its models."""
        every = self._lines_of(self.ways)
        if only is None:
            yield from every.values()
            return
        for key, line in self._lines_of([only]).items():
            yield every.get(key, line)

    def _lines_of(self, ways: Iterable[Way]) -> dict[tuple[str, int], Needed]:
        found: dict[tuple[str, int], Needed] = {}
        places: dict[tuple[str, int], int] = {}
        for way in ways:
            summed = [each for branch in way.branches for each in _summed(branch)]
            for place, (part, quantity) in enumerate(summed):
                key = (fold(part.number), quantity)
                before = found[key].models if key in found else frozenset()
                found[key] = Needed(part, quantity, before | set(way.models))
                places.setdefault(key, place)
        # Alternatives stand together, where the first of them stood in its own way.
        return {key: found[key] for key in sorted(found, key=lambda key: places[key])}

    def named(self, models: frozenset[str]) -> Patterns:
        """Return models as they are listed: none for every model, else as a row names just them."""
        if models.issuperset(self._models) or ANY_OTHER in models:
            return ()
        for patterns in self._patterns:
            plain = not any(sign in pattern for pattern in patterns for sign in "*?")
            if plain and {m for m in self._models if fits(patterns, m)} == models:
                return patterns
        return tuple(model for model in self._models if model in models) or tuple(sorted(models))


def _summed(branch: Branch) -> Iterator[tuple[PartRow, int]]:
    """Yield each number of a branch once, with all that is needed of it."""
    parts: dict[str, PartRow] = {}
    needed: dict[str, int] = {}
    for line in branch.lines:
        key = fold(line.part.number)
        parts.setdefault(key, line.part)
        needed[key] = needed.get(key, 0) + line.quantity
    yield from ((parts[key], quantity) for key, quantity in needed.items())
