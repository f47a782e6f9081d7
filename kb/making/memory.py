"""The small database in which a publish keeps what it knows, for the next one to look things up in.

========= ==========================================================================================
section   values by name, Python's own (pickle), each read when it is asked for
file      what each bulletin's file was read into
unit      pages made together: name, group, and their files with their bytes
seen      which units looked a fact up; of a fact there is its number (CRC-32 of its words) alone
========= ==========================================================================================

Two facts of one number make a page anew that could have stayed, and so does what a unit looked up
before it was made again: rows of `seen` are never taken away. Nothing here is safe from a stop in
the middle of a write: whoever writes sees to it that a database left half written is not trusted.
"""

from __future__ import annotations

import os
import pickle
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple
from zlib import crc32

_TABLES = """
    CREATE TABLE section (name TEXT PRIMARY KEY, value BLOB);
    CREATE TABLE file (path TEXT PRIMARY KEY, value BLOB);
    CREATE TABLE unit (id INTEGER PRIMARY KEY, name TEXT UNIQUE, part TEXT, files BLOB);
    CREATE TABLE seen (fact INTEGER, unit INTEGER);
"""
_INDEXES = """
    CREATE INDEX unit_part ON unit (part);
    CREATE UNIQUE INDEX seen_fact ON seen (fact, unit);
"""
_AT_ONCE = 500  # values in one question


class Damaged(Exception):
    """What was kept cannot be read again."""


class Made(NamedTuple):
    """Pages as they were made together: their files with their bytes, and copies.

    *group* is that of the unit, *copies* are the paths of packed copies of the files.
    """

    group: str
    files: tuple[tuple[str, int], ...]
    copies: tuple[str, ...]

    def paths(self) -> Iterator[str]:
        """Yield every path, those of copies included."""
        yield from (path for path, _ in self.files)
        yield from self.copies


