"""Which families a file of the site belongs to: with them a phone carries it.

A page belongs to every family that one of its bulletins or models is of. Pages of the house as a
whole, and those of more families than share a bundle, go with every family. What no family asks
for, such as parts that nothing names, is carried on its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from kb.applies import model_matches
from kb.folding import fold
from kb.pages.byname import Index
from kb.pages.desk import Desk
from kb.records import Bulletin, PartRow

Families = tuple[str, ...]

EVERY: Families = ()
REST: Families = ("",)
_TOGETHER = 3  # a page of more families than this goes with all


class Whose:
    """Tells of each path below the site whose it is: families by name, EVERY or REST."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._order = {name: at for at, name in enumerate(desk.house.families)}
        self._places: Mapping[str, Mapping[str, Families]] = {
            "bulletins": {desk.place(b): self._of([b]) for b in desk.published},
            "families": {
                desk.families.places[key]: (name,) for key, name in desk.families.names.items()
            },
            "models": self._models(),
            "components": self._index(desk.components),
            "symptoms": self._index(desk.symptoms),
            "codes": self._index(desk.codes),
            "parts": self._parts(),
        }

    def __call__(self, path: str) -> Families:
        """Return whose the file at *path* is."""
        steps = path.split("/")
        if len(steps) < 3 or steps[0] not in self._places:
            return EVERY
        if steps[1].startswith("~"):  # a further sheet of a list of everything
            return REST
        return self._places[steps[0]].get(steps[1], EVERY)

    def _of(self, bulletins: Iterable[Bulletin]) -> Families:
        return self._few(name for b in bulletins for name in self._desk.families_of(b))

    def _few(self, names: Iterable[str]) -> Families:
        """Return families in the house's order; EVERY for too many of them."""
        found = sorted(set(names), key=self._order.__getitem__)
        return tuple(found) if len(found) <= _TOGETHER else EVERY

    def _models(self) -> Mapping[str, Families]:
        families = self._desk.house.families.values()
        places = self._desk.model_places
        return {places[model]: (family.name,) for family in families for model in family.models}

    def _index(self, index: Index) -> Mapping[str, Families]:
        return {place: self._of(index.bulletins[key]) for key, place in index.places.items()}

    def _parts(self) -> Mapping[str, Families]:
        """Return whose the parts are: of the bulletins that name them, of models that rows name."""
        rows: dict[str, list[PartRow]] = {}
        for row in self._desk.house.parts:
            if row.models:
                rows.setdefault(fold(row.number), []).append(row)
        families = cache(self._meant)
        found: dict[str, Families] = {}
        for key, number in self._desk.part_names.items():
            bulletins = self._desk.bulletins_of_part(key)
            named = {name for row in rows.get(key, ()) for name in families(row.models)}
            named |= {name for b in bulletins for name in self._desk.families_of(b)}
            place = self._desk.part_place(number) or ""
            found[place] = self._few(named) if named or bulletins else REST
        return found

    def _meant(self, patterns: Sequence[str]) -> Families:
        """Return the families with a model that one of the patterns means."""
        return tuple(
            family.name
            for family in self._desk.house.families.values()
            if any(model_matches(p, m) for p in patterns for m in family.models)
        )
