"""The desk's derived data: store and index of a house, in editions beside its bulletins.

``.kb/`` in the house holds one folder an edition and the file ``current`` that names the one to
read. ``kb.editions`` writes them aside and then points to them, so a reader meets the old one or
the new; everything here can be deleted at any time.
"""

from __future__ import annotations

import marshal
import os
from array import array
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from operator import attrgetter
from pathlib import Path

from kb import __version__

# Raised when tables, index or words take another form: editions of an earlier one are made anew.
_FORM = 4
_READ = (".md", ".yaml", ".csv")
_STAT, _SIZE, _TIME = os.DirEntry.stat, attrgetter("st_size"), attrgetter("st_mtime_ns")


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
        """What the house looked like when the edition was made; it is written last."""
        return self.folder / "seen"


def home(house: Path) -> Path:
    """Return the folder for derived data: in the house, or in the user's caches if it is locked."""
    inside = house / ".kb"
    return inside if _may_write(house) else _in_caches(house)


def _may_write(house: Path) -> bool:
    inside = house / ".kb"
    return os.access(inside if inside.exists() else house, os.W_OK)


def _in_caches(house: Path) -> Path:
    import hashlib  # loaded where it is needed alone: a question is answered without it

    mark = hashlib.sha256(str(house.resolve()).encode()).hexdigest()[:16]
    caches = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    return Path(caches) / "fettlebook" / mark


def look(house: Path, suffixes: tuple[str, ...] = _READ) -> bytes:
    """Return what the house looks like from outside: names, sizes and times of what is read.

    *suffixes* are the ends of the names of the files that count.

    Every file is asked for each time: an edit in place changes no folder.
    """
    seen: list[tuple[str, str, bytes, bytes]] = []
    todo = [""]
    while todo:
        within = todo.pop()
        files: dict[str, os.DirEntry[str]] = {}
        with _inside(f"{house}/{within}") as found:
            for entry in found:
                name = entry.name
                if name[0] != ".":
                    if entry.is_dir(follow_symlinks=False):
                        todo.append(f"{within}{name}/")
                    if name.endswith(suffixes):
                        files[name] = entry
            names = sorted(files)
            stats = list(map(_STAT, map(files.__getitem__, names)))
        if names:
            sizes, times = array("q", map(_SIZE, stats)), array("q", map(_TIME, stats))
            seen.append((within, "/".join(names), sizes.tobytes(), times.tobytes()))
    # The second version of this form gives the same bytes for the same values, at a fifth of the
    # time that JSON takes.
    return marshal.dumps((__version__, _FORM, sorted(seen)), 2)


@contextmanager
def _inside(folder: str) -> Iterator[Iterator[os.DirEntry[str]]]:
    """Look into a folder; from within it, where the system can, for files are found sooner so."""
    if os.scandir not in os.supports_fd:
        with os.scandir(folder) as found:
            yield found
        return
    opened = os.open(folder, os.O_RDONLY)
    try:
        with os.scandir(opened) as found:
            yield found
    finally:
        os.close(opened)


def current(house: Path) -> Edition | None:
    """Return the edition that readers are pointed to, or None where there is none yet."""
    return _pointed(home(house))


def fresh(house: Path, looks: bytes) -> Edition | None:
    """Return an edition made from a house that looks like *looks*, or None.

    In a locked house that of whoever may write there will do, if the user's own does not.
    """
    return next((each for each in _known(house) if is_fresh(each, looks)), None)


def _known(house: Path) -> Iterator[Edition]:
    inside = house / ".kb"
    folders = (inside,) if _may_write(house) else (_in_caches(house), inside)
    yield from filter(None, map(_pointed, folders))


def _pointed(folder: Path) -> Edition | None:
    try:
        edition = Edition(folder / (folder / "current").read_text(encoding="utf-8").strip())
        return edition if edition.store.is_file() and edition.seen.is_file() else None
    except (OSError, ValueError):  # what is no text, or no name of a file
        return None


def is_fresh(edition: Edition, looks: bytes) -> bool:
    """Tell whether *edition* was made from a house that looks like *looks*."""
    try:
        return edition.seen.read_bytes() == looks
    except OSError:
        return False
