"""What is known of the edition before: looked up where it is needed, in what a publish has kept.

Two files in a folder that only their owner may enter: a note, and a database (`kb.making.memory`)
that is trusted only where there is a note. The note is for one edition of the site: it names the
folder that readers had when it was written, by device and inode, which a later exchange of folders
changes. What cannot be read again is done without: everything is made anew.
"""

from __future__ import annotations

import pickle
from collections.abc import ItemsView, Iterable, Iterator, Mapping, ValuesView
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.conversion import Line, know
from kb.kept import Kept as KeptFile
from kb.kept import KeptHouse, KeptTable
from kb.making.changes import View
from kb.making.counts import Counts
from kb.making.memory import Memory
from kb.making.program import program
from kb.pages.desk import KnownFamilies
from kb.phone.kept import Kept as PhoneKept
from kb.records import Bulletin, House
from kb.uncollected import uncollected

if TYPE_CHECKING:
    from kb.proof.again import Proofed  # all the rules come with it

DATABASE = "known"
IN_HOUSE = "in the house"  # what a table was read into, where the house holds just that
OF_HOUSE = {
    "reference/families.yaml": "families",
    "reference/serials.yaml": "schemes",
    "reference/words.yaml": "words",
    "reference/parts.csv": "parts",
    "reference/kits.csv": "kits",
}


@dataclass(frozen=True, slots=True)
class Note:
    """What can be told of an edition without reading what it was made from.

    *asked* stands for all that was asked of that publish, the house included; *figures* are what
    it told.
    """

    asked: str
    figures: Mapping[str, Any]


class Edition(NamedTuple):
    """An edition in short.

    *program* made it (`kb.making.program`), *start* is the address of the piece of data that the
    search begins with, *lines* tell how values are turned from unit to unit.
    """

    program: str
    start: str
    counts: Counts
    lines: Mapping[tuple[str, str], Line]


class Shell(NamedTuple):
    """A house without what has sections of its own; bulletins are told by their files."""

    house: House
    bulletins: tuple[str, ...]
    unsound: tuple[str, ...]


class Known:
    """The edition before: the house as it was seen and read, and what was made of it."""

    def __init__(self, memory: Memory) -> None:
        self.memory = memory
        self.edition: Edition = memory.section("edition")

    @cached_property
    def files(self) -> Mapping[str, KeptFile]:
        """What each bulletin's file was read into."""
        return self.memory.files()

    @cached_property
    def house(self) -> House:
        """The house."""
        shell: Shell = self.memory.section("house")
        return replace(
            shell.house,
            parts=self.memory.section("parts"),
            kits=self.memory.section("kits"),
            bulletins=tuple(self._bulletins(shell.bulletins)),
            unsound=tuple(self._bulletins(shell.unsound)),
        )

    def _bulletins(self, files: Iterable[str]) -> Iterator[Bulletin]:
        return (found for file in files if (found := self.files[file].bulletin))

    @cached_property
    def tables(self) -> Mapping[str, KeptTable]:
        """What the reference tables were read into, by path."""
        tables: Mapping[str, KeptTable] = self.memory.section("tables")
        return {path: self._whole(path, table) for path, table in tables.items()}

    def _whole(self, path: str, table: KeptTable) -> KeptTable:
        if not isinstance(table.found, str):
            return table
        return table._replace(found=getattr(self.house, OF_HOUSE[path]))

    @cached_property
    def reading(self) -> KeptHouse:
        """What the house was read into."""
        shell: KeptHouse = self.memory.section("reading")
        return replace(shell, files=self.files, tables=self.tables)

    @cached_property
    def proofed(self) -> Proofed | None:
        """What the last proof found."""
        found: Proofed | None = self.memory.section("proofed")
        return found and replace(found, house=self.house)

    @cached_property
    def view(self) -> View:
        """What the house looked like."""
        shell, published = self.memory.section("view")
        view: View = replace(
            shell,
            bulletins={b.number: b for b in self._bulletins(published)},
            places={kind: Places(self.memory, kind) for kind in shell.places},
            parts=self.house.parts,
            kits=self.house.kits,
        )
        return view

    def places(self, house: House) -> Mapping[str, Mapping[str, tuple[str, str]]]:
        """Return where pages lie by kind; that of parts only if *house* has the same part lists."""
        same = house.parts is self.house.parts and house.kits is self.house.kits
        return {kind: held for kind, held in self.view.places.items() if same or kind != "parts"}

    def families(self, house: House) -> KnownFamilies:
        """Return the families of the bulletins that are as they were, by the objects' identities.

        There are none where the table of families is another than that of *house*.
        """
        if house.families is not self.house.families:
            return {}
        families = self.view.families
        bulletins = self.view.bulletins
        return {id(found): (found, families[number]) for number, found in bulletins.items()}

    @cached_property
    def phone(self) -> PhoneKept:
        """What writing the phone's data anew needs."""
        found: PhoneKept = self.memory.section("phone")
        return found

    def close(self) -> None:
        """Let go of the database."""
        self.memory.close()


class Places(Mapping[str, tuple[str, str]]):
    """How the names of one kind are written and where their pages lie, read when first asked."""

    def __init__(self, memory: Memory, kind: str) -> None:
        self._memory, self._kind = memory, kind

    @cached_property
    def _places(self) -> Mapping[str, tuple[str, str]]:
        found: Mapping[str, tuple[str, str]] = self._memory.section(f"places {self._kind}")
        return found

    def __getitem__(self, key: str) -> tuple[str, str]:
        return self._places[key]

    def items(self) -> ItemsView[str, tuple[str, str]]:
        """Return names with their places, as fast as a dictionary does."""
        return self._places.items()

    def values(self) -> ValuesView[tuple[str, str]]:
        """Return the places, as fast as a dictionary does."""
        return self._places.values()

    def __iter__(self) -> Iterator[str]:
        return iter(self._places)

    def __len__(self) -> int:
        return len(self._places)


def note_of(file: Path, out: Path) -> Note | None:
    """Return the note on the edition in *out*, None where there is none."""
    with suppress(Exception), file.open("rb") as stream:  # whatever a damaged file leads to
        edition, note = pickle.load(stream)
        if edition == edition_in(out) and isinstance(note, Note):
            return note
    return None


def known_of(file: Path | None, out: Path) -> Known | None:
    """Return what is known of the edition in *out*, None where there is nothing to go by."""
    if file is None or note_of(file, out) is None:
        return None
    with suppress(Exception):  # whatever a damaged file leads to
        known = Known(Memory(file.with_name(DATABASE)))
        if known.edition.program == program():
            with uncollected():
                _ = known.reading, known.view, known.proofed  # all that a damage could stop
            know(known.edition.lines)
            return known
        known.close()
    return None


def edition_in(out: Path) -> tuple[int, int]:
    """Return what tells the folder *out* from every other, by whatever name it goes: OSError."""
    found = out.stat()
    return found.st_dev, found.st_ino
