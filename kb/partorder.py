"""What to order for a part number, with the bulletins that speak of it: the answer of `kb part`."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from kb.applies import answer
from kb.catalogue import order
from kb.errors import NotFound
from kb.folding import fold
from kb.lookup import Lookup
from kb.partlist import Catalogue, nearest_numbers
from kb.units import make_unit


def order_for(lookup: Lookup, asked: str, model: str, serial: str, today: date) -> dict[str, Any]:
    """Return the answer of `kb part --json`; NotFound for an unknown number or model.

    With a serial only the bulletins that can apply to that unit are named.
    """
    unit = make_unit(lookup, model, serial, today) if model else None
    if not lookup.part_number(fold(asked)):
        near = nearest_numbers(asked, lookup.part_numbers())
        remedy = f"did you mean {' or '.join(near)}?" if near else "look at the number once more"
        raise NotFound(f"no part {asked.strip()} is known", remedy)
    reached = lookup.newer_numbers(asked)
    kits = lookup.kit_rows(reached)
    catalogue = Catalogue(lookup.part_rows(reached), kits)
    found = order(catalogue, asked, unit.model if unit else None).as_json()
    numbers = {fold(asked), *(fold(line["number"]) for line in found["order"])}
    numbers |= {fold(step[end]) for step in found["chain"] for end in ("from", "to")}
    bulletins = lookup.bulletins_naming(numbers)
    if unit:
        cards = lookup.cards(bulletins)
        bulletins = [
            number
            for number in bulletins
            if answer(cards[number].where, unit, lookup, today).applies != "no"
        ]
    return {**found, "bulletins": bulletins}


