"""An output folder as publishing sees it: files are put and dropped, then all turn at once."""

from __future__ import annotations

import os
import stat
from abc import ABC, abstractmethod
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path

from kb.errors import KbError
from kb.output.kept import Kept
from kb.output.listing import (
    FOLDER,
    FORMER,
    TOP,
    is_page,
    list_of,
    lists,
    stays_inside,
    top_of,
)
from kb.output.theirs import Theirs


class Output(ABC):
    """A site's folder *out* while it is published; *ours* are the files of the edition before.

    Nothing that a reader can see changes before `turn`. *memory* is a file in which can be kept
    what is known of the edition, None where there is no place for one.
    """

    def __init__(self, theirs: Theirs) -> None:
        self.out = theirs.out
        self.ours = theirs.ours
        self.theirs = theirs
        self.memory: Path | None = None
        self._held = bool(self.ours or self.theirs.paths)

    def put(self, path: str, content: bytes) -> bool:
        """Give the next edition a file and tell whether that is new: KbError, OSError."""
        if not stays_inside(path):
            raise KbError(f"a page would leave the output folder: {path}", "rename what it shows")
        if self._held:
            self.theirs.refuse_way_to(path)
            if same(f"{self.out}/{path}", content):
                self.theirs.take_over(path)
                if not self.ready(path, content):
                    self.write(path, content)
                return False
            self.theirs.refuse(path)
        self.write(path, content)
        return True

    def drop(self, paths: Iterable[str]) -> int:
        """Take files of ours out of the next edition; return how many were there: OSError."""
        gone = [path for path in sorted(paths) if path in self.ours]
        for path in gone:
            if not self.theirs.stand_at(path):
                self.remove(path)
        return len(gone)

    def finish(self, paths: Iterable[str]) -> int:
        """List *paths*, all that the next edition has, drop the rest, and turn: KbError, OSError.

        Return how many files were dropped.
        """
        after = set(paths)
        listing = dict(lists(after))
        return self._finish(listing, self.ours - after - listing.keys())

    def finish_changed(self, new: Iterable[str], gone: Iterable[str]) -> int:
        """List all that *ours* has with what is *new* and without what is *gone*; then as `finish`.

        Only the lists in which that shows are made again.
        """
        added, less = set(new), set(gone)
        if FORMER in self.ours:
            return self.finish(path for path in (self.ours | added) - less if is_page(path))
        tops = set(map(top_of, added | less))
        listing = dict(lists((self._listed_with(tops) | added) - less))
        emptied = set(map(list_of, tops)) - listing.keys()
        return self._finish(listing, self.ours & (less | emptied))

    def _listed_with(self, tops: Collection[str]) -> set[str]:
        heads = tuple(f"{top}/" for top in tops)
        found = {path for path in self.ours if path.startswith(heads)}
        if TOP in tops:
            found.update(path for path in self.ours if "/" not in path)
        return found

    def _finish(self, listing: Mapping[str, bytes], gone: Collection[str]) -> int:
        for path, content in listing.items():
            self.put(path, content)
        self.drop(gone)
        self.turn()
        return sum(not path.startswith(FOLDER) for path in gone)

    @abstractmethod
    def ready(self, path: str, content: bytes) -> bool:
        """Tell whether the next edition has a file, which readers see now, without a write."""

    @abstractmethod
    def write(self, path: str, content: bytes) -> None:
        """Write a file of the next edition: OSError."""

    @abstractmethod
    def remove(self, path: str) -> None:
        """Remove a file from the next edition: OSError."""

    @abstractmethod
    def read(self, path: str) -> bytes:
        """Return a file of the next edition: OSError."""

    @abstractmethod
    def turn(self) -> None:
        """Make the next edition the one that readers see: OSError."""

    @abstractmethod
    def back(self) -> Kept:
        """Go back to the newest older edition, which is kept no longer: KbError, OSError."""


def same(path: str, content: bytes) -> bool:
    """Tell whether there is a file, and no link, at *path* that holds *content*."""
    try:
        look = os.lstat(path)
        if not stat.S_ISREG(look.st_mode) or look.st_size != len(content):
            return False
        with open(path, "rb") as file:
            return file.read() == content
    except OSError:
        return False
