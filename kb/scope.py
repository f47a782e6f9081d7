"""Which models a bulletin can mean, whatever else it asks of a unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from kb.applies import can_apply
from kb.records import Block, Family


def models_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[str]:
    """Return the models that any of the blocks can mean, in the house's order."""
    blocks = tuple(where)
    return [
        model
        for family in families.values()
        for model in family.models
        if can_apply(blocks, family.name, model)
    ]


def families_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[Family]:
    """Return the families of the models that any of the blocks can mean."""
    blocks = tuple(where)
    return [f for f in families.values() if models_of(blocks, {f.name: f})]
