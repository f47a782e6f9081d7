"""The numbers of a house as they become links in running text."""

from __future__ import annotations

from collections.abc import Callable

from kb.folding import fold
from kb.linking import linked
from kb.pages.desk import Desk
from kb.pages.page import Way

_SHORTEST_BARE = 5


def linker(desk: Desk, own: str = "") -> Callable[[str], str | None]:
    """Return a function that gives the address for a number as typed, or None.

    Bulletins, parts and fault codes are known; the bulletin *own* does not link to itself. A
    number without letters must be long, and a code without figures written as displayed: else
    every "10" and every "end" in a text would become a link.
    """
    skipped = fold(own)

    def link(typed: str) -> str | None:
        folded = fold(typed)
        letters = any(c.isalpha() for c in folded)
        figures = any(c.isdigit() for c in folded)
        if folded == skipped or (not letters and len(folded) < _SHORTEST_BARE):
            return None
        if not figures:
            shown = desk.codes.names.get(folded)
            return desk.codes.href(typed) if shown == typed and len(typed) > 1 else None
        return desk.bulletin_href(typed) or desk.part_href(typed) or desk.codes.href(typed)

    return link


def pieces(text: str, link: Callable[[str], str | None]) -> tuple[Way, ...]:
    """Return plain text cut at the numbers that *link* knows; other pieces have no address."""
    return tuple(Way(piece, href or "") for piece, href in linked(text, link))
