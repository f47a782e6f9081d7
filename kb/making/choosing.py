"""Which units of an edition are made anew: those that looked up what has changed, and new ones."""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from functools import cached_property

from kb.making.kept import Known
from kb.pages import Group, Unit


class Chosen:
    """Units to be made, with the names of their groups, in order: listed anew each time.

    *which* holds for each group the names of its units that are chosen, None for all of them;
    *others* are chosen that are in none of the groups, *gone* are units that are no more.
    """

    def __init__(
        self,
        groups: Sequence[Group],
        which: Sequence[Set[str] | None],
        others: Set[str] = frozenset(),
        gone: Set[str] = frozenset(),
    ) -> None:
        self._groups = tuple(zip(groups, which, strict=True))
        self.others = others
        self.gone = gone

    def __iter__(self) -> Iterator[tuple[str, Unit]]:
        for group, names in self._groups:
            units = group.units() if names is None else _only(names, group)
            yield from ((group.name, unit) for unit in units)

    @cached_property
    def count(self) -> int:
        """How many units are chosen."""
        return sum(1 for _ in self)


def _only(names: Set[str], group: Group) -> Iterator[Unit]:
    """Yield the units of these *names*; after the last of them nothing more is listed."""
    left = len(names)
    units = group.units() if left else iter(())
    for unit in units:
        if unit.name in names:
            yield unit
            left -= 1
            if not left:
                return


def chosen(groups: Sequence[Group], before: Known | None, changed: Set[str]) -> Chosen:
    """Return the units that are to be made where the facts *changed* differ since *before*."""
    if before is None:
        return Chosen(groups, [None] * len(groups))
    saw = before.memory.units_that_saw(changed)
    which: list[Set[str]] = []
    gone: set[str] = set()
    for group in groups:
        names = saw.pop(group.name, set())
        if group.told_by & changed:
            was = before.memory.names(group.name)
            now = {unit.name for unit in group.units()}
            gone |= was - now
            names = names & now | now - was
        which.append(names)
    return Chosen(groups, which, {name for names in saw.values() for name in names}, gone)
