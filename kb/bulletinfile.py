"""One bulletin's file read: all that depends on its bytes alone, and on the families' names."""

from __future__ import annotations

from collections.abc import Mapping

from kb.bulletin import Outcome, read_bulletin
from kb.faults import Faults
from kb.frontmatter import has_front
from kb.kept import Kept, digest_of
from kb.plainfile import decode


def read_file(data: bytes, name: str, families: Mapping[str, str]) -> Kept:
    """Read the bytes of the file *name*; *families* are the known names by folded name.

    What two files say of each other is not looked at here.
    """
    faults = Faults(name)
    bulletin, sound = _outcome(data, name, faults, families)
    return Kept(digest_of(data), bulletin, sound, tuple(faults.problems))


def _outcome(data: bytes, name: str, faults: Faults, families: Mapping[str, str]) -> Outcome:
    text = decode(data, faults)
    if name.rpartition("/")[2].lower() == "readme.md" and not has_front(text):
        return Outcome(None, False)
    if faults.problems and not text:
        return Outcome(None, False)
    return read_bulletin(text, faults, families)
