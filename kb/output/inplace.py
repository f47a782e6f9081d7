"""An output folder whose files are exchanged one by one, where it cannot be exchanged as a whole.

Everything is made ready in ``.kb-next/`` in the folder first; a failure there leaves the site as it
was. While the files are moved a reader can meet some old and some new, and a stop then is made good
by the next publish: what is ours is listed before it is moved.
"""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from kb.errors import KbError
from kb.output.folder import Output
from kb.output.kept import Kept
from kb.output.listing import FOLDER, lists
from kb.output.settling import settle
from kb.output.twin import Twin

_NEXT = ".kb-next"


class OneByOne(Output):
    """An output folder that can only be changed file by file."""

    def __init__(self, out: Path) -> None:
        shutil.rmtree(out / _NEXT, ignore_errors=True)
        super().__init__(out)
        os.mkdir(out / _NEXT)
        self._next = Twin(out / _NEXT, out)
        self._writing: list[str] = []
        self._removing: list[str] = []

    def write(self, path: str, content: bytes) -> None:
        """Make a file ready aside."""
        self._next.write(path, content)
        self._writing.append(path)

    def remove(self, path: str) -> None:
        """Note that a file goes."""
        self._removing.append(path)

    def read(self, path: str) -> bytes:
        """Return a file of the next edition."""
        aside = self._next.folder / path
        return (aside if aside.exists() else self.out / path).read_bytes()

    def turn(self) -> None:
        """Move every file into its place, after a list of all that is or will be ours."""
        settle(self._next.folder, self._writing)
        every = self.ours.union(self._writing)
        for path, content in lists(p for p in every if not p.startswith(FOLDER)):
            self._next.write(f"all/{path}", content)
            self._move(f"all/{path}", path)
        for path in sorted(self._writing, key=lambda path: path.startswith(FOLDER)):
            self._move(path, path)
        here = Twin(self.out, self.out)
        for path in self._removing:
            here.remove(path)
        self.give_up()

    def _move(self, path: str, place: str) -> None:
        target = self.out / place
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(self._next.folder / path, target)

    def back(self) -> Kept:
        """Refuse: no older edition is kept here."""
        raise KbError(
            f"{self.out} is changed file by file, so no older edition of it is kept",
            "publish the older commit again",
        )

    def give_up(self) -> None:
        """Clear away what was made ready and not moved."""
        shutil.rmtree(self._next.folder, ignore_errors=True)
