"""Gathering what is to be known of an edition, and keeping it for the next publish."""

from __future__ import annotations

import pickle
import sqlite3
from collections.abc import Collection, Iterator, Mapping, MutableMapping
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.conversion import known_lines
from kb.kept import Kept as KeptFile
from kb.kept import KeptHouse, KeptTable
from kb.making.changes import View
from kb.making.counts import Counts
from kb.making.kept import DATABASE, IN_HOUSE, OF_HOUSE, Edition, Known, Note, Shell, edition_in
from kb.making.memory import Made, Memory
from kb.making.program import program
from kb.pages.desk import Places
from kb.phone.kept import Kept as PhoneKept
from kb.records import House

if TYPE_CHECKING:
    from kb.proof.again import Proofed

_ROWS = ("parts", "kits")


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """What the edition was made from, and its counts."""

    house: House
    view: View
    reading: KeptHouse
    proofed: Proofed | None
    phone: PhoneKept
    start: str
    counts: Counts


class Keeping:
    """What is gathered while an edition is made; *file* is where the note on it goes, if anywhere.

    *packs* and *templates* are sections for whoever makes packs of pages and compiles templates.

    Where there is an edition *before* to go on from, what differs is kept in mind and written at
    the end; else units go into a new database as they come, being very many.
    """

    def __init__(self, file: Path | None, before: Known | None) -> None:
        self._file = file
        self._before = before
        self._units: dict[str, tuple[Made, Collection[str]]] = {}
        self._gone: set[str] = set()
        memory = before.memory if before else None
        self.packs = Sections("packs", memory)
        self.templates = Sections("template", memory)
        self._new = None if before else self._begun()

    def _begun(self) -> Memory | None:
        if self._file:
            with suppress(OSError, sqlite3.Error):
                return Memory.new(self._fresh(self._file))
        return None

    @staticmethod
    def _fresh(file: Path) -> Path:
        return file.with_name(f"{DATABASE}.new")

    def made(self, name: str, made: Made, facts: Collection[str]) -> None:
        """Keep how a unit was made, and the facts that it looked up."""
        if self._before:
            self._units[name] = made, facts
        elif self._new:
            try:
                self._new.put_unit(name, made, facts)
            except sqlite3.Error:  # no room: the next publish takes longer
                self.give_up()

    def gone(self, names: Collection[str]) -> None:
        """Forget units that are no more."""
        self._gone.update(names)

    def give_up(self) -> None:
        """Free what has been written; the next publish takes longer."""
        if self._new and self._file:
            self._new.close()
            self._new = None
            self._fresh(self._file).unlink(missing_ok=True)

    def keep(self, out: Path, note: Note, now: Now, lasting: bool) -> None:
        """Keep it all for the edition in *out*; where that cannot be, nothing is kept."""
        if self._file is None:
            return
        with suppress(OSError, sqlite3.Error):
            self._file.unlink(missing_ok=True)
            if self._before:
                self._before.memory.begin()
                self._put(self._before.memory, now)
                self._before.memory.commit(lasting)
            elif self._new:
                self._put(self._new, now)
                self._new.index()
                self._new.commit(lasting)
                self._new.close()
                self._fresh(self._file).replace(self._file.with_name(DATABASE))
            else:
                return
            fresh = self._file.with_suffix(".new")
            fresh.write_bytes(pickle.dumps((edition_in(out), note), pickle.HIGHEST_PROTOCOL))
            fresh.replace(self._file)

    def _put(self, memory: Memory, now: Now) -> None:
        memory.drop_units(self._gone - self._units.keys())
        for name, (made, facts) in self._units.items():
            memory.put_unit(name, made, facts)
        self._put_house(memory, now)
        self._put_view(memory, now.view)
        if not self._before or self._before.phone is not now.phone:
            memory.put_section("phone", now.phone)
        memory.put_section("proofed", now.proofed and replace(now.proofed, house=_NOBODYS))
        self.packs.put(memory)
        self.templates.put(memory)
        edition = Edition(program(), now.start, now.counts, known_lines())
        memory.put_section("edition", edition)

    def _put_house(self, memory: Memory, now: Now) -> None:
        house, was = now.house, self._before.house if self._before else None
        for name in _ROWS:
            rows = getattr(house, name)
            if not was or getattr(was, name) is not rows:
                memory.put_section(name, rows)
        bulletins = tuple(b.file for b in house.bulletins)
        unsound = tuple(b.file for b in house.unsound)
        rest = replace(house, bulletins=(), unsound=(), parts=(), kits=())
        memory.put_section("house", Shell(rest, bulletins, unsound))
        self._put_reading(memory, now)

    def _put_reading(self, memory: Memory, now: Now) -> None:
        reading = now.reading
        files = reading.files or _unread(now.house)
        tables = {path: _light(path, table, now.house) for path, table in reading.tables.items()}
        was = self._before.files if self._before else {}
        fresh = {path: file for path, file in files.items() if was.get(path) is not file}
        memory.put_files(fresh, was.keys() - files.keys())
        if not self._before or not _same(self._before.tables, reading.tables):
            memory.put_section("tables", tables)
        memory.put_section("reading", replace(reading, files={}, tables={}))

    def _put_view(self, memory: Memory, view: View) -> None:
        was = self._before.view.places if self._before else {}
        for kind, places in view.places.items():
            if places is not was.get(kind) and places != was.get(kind):
                memory.put_section(f"places {kind}", dict(places))
        published = tuple(b.file for b in view.bulletins.values())
        kinds: dict[str, Places] = {kind: {} for kind in view.places}
        shell = replace(view, bulletins={}, places=kinds, parts=(), kits=())
        memory.put_section("view", (shell, published))


