"""Which models a bulletin can mean, whatever else it asks of a unit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from kb.judge import family_named, model_named
from kb.records import Block, Family


def models_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[str]:
    """Return the models that any of the blocks can mean, in the house's order."""
    return [model for _, models in _by_family(where, families) for model in models]


def families_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[Family]:
    """Return the families of the models that any of the blocks can mean."""
    return [family for family, models in _by_family(where, families) if models]


def _by_family(
    where: Iterable[Block], families: Mapping[str, Family]
) -> Iterator[tuple[Family, list[str]]]:
    """Yield each family that a block is open to, with its models that one can mean.

    The families that none is open to are left out before their models are looked at: a house may
    have thousands of models, and a bulletin is mostly about a few of them.
    """
    blocks = tuple(where)
    for family in families.values():
        own = [block for block in blocks if family_named(block, family.name)]
        if own:
            yield family, [m for m in family.models if any(model_named(b, m) for b in own)]
