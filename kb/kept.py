"""What a house was read into, file by file, so that what has not changed is not read again.

Whoever reads a house again and again keeps a `KeptHouse` between two readings, in memory or
pickled, and hands it to `kb.house.read_again`. What a bulletin's file is read into depends on the
file's bytes and name, the names in families.yaml and the program's version, and on nothing else.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from kb import __version__
from kb.errors import Problem
from kb.records import Bulletin

# A file changed so shortly before it was read may change again without its time telling.
_SETTLED_AFTER = 2_000_000_000  # nanoseconds


class Look(NamedTuple):
    """What a file looks like from outside; *mtime_ns* is 0 where it tells nothing yet."""

    size: int
    mtime_ns: int


class Kept(NamedTuple):
    """What came of one bulletin's file: a bulletin where there is enough for one, if it is sound.

    *digest* is that of the file's bytes.
    """

    digest: bytes
    bulletin: Bulletin | None
    sound: bool
    problems: tuple[Problem, ...]


class KeptTable(NamedTuple):
    """What came of one reference table; *data* are its bytes, *found* what they were read into."""

    data: bytes
    found: Any
    problems: tuple[Problem, ...]


class Changes(NamedTuple):
    """The files, by path below the house, that differ between two readings."""

    added: tuple[str, ...]
    changed: tuple[str, ...]
    removed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KeptHouse:
    """One reading of a house. *looks* are those of all its files, *families* the names known."""

    families: Mapping[str, str] = field(default_factory=dict)
    looks: Mapping[str, Look] = field(default_factory=dict)
    files: Mapping[str, Kept] = field(default_factory=dict)
    tables: Mapping[str, KeptTable] = field(default_factory=dict)
    version: str = __version__

    def holds(self) -> bool:
        """Tell whether it was this version of the program that read it."""
        return self.version == __version__


def digest_of(data: bytes) -> bytes:
    """Return what tells a file's bytes from any other's."""
    return hashlib.blake2b(data, digest_size=16).digest()


def settled(looks: Mapping[str, Look]) -> dict[str, Look]:
    """Return *looks* as they may be trusted at the next reading, if taken before this one."""
    newest = time.time_ns() - _SETTLED_AFTER
    return {
        name: look if look.mtime_ns < newest else look._replace(mtime_ns=0)
        for name, look in looks.items()
    }


def changes(before: KeptHouse, after: KeptHouse) -> Changes:
    """Return the files that differ; one whose time alone is another has not changed."""
    old, new = before.looks.keys(), after.looks.keys()
    both = sorted(old & new)
    return Changes(
        added=tuple(sorted(new - old)),
        changed=tuple(name for name in both if _differs(name, before, after)),
        removed=tuple(sorted(old - new)),
    )


def _differs(name: str, before: KeptHouse, after: KeptHouse) -> bool:
    if name in before.files and name in after.files:
        return before.files[name].digest != after.files[name].digest
    if name in before.tables and name in after.tables:
        return before.tables[name].data != after.tables[name].data
    return before.looks[name] != after.looks[name] or not before.looks[name].mtime_ns
