"""Sets of models as the rows of parts.csv limit them: some patterns, or all models but some."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from kb.applies import model_matches
from kb.folding import fold

Patterns = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Models:
    """The models that fit one of the patterns *only* (empty: any model) and none of *but*."""

    only: Patterns = ()
    but: Patterns = ()

    def within(self, patterns: Patterns) -> Models | None:
        """Return what of these models fits *patterns* (empty: all do), or None for nothing.

        Two patterns that overlap without one holding the other are taken for the second.
        """
        if not patterns:
            return self
        kept = patterns
        if self.only:
            both = (_common(mine, other) for mine in self.only for other in patterns)
            kept = tuple(dict.fromkeys(pattern for pattern in both if pattern))
        return _less(kept, self.but)

    def without(self, patterns: Patterns) -> Models | None:
        """Return what of these models fits none of *patterns*, or None for nothing."""
        but = tuple(dict.fromkeys((*self.but, *patterns)))
        return _less(self.only, but) if self.only else Models((), but)


def fits(patterns: Iterable[str], model: str) -> bool:
    """Tell whether *model* fits one of *patterns*."""
    return any(model_matches(pattern, model) for pattern in patterns)


def _less(only: Patterns, but: Patterns) -> Models | None:
    kept = tuple(pattern for pattern in only if not any(_holds(other, pattern) for other in but))
    return Models(kept, but) if kept else None


def _common(one: str, other: str) -> str | None:
    if _holds(one, other):
        return other
    if _holds(other, one):
        return one
    return other if _overlap(fold(one), fold(other)) else None


@lru_cache(maxsize=4096)
def _holds(wide: str, narrow: str) -> bool:
    """Tell whether every model that fits *narrow* fits *wide*.

    Tried with samples of *narrow*: each of its stars as nothing and as letters no model has.
    """
    one = narrow.replace("?", "\x01")
    return all(model_matches(wide, one.replace("*", sample)) for sample in ("", "\x01", "\x02\x03"))


@lru_cache(maxsize=4096)
def _overlap(one: str, other: str) -> bool:
    """Tell whether some model fits both folded patterns."""
    if not one or not other:
        return not (one + other).strip("*")
    if one[0] == "*":
        return _overlap(one[1:], other) or _overlap(one, other[1:])
    if other[0] == "*":
        return _overlap(other, one)
    return (one[0] == other[0] or "?" in (one[0], other[0])) and _overlap(one[1:], other[1:])
