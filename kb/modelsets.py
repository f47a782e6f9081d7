"""Models as the rows of parts.csv limit them: by patterns, any one of which is enough."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from kb.applies import model_matches
from kb.folding import fold

Patterns = tuple[str, ...]


def fits(patterns: Iterable[str], model: str) -> bool:
    """Tell whether *model* fits one of *patterns*."""
    return any(model_matches(pattern, model) for pattern in patterns)


class Models:
    """All models of a house, found by pattern: thousands of rows name few patterns."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names = tuple(names)
        self._meant: dict[str, frozenset[str]] = {}

    @cached_property
    def places(self) -> dict[str, int]:
        """Where each model stands among all."""
        return {name: at for at, name in enumerate(self.names)}

    @cached_property
    def _by_folded(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name in self.places:
            found.setdefault(fold(name), []).append(name)
        return found

    def of(self, pattern: str) -> frozenset[str]:
        """Return the models that *pattern* fits."""
        if pattern not in self._meant:
            self._meant[pattern] = frozenset(self._fitting(pattern))
        return self._meant[pattern]

    def _fitting(self, pattern: str) -> Iterable[str]:
        folded = fold(pattern)
        if "*" not in folded and "?" not in folded:
            return self._by_folded.get(folded, ())
        return (name for name in self.places if model_matches(pattern, name))

    def any_of(self, patterns: Iterable[str]) -> frozenset[str]:
        """Return the models that any of *patterns* fits."""
        return frozenset[str]().union(*map(self.of, patterns))

    def in_order(self, models: Iterable[str]) -> list[str]:
        """Return those of *models* that the house has, in its order."""
        return sorted(filter(self.places.__contains__, models), key=self.places.__getitem__)
