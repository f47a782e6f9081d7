"""The twin of a site: a second tree that becomes the next edition by writing only what changes.

Unchanged files are one file with two names (a hard link), or copies where a file system has no
links. A file is never written in place: its name in the twin is taken away first.
"""

from __future__ import annotations

import errno
import os
import shutil
from contextlib import suppress
from pathlib import Path

_NO_LINKS = frozenset((errno.EPERM, errno.EXDEV, errno.EMLINK, errno.ENOTSUP, errno.EACCES))


class Twin:
    """The tree in *folder*, a twin of the one in *live*; all paths are seen from these."""

    def __init__(self, folder: Path, live: Path) -> None:
        self.folder = folder
        self.live = live
        self._made: set[str] = set()

    def begin(self) -> None:
        """Make the twin's folder as the live one is seen by others: OSError."""
        os.mkdir(self.folder)
        with suppress(OSError):
            shutil.copystat(self.live, self.folder)

    def copy(self) -> None:
        """Make the twin the same as the live tree, from nothing: OSError."""
        todo = [""]
        for head in todo:
            with os.scandir(self.live / head) as entries:
                for entry in entries:
                    path = f"{head}{entry.name}"
                    if entry.is_dir(follow_symlinks=False):
                        os.mkdir(self._at(path))
                        todo.append(f"{path}/")
                    else:
                        bring(entry.path, self._at(path))

    def mirror(self, path: str) -> None:
        """Make *path* in the twin what it is in the live tree, nothing included: OSError."""
        source = f"{self.live}/{path}"
        self.remove(path)
        if os.path.isdir(source) and not os.path.islink(source):
            self._folder(path)
        elif os.path.lexists(source):
            self._room_for(path)
            bring(source, self._at(path))

    def write(self, path: str, content: bytes) -> None:
        """Write a file of the twin anew: OSError."""
        self._take_away(path)
        self._room_for(path)
        with open(self._at(path), "xb") as file:
            file.write(content)

    def remove(self, path: str) -> None:
        """Remove a file of the twin, and the folders that are left empty by it: OSError."""
        self._take_away(path)
        while path := path.rpartition("/")[0]:
            try:
                os.rmdir(self._at(path))
            except OSError:
                break
            self._made.discard(path)

    def _at(self, path: str) -> str:
        return f"{self.folder}/{path}"

    def _take_away(self, path: str) -> None:
        place = self._at(path)
        try:
            os.unlink(place)
        except (FileNotFoundError, NotADirectoryError):
            return
        except OSError:
            if not os.path.isdir(place):
                raise
            shutil.rmtree(place)  # a folder of the twin alone: the live tree has none here
            self._made.clear()

    def _room_for(self, path: str) -> None:
        folder = path.rpartition("/")[0]
        if folder:
            self._folder(folder)

    def _folder(self, folder: str) -> None:
        """Make *folder* in the twin; a file there gives way."""
        if folder in self._made:
            return
        self._room_for(folder)
        try:
            os.mkdir(self._at(folder))
        except FileExistsError:
            if os.path.islink(self._at(folder)) or not os.path.isdir(self._at(folder)):
                os.unlink(self._at(folder))
                os.mkdir(self._at(folder))
        self._made.add(folder)


def bring(source: str, target: str) -> None:
    """Give a file, or a link, a second name; a copy where that cannot be: OSError."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        shutil.copy2(source, target, follow_symlinks=False)