class Memory:
    """The database in *path*: sqlite3.Error for one that is none."""

    def __init__(self, path: Path) -> None:
        self._data = sqlite3.connect(path, isolation_level=None)
        self._path = path
        for setting in ("synchronous=OFF", "journal_mode=OFF", "locking_mode=EXCLUSIVE"):
            self._data.execute(f"PRAGMA {setting}")

    @classmethod
    def new(cls, path: Path) -> Memory:
        """Begin an empty one in place of whatever is there, for units that are put in once each.

        `index` ends that; then units can be put in again, dropped and looked for.
        """
        path.unlink(missing_ok=True)
        made = cls(path)
        made._data.executescript(_TABLES)
        made.begin()
        return made

    def begin(self) -> None:
        """Begin to write."""
        self._data.execute("BEGIN")

    def index(self) -> None:
        """Make what is looked up fast to look up."""
        self._data.execute("COMMIT")
        self._data.executescript(_INDEXES)
        self.begin()

    def commit(self, lasting: bool) -> None:
        """End writing; what is *lasting* outlives the machine's end: OSError."""
        self._data.execute("COMMIT")
        if lasting:
            handle = os.open(self._path, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

    def close(self) -> None:
        """Let go of the database; what was not committed is not to be trusted."""
        self._data.close()

    # Sections

    def section(self, name: str) -> Any:
        """Return the value of a section: Damaged."""
        with _reading():
            rows = self._data.execute("SELECT value FROM section WHERE name = ?", (name,))
            return pickle.loads(rows.fetchone()[0])

    def sections(self, head: str) -> set[str]:
        """Return the names of the sections that begin with *head*, without it: Damaged."""
        with _reading():
            names = [name for (name,) in self._data.execute("SELECT name FROM section")]
        return {name.removeprefix(head) for name in names if name.startswith(head)}

    def put_section(self, name: str, value: Any) -> None:
        """Keep a section."""
        row = (name, pickle.dumps(value, pickle.HIGHEST_PROTOCOL))
        self._data.execute("INSERT OR REPLACE INTO section VALUES (?, ?)", row)

    def drop_section(self, name: str) -> None:
        """Keep a section no longer."""
        self._data.execute("DELETE FROM section WHERE name = ?", (name,))

    # Files of the house

    def files(self) -> dict[str, Any]:
        """Return what every file was read into, by path: Damaged."""
        with _reading():
            rows = self._data.execute("SELECT path, value FROM file")
            return {path: pickle.loads(value) for path, value in rows}

    def put_files(self, files: Mapping[str, Any], gone: Iterable[str] = ()) -> None:
        """Keep what *files* were read into; those *gone* are kept no longer."""
        rows = ((p, pickle.dumps(value, pickle.HIGHEST_PROTOCOL)) for p, value in files.items())
        self._data.executemany("INSERT OR REPLACE INTO file VALUES (?, ?)", rows)
        self._data.executemany("DELETE FROM file WHERE path = ?", ((path,) for path in gone))

    # Units

    def units_that_saw(self, facts: Iterable[str]) -> dict[str, set[str]]:
        """Return by group the names of the units that looked up any of *facts*: Damaged."""
        found: dict[str, set[str]] = {}
        with _reading():
            for some in _batches(map(_number, facts)):
                rows = self._data.execute(
                    "SELECT DISTINCT part, name FROM seen JOIN unit ON unit.id = seen.unit"
                    f" WHERE fact IN ({_marks(some)})",
                    some,
                )
                for group, name in rows:
                    found.setdefault(group, set()).add(name)
        return found

    def names(self, group: str) -> set[str]:
        """Return the names of the units of a group: Damaged."""
        with _reading():
            rows = self._data.execute("SELECT name FROM unit WHERE part = ?", (group,))
            return {name for (name,) in rows}

    def made(self, names: Iterable[str]) -> dict[str, Made]:
        """Return how units were made, by name; any that is not known is left out: Damaged."""
        found: dict[str, Made] = {}
        with _reading():
            for some in _batches(names):
                found.update(self._made(f"WHERE name IN ({_marks(some)})", some))
        return found

    def every(self) -> dict[str, Made]:
        """Return how every unit was made, by name, in no order: Damaged."""
        with _reading():
            return dict(self._made("", []))

    def _made(self, which: str, values: list[Any]) -> Iterator[tuple[str, Made]]:
        rows = self._data.execute(f"SELECT name, part, files FROM unit {which}", values)
        return ((name, Made(part, *pickle.loads(files))) for name, part, files in rows)

    def put_unit(self, name: str, made: Made, facts: Iterable[str]) -> None:
        """Keep how a unit was made, and the facts that it looked up."""
        files = pickle.dumps((made.files, made.copies), pickle.HIGHEST_PROTOCOL)
        self._data.execute(
            "INSERT INTO unit (name, part, files) VALUES (?, ?, ?)"
            " ON CONFLICT (name) DO UPDATE SET part = excluded.part, files = excluded.files",
            (name, made.group, files),
        )
        (at,) = self._data.execute("SELECT id FROM unit WHERE name = ?", (name,)).fetchone()
        rows = ((fact, at) for fact in set(map(_number, facts)))
        self._data.executemany("INSERT OR IGNORE INTO seen VALUES (?, ?)", rows)

    def drop_units(self, names: Iterable[str]) -> None:
        """Keep units no longer."""
        self._data.executemany("DELETE FROM unit WHERE name = ?", ((name,) for name in names))


@contextmanager
def _reading() -> Iterator[None]:
    try:
        yield
    except Exception as error:  # whatever a damaged file leads to
        raise Damaged(str(error)) from error


def _number(fact: str) -> int:
    return crc32(fact.encode("utf-8", "surrogatepass"))


def _batches(values: Iterable[Any]) -> Iterator[list[Any]]:
    some: list[Any] = []
    for value in values:
        some.append(value)
        if len(some) == _AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _marks(values: list[Any]) -> str:
    return ",".join("?" * len(values))
