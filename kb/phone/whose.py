"""Which families a file of the site belongs to: with them a phone carries it.

A page belongs to every family that one of its bulletins or models is of. Pages of the house as a
whole, and those of more families than share a bundle, go with every family. What no family asks
for, such as parts that nothing names, is carried on its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache, cached_property

from kb.applies import model_matches
from kb.folding import fold
from kb.pages.byname import Index
from kb.pages.desk import Desk
from kb.records import Bulletin

Families = tuple[str, ...]

EVERY: Families = ()
REST: Families = ("",)
_TOGETHER = 3  # a page of more families than this goes with all


class Whose:
    """Tells of each path below the site whose it is: families by name, EVERY or REST.

    Nothing is gathered for kinds of pages of which none is asked for.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk
        self._order = {name: at for at, name in enumerate(desk.house.families)}
        self._kinds = {
            "bulletins": self._of_bulletin,
            "families": lambda place: self._families.get(place, EVERY),
            "models": lambda place: self._models.get(place, EVERY),
            "components": lambda place: self._of_name(desk.components, place),
            "symptoms": lambda place: self._of_name(desk.symptoms, place),
            "codes": lambda place: self._of_name(desk.codes, place),
            "parts": self._of_part,
        }
        self._of = cache(lambda kind, place: self._kinds[kind](place))
        self._meant = cache(self._families_meant)

    def __call__(self, path: str) -> Families:
        """Return whose the file at *path* is."""
        steps = path.split("/")
        if len(steps) < 3 or steps[0] not in self._kinds:
            return EVERY
        if steps[1].startswith("~"):  # a further sheet of a list of everything
            return REST
        return self._of(steps[0], steps[1])

    def stands(self, path: str) -> bool:
        """Tell whether the file at *path* is the page of a bulletin in force."""
        steps = path.split("/")
        if len(steps) != 3 or (steps[0], steps[2]) != ("bulletins", "index.html"):
            return False
        bulletin = self._bulletin_at(steps[1])
        return bulletin is not None and self._desk.standing_of(bulletin) == "in-force"

    def _few(self, names: Iterable[str]) -> Families:
        """Return families in the house's order; EVERY for too many of them."""
        found = sorted(set(names), key=self._order.__getitem__)
        return tuple(found) if len(found) <= _TOGETHER else EVERY

    # Bulletins

    def _bulletin_at(self, place: str) -> Bulletin | None:
        """Return the bulletin whose page lies in the folder *place*."""
        likely = self._desk.by_number.get(fold(place))
        if likely and self._desk.place(likely) == place:
            return likely
        return self._bulletins.get(place)

    @cached_property
    def _bulletins(self) -> Mapping[str, Bulletin]:
        return {self._desk.place(bulletin): bulletin for bulletin in self._desk.published}

    def _of_bulletin(self, place: str) -> Families:
        bulletin = self._bulletin_at(place)
        return self._of_all([bulletin]) if bulletin else EVERY

    def _of_all(self, bulletins: Iterable[Bulletin]) -> Families:
        return self._few(name for b in bulletins for name in self._desk.families_of(b))

    # Names, families and models

    def _of_name(self, index: Index, place: str) -> Families:
        keys = self._desk.once(("keys by place", index.kind), lambda: _keys_by_place(index))
        key = keys.get(place)
        return EVERY if key is None else self._of_all(index.bulletins[key])

    @cached_property
    def _families(self) -> Mapping[str, Families]:
        found = self._desk.families
        return {found.places[key]: (name,) for key, name in found.names.items()}

    @cached_property
    def _models(self) -> Mapping[str, Families]:
        families = self._desk.house.families.values()
        places = self._desk.model_places
        return {places[model]: (family.name,) for family in families for model in family.models}

    # Parts

    def _of_part(self, place: str) -> Families:
        """Return whose a part is: of the bulletins that name it, of models that its rows name."""
        number = self._part_at(place)
        if number is None:
            return EVERY
        bulletins = self._desk.bulletins_of_part(fold(number))
        rows = self._desk.catalogue.rows(number)
        named = {name for row in rows if row.models for name in self._meant(row.models)}
        named |= {name for b in bulletins for name in self._desk.families_of(b)}
        return self._few(named) if named or bulletins else REST

    def _part_at(self, place: str) -> str | None:
        """Return the number of the part whose page lies in the folder *place*."""
        likely = self._desk.part_names.get(fold(place))
        if likely and self._desk.part_place(likely) == place:
            return likely
        return self._parts.get(place)

    @cached_property
    def _parts(self) -> Mapping[str, str]:
        numbers = self._desk.part_names.values()
        return {self._desk.part_place(number) or "": number for number in numbers}

    def _families_meant(self, patterns: Sequence[str]) -> Families:
        """Return the families with a model that one of the patterns means."""
        return tuple(
            family.name
            for family in self._desk.house.families.values()
            if any(model_matches(p, m) for p in patterns for m in family.models)
        )


def _keys_by_place(index: Index) -> Mapping[str, str]:
    return {place: key for key, place in index.places.items()}
