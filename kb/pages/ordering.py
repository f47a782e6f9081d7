"""What to order today, as pages show it: for a line of a bulletin and for a part's own page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from kb.catalogue import Order, order
from kb.errors import KbError
from kb.folding import fold
from kb.pages.desk import Desk
from kb.pages.page import Way

STATUS_WORDS = {
    "current": "can be ordered",
    "running-out": "running out",
    "pending": "not yet to be ordered",
    "gone": "no longer supplied",
}
RELATION_WORDS = {
    "same": "each may stand in for the other",
    "forward": "the new one may replace the old, never the other way",
    "kit": "now sold only inside this kit",
    "changed": "same number, changed part",
}
INTERCHANGE_WORDS = {
    "both": "Old and new may stand in for each other.",
    "forward": "The new part may replace the old one, never the other way round.",
    "none": "Nothing else takes its place.",
}


@dataclass(frozen=True, slots=True)
class Item:
    """One number to order. *models* is empty where it fits every model."""

    way: Way
    quantity: int
    name: str
    status: str
    models: str


@dataclass(frozen=True, slots=True)
class Step:
    """One substitution on the way from what was asked to what is ordered."""

    old: Way
    new: Way
    relation: str
    since: str


@dataclass(frozen=True, slots=True)
class Ordered:
    """What to order for one number, with the words that go with it."""

    asked: Way
    name: str
    items: tuple[Item, ...]
    choose: bool
    chain: tuple[Step, ...]
    interchange: str
    coming: tuple[Way, ...]
    notes: tuple[str, ...]
    quantity: int = 1
    in_hand: bool = False
    all: bool = False
    remark: tuple[Way, ...] = ()

    @property
    def changed(self) -> bool:
        """Tell whether another number is ordered than the one that was asked for."""
        return [fold(item.way.text) for item in self.items] != [fold(self.asked.text)]


def ordered(number: str, desk: Desk, quantity: int = 1) -> Ordered:
    """Return what to order today for *quantity* of *number*; empty where it is not known."""
    asked = Way(number, desk.part_href(number) or "")
    try:
        found = desk.once(("order", fold(number)), lambda: order(desk.catalogue, number))
    except KbError as trouble:
        return Ordered(asked, "", (), False, (), "", (), (trouble.message,), quantity)
    return Ordered(
        asked=asked,
        name=desk.part_name(number),
        items=tuple(_items(found, desk, quantity)),
        choose=found.choose,
        chain=tuple(_chain(found, desk)),
        interchange=INTERCHANGE_WORDS[found.interchange] if found.chain else "",
        coming=tuple(Way(c.number, desk.part_href(c.number) or "", c.since) for c in found.coming),
        notes=tuple(found.notes),
        quantity=quantity,
    )


def _items(found: Order, desk: Desk, quantity: int) -> Iterator[Item]:
    for line in found.order:
        yield Item(
            Way(line.number, desk.part_href(line.number) or ""),
            line.quantity * quantity,
            line.name,
            "" if line.status == "current" else STATUS_WORDS[line.status],
            _named(tuple(line.models), desk),
        )


def _named(patterns: tuple[str, ...], desk: Desk) -> str:
    return desk.once(("models named", patterns), lambda: ", ".join(models_named(patterns, desk)))


def models_named(patterns: Sequence[str], desk: Desk) -> list[str]:
    """Return the models that patterns mean; a pattern that means none stays as it is written."""
    models = desk.catalogue.models
    named: dict[str, None] = {}
    for pattern in patterns:
        named |= dict.fromkeys(models.in_order(models.of(pattern)) or [pattern])
    return list(named)


def _chain(found: Order, desk: Desk) -> Iterator[Step]:
    for step in found.chain:
        yield Step(
            Way(step.old, desk.part_href(step.old) or ""),
            Way(step.new, desk.part_href(step.new) or ""),
            RELATION_WORDS.get(step.relation or "", ""),
            step.since,
        )
