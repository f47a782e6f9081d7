"""The desk's derived data: store and index of a house, in editions beside its bulletins.

``.kb/`` in the house holds one folder an edition and the file ``current`` that names the one to
read. An edition is written aside and then pointed to, so a reader meets the old one or the new;
everything here can be deleted at any time.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

from kb import __version__

_STALE_AFTER = 3600.0  # seconds that an unfinished edition is left to whoever may be writing it


@dataclass(frozen=True, slots=True)
class Edition:
    """One finished edition: where its store and its index lie."""

    folder: Path

    @property
    def store(self) -> Path:
        """The SQLite file."""
        return self.folder / "kb.sqlite"

    @property
    def index(self) -> Path:
        """The folder of the full-text index."""
        return self.folder / "index"

    @property
    def words(self) -> Path:
        """The prepared table of words."""
        return self.folder / "words.json"

    @property
    def seen(self) -> Path:
        """What the house looked like when the edition was made."""
        return self.folder / "seen.json"


def home(house: Path) -> Path:
    """Return the folder for derived data: in the house, or in the user's caches if it is locked."""
    inside = house / ".kb"
    if os.access(inside if inside.exists() else house, os.W_OK):
        return inside
    import hashlib  # loaded where it is needed alone: a question is answered without it

    mark = hashlib.sha256(str(house.resolve()).encode()).hexdigest()[:16]
    caches = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(caches) / "fettlebook" / mark


def look(house: Path) -> str:
    """Return what the house looks like from outside: names, sizes and times of what is read."""
    seen: list[tuple[str, int, int]] = []
    todo = [str(house)]
    while todo:
        with os.scandir(todo.pop()) as entries:
            for entry in entries:
                if entry.name.startswith("."):
                    continue
                if entry.is_dir(follow_symlinks=False):
                    todo.append(entry.path)
                elif entry.name.endswith((".md", ".yaml", ".csv")):
                    stat = entry.stat()
                    seen.append((entry.path, stat.st_size, stat.st_mtime_ns))
    return json.dumps([__version__, sorted(seen)])


def current(house: Path) -> Edition | None:
    """Return the edition to read, or None where there is none yet."""
    folder = home(house)
    try:
        edition = Edition(folder / (folder / "current").read_text(encoding="utf-8").strip())
    except (OSError, UnicodeDecodeError):
        return None
    return edition if edition.store.is_file() and edition.seen.is_file() else None


def is_fresh(edition: Edition, looks: str) -> bool:
    """Tell whether *edition* was made from a house that looks like *looks*."""
    try:
        return edition.seen.read_text(encoding="utf-8") == looks
    except OSError:
        return False


def begin(house: Path) -> Edition:
    """Return a new, empty edition to be filled."""
    import tempfile

    folder = home(house)
    folder.mkdir(parents=True, exist_ok=True)
    ignore = folder / ".gitignore"
    if not ignore.exists():
        ignore.write_text("*\n", encoding="utf-8")
    return Edition(Path(tempfile.mkdtemp(prefix="edition-", dir=folder)))


def finish(house: Path, edition: Edition, looks: str) -> None:
    """Point readers to a filled edition and clear the older ones away."""
    import shutil

    edition.seen.write_text(looks, encoding="utf-8")
    folder = edition.folder.parent
    pointer = edition.folder / "pointer"
    pointer.write_text(edition.folder.name, encoding="utf-8")
    pointer.replace(folder / "current")
    for old in folder.glob("edition-*"):
        if old != edition.folder and _done_with(old, edition):
            shutil.rmtree(old, ignore_errors=True)


def _done_with(old: Path, edition: Edition) -> bool:
    if (old / "seen.json").exists():
        return True
    try:
        return edition.folder.stat().st_mtime - old.stat().st_mtime > _STALE_AFTER
    except OSError:
        return False