class Sections(MutableMapping[str, Any]):
    """Sections of a *memory* under names of their own; what is set is put there at the end."""

    def __init__(self, kind: str, memory: Memory | None) -> None:
        self._kind, self._memory = kind, memory
        self._set: dict[str, Any] = {}
        self._there = memory.sections(f"{kind} ") if memory else set()
        self._gone: set[str] = set()

    def __getitem__(self, name: str) -> Any:
        if name in self._set or not self._memory or name not in self._there:
            return self._set[name]
        return self._memory.section(f"{self._kind} {name}")

    def __setitem__(self, name: str, value: Any) -> None:
        self._set[name] = value

    def __delitem__(self, name: str) -> None:
        if name in self._there:
            self._there.discard(name)
            self._gone.add(name)
            self._set.pop(name, None)
        else:
            del self._set[name]

    def __iter__(self) -> Iterator[str]:
        return iter({**dict.fromkeys(self._there), **self._set})

    def __len__(self) -> int:
        return len(self._there | self._set.keys())

    def put(self, memory: Memory) -> None:
        """Put what was set into *memory*, and drop what was deleted."""
        for name in self._gone - self._set.keys():
            memory.drop_section(f"{self._kind} {name}")
        for name, value in self._set.items():
            memory.put_section(f"{self._kind} {name}", value)


_NOBODYS = House(folder=Path())  # in place of a house that has sections of its own


def _unread(house: House) -> dict[str, KeptFile]:
    """Return the bulletins of a house that came from elsewhere; reading goes by none of them."""
    both = ((house.bulletins, True), (house.unsound, False))
    return {b.file: KeptFile(b"", b, sound, ()) for some, sound in both for b in some}


def _light(path: str, table: KeptTable, house: House) -> KeptTable:
    """Return *table* without what the house has too."""
    name = OF_HOUSE.get(path)
    if name and getattr(house, name) is table.found:
        return table._replace(found=IN_HOUSE)
    return table


def _same(tables: Mapping[str, KeptTable], others: Mapping[str, KeptTable]) -> bool:
    both = tables.keys() | others.keys()
    return all(tables.get(path) is others.get(path) for path in both)
