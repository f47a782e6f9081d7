"""The parts and kits of a house by number, and the known numbers most like a mistyped one."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Iterator, Sequence
from difflib import get_close_matches

from kb.folding import fold
from kb.modelsets import Models
from kb.records import KitRow, PartRow

_LIKELY = 100  # numbers that share most pairs of characters, looked at more closely
_LONGEST = 80  # characters of a typed number that are compared


class Catalogue:
    """Rows of parts.csv and kits.csv, found by number however it is typed.

    *models* are all models of the house: what differs by model is told for each of them.
    """

    def __init__(
        self,
        parts: Iterable[PartRow],
        kits: Iterable[KitRow] = (),
        models: Iterable[str] = (),
    ) -> None:
        self.models = Models(models)
        self._rows: dict[str, list[PartRow]] = {}
        for row in parts:
            self._rows.setdefault(fold(row.number), []).append(row)
        self._contents: dict[str, list[KitRow]] = {}
        for held in kits:
            self._contents.setdefault(fold(held.kit), []).append(held)

    def listed(self) -> Iterable[tuple[str, Sequence[PartRow]]]:
        """Return every folded number of parts.csv with its rows."""
        return self._rows.items()

    def rows(self, number: str) -> Sequence[PartRow]:
        """Return all rows of *number* in the order of the file; none for an unknown one.

        A kit that only kits.csv knows counts as gone: nothing says that it can be ordered.
        """
        key = fold(number)
        if key in self._rows or key not in self._contents:
            return self._rows.get(key, ())
        name = self._contents[key][0].kit
        note = "not in parts.csv, only in kits.csv"
        return (PartRow(number=name, name="", status="gone", note=note),)

    def reached(self, number: str) -> Iterator[PartRow]:
        """Yield the rows that an order for *number* can lead through, each once, its own first."""
        todo, seen = [fold(number)], {fold(number)}
        for key in todo:
            for row in self.rows(key):
                yield row
                inside = [fold(held.number) for held in self.contents(key)]
                fresh = [k for k in (fold(row.replaced_by), *inside) if k and k not in seen]
                seen.update(fresh)
                todo.extend(dict.fromkeys(fresh))

    def find(self, number: str) -> PartRow | None:
        """Return the first row of *number*, or None."""
        return next(iter(self.rows(number)), None)

    def contents(self, kit: str) -> Sequence[KitRow]:
        """Return what *kit* holds; nothing for a number that is no kit."""
        return self._contents.get(fold(kit), ())

    def held(self, kit: str, number: str) -> int:
        """Return how many of *number* lie loose in *kit*."""
        return sum(row.quantity for row in self.contents(kit) if fold(row.number) == fold(number))

    def nearest(self, number: str, count: int = 3) -> list[str]:
        """Return the known numbers most like *number*, best first; none where none is near."""
        return nearest_numbers(number, [*self._rows, *self._contents], count, self._written)

    def _written(self, key: str) -> str:
        row = self.find(key)
        return row.number if row else key


def moves(row: PartRow) -> bool:
    """Tell whether *row* leads to another number; a changed part may name its own."""
    if not row.replaced_by:
        return False
    return row.relation != "changed" or fold(row.replaced_by) != fold(row.number)


def nearest_numbers(
    number: str, known: Iterable[str], count: int = 3, written: Callable[[str], str] = str
) -> list[str]:
    """Return the *count* numbers of *known* most like *number*, best first, as *written* says.

    Close matching is slow, so only those that share most pairs of characters, or the longest
    beginning and end, are looked at. The order of *known* never matters.
    """
    asked = fold(number)[:_LONGEST]
    pairs = _pairs(asked)
    folded = {fold(name): name for name in sorted(known)}
    likely = heapq.nlargest(
        _LIKELY, folded, key=lambda key: len(pairs & _pairs(key)) + _same_ends(asked, key)
    )
    return [written(folded[key]) for key in get_close_matches(asked, likely, n=count)]


def _same_ends(one: str, other: str) -> int:
    return _same_start(one, other) + _same_start(one[::-1], other[::-1])


def _same_start(one: str, other: str) -> int:
    return next((at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), len(one))


def _pairs(key: str) -> set[str]:
    return {key[at : at + 2] for at in range(len(key) - 1)}
