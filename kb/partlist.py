"""The parts and kits of a house by number, and what the table says by itself."""

from __future__ import annotations

import heapq
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from difflib import get_close_matches
from functools import cached_property

from kb.folding import fold
from kb.records import KitRow, PartRow

_LIKELY = 100  # numbers that share most pairs of characters, looked at more closely
_LONGEST = 80  # characters of a typed number that are compared


class Catalogue:
    """Rows of parts.csv and kits.csv, found by number however it is typed."""

    def __init__(self, parts: Iterable[PartRow], kits: Iterable[KitRow] = ()) -> None:
        self._rows: dict[str, list[PartRow]] = {}
        for row in parts:
            self._rows.setdefault(fold(row.number), []).append(row)
        self._contents: dict[str, list[KitRow]] = {}
        for held in kits:
            self._contents.setdefault(fold(held.kit), []).append(held)

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

    def find(self, number: str) -> PartRow | None:
        """Return the first row of *number*, or None."""
        return next(iter(self.rows(number)), None)

    def contents(self, kit: str) -> Sequence[KitRow]:
        """Return what *kit* holds; nothing for a number that is no kit."""
        return self._contents.get(fold(kit), ())

    def held(self, kit: str, number: str) -> int:
        """Return how many of *number* lie loose in *kit*."""
        return sum(row.quantity for row in self.contents(kit) if fold(row.number) == fold(number))

    def kits_with(self, number: str) -> Sequence[KitRow]:
        """Return the rows of the kits that hold *number*."""
        return self._kits_with.get(fold(number), ())

    def predecessors(self, number: str) -> dict[str, int]:
        """Return the older numbers that lead to *number* with their fewest steps, near first."""
        steps = _distances(fold(number), lambda key: self._older.get(key, ()))
        return {self._written(key): count for key, count in steps.items() if count}

    def steps_between(self, old: str, new: str) -> int | None:
        """Return the fewest substitution steps from *old* to *new*, or None where none lead."""
        return _distances(fold(old), self._newer).get(fold(new))

    def nearest(self, number: str, count: int = 3) -> list[str]:
        """Return the known numbers most like *number*, best first; none where none is near."""
        return nearest_numbers(number, [*self._rows, *self._contents], count, self._written)

    def dangling(self) -> Iterator[PartRow | KitRow]:
        """Yield the rows whose successor or content no row of parts.csv knows."""
        for row in self._all_rows():
            if row.replaced_by and fold(row.replaced_by) not in self._rows:
                yield row
        for held in (held for each in self._contents.values() for held in each):
            if {fold(held.kit), fold(held.number)} - self._rows.keys():
                yield held

    def cycles(self) -> list[tuple[str, ...]]:
        """Return the rings of numbers that replace each other, or of kits that hold each other."""
        holds = {key: [fold(row.number) for row in rows] for key, rows in self._contents.items()}
        replaces = {key: self._newer(key) for key in self._rows}
        return [
            tuple(self._written(key) for key in ring)
            for ring in (*_rings(replaces), *_rings(holds))
        ]

    def _all_rows(self) -> Iterator[PartRow]:
        return (row for rows in self._rows.values() for row in rows)

    def _written(self, key: str) -> str:
        row = self.find(key)
        return row.number if row else key

    def _newer(self, key: str) -> Sequence[str]:
        return [fold(row.replaced_by) for row in self._rows.get(key, ()) if moves(row)]

    @cached_property
    def _older(self) -> Mapping[str, Sequence[str]]:
        older: dict[str, list[str]] = {}
        for row in filter(moves, self._all_rows()):
            older.setdefault(fold(row.replaced_by), []).append(fold(row.number))
        return older

    @cached_property
    def _kits_with(self) -> Mapping[str, Sequence[KitRow]]:
        kits: dict[str, list[KitRow]] = {}
        for held in (held for each in self._contents.values() for held in each):
            kits.setdefault(fold(held.number), []).append(held)
        return kits


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
    beginning and end, are looked at.
    """
    asked = fold(number)[:_LONGEST]
    pairs = _pairs(asked)
    folded = {fold(name): name for name in known}
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


def _distances(start: str, following: Callable[[str], Iterable[str]]) -> dict[str, int]:
    """Return all that can be reached from *start*, with the fewest steps, near first."""
    steps = {start: 0}
    queue = deque(steps)
    while queue:
        key = queue.popleft()
        for after in following(key):
            if after not in steps:
                steps[after] = steps[key] + 1
                queue.append(after)
    return steps


def _rings(following: Mapping[str, Sequence[str]]) -> Iterator[list[str]]:
    """Yield a ring from each knot of numbers that lead back to themselves."""
    done: set[str] = set()
    for start in following:
        path, places, todo = [start], {start: 0}, [iter(following[start])]
        if start in done:
            continue
        while path:
            after = next(todo[-1], None)
            if after is None:
                done.add(path[-1])
                del places[path.pop()]
                todo.pop()
            elif after in places:
                yield path[places[after] :]
            elif after in following and after not in done:
                places[after] = len(path)
                path.append(after)
                todo.append(iter(following[after]))
