"""A whole house read into one frozen record, with every problem met on the way."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from kb.bulletinfile import read_file
from kb.errors import Problem
from kb.faults import Faults
from kb.folding import fold, fold_name
from kb.housefiles import HouseFiles
from kb.kept import Kept, KeptHouse, KeptTable, digest_of, settled
from kb.plainfile import LONGEST_FILE, LONGEST_TABLE, decode
from kb.records import Bulletin, House, HouseWords, KitRow, PartRow
from kb.reference import read_families, read_house_table, read_words
from kb.schemes import read_schemes
from kb.tables import NONE, by_line, read_kits, read_parts
from kb.together import FilesRead
from kb.uncollected import uncollected

REFERENCE = "reference"

_T = TypeVar("_T")
_Reader = Callable[[str, Faults], _T]


def read_house(folder: Path) -> House:
    """Read everything below *folder*; whatever is wrong is in the house's problems, by place."""
    return read_again(folder, KeptHouse())[0]


def read_again(folder: Path, kept: KeptHouse, processes: int = 1) -> tuple[House, KeptHouse]:
    """Read what has changed since *kept* was returned; the house is as if all had been read.

    A file of the same size and time is taken to be the same; one with another time is read, and
    taken apart only if its bytes are others. *processes* share the work where it is much; a program
    that asks for more than one must be importable, as `concurrent.futures` has it.
    """
    with uncollected():
        return _Reading(folder, kept if kept.holds() else KeptHouse()).house(processes)


class _Reading:
    """One reading: what was kept of the last, and what has been read so far."""

    def __init__(self, folder: Path, kept: KeptHouse) -> None:
        self._files = HouseFiles(folder)
        self._looks = settled(self._files.looks)
        self._kept = kept
        self._read: dict[str, Kept] = {}
        self._tables: dict[str, KeptTable] = {}
        self._problems: list[Problem] = []

    def house(self, processes: int) -> tuple[House, KeptHouse]:
        """Return the house, and what to keep for the next reading."""
        table = self._table("house.yaml", read_house_table, needed=True)
        families = self._table("families.yaml", read_families, needed=True) or {}
        names = {fold_name(name): name for name in families}
        begun = self._begin(names, processes)
        schemes = self._table("serials.yaml", read_schemes, needed=True)
        words = self._table("words.yaml", read_words)
        parts = self._table("parts.csv", self._parts)
        kits = self._table("kits.csv", self._kits)
        read = self._finished(begun, names)
        sound, unsound = self._sorted_out(read)
        house = House(
            folder=self._files.folder,
            families=families,
            schemes=schemes or {},
            parts=parts or (),
            kits=kits or (),
            words=words or HouseWords(),
            bulletins=sound,
            unsound=unsound,
            files=tuple(self._looks),
            problems=tuple(sorted([*self._files.problems, *self._problems])),
            **(table or {}),
        )
        return house, KeptHouse(names, self._looks, read, self._tables)

    # Reference tables

    def _table(self, name: str, reader: _Reader[_T], needed: bool = False) -> _T | None:
        """Return what *reader* makes of a reference table, or None where it cannot be read."""
        path = f"{REFERENCE}/{name}"
        if path not in self._looks:
            if needed:
                remedy = f"add {name}, or begin a house with `kb start DIR` and copy it from there"
                message = f"the house has no {path}"
                self._files.say(path, "missing-file", message, remedy)
            return None
        found = self._read_table(path, reader)
        if found is None:
            return None
        self._tables[path] = found
        self._problems += found.problems
        made: _T = found.found
        return made

    def _read_table(self, path: str, reader: _Reader[_T]) -> KeptTable | None:
        before = self._kept.tables.get(path)
        if before and self._same_look(path):
            return before
        data = self._files.read(path)
        if data is None:
            return None
        if before and before.data == data:
            return before
        faults = Faults(path)
        longest = LONGEST_TABLE if path.endswith(".csv") else LONGEST_FILE
        found = reader(decode(data, faults, longest), faults)
        return KeptTable(data, found, tuple(faults.problems))

    def _parts(self, text: str, faults: Faults) -> tuple[PartRow, ...]:
        return read_parts(text, faults, self._lines_before(text, faults))

    def _kits(self, text: str, faults: Faults) -> tuple[KitRow, ...]:
        return read_kits(text, faults, self._lines_before(text, faults))

    def _lines_before(self, text: str, faults: Faults) -> Mapping[str, Any]:
        """Return the rows of the last reading by their lines, where they mean the same in *text*.

        Where so much was wrong that not all of it was told, each line has to be read again.
        """
        before = self._kept.tables.get(faults.file)
        told = Faults(faults.file)
        told.problems += before.problems if before else ()
        if before is None or told.full:
            return NONE
        old = decode(before.data, Faults(faults.file), LONGEST_TABLE)
        header, first = (each.partition("\n")[0] for each in (text, old))
        if header != first or not header.strip():
            return NONE
        return by_line(old, before.found, {problem.line for problem in before.problems})

    # Bulletins

    def _begin(self, families: Mapping[str, str], processes: int) -> FilesRead:
        """Begin to read the bulletins that have changed, and take over those that have not."""
        known = self._kept.files if self._kept.families == families else {}
        changed = [name for name in self._looks if self._is_bulletin(name)]
        changed = [name for name in changed if not self._taken_over(name, known.get(name))]
        return FilesRead(self._files.folder, changed, families, processes)

    def _is_bulletin(self, name: str) -> bool:
        return name[-3:].lower() == ".md" and not name.startswith(f"{REFERENCE}/")

    def _taken_over(self, name: str, before: Kept | None) -> bool:
        """Tell whether a file is as it was, and then take what came of it before."""
        if before is None:
            return False
        if not self._same_look(name):
            data = self._files.read(name)
            if data is None or digest_of(data) != before.digest:
                return data is None
        self._read[name] = before
        return True

    def _finished(self, begun: FilesRead, families: Mapping[str, str]) -> dict[str, Kept]:
        """Return what came of each bulletin's file, in order of their names."""
        for name, kept in begun.results():
            if kept:
                self._read[name] = kept
            elif (data := self._files.read(name)) is not None:  # it can be opened after all
                self._read[name] = read_file(data, name, families)
        return {name: self._read[name] for name in self._looks if name in self._read}

    def _same_look(self, name: str) -> bool:
        look = self._looks[name]
        return look.mtime_ns > 0 and self._kept.looks.get(name) == look

    def _sorted_out(
        self, read: Mapping[str, Kept]
    ) -> tuple[tuple[Bulletin, ...], tuple[Bulletin, ...]]:
        """Return the sound bulletins and the others, such as the second with one number."""
        numbers: dict[str, Bulletin] = {}
        sound: list[Bulletin] = []
        unsound: list[Bulletin] = []
        for name, (_, bulletin, is_sound, problems) in read.items():
            faults = Faults(name)
            faults.problems += problems
            if bulletin:
                first = numbers.setdefault(fold(bulletin.number), bulletin)
                if first is not bulletin:
                    _number_twice(bulletin, first, faults)
                (sound if is_sound and first is bulletin else unsound).append(bulletin)
            self._problems += faults.problems
        return tuple(sound), tuple(unsound)


def _number_twice(bulletin: Bulletin, first: Bulletin, faults: Faults) -> None:
    faults.add(
        bulletin.line("number"),
        "number-twice",
        f"the number {bulletin.number} is taken: {first.file} has it",
        "give this bulletin a number of its own",
    )
