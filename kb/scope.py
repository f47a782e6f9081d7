"""Which models a bulletin can mean, whatever else it asks of a unit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from kb.applies import model_matches
from kb.records import Block, Family


def models_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[str]:
    """Return the models that any of the blocks can mean, in the house's order."""
    blocks = list(where)
    return [
        model
        for family in families.values()
        for model in family.models
        if any(_names(block, family.name, model) for block in blocks)
    ]


def families_of(where: Iterable[Block], families: Mapping[str, Family]) -> list[Family]:
    """Return the families of the models that any of the blocks can mean."""
    blocks = list(where)
    return [f for f in families.values() if models_of(blocks, {f.name: f})]


def _names(block: Block, family: str, model: str) -> bool:
    if block.families and family not in block.families:
        return False
    return not block.models or any(model_matches(pattern, model) for pattern in block.models)
