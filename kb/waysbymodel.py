"""What to order for a part number, model by model, and which models share the same answer.

A row of parts.csv can be limited to models, and so can the rows it leads to. Instead of reckoning
with patterns, the number is followed once for each set of models that no row on the way tells
apart; what is said then holds for every model by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import islice

from kb.folding import fold
from kb.modelsets import Models, Patterns, fits
from kb.partlist import Catalogue
from kb.records import PartRow
from kb.substitution import ANY_OTHER, Branch, differ, follow

Key = tuple[bool, ...]


@dataclass(frozen=True, slots=True)
class Needed:
    """A number to order and how many of it, for *models*; for every model where none is named."""

    part: PartRow
    quantity: int
    models: Patterns


@dataclass(frozen=True, slots=True)
class Way:
    """What a number comes to for the models that its rows tell alike; branches are alternatives.

    *key* says for each of the rows' limits whether these models are in it.
    """

    key: Key
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
    def _models(self) -> Models:
        if self._catalogue.models.names:
            return self._catalogue.models
        named = (pattern for patterns in self._patterns for pattern in patterns)
        return Models((*dict.fromkeys(named), ANY_OTHER))

    @cached_property
    def _limits(self) -> tuple[frozenset[str], ...]:
        """The models of each limit, in the order in which the rows name them."""
        return tuple(self._models.any_of(patterns) for patterns in self._patterns)

    @cached_property
    def _limited(self) -> frozenset[str]:
        return frozenset[str]().union(*self._limits)

    def _key(self, model: str) -> Key:
        return tuple(model in limit for limit in self._limits)

    @cached_property
    def _first(self) -> dict[Key, str]:
        """For each key that a model has the first such model of the house.

        Most models are in no limit at all; of those only the first is looked for.
        """
        limited = self._limited
        others = (model for model in self._models.names if model not in limited)
        found: dict[Key, str] = {}
        for model in (*self._models.in_order(limited), *islice(others, 1)):
            found.setdefault(self._key(model), model)
        return found

    @cached_property
    def _alike(self) -> dict[Key, set[str]]:
        """The models that are in any limit, by key."""
        found: dict[Key, set[str]] = {}
        for model in self._limited:
            found.setdefault(self._key(model), set()).add(model)
        return found

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The ways that concern any model, in the order in which the rows name the models."""
        ways = [self._way(key, model) for key, model in sorted(self._first.items(), reverse=True)]
        return tuple(way for way in ways if way.concerned) or tuple(ways)

    def way_of(self, model: str) -> Way:
        """Return the way of one model, known to the house or not."""
        return self._way(self._key(model), model)

    def _way(self, key: Key, model: str) -> Way:
        rows = self._catalogue.rows(self._number)
        concerned = any(not row.models or fits(row.models, model) for row in rows)
        return Way(key, tuple(follow(self._catalogue, self._number, model)), concerned)

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

    def lines(self, only: Way | None = None, model: str = "") -> Iterator[Needed]:
        """Yield what is ordered; with *only*, the way of *model*, what concerns that way alone."""
        every = self._lines_of(self.ways)
        for key, line in (self._lines_of([only]) if only else every).items():
            part, ways = every.get(key, line)
            named = self._named(ways) if key in every else (model,)
            yield Needed(part, key[1], named)

    def _lines_of(self, ways: Iterable[Way]) -> dict[tuple[str, int], tuple[PartRow, set[Key]]]:
        """Return by folded number and quantity the part, and the ways that lead to it."""
        found: dict[tuple[str, int], tuple[PartRow, set[Key]]] = {}
        places: dict[tuple[str, int], int] = {}
        for way in ways:
            for place, (part, quantity) in enumerate(
                each for branch in way.branches for each in _summed(branch)
            ):
                key = (fold(part.number), quantity)
                before = found[key][1] if key in found else set()
                found[key] = (part, before | {way.key})
                places.setdefault(key, place)
        # Alternatives stand together, where the first of them stood in its own way.
        return {key: found[key] for key in sorted(found, key=places.__getitem__)}

    def _named(self, ways: set[Key]) -> Patterns:
        """Return models as they are listed: none for every model, else as a row names just them."""
        if ways.issuperset(self._first):
            return ()
        others = (False,) * len(self._limits) in ways
        if others and not self._catalogue.models.names:
            return ()
        named = set[str]().union(*(self._alike[key] for key in ways if key in self._alike))
        if ANY_OTHER in named:  # a limit such as * holds the models too that no row names
            return ()
        models = self._models.in_order(named)
        if others:
            left = self._limited - named
            models = [model for model in self._models.names if model not in left]
        for patterns, limit in zip(self._patterns, self._limits, strict=True):
            plain = not any(sign in pattern for pattern in patterns for sign in "*?")
            if plain and limit == set(models):
                return patterns
        return tuple(models)


def _summed(branch: Branch) -> Iterator[tuple[PartRow, int]]:
    """Yield each number of a branch once, with all that is needed of it."""
    parts: dict[str, PartRow] = {}
    needed: dict[str, int] = {}
    for line in branch.lines:
        key = fold(line.part.number)
        parts.setdefault(key, line.part)
        needed[key] = needed.get(key, 0) + line.quantity
    yield from ((parts[key], quantity) for key, quantity in needed.items())
