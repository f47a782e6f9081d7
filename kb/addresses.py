"""Addresses that a bulletin names: which links are safe to follow, which pictures are the house's.

Pure text work, no file is opened here.
"""

from __future__ import annotations

import re
from urllib.parse import unquote

SAFE_SCHEMES = ("http", "https", "mailto")

_DANGEROUS = ("javascript", "vbscript", "data", "file", "blob")
_IGNORED = re.compile(r"[\x00-\x20\x7f-\x9f\u200b-\u200f\u2028-\u202e\ufeff]+")
_SCHEME = re.compile(r"([A-Za-z][A-Za-z0-9+.\-]*):")


def scheme_of(address: str) -> str:
    """Return the scheme of *address* in lower case, ``//`` where it names a host without one.

    Blanks and control characters are passed over, as browsers do; a relative address gives "".
    """
    bare = _IGNORED.sub("", address)
    if bare[:2].replace("\\", "/") == "//":
        return "//"
    found = _SCHEME.match(bare)
    return found.group(1).lower() if found else ""


def is_safe_link(address: str) -> bool:
    """Tell whether a page may link to *address*: http, https, mailto or a relative address.

    One that would turn dangerous when its %-escapes are undone is refused too.
    """
    unescaped = scheme_of(unquote(address))
    return scheme_of(address) in (*SAFE_SCHEMES, "") and unescaped not in _DANGEROUS


def is_remote(address: str) -> bool:
    """Tell whether *address* leaves the house: it has a scheme or names a host."""
    return scheme_of(address) != ""


def below(folder: str, address: str) -> str | None:
    """Return the path below the house of a relative *address* seen from *folder*, or None.

    *folder* is a path below the house with forward slashes ("" for the house itself). None stands
    for every address that is not a file of the house: remote, absolute or led outside by ``..``.
    Queries and fragments are cut off.

    >>> below("2026", "2026-014/pump.svg")
    '2026/2026-014/pump.svg'
    """
    if is_remote(address):
        return None
    path = unquote(re.split(r"[?#]", address, maxsplit=1)[0])
    if not path or path.startswith("/") or "\\" in path or "\x00" in path:
        return None
    steps = [step for step in folder.split("/") if step]
    for step in path.split("/"):
        if step == "..":
            if not steps:
                return None
            steps.pop()
        elif step not in ("", "."):
            steps.append(step)
    return "/".join(steps) or None
