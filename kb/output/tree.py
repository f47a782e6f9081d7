"""A tree of folders as it was looked through: only folders that have changed are read again.

A name that comes into a folder or leaves it changes the folder's time (stat(2), st_ctime), and so
does a new mode or owner. A folder that is moved takes its number along (st_ino).
"""

from __future__ import annotations

import os
import stat
import time
from array import array
from collections.abc import Collection, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from itertools import accumulate, compress, islice
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple

from kb.output.sharing import shared

_JUST_NOW = 100_000_000  # nanoseconds within which a second change can bear the time of the first
_SECOND = 1_000_000_000
changed_at = attrgetter("st_ctime_ns" if os.name == "posix" else "st_mtime_ns")


class Dress(NamedTuple):
    """How a folder is seen by others."""

    mode: int
    owner: int
    group: int


class Row(NamedTuple):
    """One folder, "" or a path without a slash at its end, and the paths of what is in it.

    The *time* is 0 where a further change may not show in it.
    """

    folder: str
    time: int
    number: int
    dress: Dress
    files: list[str]
    folders: list[str]
    sealed: bool = False  # it cannot be looked into


class Again(NamedTuple):
    """What has changed: places in `Tree.folders` of those that do not hold any more, and rows."""

    old: list[int]
    rows: list[Row]


@dataclass(slots=True)
class Tree:
    """All *folders*, in which *counts* of the *files* lie each, in their order.

    *empty* are folders with nothing in them, *sealed* those that cannot be looked into.
    """

    folders: list[str] = field(default_factory=list)
    times: array[int] = field(default_factory=lambda: array("q"))
    numbers: array[int] = field(default_factory=lambda: array("Q"))
    counts: array[int] = field(default_factory=lambda: array("q"))
    files: list[str] = field(default_factory=list)
    empty: set[str] = field(default_factory=set)
    sealed: set[str] = field(default_factory=set)

    def add(self, row: Row) -> None:
        """Take up one more folder."""
        self.folders.append(row.folder)
        self.times.append(row.time)
        self.numbers.append(row.number)
        self.counts.append(len(row.files))
        self.files += row.files
        if row.sealed:
            self.sealed.add(row.folder)
        elif row.folder and not row.files and not row.folders:
            self.empty.add(row.folder)

    def again(self, top: Path) -> Again:
        """Tell what has changed in the tree, which is at *top* meanwhile: OSError."""
        looked = time.time_ns()
        if not self.folders:
            return Again([], list(walk(top)))
        differ = shared(lambda begin, end: self._differing(top, begin, end), len(self.folders))
        read = [_row(top, self.folders[at], looked) for at in differ]
        lost = tuple(
            f"{self.folders[at]}/" for at, row in zip(differ, read, strict=True) if not row
        )
        if lost:  # what was in them may be found by way of a link that is there now
            below = {at for at, each in enumerate(self.folders) if each.startswith(lost)}
            read = [None if at in below else row for at, row in zip(differ, read, strict=True)]
            differ += below.difference(differ)
        rows = [row for row in read if row]
        return Again(differ, rows + list(self._unknown(top, rows)))

    def _differing(self, top: Path, begin: int, end: int) -> Iterator[int]:
        """Yield the places of folders that do not look as they did, from *begin* until *end*."""
        lists = self.folders, self.times, self.numbers
        looks = zip(*(islice(each, begin, end) for each in lists), strict=True)
        lstat = os.lstat
        with _handle(top) as (handle, head):
            for at, (folder, changed, number) in enumerate(looks, begin):
                try:
                    look = lstat(head + folder or ".", dir_fd=handle)
                    if changed_at(look) != changed or look.st_ino != number:
                        yield at
                except OSError:
                    yield at

    def _unknown(self, top: Path, rows: Iterable[Row]) -> Iterator[Row]:
        """Yield the folders that have come into others, and all that is below them."""
        inner = {folder for row in rows for folder in row.folders}
        if inner:
            yield from walk(top, sorted(inner.difference(self.folders)))

    def changed(self, again: Again) -> Tree:
        """Return the tree with what has changed in it."""
        starts = list(accumulate(self.counts, initial=0))
        if self._names_are_the_same(again, starts):
            times, numbers = self.times[:], self.numbers[:]
            for at, row in zip(again.old, again.rows, strict=True):
                times[at], numbers[at] = row.time, row.number
            return replace(self, times=times, numbers=numbers)
        kept, held = (bytearray(b"\1") * len(each) for each in (self.folders, self.files))
        for at in again.old:
            kept[at] = 0
            held[starts[at] : starts[at + 1]] = bytes(self.counts[at])
        old = {self.folders[at] for at in again.old}
        tree = Tree(
            list(compress(self.folders, kept)),
            array("q", compress(self.times, kept)),
            array("Q", compress(self.numbers, kept)),
            array("q", compress(self.counts, kept)),
            list(compress(self.files, held)),
            self.empty - old,
            self.sealed - old,
        )
        for row in again.rows:
            tree.add(row)
        return tree

    def _names_are_the_same(self, again: Again, starts: Sequence[int]) -> bool:
        """Tell whether rows stand for all folders in *again*, each with the files that it had."""
        return [self.folders[at] for at in again.old] == [row.folder for row in again.rows] and all(
            self.files[starts[at] : starts[at + 1]] == row.files and not row.sealed
            for at, row in zip(again.old, again.rows, strict=True)
        )

    def copied_to(self, top: Path) -> Tree:
        """Return how a copy at *top* looks that holds the same: OSError."""
        looked = time.time_ns()
        looks = [os.lstat(f"{top}/{folder}") for folder in self.folders]
        times = array("q", (_settled(look, looked) for look in looks))
        numbers = array("Q", (look.st_ino for look in looks))
        return Tree(self.folders, times, numbers, self.counts, self.files, self.empty, self.sealed)


