"""The twin of a site: a second tree that becomes the next edition by writing only what changes.

Unchanged files are one file with two names (a hard link), or copies where a file system has no
links. A file is never written in place: its name in the twin is taken away first. No link of others
is ever followed, neither in the twin nor in the live tree.
"""

from __future__ import annotations

import errno
import os
import shutil
import stat
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from kb.output.theirs import folders_of
from kb.output.tree import Dress, Tree, dress_of, walk

_NO_LINKS = frozenset((errno.EPERM, errno.EXDEV, errno.EMLINK, errno.ENOTSUP, errno.EACCES))


class Twin:
    """The tree in *folder*, a twin of the one in *live*; all paths are seen from these."""

    def __init__(self, folder: Path, live: Path) -> None:
        self.folder = folder
        self.live = live
        self._made: set[str] = set()

    def begin(self) -> None:
        """Make the twin's folder as the live one is seen by others: OSError."""
        self._made.clear()
        os.mkdir(self.folder)
        if self.live.is_dir():
            with suppress(OSError):
                shutil.copystat(self.live, self.folder)
            _dress(self._at(""), dress_of(os.stat(self.live)))

    def copy(self, top: str = "") -> Tree:
        """Fill the twin, or an empty folder *top* of it, with what the live tree has: OSError.

        Return what that is.
        """
        tree, dresses = Tree(), []
        for row in walk(self.live, [top]):
            if row.sealed:
                raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), row.folder)
            for folder in row.folders:
                os.mkdir(self._at(folder))
            for path in row.files:
                bring(f"{self.live}/{path}", self._at(path))
            tree.add(row)
            dresses.append(row.dress)
        for folder, dress in zip(reversed(tree.folders), reversed(dresses), strict=True):
            _dress(self._at(folder), dress)  # one that must not be written to is full by now
        return tree

    def dress(self, folders: Mapping[str, Dress]) -> None:
        """Give folders of the twin the mode and the owner that the live ones have."""
        for folder, dress in folders.items():
            _dress(self._at(folder), dress)

    def mirror(self, path: str) -> None:
        """Make *path* in the twin what it is in the live tree, nothing included: OSError."""
        source = _lies_in(self.live, path)
        here = _lies_in(self.folder, path)
        if source and here and stat.S_ISDIR(source.st_mode) and stat.S_ISDIR(here.st_mode):
            return  # what they hold has names of its own
        if not source:
            self._take_away(path)
            self._remove_empty_above(path)
            return
        self._room_for(path)
        self._take_away(path)
        if stat.S_ISDIR(source.st_mode):
            os.mkdir(self._at(path))
            self.copy(path)
        else:
            bring(f"{self.live}/{path}", self._at(path))

    def write(self, path: str, content: bytes) -> None:
        """Write a file of the twin anew: OSError."""
        self._room_for(path)
        self._take_away(path)
        with open(self._at(path), "xb") as file:
            file.write(content)

    def remove(self, path: str) -> None:
        """Remove a file of the twin, and the folders that are left empty by it: OSError.

        A folder that has taken the file's place stays.
        """
        here = _lies_in(self.folder, path)
        if here and not stat.S_ISDIR(here.st_mode):
            os.unlink(self._at(path))
        self._remove_empty_above(path)

    def _at(self, path: str) -> str:
        return f"{self.folder}/{path}"

    def _take_away(self, path: str) -> None:
        """Remove what is at *path*, a whole folder of the twin alone included."""
        here = _lies_in(self.folder, path)
        if not here:
            return
        if stat.S_ISDIR(here.st_mode):
            shutil.rmtree(self._at(path))
            self._made.clear()
        else:
            os.unlink(self._at(path))

    def _remove_empty_above(self, path: str) -> None:
        for folder in folders_of(path):
            if not _lies_in(self.folder, folder):
                continue  # a stop came before it was made
            try:
                os.rmdir(self._at(folder))
            except OSError:
                break
            self._made.discard(folder)

    def _room_for(self, path: str) -> None:
        """Make the folders above *path*; a file or a link there gives way."""
        folder = path.rpartition("/")[0]
        if not folder or folder in self._made:
            return
        self._room_for(folder)
        here = lstat(self._at(folder))
        if not here or not stat.S_ISDIR(here.st_mode):
            if here:
                os.unlink(self._at(folder))
            os.mkdir(self._at(folder))
            self._dress_as_live(folder)
        self._made.add(folder)

    def _dress_as_live(self, folder: str) -> None:
        if look := _lies_in(self.live, folder):
            _dress(self._at(folder), dress_of(look))


def bring(source: str, target: str) -> None:
    """Give a file, or a link, a second name; a copy where that cannot be: OSError."""
    try:
        os.link(source, target, follow_symlinks=False)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        shutil.copy2(source, target, follow_symlinks=False)


def lstat(path: str) -> os.stat_result | None:
    """Return what is at *path*, a link not followed; None for nothing: OSError."""
    try:
        return os.lstat(path)
    except (FileNotFoundError, NotADirectoryError):
        return None


def _lies_in(top: Path, path: str) -> os.stat_result | None:
    """Return what is at *path* below *top*; None for nothing, and where a link is on the way."""
    for folder in folders_of(path):
        if os.path.islink(f"{top}/{folder}"):
            return None
    return lstat(f"{top}/{path}")


def _dress(folder: str, dress: Dress) -> None:
    """Give *folder* the mode and, as far as one may, the owner and group of another."""
    now = lstat(folder)
    if not now or stat.S_IFMT(now.st_mode) != stat.S_IFMT(dress.mode) or dress_of(now) == dress:
        return
    if (now.st_uid, now.st_gid) != (dress.owner, dress.group):
        with suppress(PermissionError):
            os.chown(folder, dress.owner, dress.group)
    with suppress(PermissionError):
        os.chmod(folder, stat.S_IMODE(dress.mode))
