"""What every rule looks at: the house, and indexes over it that are made once and shared."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence, Set
from datetime import date
from functools import cached_property, lru_cache
from pathlib import PurePosixPath
from typing import NamedTuple, TypeVar, cast

from kb.bodynotes import Note
from kb.catalogue import Catalogue, Order
from kb.folding import fold, fold_name, nearest
from kb.markup import Picture, read
from kb.modelsets import Models
from kb.proof.likely import likely
from kb.proof.numbers import folded, shapes
from kb.proof.quiet import is_quiet
from kb.reach import Reach, Region, share
from kb.records import Block, Bulletin, Family, House, PartRow
from kb.standing import in_force, superseded_by

MODELS = "reference/families.yaml"
SERIALS = "reference/serials.yaml"
PARTS = "reference/parts.csv"
KITS = "reference/kits.csv"
WORDS = "reference/words.yaml"
HOUSE = "reference/house.yaml"

_STEPS = ("ordered_list_open", "bullet_list_open", "heading_open")

T = TypeVar("T")

_WORD = re.compile(r"[\w.-]+")


class Placed(NamedTuple):
    """A block with the front-matter paths where it may stand, and the block it takes away from."""

    block: Block
    paths: tuple[str, ...]
    within: Block | None


class BodyFacts(NamedTuple):
    """A body without its tokens: a large house's would fill the memory.

    *panels* are the signal words used; *steps* tells whether there is a list or a heading.
    """

    text: str
    pictures: tuple[Picture, ...]
    notes: tuple[Note, ...]
    panels: frozenset[str]
    steps: bool


class Look:
    """The house as the rules see it; each index is made when first asked for."""

    def __init__(self, house: House, today: date) -> None:
        self.house = house
        self.today = today
        self.orders: dict[str, Order | None] = {}  # what to order, by folded number, once asked
        self._bodies: dict[str, BodyFacts] = {}
        self._quiet: dict[str, bool] = {}
        self._near: dict[tuple[str, str], str | None] = {}
        self._reached: dict[str, Sequence[Region]] = {}
        self._made: dict[tuple[str, str], object] = {}
        self._named: dict[str, Set[str]] = {}
        self._lost: dict[str, frozenset[str]] = {}
        self._matching: dict[str, tuple[tuple[str, str], ...]] = {}

    def once(self, what: str, of: Bulletin, make: Callable[[Look, Bulletin], list[T]]) -> list[T]:
        """Return what *make* makes of a bulletin, made once for all the rules that ask."""
        key = (what, of.file)
        if key not in self._made:
            self._made[key] = make(self, of)
        return cast("list[T]", self._made[key])

    # Bulletins

    @cached_property
    def bulletins(self) -> Sequence[Bulletin]:
        """All bulletins, those with errors too as far as they could be read."""
        return (*self.house.bulletins, *self.house.unsound)

    @cached_property
    def by_file(self) -> Mapping[str, Bulletin]:
        """Bulletins by file."""
        return {b.file: b for b in self.bulletins}

    @cached_property
    def by_number(self) -> Mapping[str, Bulletin]:
        """Bulletins by folded number."""
        return {fold(b.number): b for b in reversed(self.bulletins)}

    @cached_property
    def numbers(self) -> Mapping[str, str]:
        """Known bulletin numbers by folded number.

        A file that could not be read still stands for the number that its name gives, so that one
        broken bulletin is not blamed on all that name it.
        """
        read = {b.file for b in self.bulletins}
        lost = (
            PurePosixPath(f).stem for f in self.house.files if f.endswith(".md") and f not in read
        )
        return {fold(n): n for n in (*lost, *(b.number for b in self.bulletins))}

    @cached_property
    def in_force(self) -> Sequence[Bulletin]:
        """Bulletins in force and not superseded."""
        return in_force(self.bulletins)

    @cached_property
    def sound_in_force(self) -> Sequence[Bulletin]:
        """Bulletins in force that were read without an error, for what is held between them."""
        unsound = {b.file for b in self.house.unsound}
        return [b for b in self.in_force if b.file not in unsound]

    @cached_property
    def in_force_numbers(self) -> frozenset[str]:
        """Folded numbers of the bulletins in force and not superseded."""
        return frozenset(fold(b.number) for b in self.in_force)

    @cached_property
    def superseded(self) -> Mapping[str, str]:
        """For each superseded bulletin's folded number the number that supersedes it."""
        return superseded_by(self.bulletins)

    def body(self, bulletin: Bulletin) -> BodyFacts:
        """Return what the rules ask of the bulletin's body, parsed once for all of them."""
        if bulletin.file not in self._bodies:
            body = read(bulletin.body, bulletin.body_line, bulletin.file.rpartition("/")[0])
            panels = frozenset(t.info for t in body.tokens if t.type == "panel_open")
            steps = any(t.type in _STEPS for t in body.tokens)
            found = BodyFacts(body.text, body.pictures, body.notes, panels, steps)
            self._bodies[bulletin.file] = found
        return self._bodies[bulletin.file]

    def is_quiet(self, bulletin: Bulletin) -> bool:
        """Tell whether the bulletin's body is sure to hold no picture and nothing to note."""
        if bulletin.file not in self._quiet:
            self._quiet[bulletin.file] = is_quiet(bulletin.body)
        return self._quiet[bulletin.file]

    # Files

    @cached_property
    def files(self) -> frozenset[str]:
        """Every file of the house, as a path below it."""
        return frozenset(self.house.files)

    @cached_property
    def _files_by_folder(self) -> Mapping[str, Sequence[str]]:
        found: defaultdict[str, list[str]] = defaultdict(list)
        for path in self.house.files:
            found[path.rpartition("/")[0]].append(path)
        return found

    def files_in(self, path: str) -> Sequence[str]:
        """Return the files that lie in the folder of *path*."""
        return self._files_by_folder.get(path.rpartition("/")[0], ())

    def lost(self, file: str, name: str) -> bool:
        """Tell whether *name* stands in a reference file that could not be read whole.

        What was left out there for an error is told once, there, and not of all that name it. Of
        a broken file that gave nothing at all, any name may have been lost.
        """
        read = {MODELS: self.house.families, SERIALS: self.house.schemes, PARTS: self.house.parts}
        if file in read and not read[file] and self.broken(file):
            return True
        return fold(name) in self._words_of(file)

    def broken(self, file: str) -> bool:
        """Tell whether a reference file has errors, so that something may be missing from it."""
        return any(p.file == file and p.level == "error" for p in self.house.problems)

    def text_of(self, file: str) -> str:
        """Return the text of a file of the house, or nothing where there is no such file."""
        if file not in self.files:
            return ""
        return (self.house.folder / file).read_bytes().decode("utf-8", "replace")

    def _words_of(self, file: str) -> frozenset[str]:
        if file not in self._lost:
            words = _WORD.findall(self.text_of(file) if self.broken(file) else "")
            self._lost[file] = frozenset(map(fold, words))
        return self._lost[file]

    # Families and models

    @cached_property
    def families(self) -> Mapping[str, Family]:
        """Families by folded name."""
        return {fold_name(name): family for name, family in self.house.families.items()}

    @cached_property
    def models(self) -> Mapping[str, tuple[str, str]]:
        """Model and family name by folded model number."""
        return {
            fold(model): (model, family.name)
            for family in self.house.families.values()
            for model in family.models
        }

    @cached_property
    def _every_model(self) -> Models:
        return Models(m for family in self.house.families.values() for m in family.models)

    def matching(self, pattern: str) -> tuple[tuple[str, str], ...]:
        """Return (model, family name) of every model that *pattern* means."""
        if pattern not in self._matching:
            plain = self.models.get(fold(pattern))
            names = self._every_model.in_order(self._every_model.of(pattern))
            found = dict.fromkeys(self.models[fold(name)] for name in names)
            self._matching[pattern] = (plain,) if plain else tuple(found)
        return self._matching[pattern]

    def families_of(self, placed: Placed) -> tuple[Family, ...]:
        """Return the known families a block speaks of; of an exception, those it takes from."""
        block = placed.block
        if not block.families and not block.models and placed.within is not None:
            return self.families_of(Placed(placed.within, (), None))
        if block.families:
            named = [self.families.get(fold_name(name)) for name in block.families]
            return tuple(family for family in named if family)
        if block.models:
            names = {name for pattern in block.models for _, name in self.matching(pattern)}
            return tuple(f for f in self.house.families.values() if f.name in names)
        return tuple(self.house.families.values())

    def family_names(self, bulletin: Bulletin) -> frozenset[str]:
        """Return the names of the families that a bulletin is for."""
        placed = (Placed(block, (), None) for block in bulletin.where)
        return frozenset(family.name for p in placed for family in self.families_of(p))

    @cached_property
    def reach(self) -> Reach:
        """What bulletins reach of the house's production."""
        return Reach(self.house, self.today)

    def overlap(self, one: Bulletin, other: Bulletin) -> bool:
        """Tell whether any unit is reached by both bulletins."""
        return share(self._regions(one), self._regions(other))

    def _regions(self, bulletin: Bulletin) -> Sequence[Region]:
        if bulletin.file not in self._reached:
            self._reached[bulletin.file] = tuple(self.reach.regions(bulletin.where))
        return self._reached[bulletin.file]

    # Parts

    @cached_property
    def parts(self) -> Mapping[str, tuple[PartRow, ...]]:
        """Rows of parts.csv by folded number."""
        return {number: tuple(rows) for number, rows in self.catalogue.listed()}

    @cached_property
    def part_numbers(self) -> Mapping[str, str]:
        """Every known part number as written, kits too, by folded number."""
        kits = {fold(row.kit): row.kit for row in self.house.kits}
        numbers = [row.number for row in self.house.parts]
        return kits | dict(zip(folded(numbers), numbers, strict=True))

    @cached_property
    def number_shapes(self) -> frozenset[str]:
        """How bulletin numbers are built."""
        return shapes([b.number for b in self.bulletins])

    @cached_property
    def part_shapes(self) -> frozenset[str]:
        """How part numbers are built that cannot be taken for a bulletin's."""
        return shapes(list(self.part_numbers.values())) - self.number_shapes

    @cached_property
    def catalogue(self) -> Catalogue:
        """The catalogue that says what to order."""
        families = self.house.families.values()
        models = (model for family in families for model in family.models)
        return Catalogue(self.house.parts, self.house.kits, models)

    @cached_property
    def parts_named(self) -> Mapping[str, Sequence[str]]:
        """Folded part numbers by folded part name and by folded component name."""
        found: defaultdict[str, list[str]] = defaultdict(list)
        folded = lru_cache(maxsize=4096)(fold_name)  # a component names thousands of parts
        for number, rows in self.parts.items():
            for row in rows:
                if row.name:
                    found[fold_name(row.name)].append(number)
                if row.component:
                    found[folded(row.component)].append(number)
        return found

    def numbers_named(self, name: str) -> Set[str]:
        """Return the folded numbers of the parts with that name or component."""
        if name not in self._named:
            self._named[name] = frozenset(self.parts_named.get(fold_name(name), ()))
        return self._named[name]

    # Components and codes

    @cached_property
    def component_uses(self) -> Mapping[str, int]:
        """How many bulletins name a component, by folded name."""
        return Counter(name for b in self.bulletins for name in set(map(fold_name, b.component)))

    @cached_property
    def listed_components(self) -> Sequence[str]:
        """Components as parts.csv, the house and its families list them."""
        families = self.house.families.values()
        listed = [row.component for row in self.house.parts if row.component]
        return [*listed, *self.house.components, *(c for f in families for c in f.components)]

    @cached_property
    def components(self) -> Mapping[str, str]:
        """Known components: of parts.csv, of the house, and named by two bulletins or more."""
        listed = self.listed_components
        shared = (
            name
            for b in self.bulletins
            for name in b.component
            if self.component_uses[fold_name(name)] > 1
        )
        return {fold_name(name): name for name in (*shared, *listed)}

    @cached_property
    def codes(self) -> frozenset[str]:
        """Folded fault codes that bulletins name."""
        return frozenset(fold(code) for b in self.bulletins for code in b.codes)

    @cached_property
    def listed_codes(self) -> frozenset[str]:
        """Folded fault codes that the house or one of its families lists."""
        lists = (self.house.codes, *(f.codes for f in self.house.families.values()))
        return frozenset(fold(code) for codes in lists for code in codes)

    @cached_property
    def code_families(self) -> Mapping[str, frozenset[str]]:
        """Names of the families whose bulletins name a code, by folded code."""
        found: defaultdict[str, set[str]] = defaultdict(set)
        for bulletin in self.bulletins:
            for code in bulletin.codes:
                found[fold(code)] |= self.family_names(bulletin)
        return {code: frozenset(names) for code, names in found.items()}

    def means(self, word: str) -> bool:
        """Tell whether *word* is a known number of any kind: bulletin, part, code or model."""
        folded = fold(word)
        return any(
            folded in known for known in (self.numbers, self.part_numbers, self.codes, self.models)
        )

    def near(self, word: str, kind: str, known: Sequence[str] | Mapping[str, str]) -> str | None:
        """Return the known name of a *kind* most like *word*, looked for once a word."""
        key = (kind, word)
        if key not in self._near:
            names = list(known.values()) if isinstance(known, Mapping) else list(known)
            self._near[key] = nearest(word, likely(word, names))
        return self._near[key]


@lru_cache(maxsize=64)
def _heads(index: int) -> tuple[str, ...]:
    return (f"applies[{index}].", "applies.", "")


def placed_blocks(bulletin: Bulletin) -> Iterator[Placed]:
    """Yield every block of a bulletin, exceptions too, with the paths where it may stand."""
    for index, block in enumerate(bulletin.where):
        heads = _heads(index)
        yield Placed(block, heads, None)
        for number, away in enumerate(block.but_not):
            inner = tuple(f"{head}except{at}" for head in heads for at in (f"[{number}].", "."))
            yield Placed(away, inner, block)


def line_in(bulletin: Bulletin, placed: Placed, key: str, index: int | None = None) -> int:
    """Return the line of a key of a block, or of one item of its list."""
    names = [key] if index is None else [f"{key}[{index}]", key]
    for name in names:
        for head in placed.paths:
            if head + name in bulletin.lines:
                return bulletin.lines[head + name]
    for head in placed.paths:
        if head.rstrip(".") in bulletin.lines:
            return bulletin.lines[head.rstrip(".")]
    return bulletin.line("family" if "family" in bulletin.lines else "models")
