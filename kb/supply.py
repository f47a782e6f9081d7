"""How many of which number to take along for a part that a bulletin asks for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from kb.catalogue import Catalogue, Order, Ordered, order
from kb.errors import KbError
from kb.folding import fold
from kb.modelsets import fits


@dataclass(frozen=True, slots=True)
class Supply:
    """What stands for the part *asked*: *lines* with whole quantities.

    *in_kit* tells that a kit is taken for the part, so that others of its parts come along. *why*
    says what is wrong where the part cannot be had, or not all that it consists of; *elsewhere*
    that it is listed for other models alone.
    """

    asked: str
    lines: tuple[Ordered, ...] = ()
    in_kit: bool = False
    why: str = ""
    elsewhere: bool = False


class Supplier:
    """Finds what to order today for one *model*; every number is looked up once."""

    def __init__(self, catalogue: Catalogue, model: str) -> None:
        self._catalogue = catalogue
        self._model = model
        self._orders: dict[str, Order | KbError] = {}

    def supply(self, number: str, quantity: int = 1) -> Supply:
        """Return what to take for *quantity* of *number*."""
        found = self._order(number)
        if isinstance(found, KbError):
            return Supply(number, why=found.message)
        if not found.order:
            why = "; ".join(found.notes) or "it cannot be ordered"
            return Supply(number, why=why, elsewhere=self._elsewhere(number))
        times = self._times(found, quantity)
        return Supply(
            asked=number,
            lines=tuple(replace(line, quantity=line.quantity * times) for line in found.order),
            in_kit=_through_kit(found),
            why=self._lacking(found),
        )

    def _elsewhere(self, number: str) -> bool:
        rows = self._catalogue.rows(number)
        return bool(rows) and not any(not r.models or fits(r.models, self._model) for r in rows)

    def same_place(self, number: str) -> set[str]:
        """Return the folded numbers that stand in the place of *number*, itself included.

        A kit is none of them: it holds other parts too.
        """
        found = self._order(number)
        if isinstance(found, KbError) or _through_kit(found) or self._opened(found):
            return {fold(number)}
        return {fold(number), *(fold(line.number) for line in found.order)}

    def _order(self, number: str) -> Order | KbError:
        key = fold(number)
        if key not in self._orders:
            try:
                self._orders[key] = order(self._catalogue, number, self._model)
            except KbError as error:
                self._orders[key] = error
        return self._orders[key]

    def _times(self, found: Order, quantity: int) -> int:
        """Return how often to take what one piece asks for: a kit may hold several of them."""
        at = fold(found.asked)
        for step in found.chain:
            if fold(step.old) != at:  # no single chain: count on no kit to hold several
                return quantity
            at = fold(step.new)
        for step in found.chain:
            if step.relation == "kit":
                quantity = -(-quantity // max(self._catalogue.held(step.new, step.old), 1))
        return quantity

    def _opened(self, found: Order) -> str:
        """Return the kit whose contents are ordered in its place, "" for none."""
        end = found.chain[-1].new if found.chain else found.asked
        ordered = {fold(line.number) for line in found.order}
        return "" if fold(end) in ordered or not self._catalogue.contents(end) else end

    def _lacking(self, found: Order) -> str:
        opened = self._opened(found)
        for held in self._catalogue.contents(opened) if opened else ():
            inside = self._order(held.number)
            if isinstance(inside, KbError) or not inside.order:
                return f"{held.number}, held by kit {opened}, cannot be ordered"
        return ""


def _through_kit(found: Order) -> bool:
    return any(step.relation == "kit" for step in found.chain)
