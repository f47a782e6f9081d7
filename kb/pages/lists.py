"""Bulletins as the entries of a list, and lists cut so that no page grows beyond a phone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any, NamedTuple

from kb.making import facts
from kb.pages.desk import KIND_NAMES, Desk
from kb.pages.page import Page, address, file_of
from kb.pages.where import long_date
from kb.records import Bulletin

LONGEST = 120


class Entry(NamedTuple):
    """One bulletin in a list. *about* is the families and components that it speaks of."""

    number: str
    href: str
    title: str
    kind: str
    kind_name: str
    issued: str
    about: str


def entry(bulletin: Bulletin, desk: Desk) -> Entry:
    """Return *bulletin* as an entry."""
    about = [*desk.families_of(bulletin), *bulletin.component]
    return Entry(
        bulletin.number,
        desk.bulletin_href(bulletin.number) or "",
        bulletin.title,
        bulletin.kind,
        KIND_NAMES[bulletin.kind],
        long_date(bulletin.issued),
        " · ".join(about),
    )


def entries(bulletins: Iterable[Bulletin], desk: Desk) -> list[Entry]:
    """Return bulletins as entries, in the given order."""
    bulletins = list(bulletins)
    desk.seen.update(facts.card(b.number) for b in bulletins)
    return [desk.once(("entry", b.number), partial(entry, b, desk)) for b in bulletins]


class Sheet(NamedTuple):
    """Where one page of a long list stands: sheet *number* of *total*, and the ways on and back."""

    number: int
    total: int
    before: str
    after: str


def cut(
    steps: Sequence[str],
    template: str,
    data: Mapping[str, Any],
    name: str,
    items: Sequence[Any],
    longest: int = LONGEST,
) -> Iterator[Page]:
    """Yield the pages of a list: the first in the folder *steps*, the others below it.

    Each gets *data*, its share (at most *longest*) of *items* under *name*, and a Sheet under
    ``sheet``. A folder name with ``~`` is no slug, so that the further sheets never meet a page
    of the list itself.
    """
    count = max(1, -(-len(items) // longest))
    places = [tuple(steps), *((*steps, f"~{number}") for number in range(2, count + 1))]
    for at, place in enumerate(places):
        sheet = Sheet(
            at + 1,
            count,
            address(*places[at - 1]) if at else "",
            address(*places[at + 1]) if at + 1 < count else "",
        )
        share = items[at * longest : (at + 1) * longest]
        yield Page(file_of(*place), template, {**data, name: share, "sheet": sheet})
