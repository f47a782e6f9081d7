"""Models as the rows of parts.csv limit them: by patterns, any one of which is enough."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable
from functools import cached_property
from itertools import takewhile

from kb.applies import model_matches
from kb.folding import fold

_WILD = re.compile(r"[*?]")

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
        start = _WILD.split(folded, maxsplit=1)[0]
        among = self._by_folded if not start else self._beginning(start)
        return (n for f in among for n in self._by_folded[f] if model_matches(pattern, n))

    @cached_property
    def _sorted(self) -> list[str]:
        return sorted(self._by_folded)

    def _beginning(self, start: str) -> Iterable[str]:
        """Return the folded models that begin with *start*."""
        first = bisect_left(self._sorted, start)
        return takewhile(lambda folded: folded.startswith(start), self._sorted[first:])

    def any_of(self, patterns: Iterable[str]) -> frozenset[str]:
        """Return the models that any of *patterns* fits."""
        return frozenset[str]().union(*map(self.of, patterns))

    def in_order(self, models: Iterable[str]) -> list[str]:
        """Return those of *models* that the house has, in its order."""
        return sorted(filter(self.places.__contains__, models), key=self.places.__getitem__)
