"""An output folder whose files are exchanged one by one, where it cannot be exchanged as a whole.

That is so where something is mounted at it, where it lies in a layer of a container's disk, where
nothing may be made beside it, and where others have put files there that a second tree could not
hold as their own.

Everything is made ready in ``.kb-next/`` in the folder first; a failure there leaves the site as it
was. While the files are moved a reader can meet some old and some new, and a stop then is made good
by the next publish: what is ours is listed before it is moved.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from kb.errors import KbError
from kb.output.folder import Output
from kb.output.kept import Kept
from kb.output.listing import FOLDER, lists
from kb.output.settling import settle
from kb.output.theirs import Theirs, folders_of, look_again
from kb.output.twin import Twin

_NEXT = ".kb-next"


class OneByOne(Output):
    """An output folder that can only be changed file by file."""

    def __init__(self, theirs: Theirs) -> None:
        super().__init__(theirs)
        os.mkdir(self.out / _NEXT)
        self._next = Twin(self.out / _NEXT / "site", self.out)
        self._lists = Twin(self.out / _NEXT / "lists", self.out)
        for twin in (self._next, self._lists):
            os.mkdir(twin.folder)
        self._writing: set[str] = set()
        self._removing: set[str] = set()

    def ready(self, path: str, content: bytes) -> bool:
        """Tell whether nothing else is meant to be done with a file."""
        return path not in self._writing and path not in self._removing

    def write(self, path: str, content: bytes) -> None:
        """Make a file ready aside."""
        self._next.write(path, content)
        self._writing.add(path)
        self._removing.discard(path)

    def remove(self, path: str) -> None:
        """Note that a file goes."""
        self._removing.add(path)
        self._writing.discard(path)

    def read(self, path: str) -> bytes:
        """Return a file of the next edition."""
        top = self._next.folder if path in self._writing else self.out
        return (top / path).read_bytes()

    def turn(self) -> None:
        """Move every file into its place, after a list of all that is or will be ours: KbError."""
        if not self._writing and not self._removing:
            return
        now = look_again(self.theirs, self.out)
        for path in self._writing:
            now.refuse_way_to(path)
            now.refuse(path)
        every = self.ours.union(self._writing)
        union = dict(lists(path for path in every if not path.startswith(FOLDER)))
        for path, content in union.items():
            self._lists.write(path, content)
        settle(self._lists.folder, union)
        settle(self._next.folder, self._writing)
        try:
            self._move_all(union)
        except OSError as error:
            raise KbError(
                f"{self.out} was left half changed: {error.strerror or error}",
                "publish again: nothing has to be put right before",
            ) from error

    def _move_all(self, union: dict[str, bytes]) -> None:
        here = Twin(self.out, self.out)
        for path in union:
            _move(self._lists.folder / path, self.out / path)
        for path in sorted(self._removing & self._in_the_way()):
            here.remove(path)
        own_lists = {path for path in self._writing if path.startswith(FOLDER)}
        for path in sorted(self._writing - own_lists):
            _move(self._next.folder / path, self.out / path)
        for path in sorted(self._removing, key=lambda path: path.startswith(FOLDER)):
            here.remove(path)
        settle(self.out, self._writing - own_lists | self._removing)
        for path in sorted(own_lists):
            _move(self._next.folder / path, self.out / path)

    def _in_the_way(self) -> set[str]:
        """Return what is a file before and a folder after, or lies in what is a file after."""
        folders = {folder for path in self._writing for folder in folders_of(path)}
        below = {path for path in self._removing if not self._writing.isdisjoint(folders_of(path))}
        return folders | below

    def back(self) -> Kept:
        """Refuse: no older edition is kept here."""
        raise KbError(
            f"{self.out} is changed file by file, so no older edition of it is kept",
            "publish the older commit again",
        )


@contextmanager
def one_by_one(out: Path, theirs: Theirs) -> Iterator[Output]:
    """Yield the folder *out*; what is made ready in it is cleared away in any case: OSError."""
    try:
        yield OneByOne(theirs)
    finally:
        clear(out)


def clear(out: Path) -> None:
    """Clear away what was made ready and not moved."""
    shutil.rmtree(out / _NEXT, ignore_errors=True)


def _move(source: Path, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    if target.is_dir() and not target.is_symlink():
        os.rmdir(target)
    os.replace(source, target)
