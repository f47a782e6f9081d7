"""An output folder that is exchanged as a whole: a reader meets the old site or the new one."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from kb.errors import KbError
from kb.output.folder import Output
from kb.output.kept import Kept, Shelf, restore
from kb.output.room import Room


class Whole(Output):
    """The folder of *room*; *keep* older editions stay to go back to."""

    _MANY = 2000  # differences that the twin makes good at once and not at the next publish

    def __init__(self, room: Room, keep: int) -> None:
        super().__init__(room.out)
        self._room = room
        self._keep = keep
        self._shelf = Shelf(room.folder / "kept")
        self._theirs_file = room.folder / "theirs"
        self._new = not room.out.is_dir()
        self._touched = self._new
        if not self._new:
            self._shelf.confirm(room.out)
        room.prepare()
        self._carry()

    def _carry(self) -> None:
        """Give the twin what others put into the live tree, and take away what they took away."""
        carried = _noted(self._theirs_file)
        wanted = self.theirs.paths
        if carried or wanted:
            _note(self._theirs_file, carried | wanted)
        stale = carried - wanted - self.ours
        for path in sorted(stale | {path for path in wanted if self._differs(path)}):
            self._room.note(path)
            self._room.twin.mirror(path)

    def _differs(self, path: str) -> bool:
        with suppress(OSError):
            one, other = os.lstat(self.out / path), os.lstat(self._room.twin.folder / path)
            return (one.st_dev, one.st_ino) != (other.st_dev, other.st_ino)
        return True

    def write(self, path: str, content: bytes) -> None:
        """Write a file of the twin."""
        self._touched = True
        self._room.note(path)
        self._room.twin.write(path, content)

    def remove(self, path: str) -> None:
        """Remove a file of the twin."""
        self._touched = True
        self._room.note(path)
        self._room.twin.remove(path)

    def read(self, path: str) -> bytes:
        """Return a file of the twin."""
        return (self._room.twin.folder / path).read_bytes()

    def turn(self) -> None:
        """Exchange the trees; where nothing was put or dropped nothing is done."""
        if not self._touched:
            return
        changed = set(self._room.changed)
        if self._keep and not self._new:
            self._shelf.lay_by(self.out, changed)
        self._exchange()
        self._shelf.confirm(self.out)
        self._shelf.let_go_of_all_but(self._keep)
        if self._new or len(changed) > self._MANY:
            self._room.catch_up()

    def _exchange(self) -> None:
        self._room.turn()
        self._shelf.turned()
        _note(self._theirs_file, self.theirs.paths)

    def back(self) -> Kept:
        """Go back to the newest of the older editions."""
        editions = self._shelf.editions()
        if not editions:
            raise KbError(
                "no older edition of this site is kept",
                "publish with --keep 3, and the last three can be gone back to",
            )
        for path, content in restore(editions[-1]):
            if content is None:
                self.remove(path)
            else:
                self.write(path, content)
        self._exchange()
        # Only now: a stop before the exchange leaves it to go back to.
        self._shelf.let_go(editions[-1])
        return editions[-1]

    def give_up(self) -> None:
        """Free the room that files of an edition that will not come take up."""
        with suppress(OSError):
            self._room.prepare()


def _noted(file: Path) -> set[str]:
    try:
        return set(map(str, json.loads(file.read_text("utf-8", "surrogateescape"))))
    except (OSError, ValueError, TypeError):
        return set()


def _note(file: Path, paths: Iterable[str]) -> None:
    fresh = file.with_suffix(".new")
    fresh.write_text(json.dumps(sorted(paths)), "utf-8", "surrogateescape")
    fresh.replace(file)
