"""What to order when a part number is asked for."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal

from kb.errors import NotFound
from kb.partlist import Catalogue, nearest_numbers
from kb.records import PartStatus
from kb.substitution import Coming, Step, differ
from kb.waysbymodel import ByModel, Needed

__all__ = ["Catalogue", "Coming", "Order", "Ordered", "Step", "nearest_numbers", "order"]

Interchange = Literal["both", "forward", "none"]


@dataclass(frozen=True, slots=True)
class Ordered:
    """A number to order. *models* are those it is for; empty for every model."""

    number: str
    quantity: int
    name: str
    status: PartStatus
    models: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What to order for the number *asked* (as typed), and how that was found.

    *choose* tells that *order* depends on the model. *chain* holds the steps that lead to what is
    ordered; opening a kit that is gone is none. *interchange* tells how what is ordered stands to
    what was asked: ``both`` may stand in for each other, ``forward`` (only the new for the old),
    ``none`` (no other number takes its place). *coming* are successors not to be had yet.
    """

    asked: str
    order: tuple[Ordered, ...] = ()
    choose: bool = False
    chain: tuple[Step, ...] = ()
    interchange: Interchange = "none"
    coming: tuple[Coming, ...] = ()
    notes: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Return the fields of ``kb part --json``, but for the bulletins."""
        return {
            "asked": self.asked,
            "order": [
                {
                    "number": line.number,
                    "quantity": line.quantity,
                    "name": line.name,
                    "status": line.status,
                    "models": list(line.models),
                }
                for line in self.order
            ],
            "choose": self.choose,
            "chain": [
                {"from": s.old, "to": s.new, "relation": s.relation, "since": s.since}
                for s in self.chain
            ],
            "interchange": self.interchange,
            "coming": [{"number": c.number, "since": c.since} for c in self.coming],
            "notes": list(self.notes),
        }


def order(catalogue: Catalogue, number: str, model: str | None = None) -> Order:
    """Return what to order for *number*, for one *model* or for each that makes a difference.

    *model* is a model number without its revision. Raises NotFound, with the nearest numbers in
    its remedy, for a number that neither parts.csv nor kits.csv knows.
    """
    if not catalogue.rows(number):
        raise _not_found(catalogue, number)
    ways = ByModel(catalogue, number)
    asked = ways.way_of(model) if model else None
    branches = asked.branches if asked else ways.branches()
    chain = tuple(dict.fromkeys(step for branch in branches for step in branch.steps))
    return Order(
        asked=number,
        order=tuple(map(_line, ways.lines(asked, model or ""))),
        choose=differ(branches) if asked else ways.choose,
        chain=chain,
        interchange=_interchange(chain),
        coming=tuple(dict.fromkeys(each for branch in branches for each in branch.coming)),
        notes=tuple(dict.fromkeys(note for branch in branches for note in branch.notes)),
    )


def _line(line: Needed) -> Ordered:
    part = line.part
    return Ordered(part.number, line.quantity, part.name, part.status, line.models)


def _not_found(catalogue: Catalogue, number: str) -> NotFound:
    near = catalogue.nearest(number)
    remedy = f"did you mean {' or '.join(near)}?" if near else "look the number up in parts.csv"
    return NotFound(f"there is no part {number.strip()}", remedy)


def _interchange(chain: Iterable[Step]) -> Interchange:
    relations = {step.relation for step in chain}
    if relations & {"forward", "kit"}:
        return "forward"
    return "both" if relations == {"same"} else "none"
