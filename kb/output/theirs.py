"""What others have put into an output folder: it stays where it is, whatever is published."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from kb.errors import KbError


@dataclass(slots=True)
class Theirs:
    """Files, links and empty folders of others by path, and files of ours that are *missing*."""

    out: Path
    paths: set[str] = field(default_factory=set)
    missing: set[str] = field(default_factory=set)
    _above: set[str] | None = None

    def refuse_way_to(self, path: str) -> None:
        """Refuse to write below something of others that is no folder: KbError."""
        if self.paths:
            for folder in folders_of(path):
                if folder in self.paths:
                    raise self._in_the_way(folder)

    def refuse(self, path: str) -> None:
        """Refuse to write over something of others: KbError."""
        if self._above is None:
            self._above = {folder for each in self.paths for folder in folders_of(each)}
        if path in self.paths or path in self._above:
            raise self._in_the_way(path)

    def _in_the_way(self, path: str) -> KbError:
        return KbError(
            f"{self.out / path} was not written by kb and stands in the way of a page",
            "move it away, or publish into another folder with --out",
        )


def folders_of(path: str) -> Iterator[str]:
    """Yield the folders above *path*, the deepest first, without the site's own."""
    while path := path.rpartition("/")[0]:
        yield path


def look(out: Path, ours: Collection[str]) -> Theirs:
    """Return what in the folder *out* is not among *ours*, and what of ours is not there."""
    found = Theirs(out)
    seen: set[str] = set()
    for path in _everything(str(out), ""):
        (seen if path in ours else found.paths).add(path)
    found.missing = set(ours) - seen
    return found


def _everything(folder: str, head: str) -> Iterator[str]:
    """Yield the path of every file, every link and every empty folder below *folder*."""
    with os.scandir(folder) as entries:
        held = list(entries)
    if not held and head:
        yield head[:-1]
    for entry in held:
        if entry.is_dir(follow_symlinks=False):
            yield from _everything(entry.path, f"{head}{entry.name}/")
        else:
            yield head + entry.name
