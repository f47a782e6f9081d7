"""The numbers of a house as they become links in running text."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

from kb.folding import fold
from kb.linking import linked
from kb.making import facts
from kb.pages.desk import Desk
from kb.pages.page import Way

_Known = Callable[[str], tuple[str, str, "str | None"]]  # the fact, the folded number, the address

_SHORTEST_BARE = 5
_KEPT = 65536  # typed words whose address is remembered: most words of a text stand in many

# A figure, or a character that can stand for one; scripts without such are left out.
_FIGURES = "[0-9\u00b2\u00b3\u00b9\u00bc-\u00be]|[^\0-\u024f\u0370-\u052f\u2010-\u2026\u202f\u20ac]"


class Linker:
    """Gives the address for a number as typed, or None.

    Bulletins, parts and fault codes are known; the bulletin *own* does not link to itself. A
    number without letters must be long, and a code without figures written as displayed: else
    every "10" and every "end" in a text would become a link. *hint* is found in every text that
    holds a known number.
    """

    def __init__(self, desk: Desk, own: str = "") -> None:
        self._own = fold(own)
        self._saw = desk.saw
        self._saw(facts.CODE_WORDS)  # which decides in what texts numbers are looked for
        self._known: _Known = desk.once(("known", ""), lambda: lru_cache(_KEPT)(_known_to(desk)))
        self.hint: re.Pattern[str] = desk.once(("hint", ""), lambda: _hint(desk))

    def __call__(self, typed: str) -> str | None:
        """Return the address for *typed*, or None."""
        fact, folded, href = self._known(typed)
        self._saw(fact)
        return None if folded == self._own else href


def _known_to(desk: Desk) -> _Known:
    def known(typed: str) -> tuple[str, str, str | None]:
        folded = fold(typed)
        return facts.number(typed), folded, href_of(typed, folded)

    def href_of(typed: str, folded: str) -> str | None:
        letters = any(c.isalpha() for c in folded)
        figures = any(c.isdigit() for c in folded)
        if not letters and len(folded) < _SHORTEST_BARE:
            return None
        if not figures:
            shown = desk.codes.names.get(folded)
            return desk.codes.href(typed) if shown == typed and len(typed) > 1 else None
        return desk.bulletin_href(typed) or desk.part_href(typed) or desk.codes.href(typed)

    return known


def _hint(desk: Desk) -> re.Pattern[str]:
    """Return what at least one of is found in a text with a known number: a figure, or a code."""
    words = [name for key, name in desk.codes.names.items() if not any(map(str.isdigit, key))]
    return re.compile("|".join([_FIGURES, *map(re.escape, words)]))


def pieces(text: str, link: Linker) -> tuple[Way, ...]:
    """Return plain text cut at the numbers that *link* knows; other pieces have no address."""
    return tuple(Way(piece, href or "") for piece, href in linked(text, link, link.hint))
