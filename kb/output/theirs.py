"""What others have put into an output folder: it stays where it is, whatever is published."""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path

from kb.errors import KbError

_JUST_NOW = 100_000_000  # nanoseconds within which a second change can bear the time of the first


@dataclass(slots=True)
class Theirs:
    """Files and links of others by path, and files of *ours* that are *missing*.

    *empty* are folders with nothing in them, which give way to a file of ours. *folders* holds
    every folder that was looked into, "" or a path with a slash at its end.
    """

    out: Path
    ours: set[str] = field(default_factory=set)
    paths: set[str] = field(default_factory=set)
    empty: set[str] = field(default_factory=set)
    missing: set[str] = field(default_factory=set)
    folders: dict[str, os.stat_result] = field(default_factory=dict)
    sealed: bool = False  # a folder cannot be looked into
    _looked: int = field(default_factory=time.time_ns)
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
        if self.sealed:
            return True
        user = os.geteuid() if hasattr(os, "geteuid") else 0
        places = (self.out / path for path in {"", *self.paths, *self.empty, *self.above()})
        return user != 0 and any(os.lstat(each).st_uid != user for each in places if each.exists())

    def _in_the_way(self, path: str) -> KbError:
        return KbError(
            f"{self.out / path} was not written by kb and stands in the way of a page",
            "move it away, or publish into another folder with --out",
        )

    # Looking

    def _look_into(self, top: Path, head: str) -> Iterator[str]:
        """Yield the paths of all files below a folder; note others' and the folders below."""
        todo = [head]
        for each in todo:
            for path, folder in self._entries(top, each):
                if folder:
                    todo.append(f"{path}/")
                elif path in self.ours:
                    yield path
                else:
                    self.paths.add(path)

    def _entries(self, top: Path, head: str) -> list[tuple[str, bool]]:
        """Return the paths in one folder, and which are folders: OSError."""
        try:
            self.folders[head] = os.stat(f"{top}/{head}")
            with os.scandir(f"{top}/{head}") as entries:
                found = [(head + each.name, each.is_dir(follow_symlinks=False)) for each in entries]
        except PermissionError:
            self.sealed = True
            self.paths.add(head[:-1])
            return []
        except (FileNotFoundError, NotADirectoryError):  # taken away since its name was read
            return []
        if head and not found:
            self.empty.add(head[:-1])
        return found

    def _as_before(self, top: Path, head: str, before: Theirs) -> bool:
        """Tell whether the same names are in a folder as when it was looked into."""
        with suppress(OSError):
            self.folders[head] = os.stat(f"{top}/{head}")
            changed = self.folders[head].st_mtime_ns
            was = before.folders[head].st_mtime_ns
            return changed == was and was < before._looked - _JUST_NOW
        return False


def folders_of(path: str) -> Iterator[str]:
    """Yield the folders above *path*, the deepest first, without the site's own."""
    while path := path.rpartition("/")[0]:
        yield path


def _folder_of(path: str) -> str:
    return path[: path.rfind("/") + 1]


def look(out: Path, ours: Iterable[str]) -> Theirs:
    """Return what in the folder *out* is not among *ours*, and what of ours is not there."""
    found = Theirs(out, set(ours))
    if out.is_dir():
        found.missing = found.ours - set(found._look_into(out, ""))
    return found


def look_again(before: Theirs, top: Path) -> Theirs:
    """Return what others have now in a folder that is at *top* meanwhile: OSError.

    Only folders in which names have come or gone are read again.
    """
    now = Theirs(before.out, before.ours)
    changed = {head for head in before.folders or ("",) if not now._as_before(top, head, before)}
    now.paths.update(path for path in before.paths if _folder_of(path) not in changed)
    now.empty.update(path for path in before.empty if f"{path}/" not in changed)
    for head in changed:
        for path, folder in now._entries(top, head):
            if not folder:
                now.paths.update({path} - now.ours)
            elif f"{path}/" not in before.folders:
                list(now._look_into(top, f"{path}/"))
    return now
