"""Which files an edition has, and how they differ from those of the edition before."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence, Set

from kb.making.counts import Counts, counted
from kb.making.kept import Known
from kb.making.memory import Made
from kb.pages import Group
from kb.phone.shelves import Turned

_APART = frozenset(("data", "packs", "assets"))  # no pages of the house, nor pictures


class Ledger:
    """The files of an edition as they are made; *before* is the one that it goes on from, if any.

    *changed* are the files that have been made anew, with their bytes; *turned* the stretches in
    which a page or a picture came, went or changed its turn, None where there may be more.
    """

    def __init__(self, before: Known | None) -> None:
        self._before = before
        self._made: dict[str, Made] = {}
        self._new: dict[str, None] = {}
        self._old: set[str] = set()
        self._sizes: dict[str, int] = {}
        self.turned: list[Turned] | None = None if before is None else []
        self.changed: dict[str, int] = {}

    @property
    def same(self) -> bool:
        """Whether no page and no picture came, went or changed its turn."""
        return self.turned == []

    @property
    def whole(self) -> bool:
        """Whether every file was made."""
        return self._before is None

    @property
    def new(self) -> Collection[str]:
        """All files made, in order."""
        return self._new

    @property
    def removed(self) -> Set[str]:
        """Files of the edition before that are no more."""
        return self._old - self._new.keys()

    @property
    def counts(self) -> Counts:
        """How much the edition has."""
        if self._before is None:
            return counted(self._new)
        added, removed = counted(self._new.keys() - self._old), counted(self.removed)
        before = self._before.edition.counts
        return Counts(*(b + a - r for b, a, r in zip(before, added, removed, strict=True)))

    def made(self, name: str, made: Made) -> None:
        """Note the files of a unit."""
        self._new.update(dict.fromkeys(made.paths()))
        if self._before is None:
            self._sizes.update(made.files)
            return
        self._made[name] = made
        was = self._before.memory.made([name]).get(name)
        if was:
            self._old.update(was.paths())
        if made.group not in _APART:
            self.changed.update(made.files)
            self._compare(was, made)

    def _compare(self, was: Made | None, made: Made) -> None:
        if was is None:
            self.turned = None
        elif self.turned is not None:
            turned = Turned(*([path for path, _ in each.files] for each in (was, made)))
            if turned.were != turned.are:
                self.turned.append(turned)

    def gone(self, names: Iterable[str]) -> None:
        """Note that units are no more."""
        if names and self._before:
            self.turned = None
            for was in self._before.memory.made(names).values():
                self._old.update(was.paths())

    def every(self, groups: Sequence[Group], others: Iterable[str]) -> Mapping[str, int]:
        """Return the files of all units, those of *groups* and then *others*, with their bytes."""
        if self._before is None:
            return self._sizes
        made = {**self._before.memory.every(), **self._made}
        names = [unit.name for group in groups for unit in group.units()]
        return {p: size for name in (*names, *others) for p, size in made[name].files}
