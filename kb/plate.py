"""What applies to one unit: the answer behind `kb plate`."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from kb.applies import answer_for, cases_of, due
from kb.lookup import Card, Lookup
from kb.records import Answer, Reading, Unit, Verdict
from kb.units import make_unit

RANK: dict[Verdict, int] = {"yes": 0, "maybe": 1, "no": 2}


@dataclass(frozen=True, slots=True)
class Line:
    """One bulletin in the answer for a unit; *due* is None where it has no advice by age."""

    card: Card
    answer: Answer
    due: Verdict | None

    def as_json(self) -> dict[str, Any]:
        """Return the line as `kb plate --json` gives it."""
        line: dict[str, Any] = {
            "number": self.card.number,
            "title": self.card.title,
            "kind": self.card.kind,
            "applies": self.answer.applies,
            "why": self.answer.why,
            "settle": self.answer.settle,
        }
        if self.due is not None and self.card.age:
            line["due"] = self.due
            line["advice"] = self.card.age.advice
        return line


@dataclass(frozen=True, slots=True)
class Plate:
    """A unit and every bulletin in force that can concern its model, the surest first."""

    unit: Unit
    lines: tuple[Line, ...]

    def as_json(self, everything: bool = False) -> dict[str, Any]:
        """Return the answer of `kb plate --json`; *everything* keeps what does not apply."""
        unit = self.unit
        shown = [line for line in self.lines if everything or line.answer.applies != "no"]
        return {
            "model": unit.model,
            "revision": unit.revision,
            "family": unit.family.name,
            "serial": unit.serial,
            "unreadable": unit.unreadable,
            "readings": [reading_json(reading) for reading in unit.readings],
            "bulletins": [line.as_json() for line in shown],
        }


def reading_json(reading: Reading) -> dict[str, Any]:
    """Return one reading of a serial with its days as ISO text."""
    first, last = reading.built.first, reading.built.last
    return {
        "scheme": reading.scheme,
        "plant": reading.plant,
        "built": {
            "from": first.isoformat() if first else None,
            "to": last.isoformat() if last else None,
        },
        "sequence": reading.sequence,
    }


def read_plate(
    lookup: Lookup, model: str, serial: str | None, today: date, every_model: bool = False
) -> Plate:
    """Return what applies to the unit with this model and serial; NotFound for an unknown model.

    With *every_model* the bulletins about other models are listed too, as what does not apply.
    """
    unit = make_unit(lookup.about(model), model, serial, today)
    return plate_of(lookup, unit, today, every_model)


def plate_of(lookup: Lookup, unit: Unit, today: date, every_model: bool = False) -> Plate:
    """Return what applies to *unit*: yes before maybe before no, safety first, then the newest."""
    cards = lookup.standing_cards() if every_model else lookup.cards_for(unit.model)
    cases = cases_of(unit, lookup, today)
    lines = [
        Line(
            card,
            answer_for(card.where, cases),
            due(card.age, unit, today) if card.age else None,
        )
        for card in cards
    ]
    lines.sort(key=lambda line: (RANK[line.answer.applies], line.card.kind != "safety"))
    return Plate(unit, tuple(lines))
