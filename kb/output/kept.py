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

from kb.durable import exchange
from kb.output.twin import bring

_UNTIL_TURNED = "new"
_TURNED = "turned"
_GONE = "gone"


@dataclass(frozen=True, slots=True)
class Kept:
    """One older edition: *paths* differ from the next newer one; *published* is a time of UTC."""

    folder: Path
    paths: tuple[str, ...]
    published: str

    def file(self, path: str) -> Path | None:
        """Return where the file at *path* lies as it was, None where there was none."""
        held = self.folder / "files" / path
        return held if os.path.isfile(held) else None


class Shelf:
    """The older editions in *folder*, the newest of them last."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def editions(self) -> list[Kept]:
        """Return what can be gone back to: each leans on the next, so all have to be readable."""
        found = [_read(self.folder / str(number)) for number in self._numbers()]
        while None in found:
            del found[: found.index(None) + 1]
        return [kept for kept in found if kept]

    def lay_by(self, live: Path, paths: Iterable[str]) -> None:
        """Keep the live tree's files at *paths*, which the next edition changes: OSError.

        They count as kept once `confirm` finds that the tree has been turned.
        """
        fresh = self.folder / _UNTIL_TURNED
        shutil.rmtree(fresh, ignore_errors=True)
        noted = sorted(paths)
        for path in noted:
            source, held = f"{live}/{path}", f"{fresh}/files/{path}"
            if os.path.isfile(source):
                os.makedirs(os.path.dirname(held), exist_ok=True)
                bring(os.path.realpath(source) if os.path.islink(source) else source, held)
        fresh.mkdir(parents=True, exist_ok=True)
        told = {"published": self._turned(live), "paths": noted}
        exchange(fresh / "edition.json", json.dumps(told), fresh / _UNTIL_TURNED)
        # The number of the live tree's folder tells whether the turn was taken before a stop.
        exchange(fresh / "before", _number_of(live), fresh / _UNTIL_TURNED)

    def turned(self) -> None:
        """Note that the live tree is published now: OSError."""
        self.folder.mkdir(exist_ok=True)
        exchange(self.folder / _TURNED, _as_told(datetime.now(UTC)), self.folder / "turned.new")

    def _turned(self, live: Path) -> str:
        with suppress(OSError, ValueError):
            return (self.folder / _TURNED).read_text(encoding="ascii")
        return _as_told(datetime.fromtimestamp(live.stat().st_mtime, UTC))

    def confirm(self, live: Path) -> None:
        """Take up what was laid by if *live* has been turned since; else it is no older edition."""
        fresh = self.folder / _UNTIL_TURNED
        before = ""  # where a stop came before it was written: then nothing has been turned
        with suppress(FileNotFoundError, NotADirectoryError):
            before = (fresh / "before").read_text(encoding="ascii")
        if before and before != _number_of(live):
            fresh.replace(self.folder / str(max(self._numbers(), default=0) + 1))
        shutil.rmtree(fresh, ignore_errors=True)

    def let_go_of_all_but(self, keep: int) -> None:
        """Keep the newest *keep* editions; the oldest go first, for each leans on the next."""
        for number in self._numbers()[: -keep or None]:
            self._discard(self.folder / str(number))

    def let_go(self, kept: Kept) -> None:
        """Keep an edition no longer: OSError."""
        self._discard(kept.folder)

    def _discard(self, edition: Path) -> None:
        """Remove an edition, which a stop must not leave in part under its number."""
        gone = self.folder / _GONE
        shutil.rmtree(gone, ignore_errors=True)
        edition.replace(gone)
        shutil.rmtree(gone, ignore_errors=True)

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
