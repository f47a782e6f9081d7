"""What to order for a part number, with the bulletins that speak of it: the answer of `kb part`."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from kb.applies import answer, can_apply
from kb.catalogue import order
from kb.errors import NotFound
from kb.folding import fold
from kb.lookup import Lookup
from kb.partlist import Catalogue, nearest_numbers
from kb.records import Unit
from kb.units import make_unit


def order_for(lookup: Lookup, asked: str, model: str, serial: str, today: date) -> dict[str, Any]:
    """Return the answer of `kb part --json`; NotFound for an unknown number or model.

    With a model or a serial only the bulletins that can apply to that unit are named. A serial
    without a model is read by the scheme of every family that it fits.
    """
    unit = make_unit(lookup, model, serial, today) if fold(model) else None
    if not lookup.part_number(fold(asked)):
        near = nearest_numbers(asked, lookup.part_numbers())
        remedy = f"did you mean {' or '.join(near)}?" if near else "look at the number once more"
        raise NotFound(f"no part {asked.strip()} is known", remedy)
    reached = lookup.newer_numbers(asked)
    catalogue = Catalogue(lookup.part_rows(reached), lookup.kit_rows(reached), lookup.model_names)
    found = order(catalogue, asked, unit.model if unit else None).as_json()
    units = [unit] if unit else list(_units(lookup, serial, today))
    numbers = {fold(asked), *(fold(line["number"]) for line in found["order"])}
    numbers |= {fold(step[end]) for step in found["chain"] for end in ("from", "to")}
    bulletins = _concerned(lookup, lookup.bulletins_naming(sorted(numbers)), units, today)
    notes = [*found["notes"], *_unread(serial, units)]
    return {**found, "notes": notes, "bulletins": bulletins}


def _units(lookup: Lookup, serial: str, today: date) -> Iterator[Unit]:
    """Yield what a serial by itself can mean: a unit of every model whose family reads it."""
    if not fold(serial):
        return
    for family in lookup.families.values():
        for model in family.models:
            unit = make_unit(lookup, model, serial, today)
            if unit.unreadable:
                break  # the family's schemes do not know it, whichever the model
            yield unit


def _unread(serial: str, units: Iterable[Unit]) -> list[str]:
    """Say that a serial was of no use; with what a sound one looks like, where a model is known."""
    known = list(units)
    if fold(serial) and not known:
        return [f"the serial {serial.strip()} fits no family, so it narrows nothing down"]
    return [f"the serial is left aside: {unit.unreadable}" for unit in known if unit.unreadable]


def _concerned(
    lookup: Lookup, bulletins: Iterable[str], units: list[Unit], today: date
) -> list[str]:
    """Return the bulletins that can apply to any of the units; all of them without a unit."""
    numbers = list(bulletins)
    if not units:
        return numbers
    cards = lookup.cards(numbers)

    def concerns(number: str) -> bool:
        where = cards[number].where
        likely = (unit for unit in units if can_apply(where, unit.family.name, unit.model))
        return any(answer(where, unit, lookup, today).applies != "no" for unit in likely)

    return [number for number in numbers if concerns(number)]
