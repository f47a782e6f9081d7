"""What a publish keeps beside its site for the next one; what cannot be read again is done without.

The file is Python's own (pickle) in a folder that only its owner may enter. It is for one edition
of the site: it names the folder that readers had when it was written, by device and inode, which
a later exchange of folders changes.
"""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.conversion import Line, know, known_lines
from kb.kept import KeptHouse
from kb.making.changes import View
from kb.making.program import program
from kb.phone.kept import Kept as PhoneKept
from kb.uncollected import uncollected

if TYPE_CHECKING:
    from kb.proof.again import Proofed  # all the rules come with it


class Made(NamedTuple):
    """A unit as it was made: the facts that it looked up, its files with their bytes, and copies.

    *copies* are the paths of packed copies of the files.
    """

    facts: tuple[str, ...]
    files: tuple[tuple[str, int], ...]
    copies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """What was published: the house as it was seen and read, and what was made of it.

    *units* are the pages by the name of their unit, *start* the address of the piece of data that
    the search begins with, *phone* what writing these data anew needs, *packs* the same for packs
    of pages, in sections by name, *proofed* what the last proof found, *lines* how values are
    turned from unit to unit. *program* is the one that made all this (`kb.making.program`).
    """

    program: str
    view: View
    units: Mapping[str, Made]
    start: str
    phone: PhoneKept
    packs: Mapping[str, Any]
    reading: KeptHouse = field(default_factory=KeptHouse)
    proofed: Proofed | None = None
    lines: Mapping[tuple[str, str], Line] = field(default_factory=known_lines)


@dataclass(frozen=True, slots=True)
class Note:
    """What can be told of an edition without reading what it was made from.

    *asked* stands for all that was asked of that publish, the house included; *figures* are what
    it told.
    """

    asked: str
    figures: Mapping[str, Any]


def note_of(file: Path, out: Path) -> Note | None:
    """Return the note on the edition in *out*, None where there is none."""
    with suppress(Exception), file.open("rb") as stream:  # whatever a damaged file leads to
        if pickle.load(stream) == _edition(out):
            note = pickle.load(stream)
            return note if isinstance(note, Note) else None
    return None


def load(file: Path | None, out: Path) -> Kept | None:
    """Return what was kept for the edition in *out*, None where there is nothing to go by."""
    if file is None:
        return None
    try:
        with uncollected(), open(file, "rb") as stream:
            if pickle.load(stream) != _edition(out):
                return None
            pickle.load(stream)  # the note
            kept = pickle.load(stream)
        if not isinstance(kept, Kept) or kept.program != program():
            return None
        know(kept.lines)
        return kept
    except Exception:  # whatever a damaged file leads to: everything is made anew
        return None


def save(file: Path | None, out: Path, note: Note, kept: Kept | None) -> None:
    """Keep *kept* for the edition in *out*; where that cannot be, the next publish takes longer."""
    if file is None or kept is None:
        return
    fresh = file.with_suffix(".new")
    with suppress(OSError):
        with open(fresh, "wb") as stream:
            pickle.dump(_edition(out), stream, pickle.HIGHEST_PROTOCOL)
            pickle.dump(note, stream, pickle.HIGHEST_PROTOCOL)
            pickle.dump(kept, stream, pickle.HIGHEST_PROTOCOL)
        fresh.replace(file)


def _edition(out: Path) -> tuple[int, int]:
    found = out.stat()
    return found.st_dev, found.st_ino
