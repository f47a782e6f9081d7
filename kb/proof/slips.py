"""Slips of the hand told from names that only look alike."""

from __future__ import annotations

from kb.folding import fold, fold_name
from kb.spelling import distance

_ALIKE = str.maketrans("OQILSBZ", "0011582")


def one_slip(a: str, b: str) -> bool:
    """Tell whether one missing, extra, wrong or swapped letter makes *a* into *b*."""
    if len(a) > len(b):
        a, b = b, a
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), len(a))
    left, right = a[start:], b[start:]
    if len(a) == len(b):
        swapped = left[:2] == right[1::-1] and left[2:] == right[2:]
        return left[1:] == right[1:] or swapped
    return left == right[1:]


def mistyped(name: str, known: str) -> bool:
    """Tell whether *name* is most likely a mistyped *known*, and not a thing of its own.

    Each word may hold one slip, a long word two. Numbers and plurals are no slips: ``heater 2``
    stands beside ``heater``, and ``door seals`` beside ``door seal``.
    """
    a, b = fold_name(name), fold_name(known)
    if fold(a) == fold(b):
        return a != b
    mine, theirs = a.split(), b.split()
    if len(mine) != len(theirs):
        return one_slip(a.replace(" ", ""), b.replace(" ", "")) and _digits(a) == _digits(b)
    return all(x == y or _word_mistyped(x, y) for x, y in zip(mine, theirs, strict=True))


def _word_mistyped(a: str, b: str) -> bool:
    if _digits(a) != _digits(b) or a.removesuffix("s") == b.removesuffix("s"):
        return False
    if max(len(a), len(b)) < 4 or (a[0] != b[0] and a[:2] != b[1::-1]):
        return False
    return one_slip(a, b) or (len(b) >= 7 and distance(a, b, 2) <= 2)


def _digits(text: str) -> str:
    return "".join(c for c in text if c.isdigit())


def look_alike(code: str) -> str:
    """Return a code with the letters that pass for digits on a display made digits.

    Two codes with the same form here are told apart by nobody: O and 0, I, l and 1, S and 5.
    """
    return fold(code).translate(_ALIKE)
