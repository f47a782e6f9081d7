"""Writing editions of derived data: aside, brought to the disk, then pointed to in one step.

The order keeps readers safe through a crash and a loss of power: first everything in the edition,
last of it what tells that it is whole, then the pointer, and only then are older editions removed.
"""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from kb.derived import Edition, home
from kb.durable import exchange, settle_all
from kb.onewriter import only_writer

_STALE_AFTER = 3600.0  # seconds that an unfinished edition is left to whoever may be writing it


@contextmanager
def writing(house: Path, waiting: Callable[[], object] = lambda: None) -> Iterator[None]:
    """Be the one writer for *house*; *waiting* is called once where another one is at work.

    What a writer that was killed left behind is cleared away first, for its room may be needed.
    """
    folder = home(house)
    folder.mkdir(parents=True, exist_ok=True)
    ignore = folder / ".gitignore"
    if not ignore.exists():
        ignore.write_text("*\n", encoding="utf-8")
    with only_writer(folder / "lock", waiting) as alone:
        _clear_halves(folder, alone)
        yield


def begin(house: Path) -> Edition:
    """Return a new, empty edition to be filled."""
    edition = Edition(home(house) / f"edition-{secrets.token_hex(8)}")
    edition.folder.mkdir(parents=True)
    return edition


def finish(edition: Edition, looks: bytes) -> None:
    """Point readers to a filled edition and clear the older ones away."""
    edition.seen.write_bytes(looks)
    settle_all(edition.folder)
    folder = edition.folder.parent
    exchange(folder / "current", edition.folder.name, edition.folder / "pointer")
    for old in folder.glob("edition-*"):
        if old != edition.folder and Edition(old).seen.exists():
            discard(Edition(old))


def discard(edition: Edition) -> None:
    """Remove an edition, as far as that goes; readers that have its files open keep them."""
    # It is no longer whole from the first moment: no reader begins with half of it.
    edition.seen.unlink(missing_ok=True)
    shutil.rmtree(edition.folder, ignore_errors=True)


def _clear_halves(folder: Path, alone: bool) -> None:
    """Remove unfinished editions: all of them when *alone*, else those of long ago."""
    for half in folder.glob("edition-*"):
        if not Edition(half).seen.exists() and (alone or _is_stale(half, folder)):
            shutil.rmtree(half, ignore_errors=True)


def _is_stale(half: Path, folder: Path) -> bool:
    # Both times are those of the disk, whose clock may differ from ours; a lock was just touched.
    try:
        return (folder / "lock").stat().st_mtime - half.stat().st_mtime > _STALE_AFTER
    except OSError:
        return False
