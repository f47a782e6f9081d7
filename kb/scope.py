"""Which models a bulletin can mean, whatever else it asks of a unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

from kb.folding import fold, fold_name
from kb.judge import family_named, model_matches
from kb.records import Block, Family


def models_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[str]:
    """Return the models that any of the blocks can mean, in the house's order."""
    return [model for _, models in by_family(where, families) for model in models]


def families_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[Family]:
    """Return the families of the models that any of the blocks can mean."""
    return [family for family, _ in by_family(where, families)]


def by_family(
    where: Iterable[Block], families: Mapping[str, Family]
) -> Iterator[tuple[Family, tuple[str, ...]]]:
    """Yield each family that the blocks can mean, with its models that any of them can mean.

    The families that none is open to are left out before anything else is looked at: a house may
    have thousands of models, and a bulletin is mostly about a few of them.
    """
    blocks = tuple(where)
    named = {_folded(name) for block in blocks for name in block.families}
    some_name_none = not all(block.families for block in blocks)
    for family in families.values():
        if not (some_name_none or _folded(family.name) in named):
            continue
        own = [block for block in blocks if family_named(block, family.name)]
        if own and (models := _of_any(own, family.models)):
            yield family, models


_folded = lru_cache(maxsize=1024)(fold_name)


def _of_any(blocks: Iterable[Block], models: tuple[str, ...]) -> tuple[str, ...]:
    patterns: dict[str, None] = {}
    for block in blocks:
        if not block.models:
            return models
        patterns |= dict.fromkeys(block.models)
    return matching(tuple(patterns), models)


@lru_cache(maxsize=16384)
def matching(patterns: tuple[str, ...], models: tuple[str, ...]) -> tuple[str, ...]:
    """Return those of *models* that fit any of *patterns*, in the order of *models*."""
    meant = set[str]().union(*(_fitting(pattern, models) for pattern in patterns))
    return tuple(model for model in models if model in meant)


@lru_cache(maxsize=16384)
def _fitting(pattern: str, models: tuple[str, ...]) -> frozenset[str]:
    """Return the models that one pattern fits: the same few stand in many bulletins."""
    folded = fold(pattern)
    if "*" in folded or "?" in folded:
        return frozenset(model for model in models if model_matches(pattern, model))
    return _by_folded(models).get(folded, frozenset())


@lru_cache(maxsize=1024)
def _by_folded(models: tuple[str, ...]) -> dict[str, frozenset[str]]:
    found: dict[str, frozenset[str]] = {}
    for model in models:
        found[fold(model)] = found.get(fold(model), frozenset()) | {model}
    return found
