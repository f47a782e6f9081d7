"""Older editions of a site, each kept as what it takes to go back to it from the next newer one.

``kept/12/`` holds under ``files/`` the files that the next edition changed or removed, as they
were, and ``edition.json``: the paths at which the two differ, and when the older one was published.
``turned`` tells when the live tree was.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from kb.output.twin import bring

_UNTIL_TURNED = "new"
_TURNED = "turned"


@dataclass(frozen=True, slots=True)
class Kept:
    """One older edition: *paths* differ from the next newer one; *published* is a time of UTC."""

    folder: Path
    paths: tuple[str, ...]
    published: str

    def file(self, path: str) -> Path | None:
        """Return where the file at *path* lies as it was, None where there was none."""
        held = self.folder / "files" / path
        return held if os.path.lexists(held) else None


class Shelf:
    """The older editions in *folder*, the newest of them last."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def editions(self) -> list[Kept]:
        """Return what is kept; what cannot be read is left out."""
        return [kept for number in self._numbers() if (kept := _read(self.folder / str(number)))]

    def lay_by(self, live: Path, paths: Iterable[str]) -> None:
        """Keep the live tree's files at *paths*, which the next edition changes: OSError.

        They count as kept once `confirm` finds that the tree has been turned.
        """
        fresh = self.folder / _UNTIL_TURNED
        shutil.rmtree(fresh, ignore_errors=True)
        noted = sorted(paths)
        for path in noted:
            if os.path.isfile(live / path) or os.path.islink(live / path):
                held = fresh / "files" / path
                held.parent.mkdir(parents=True, exist_ok=True)
                bring(str(live / path), str(held))
        fresh.mkdir(parents=True, exist_ok=True)
        told = {"published": self._turned(live), "paths": noted}
        (fresh / "edition.json").write_text(json.dumps(told), "utf-8", "surrogateescape")
        # The number of the live tree's folder tells whether the turn was taken before a stop.
        (fresh / "before").write_text(_number_of(live), encoding="ascii")

    def turned(self) -> None:
        """Note that the live tree is published now: OSError."""
        self.folder.mkdir(exist_ok=True)
        (self.folder / _TURNED).write_text(_as_told(datetime.now(UTC)), encoding="ascii")

    def _turned(self, live: Path) -> str:
        with suppress(OSError, ValueError):
            return (self.folder / _TURNED).read_text(encoding="ascii")
        return _as_told(datetime.fromtimestamp(live.stat().st_mtime, UTC))

    def confirm(self, live: Path) -> None:
        """Take up what was laid by if *live* has been turned since; else it is no older edition."""
        fresh = self.folder / _UNTIL_TURNED
        with suppress(OSError):
            if (fresh / "before").read_text(encoding="ascii") != _number_of(live):
                last = max(self._numbers(), default=0)
                fresh.replace(self.folder / str(last + 1))
        shutil.rmtree(fresh, ignore_errors=True)

    def let_go_of_all_but(self, keep: int) -> None:
        """Keep the newest *keep* editions."""
        for number in self._numbers()[: -keep or None]:
            shutil.rmtree(self.folder / str(number), ignore_errors=True)

    def let_go(self, kept: Kept) -> None:
        """Keep an edition no longer."""
        shutil.rmtree(kept.folder, ignore_errors=True)

    def _numbers(self) -> list[int]:
        with suppress(OSError):
            names = [each.name for each in self.folder.iterdir()]
            return sorted(int(name) for name in names if name.isdecimal())
        return []


def _as_told(moment: datetime) -> str:
    return moment.isoformat(" ", "minutes").replace("+00:00", " UTC")


def _read(folder: Path) -> Kept | None:
    try:
        told = json.loads((folder / "edition.json").read_text("utf-8", "surrogateescape"))
        return Kept(folder, tuple(map(str, told["paths"])), str(told["published"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _number_of(folder: Path) -> str:
    """Return what tells one folder from every other, by whatever name it goes."""
    found = os.stat(folder)
    return f"{found.st_dev} {found.st_ino}"


def restore(kept: Kept) -> Iterator[tuple[str, bytes | None]]:
    """Yield the paths at which *kept* differs, with what they held, None for nothing: OSError."""
    for path in kept.paths:
        held = kept.file(path)
        yield path, held.read_bytes() if held else None
