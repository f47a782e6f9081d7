"""Typed text made comparable, and the nearest known name for a mistyped one."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

_LOOSE = re.compile(r"[\s\-.\u2010-\u2015\u2212]+")
_LOOSE_ASCII = {code: None for code in range(128) if _LOOSE.match(chr(code))}


def fold(text: str) -> str:
    """Return *text* without blanks, hyphens, dots and case, as numbers are compared.

    Part numbers, fault codes, models, serials and bulletin numbers are all compared in this form.
    """
    if text.isascii():  # as most numbers are: what follows comes to the same, several times as fast
        tight = text.replace("-", "")
        return (tight if tight.isalnum() else text.translate(_LOOSE_ASCII)).upper()
    return _LOOSE.sub("", unicodedata.normalize("NFKC", text)).upper()


def fold_name(text: str) -> str:
    """Return *text* with case and runs of white space evened out, as names are compared."""
    return " ".join(unicodedata.normalize("NFKC", text).split()).casefold()


def nearest(word: str, known: Iterable[str], cutoff: float = 0.6) -> str | None:
    """Return the known name most like *word*, or None where none is near enough."""
    from difflib import get_close_matches  # loaded for a mistyped name alone

    by_folded = {fold_name(name): name for name in known}
    found = get_close_matches(fold_name(word), list(by_folded), n=1, cutoff=cutoff)
    return by_folded[found[0]] if found else None
