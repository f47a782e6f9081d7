"""What others have put into an output folder: it stays where it is, whatever is published."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from itertools import filterfalse
from pathlib import Path

from kb.errors import KbError
from kb.output.tree import Dress, Tree, walk


@dataclass(slots=True)
class Theirs:
    """Files and links of others by path, and files of *ours* that are *missing*.

    *empty* are folders with nothing in them, which give way to a file of ours. *tree* is all that
    was found, and *fresh* tells how those folders look that were read now.
    """

    out: Path
    ours: set[str] = field(default_factory=set)
    paths: set[str] = field(default_factory=set)
    empty: set[str] = field(default_factory=set)
    missing: set[str] = field(default_factory=set)
    tree: Tree = field(default_factory=Tree)
    fresh: dict[str, Dress] = field(default_factory=dict)
    _above: set[str] | None = None

    def refuse_way_to(self, path: str) -> None:
        """Refuse to write below something of others that is no folder: KbError."""
        if self.paths:
            for folder in folders_of(path):
                if folder in self.paths:
                    raise self._in_the_way(folder)

    def refuse(self, path: str) -> None:
        """Refuse to write over something of others: KbError."""
        if path in self.paths or path in self.above():
            raise self._in_the_way(path)

    def stand_at(self, path: str) -> bool:
        """Tell whether others have put something where a file of ours was, or above it."""
        if not self.paths:
            return False
        return path in self.above() or any(folder in self.paths for folder in folders_of(path))

    def take_over(self, path: str) -> None:
        """Count a file of others, which is what we would write, among ours."""
        if path in self.paths:
            self.paths.discard(path)
            self.ours.add(path)
            self._above = None

    def above(self) -> set[str]:
        """Return the folders in which something of others lies, at any depth."""
        if self._above is None:
            self._above = {folder for each in self.paths for folder in folders_of(each)}
        return self._above

    def only_for_their_owner(self) -> bool:
        """Tell whether a second tree could not hold all this as it is: it belongs to other users.

        Root can give anything to anybody.
        """
        if self.tree.sealed:
            return True
        user = os.geteuid() if hasattr(os, "geteuid") else 0
        places = (self.out / path for path in {"", *self.paths, *self.empty, *self.above()})
        return user != 0 and any(os.lstat(each).st_uid != user for each in places if each.exists())

    def _in_the_way(self, path: str) -> KbError:
        return KbError(
            f"{self.out / path} was not written by kb and stands in the way of a page",
            "move it away, or publish into another folder with --out",
        )


def folders_of(path: str) -> Iterator[str]:
    """Yield the folders above *path*, the deepest first, without the site's own."""
    while path := path.rpartition("/")[0]:
        yield path


def look(out: Path, ours: Iterable[str], before: Tree | None = None) -> Theirs:
    """Return what in the folder *out* is not among *ours*, and what of ours is not there: OSError.

    Where it is known what it held *before*, only folders that have changed since are read.
    """
    found = Theirs(out, set(ours))
    if before is None:
        for row in walk(out):
            found.tree.add(row)
            found.fresh[row.folder] = row.dress
    else:
        again = before.again(out)
        found.tree = before.changed(again) if again.old or again.rows else before
        found.fresh = {row.folder: row.dress for row in again.rows}
    found.paths = set(filterfalse(found.ours.__contains__, found.tree.files))
    if len(found.tree.files) - len(found.paths) < len(found.ours):
        found.missing = found.ours.difference(found.tree.files)
    found.paths |= found.tree.sealed
    found.empty = set(found.tree.empty)
    return found


def look_again(before: Theirs, top: Path) -> Theirs:
    """Return what others have now in a folder that is at *top* meanwhile: OSError."""
    again = before.tree.again(top)
    if not again.old and not again.rows:
        return replace(before, fresh={})
    tree = before.tree.changed(again)
    now = Theirs(before.out, before.ours, tree=tree)
    old = {before.tree.folders[at] for at in again.old}
    now.paths = {path for path in before.paths if path.rpartition("/")[0] not in old}
    now.paths.update(path for row in again.rows for path in row.files if path not in now.ours)
    now.paths |= tree.sealed
    now.empty = set(tree.empty)
    now.fresh = {row.folder: row.dress for row in again.rows}
    return now
