"""Of very many known names those few that a mistyped one is worth comparing with."""

from __future__ import annotations

from heapq import nlargest

from kb.folding import fold_name

# So many names that share most pairs of letters with a mistyped one are compared letter by letter.
_LIKELY = 40


def likely(word: str, names: list[str]) -> list[str]:
    """Return the names worth a closer look: those that share most pairs of letters with *word*."""
    if len(names) <= _LIKELY:
        return names
    mine, length = _pairs(word), len(word)
    alike = (name for name in names if abs(len(name) - length) <= 3)
    return nlargest(_LIKELY, alike, key=lambda name: len(mine & _pairs(name)))


def _pairs(name: str) -> set[str]:
    folded = fold_name(name)
    return {folded[at : at + 2] for at in range(len(folded) - 1)}
