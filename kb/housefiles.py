"""Every file of a house, listed with its look, and what cannot be listed reported."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from pathlib import Path

from kb.errors import Level, Problem
from kb.faults import Faults
from kb.kept import Look


class HouseFiles:
    """The files below *folder* by their path in it, in sorted order."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems: list[Problem] = []
        inside = os.path.realpath(folder)
        self.looks: dict[str, Look] = dict(sorted(self._below(str(folder), "", inside)))

    def _below(self, folder: str, head: str, inside: str) -> Iterator[tuple[str, Look]]:
        try:
            with os.scandir(folder) as entries:
                found = sorted(entries, key=lambda entry: entry.name)
        except OSError as trouble:
            self.unreadable(head.rstrip("/") or ".", trouble)
            return
        for entry in found:
            name = head + entry.name
            if entry.name.startswith("."):
                continue
            if not _printable(name):
                self.say(name, "file-name", "the file's name is not UTF-8", "rename the file")
            elif entry.is_symlink() and not self._inside(entry, name, inside):
                continue
            elif entry.is_dir(follow_symlinks=False):
                yield from self._below(entry.path, f"{name}/", inside)
            elif look := _look(entry):
                yield name, look

    def _inside(self, entry: os.DirEntry[str], name: str, inside: str) -> bool:
        """Tell whether a link leads to a file of the house; report one that leads elsewhere."""
        target = os.path.realpath(entry.path)
        if target.startswith(inside + os.sep):
            return Path(target).is_file()
        self.say(
            name,
            "link",
            "this is a link to a place outside of the house; it is not read",
            "copy the file into the house",
            level="warning",
        )
        return False

    def read(self, name: str) -> bytes | None:
        """Return the bytes of a file, or None, and that is reported, where it cannot be read."""
        try:
            with open(f"{self.folder}/{name}", "rb", buffering=0) as file:
                return file.read()
        except OSError as trouble:
            self.unreadable(name, trouble)
            return None

    def unreadable(self, name: str, trouble: OSError) -> None:
        """Report a file or folder that cannot be read."""
        why = trouble.strerror or "unknown reason"
        self.say(name, "unreadable", f"cannot be read: {why}", "see who may read it")

    def say(self, name: str, rule: str, message: str, remedy: str, level: Level = "error") -> None:
        """Report what is wrong with a file as a whole."""
        faults = Faults(name.encode("utf-8", "replace").decode())
        faults.add(1, rule, message, remedy, level)
        self.problems += faults.problems


def _printable(name: str) -> bool:
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _look(entry: os.DirEntry[str]) -> Look | None:
    """Return the look of a regular file, None for anything else."""
    try:
        found = entry.stat()
    except OSError:
        return None
    return Look(found.st_size, found.st_mtime_ns) if stat.S_ISREG(found.st_mode) else None
