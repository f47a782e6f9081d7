"""An output folder that is exchanged as a whole: a reader meets the old site or the new one.

That is so for whoever comes by the folder's name. Who holds the folder itself (a current folder, a
container that it is mounted in) keeps the old one, which becomes the next twin: mount the folder
above it instead.
"""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from kb.durable import exchange, settle
from kb.errors import KbError
from kb.output.folder import Output, same
from kb.output.kept import Kept, Shelf, restore
from kb.output.room import MEMORY, Room
from kb.output.theirs import Theirs, folders_of, look_again
from kb.output.twin import Twin, lstat

_FEW = 50  # folders that are read again sooner than it is noted what they hold


class Whole(Output):
    """The folder of *room*; *keep* older editions stay to go back to."""

    _MANY = 2000  # differences that the twin makes good at once and not at the next publish

    def __init__(self, room: Room, theirs: Theirs, keep: int) -> None:
        super().__init__(theirs)
        self._room = room
        self.memory = room.folder / MEMORY
        self._keep = keep
        self._shelf = shelf_of(room)
        self._theirs_file = room.folder / "theirs"
        self._new = not room.out.is_dir()
        self._changes: set[str] = set()
        if not self._new:
            self._shelf.confirm(room.out)
        if not room.prepare():  # older editions lead back from a tree that is not there
            self._shelf.let_go_of_all_but(0)
            self.memory.unlink(missing_ok=True)
        for path in theirs.missing:
            room.note(path)
        self._carry()
        room.twin.dress(theirs.fresh)
        if len(theirs.fresh) > max(_FEW, len(theirs.tree.folders) // 100):
            room.remember(room.out, theirs.tree)

    def _carry(self) -> None:
        """Give the twin what others put into the live tree, and take away what they took away."""
        carried = _noted(self._theirs_file)
        wanted = self.theirs.paths | self.theirs.empty
        if carried or wanted:
            _note(self._theirs_file, carried | wanted)
        stale = carried - wanted - self.ours
        for path in sorted(stale | {path for path in wanted if self._differs(path)}):
            if self._is_ours(path):
                continue
            self._room.note(path)
            self._room.twin.mirror(path)

    def _differs(self, path: str) -> bool:
        return not _alike(f"{self.out}/{path}", f"{self._room.twin.folder}/{path}")

    def ready(self, path: str, content: bytes) -> bool:
        """Tell whether the twin has the file as readers have it, whoever changed that by hand."""
        live, twin = f"{self.out}/{path}", f"{self._room.twin.folder}/{path}"
        with suppress(FileNotFoundError, NotADirectoryError):
            return os.path.samestat(os.lstat(live), os.lstat(twin)) or same(twin, content)
        return False

    def write(self, path: str, content: bytes) -> None:
        """Write a file of the twin."""
        self._change(path)
        self._room.twin.write(path, content)

    def remove(self, path: str) -> None:
        """Remove a file of the twin."""
        self._change(path)
        self._room.twin.remove(path)

    def _change(self, path: str) -> None:
        self._changes.add(path)
        self._room.note(path)
        if self.ours:  # a file of ours gives way where a folder of its name comes
            for folder in folders_of(path):
                if folder in self.ours:
                    self._room.note(folder)

    def read(self, path: str) -> bytes:
        """Return a file of the twin."""
        return (self._room.twin.folder / path).read_bytes()

    def turn(self) -> None:
        """Exchange the trees, if anything was put or dropped: KbError, OSError."""
        if not self._new and not self._changes:
            with suppress(OSError):
                self._room.rest()
            return
        self._look_again()
        if self._keep and not self._new:
            self._shelf.lay_by(self.out, self._changes)
        else:
            self._shelf.let_go_of_all_but(0)
        self._exchange()

    def _look_again(self) -> None:
        """Carry what others have done meanwhile; KbError for what stands in the way."""
        now = look_again(self.theirs, self.out)
        if now.paths - self.theirs.paths:
            for path in self._changes:
                now.refuse_way_to(path)
                now.refuse(path)
        self.theirs = now
        self._carry()
        self._room.twin.dress(now.fresh)

    def _exchange(self) -> None:
        # It tells editions apart by their folder, and two folders take turns.
        (self._room.folder / MEMORY).unlink(missing_ok=True)
        self._room.turn()
        # Readers have the next edition. What cannot be done of the rest the next publish does.
        many = len(self._changes) > self._MANY
        for step in (
            self._give_back,
            lambda: self._shelf.confirm(self.out),
            self._shelf.turned,
            lambda: self._shelf.let_go_of_all_but(self._keep),
            lambda: settle(self.out.parent) if self._room.lasting else None,
            lambda: _note(self._theirs_file, self.theirs.paths | self.theirs.empty),
            self._room.catch_up if self._new or many else lambda: None,
        ):
            with suppress(OSError):
                step()

    def _give_back(self) -> None:
        """Give the live tree what others did in the moment before it took the place of the old."""
        old = self._room.twin.folder
        if self._new or not old.is_dir():
            return
        now = look_again(self.theirs, old)
        live = Twin(self.out, old)
        live.dress(now.fresh)
        for path in sorted(now.paths | now.empty | self.theirs.paths | self.theirs.empty):
            if self._is_ours(path) or os.path.isdir(self.out / path):
                continue
            if not _alike(f"{self.out}/{path}", f"{old}/{path}"):
                live.mirror(path)
        self.theirs = now

    def _is_ours(self, path: str) -> bool:
        """Tell whether the next edition has, or had, a file at *path* or in place of a folder."""
        return any(each in self._changes for each in (path, *folders_of(path)))

    def back(self) -> Kept:
        """Go back to the newest of the older editions: KbError, OSError."""
        editions = self._shelf.editions()
        if not editions:
            raise KbError(
                "no older edition of this site is kept",
                "publish with --keep 3, and the last three can be gone back to",
            )
        for path, content in restore(editions[-1]):
            if content is None:
                self.drop([path])
        for path, content in restore(editions[-1]):
            if content is not None:
                self.put(path, content)
        self._look_again()
        self._keep = len(editions)
        self._exchange()
        # Only now: a stop before the exchange leaves it to go back to.
        self._shelf.let_go(editions[-1])
        return editions[-1]


def shelf_of(room: Room) -> Shelf:
    """Return the older editions of the site that *room* is for."""
    return Shelf(room.folder / "kept")


@contextmanager
def whole(room: Room, theirs: Theirs, keep: int) -> Iterator[Output]:
    """Yield the folder of *room*; what an edition that does not come takes up is freed: OSError."""
    try:
        yield Whole(room, theirs, keep)
    except BaseException:
        with suppress(OSError):
            room.give_up()
            if room.out.is_dir():
                shelf_of(room).confirm(room.out)
        raise


def _alike(one: str, other: str) -> bool:
    """Tell whether two paths name one file or copies of it, two folders, or nothing at all."""
    first, second = lstat(one), lstat(other)
    if not first or not second:
        return first is second
    if stat.S_ISDIR(first.st_mode):
        return stat.S_ISDIR(second.st_mode)
    return os.path.samestat(first, second) or _told(first) == _told(second)


def _told(look: os.stat_result) -> tuple[int, int, int]:
    return look.st_mode, look.st_size, look.st_mtime_ns


def _noted(file: Path) -> set[str]:
    try:
        return set(map(str, json.loads(file.read_text("utf-8", "surrogateescape"))))
    except (OSError, ValueError, TypeError):
        return set()


def _note(file: Path, paths: Iterable[str]) -> None:
    exchange(file, json.dumps(sorted(paths)), file.with_suffix(".new"))
