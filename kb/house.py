"""A whole house read into one frozen record, with every problem met on the way."""

from __future__ import annotations

import gc
import os
import stat
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeVar

from kb.bulletin import read_bulletin
from kb.errors import Problem
from kb.faults import Faults
from kb.folding import fold, fold_name
from kb.frontmatter import has_front
from kb.plainfile import LONGEST_FILE, LONGEST_TABLE, decode
from kb.records import Bulletin, House, HouseWords
from kb.reference import read_families, read_house_table, read_words
from kb.schemes import read_schemes
from kb.tables import read_kits, read_parts

REFERENCE = "reference"

_T = TypeVar("_T")


def read_house(folder: Path) -> House:
    """Read everything below *folder*; whatever is wrong is in the house's problems, by place."""
    collecting = gc.isenabled()
    gc.disable()  # nothing read is garbage yet, so looking for garbage costs and finds none
    try:
        return _read(folder)
    finally:
        if collecting:
            gc.enable()


def _read(folder: Path) -> House:
    reading = _Reading(folder)
    reading.list_files()
    table = reading.table("house.yaml", read_house_table, needed=True)
    families = reading.table("families.yaml", read_families, needed=True) or {}
    schemes = reading.table("serials.yaml", read_schemes, needed=True)
    words = reading.table("words.yaml", read_words)
    parts = reading.table("parts.csv", read_parts)
    kits = reading.table("kits.csv", read_kits)
    reading.read_bulletins({fold_name(name): name for name in families})
    return House(
        folder=folder,
        families=families,
        schemes=schemes or {},
        parts=parts or (),
        kits=kits or (),
        words=words or HouseWords(),
        bulletins=tuple(reading.sound),
        unsound=tuple(reading.unsound),
        files=tuple(reading.files),
        problems=tuple(sorted(reading.problems)),
        **(table or {}),
    )


@dataclass(slots=True)
class _Reading:
    """What has been read so far."""

    folder: Path
    files: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    sound: list[Bulletin] = field(default_factory=list)
    unsound: list[Bulletin] = field(default_factory=list)

    def list_files(self) -> None:
        """List every file of the house, in sorted order of its path."""
        inside = os.path.realpath(self.folder)
        self.files = sorted(self._below(str(self.folder), "", inside))

    def _below(self, folder: str, head: str, inside: str) -> Iterator[str]:
        try:
            with os.scandir(folder) as entries:
                found = sorted(entries, key=lambda entry: entry.name)
        except OSError as trouble:
            self._unreadable(head.rstrip("/") or ".", trouble)
            return
        for entry in found:
            name = head + entry.name
            if entry.name.startswith("."):
                continue
            if not _printable(name):
                self._say(name, "file-name", "the file's name is not UTF-8", "rename the file")
            elif entry.is_symlink() and not self._inside(entry, name, inside):
                continue
            elif entry.is_dir(follow_symlinks=False):
                yield from self._below(entry.path, f"{name}/", inside)
            elif _is_file(entry):
                yield name

    def _inside(self, entry: os.DirEntry[str], name: str, inside: str) -> bool:
        """Tell whether a link leads to a file of the house; report one that leads elsewhere."""
        target = os.path.realpath(entry.path)
        if target.startswith(inside + os.sep):
            return Path(target).is_file()
        self._say(
            name,
            "link",
            "this is a link to a place outside of the house; it is not read",
            "copy the file into the house",
            level="warning",
        )
        return False

    def _unreadable(self, name: str, trouble: OSError) -> None:
        why = trouble.strerror or "unknown reason"
        self._say(name, "unreadable", f"cannot be read: {why}", "see who may read it")

    def _say(self, name: str, rule: str, message: str, remedy: str, level: Any = "error") -> None:
        faults = Faults(name.encode("utf-8", "replace").decode())
        faults.add(1, rule, message, remedy, level)
        self.problems += faults.problems

    def _bytes(self, name: str) -> bytes | None:
        try:
            return (self.folder / name).read_bytes()
        except OSError as trouble:
            self._unreadable(name, trouble)
            return None

    def table(
        self, name: str, reader: Callable[[str, Faults], _T], needed: bool = False
    ) -> _T | None:
        """Return what *reader* makes of a reference table, or None where it cannot be read."""
        path = f"{REFERENCE}/{name}"
        if path not in self.files:
            if needed:
                remedy = f"add {name}, or begin a house with `kb start DIR` and copy it from there"
                self._say(path, "missing-file", f"the house has no {path}", remedy)
            return None
        data = self._bytes(path)
        if data is None:
            return None
        faults = Faults(path)
        longest = LONGEST_TABLE if name.endswith(".csv") else LONGEST_FILE
        found = reader(decode(data, faults, longest), faults)
        self.problems += faults.problems
        return found

    def read_bulletins(self, families: Mapping[str, str]) -> None:
        """Read every bulletin; the second of two with one number is unsound."""
        numbers: dict[str, Bulletin] = {}
        for name in self.files:
            if name[-3:].lower() != ".md" or name.startswith(f"{REFERENCE}/"):
                continue
            faults = Faults(name)
            bulletin, sound = self._bulletin(name, faults, families)
            if bulletin:
                first = numbers.setdefault(fold(bulletin.number), bulletin)
                if first is not bulletin:
                    sound = False
                    _number_twice(bulletin, first, faults)
                (self.sound if sound else self.unsound).append(bulletin)
            self.problems += faults.problems

    def _bulletin(
        self, name: str, faults: Faults, families: Mapping[str, str]
    ) -> tuple[Bulletin | None, bool]:
        data = self._bytes(name)
        if data is None:
            return None, False
        text = decode(data, faults)
        if name.rpartition("/")[2].lower() == "readme.md" and not has_front(text):
            return None, False
        if faults.problems and not text:
            return None, False
        return read_bulletin(text, faults, families)


def _number_twice(bulletin: Bulletin, first: Bulletin, faults: Faults) -> None:
    faults.add(
        bulletin.line("number"),
        "number-twice",
        f"the number {bulletin.number} is taken: {first.file} has it",
        "give this bulletin a number of its own",
    )


def _printable(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _is_file(entry: os.DirEntry[str]) -> bool:
    try:
        return stat.S_ISREG(entry.stat().st_mode)
    except OSError:
        return False
