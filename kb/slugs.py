"""Names made fit for folder names: what a page's address is called.

A slug holds lower-case letters and digits of any script and single hyphens; it is never empty,
never ``.`` or ``..``, never a name that a file system keeps for itself. Numbers and models keep
their own writing where that is a safe folder name already.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

_SAFE = re.compile(r"[A-Za-z0-9][A-Za-z0-9.\-]*")
_RESERVED = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9]|index)(?:\..*)?", re.I)
_LONGEST = 80


def slug(name: str) -> str:
    """Return *name* as a folder name.

    >>> slug("Hums, but does not drain")
    'hums-but-does-not-drain'
    """
    text = unicodedata.normalize("NFKC", name).casefold()
    kept = "".join(c if unicodedata.category(c)[0] in "LNM" else "-" for c in text.replace("'", ""))
    made = re.sub("-+", "-", kept).strip("-").encode()[:_LONGEST].decode(errors="ignore").strip("-")
    return _unreserved(made or "x")


def folder_name(number: str) -> str:
    """Return a bulletin number or model as the folder of its page: as it is written, if safe.

    >>> folder_name("2026-014"), folder_name("../etc")
    ('2026-014', 'etc')
    """
    if _SAFE.fullmatch(number) and not number.endswith(".") and len(number) <= _LONGEST:
        return _unreserved(number)
    return slug(number)


def _unreserved(name: str) -> str:
    if not _RESERVED.fullmatch(name):
        return name
    return name.replace(".", "-") if "." in name else f"{name}-"


def folders(
    names: Iterable[str],
    plain: bool = True,
    known: Mapping[str, tuple[str, str]] | None = None,
) -> dict[str, str]:
    """Return a folder name for each name; no two are the same, even where case does not count.

    Names that make the same slug are told apart by a number, given in the order of the names
    themselves, so that the same names always make the same folders. *plain* slugs the names;
    otherwise they keep their own writing. *known* holds, by whatever key, names and their folders
    as they were made before; where the names are the same, so are the folders.
    """
    wanted = set(names)
    before = dict(known.values()) if known else {}
    if before and before.keys() == wanted:
        return before
    made: dict[str, str] = {}
    taken: set[str] = set()
    for name in sorted(wanted):
        first = candidate = slug(name) if plain else folder_name(name)
        count = 1
        while candidate.casefold() in taken:
            count += 1
            candidate = f"{first}-{count}"
        taken.add(candidate.casefold())
        made[name] = candidate
    return made
