"""Everything that pages look up, gathered once: who names what, what stands, where pages lie."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property
from pathlib import PurePosixPath
from typing import Any, TypeVar

from kb.catalogue import Catalogue
from kb.folding import fold, fold_name
from kb.making import facts
from kb.markup import Body, outline, read
from kb.outlines import Outline
from kb.pages.byname import Index, index_by, natural
from kb.pages.page import Way, address
from kb.records import Block, Bulletin, Family, House
from kb.scope import by_family
from kb.slugs import folders
from kb.standing import in_force, standing, superseded_by

T = TypeVar("T")
Places = Mapping[str, tuple[str, str]]  # how each name is written and the folder of its page
# By the bulletin's identity, which no other can come to have while it is held here.
KnownFamilies = Mapping[int, tuple[Bulletin, Sequence[str]]]

_OUTLINES = 2_000  # outlines of bodies that are kept: one takes some 6 kB

KIND_NAMES: Mapping[str, str] = {
    "repair": "Repair",
    "running-change": "Running change",
    "introduction": "Introduction",
    "normal": "Normal behaviour",
    "safety": "Safety",
    "parts": "Parts",
    "reference": "Reference",
}


class Desk:
    """The house as the pages see it on one day; each index is made when first asked for.

    *seen* gathers the facts that are looked up (`kb.making.facts`): whoever makes a page empties it
    before and reads it after. *known* is what `all_places` told before: folders are named anew only
    where the names are others. That of parts may be left out, and is taken to be right if not.
    *families* holds bulletins with the families that they can mean, by the objects' identities.
    """

    def __init__(
        self,
        house: House,
        today: date,
        known: Mapping[str, Places] | None = None,
        families: KnownFamilies | None = None,
    ) -> None:
        self.house = house
        self._known = known or {}
        self._families = families or {}
        self.seen: set[str] = set()
        self._today = today
        self._outlines: dict[str, Outline] = {}
        self._told: dict[str, Body] = {}
        self._once: dict[tuple[str, Hashable], Any] = {}

    def saw(self, fact: str) -> None:
        """Note that *fact* was looked up."""
        self.seen.add(fact)

    @property
    def today(self) -> date:
        """The day that is reckoned with."""
        self.seen.add(facts.TODAY)
        return self._today

    def once(self, key: tuple[str, Hashable], make: Callable[[], T]) -> T:
        """Return what *make* gives, made at the first call for *key* and kept."""
        if key not in self._once:
            self._once[key] = make()
        made: T = self._once[key]
        return made

    # Bulletins

    @cached_property
    def published(self) -> Sequence[Bulletin]:
        """Bulletins that have a page, the newest first: all but drafts."""
        return newest_first(b for b in self.house.bulletins if b.status != "draft")

    @cached_property
    def standing(self) -> Sequence[Bulletin]:
        """Bulletins in force and not superseded, the newest first: what lists show."""
        found = set(map(id, in_force(self.house.bulletins)))
        return [bulletin for bulletin in self.published if id(bulletin) in found]

    @cached_property
    def by_number(self) -> Mapping[str, Bulletin]:
        """Bulletins that have a page, by folded number."""
        return {fold(b.number): b for b in self.published}

    @cached_property
    def by_number_exact(self) -> Mapping[str, Bulletin]:
        """Bulletins that have a page, by their number as written."""
        return {b.number: b for b in self.published}

    @cached_property
    def superseded(self) -> Mapping[str, str]:
        """For each superseded bulletin's folded number the number that supersedes it."""
        return superseded_by(self.house.bulletins)

    @cached_property
    def naming(self) -> Mapping[str, Sequence[str]]:
        """For each bulletin's folded number the bulletins in force that call it related."""
        found: dict[str, list[str]] = {}
        for bulletin in self.standing:
            for number in dict.fromkeys(map(fold, bulletin.related)):
                found.setdefault(number, []).append(bulletin.number)
        return found

    @cached_property
    def _numbers(self) -> Mapping[str, str]:
        return folders((b.number for b in self.published), False, self._known.get("bulletins"))

    def successor(self, number: str) -> str:
        """Return the number that supersedes a bulletin, "" where none does."""
        self.saw(facts.successor(number))
        return self.superseded.get(fold(number), "")

    def standing_of(self, bulletin: Bulletin) -> str:
        """Return whether a bulletin is in force, superseded, withdrawn or a draft."""
        self.saw(facts.successor(bulletin.number))
        return standing(bulletin, self.superseded)

    def named_by(self, number: str) -> Sequence[str]:
        """Return the numbers of the bulletins in force that call a number related."""
        self.saw(facts.naming(number))
        return self.naming.get(fold(number), ())

    def place(self, bulletin: Bulletin) -> str:
        """Return the folder name of a bulletin's page."""
        self.saw(facts.known(bulletin.number))
        return self._numbers[bulletin.number]

    def bulletin_href(self, number: str) -> str | None:
        """Return the address of a bulletin's page by its number as typed."""
        self.saw(facts.known(number))
        bulletin = self.by_number.get(fold(number))
        return None if bulletin is None else address("bulletins", self.place(bulletin))

    def bulletin_way(self, number: str) -> Way:
        """Return a bulletin as a link: its number, its page and its title."""
        self.saw(facts.known(number))
        bulletin = self.by_number.get(fold(number))
        if bulletin is None:
            return Way(number, "")
        return Way(bulletin.number, address("bulletins", self.place(bulletin)), bulletin.title)

    def told(self, bulletin: Bulletin) -> Body:
        """Return what a body tells, read once: all of it but its tokens."""
        if bulletin.file not in self._told:
            self._read(bulletin)
        return self._told[bulletin.file]

    def outline(self, bulletin: Bulletin) -> Outline:
        """Return what a body's HTML is made from: of a large house read again for most pages."""
        return self._outlines.get(bulletin.file) or self._read(bulletin)

    def _read(self, bulletin: Bulletin) -> Outline:
        body = read(bulletin.body, bulletin.body_line, self.folder(bulletin))
        if bulletin.file not in self._told:
            self._told[bulletin.file] = replace(body, tokens=())
        made = outline(body)
        if len(self._outlines) < _OUTLINES:
            self._outlines[bulletin.file] = made
        return made

    def folder(self, bulletin: Bulletin) -> str:
        """Return the folder below the house in which a bulletin lies."""
        folder = str(PurePosixPath(bulletin.file).parent)
        return "" if folder == "." else folder

    def summary(self, bulletin: Bulletin) -> str:
        """Return a bulletin's summary, which is its first paragraph where none is given."""
        return bulletin.summary or self.told(bulletin).first_paragraph

    # Ways in

    def _index_by(
        self,
        kind: str,
        key: Callable[[str], str],
        names: Callable[[Bulletin], Iterable[str]],
        plain: bool = True,
    ) -> Index:
        return index_by(kind, key, self.standing, names, self.saw, plain, self._known.get(kind))

    @cached_property
    def components(self) -> Index:
        """Bulletins by component."""
        return self._index_by("components", fold_name, lambda b: b.component)

    @cached_property
    def symptoms(self) -> Index:
        """Bulletins by symptom."""
        return self._index_by("symptoms", fold_name, lambda b: b.symptoms)

    @cached_property
    def codes(self) -> Index:
        """Bulletins by fault code."""
        return self._index_by("codes", fold, lambda b: b.codes, plain=False)

    @cached_property
    def families(self) -> Index:
        """Bulletins by family; a family without bulletins is there too."""
        found = self._index_by("families", fold_name, self.families_of, plain=False)
        names = {fold_name(name): name for name in self.house.families}
        places = folders(names.values(), plain=False)
        return Index(
            "families",
            fold_name,
            names,
            {key: found.bulletins.get(key, ()) for key in names},
            {key: places[name] for key, name in names.items()},
            self.saw,
        )

    @cached_property
    def model_places(self) -> Mapping[str, str]:
        """The folder name of each model's page."""
        return folders((m for f in self.house.families.values() for m in f.models), plain=False)

    def model_way(self, model: str) -> Way:
        """Return a model with the address of its page."""
        place = self.model_places.get(model)
        return Way(model, address("models", place) if place else "")

    def all_places(self) -> Mapping[str, Places]:
        """Return by kind of page, for each name, how it is written and the folder of its page."""
        found: dict[str, Places] = {
            "bulletins": {number: (number, place) for number, place in self._numbers.items()},
            "parts": self._places_of_parts,
        }
        for index in (self.components, self.symptoms, self.codes):
            found[index.kind] = {k: (n, index.places[k]) for k, n in index.names.items()}
        return found

    # Parts

    @cached_property
    def catalogue(self) -> Catalogue:
        """The parts and kits, for what to order."""
        families = self.house.families.values()
        models = (model for family in families for model in family.models)
        return Catalogue(self.house.parts, self.house.kits, models)

    @cached_property
    def _places_of_parts(self) -> Places:
        if "parts" in self._known:
            return self._known["parts"]
        return {key: (number, self._part_places[number]) for key, number in self.part_names.items()}

    @cached_property
    def part_names(self) -> Mapping[str, str]:
        """Every part and kit number as written, by folded number, in the order of the files."""
        if "parts" in self._known:
            return {key: number for key, (number, _) in self._known["parts"].items()}
        rows = [row.number for row in self.house.parts] + [row.kit for row in self.house.kits]
        names: dict[str, str] = {}
        for number in filter(fold, rows):
            names.setdefault(fold(number), number)
        return names

    @cached_property
    def _part_places(self) -> Mapping[str, str]:
        if "parts" in self._known:
            return dict(self._known["parts"].values())
        return folders(self.part_names.values(), plain=False)

    def part_place(self, number: str) -> str | None:
        """Return the folder name of a part's page by its number as typed."""
        self.saw(facts.part(number))
        name = self.part_names.get(fold(number))
        return None if name is None else self._part_places[name]

    def part_href(self, number: str) -> str | None:
        """Return the address of a part's page by its number as typed."""
        place = self.part_place(number)
        return None if place is None else address("parts", place)

    def part_name(self, number: str) -> str:
        """Return what a part is called, "" for a number that parts.csv does not hold."""
        self.saw(facts.part(number))
        return self._part_title(fold(number))

    def _part_title(self, key: str) -> str:
        rows = self.catalogue.rows(key)
        return rows[0].name if rows else ""

    def part_way(self, number: str) -> Way:
        """Return a part as a link: its number as written in parts.csv, its page and its name."""
        self.saw(facts.part(number))
        key = fold(number)
        shown = self.part_names.get(key)
        if shown is None:
            return Way(number, "", self._part_title(key))
        return Way(shown, address("parts", self._part_places[shown]), self._part_title(key))

    def part_ways(self) -> list[Way]:
        """Return every part as a link."""
        self.saw(facts.ways("parts"))
        return [
            Way(name, address("parts", self._part_places[name]), self._part_title(key))
            for key, name in self.part_names.items()
        ]

    @cached_property
    def _by_part(self) -> Index:
        return index_by("parts", fold, self.standing, parts_of, self.saw, plain=False)

    def bulletins_of_part(self, key: str) -> Sequence[Bulletin]:
        """Return the bulletins in force that order, check or keep a part, by its folded number."""
        return self._by_part.of(key)

    # Where bulletins apply

    def families_of(self, bulletin: Bulletin) -> Sequence[str]:
        """Return the names of the families that a bulletin can mean, in the house's order."""
        if id(bulletin) in self._families:
            return self._families[id(bulletin)][1]
        return [family.name for family, _ in self.models_of(bulletin.where)]

    def models_of(self, where: Iterable[Block]) -> Sequence[tuple[Family, Sequence[str]]]:
        """Return each family that any of the blocks can mean, with its models that they mean."""
        key = tuple((block.families, block.models) for block in where)
        blocks = [Block(families=families, models=models) for families, models in key]
        return self.once(("models", key), lambda: list(by_family(blocks, self.house.families)))


def parts_of(bulletin: Bulletin) -> list[str]:
    """Return the part numbers that a bulletin names before its text."""
    ordered = [line.number for line in bulletin.parts]
    checked = [number for check in bulletin.checks for number in check.parts]
    return [*ordered, *checked, *bulletin.keep]


def newest_first(bulletins: Iterable[Bulletin]) -> list[Bulletin]:
    """Return bulletins by date of issue, the newest first, then by number, the highest first."""
    by_number = sorted(bulletins, key=lambda b: natural(b.number), reverse=True)
    return sorted(by_number, key=lambda b: b.issued, reverse=True)
