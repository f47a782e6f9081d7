"""Slips of the finger and words written by ear: how far apart two words are, and how they sound."""

from __future__ import annotations

import re
from collections.abc import Iterable

# Letter groups that sound alike, levelled in this order; what is left of the vowels is dropped.
_SOUNDS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern), heard)
    for pattern, heard in (
        (r"^(?:kn|gn)", "n"),
        (r"^wr", "r"),
        (r"^wh", "w"),
        (r"^ps", "s"),
        (r"ph", "f"),
        (r"ough", "o"),
        (r"igh", "i"),
        (r"gh(?=[aeiouy])", "g"),
        (r"gh", "f"),
        (r"tch|ch|sh|[st]ion", "x"),
        (r"dg(?=[eiy])", "j"),
        (r"g(?=[eiy])", "j"),
        (r"c(?=[eiy])", "s"),
        (r"ck|c|q", "k"),
        (r"x(?!$)", "x"),
        (r"z", "s"),
        (r"th", "t"),
        (r"mb$", "m"),
        (r"[hw](?![aeiouy])", ""),
        (r"(?<=[aeiouy])[aeiouyw]+", ""),
        (r"(.)\1+", r"\1"),
    )
)
_VOWELS = re.compile(r"(?<!^)[aeiouy]")


def sound(word: str) -> str:
    """Return how *word* sounds, roughly: words written by ear share it (``seezed``, ``seized``)."""
    for pattern, heard in _SOUNDS:
        word = pattern.sub(heard, word)
    return re.sub(r"(.)\1+", r"\1", _VOWELS.sub("", re.sub(r"^[aeiouy]", "a", word)))


def distance(one: str, other: str, most: int) -> int:
    """Return the edits between two words: insert, drop, change or swap of neighbours (each 1).

    Optimal string alignment; gives up with ``most + 1`` as soon as the words are further apart.
    """
    if abs(len(one) - len(other)) > most:
        return most + 1
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        before, last, row = row, before, [i]
        for j, against in enumerate(other, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (letter != against))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == against:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def _letters(word: str) -> int:
    """Return the set of letters of a word as bits: a cheap test before the exact distance."""
    bits = 0
    for letter in word:
        bits |= 1 << (ord(letter) & 31)
    return bits


def slips(word: str, known: Iterable[str], most: int) -> list[tuple[int, str]]:
    """Return the known words at most *most* edits away, as (edits, word), the nearest first."""
    bits, length = _letters(word), len(word)
    found: list[tuple[int, str]] = []
    for other in known:
        if abs(len(other) - length) > most or (bits ^ _letters(other)).bit_count() > 2 * most:
            continue
        apart = distance(word, other, most)
        if apart <= most:
            found.append((apart, other))
    return sorted(found)