def walk(top: Path, folders: Collection[str] = ("",)) -> Iterator[Row]:
    """Yield all *folders* below *top*, and those in them; one that is gone is left out: OSError."""
    looked = time.time_ns()
    todo = list(folders)
    for folder in todo:
        if row := _row(top, folder, looked):
            todo += row.folders
            yield row


@contextmanager
def _handle(top: Path) -> Iterator[tuple[int | None, str]]:
    """Yield by what, and with what before their paths, folders below *top* are found: OSError."""
    if os.stat not in os.supports_dir_fd:
        yield None, f"{top}/"
        return
    handle = os.open(top, os.O_RDONLY)  # sooner than by whole paths
    try:
        yield handle, ""
    finally:
        os.close(handle)


def _row(top: Path, folder: str, looked: int) -> Row | None:
    place, head = f"{top}/{folder}", folder and f"{folder}/"
    files: list[str] = []
    folders: list[str] = []
    try:
        look = os.lstat(place)
        if not stat.S_ISDIR(look.st_mode):
            return None
        with os.scandir(place) as entries:
            for each in entries:
                (folders if each.is_dir(follow_symlinks=False) else files).append(head + each.name)
    except PermissionError:
        return Row(folder, 0, 0, _NAKED, [], [], sealed=True)
    except (FileNotFoundError, NotADirectoryError):  # taken away since its name was read
        return None
    return Row(folder, _settled(look, looked), look.st_ino, dress_of(look), files, folders)


def _settled(look: os.stat_result, looked: int) -> int:
    """Return the time of a look, 0 where a change after *looked* could bear it as well."""
    changed = int(changed_at(look))
    coarse = changed % _SECOND == 0  # as on disks that count in seconds, or in two at a time
    return changed if changed < looked - _JUST_NOW - coarse * 2 * _SECOND else 0


_DRESSES: dict[Dress, Dress] = {}  # most folders have one and the same
_NAKED = Dress(0, 0, 0)


def dress_of(look: os.stat_result) -> Dress:
    """Return how a folder is seen by others."""
    dress = Dress(look.st_mode, look.st_uid, look.st_gid)
    return _DRESSES.setdefault(dress, dress)
