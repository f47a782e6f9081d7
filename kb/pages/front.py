"""The front page with the search box and the ways in, and the page for what is not there."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from urllib.parse import urlsplit

from kb.making import facts
from kb.pages.desk import Desk
from kb.pages.feeds import feed_way
from kb.pages.lists import entries
from kb.pages.page import Page, Unit, Way
from kb.pages.where import long_date

_NEWEST = 6
_FEW = 12


def units(desk: Desk, start: str) -> Iterator[Unit]:
    """Yield the front page with the page for an address that leads nowhere.

    *start* is the address below the site of the piece of data that a search begins with.
    """
    yield Unit("front", partial(_pages, desk, start))


def _pages(desk: Desk, start: str) -> Iterator[Page]:
    desk.saw(facts.START)
    desk.saw(facts.STANDING)
    yield Page("index.html", "home.html", {**_home(desk), "start": start})
    path = urlsplit(desk.house.site).path if desk.house.site else ""
    base = path.rstrip("/") + "/" if desk.house.site else ""
    yield Page("404.html", "missing.html", {"title": "Not found", "base": base})


def _home(desk: Desk) -> dict[str, object]:
    newest = desk.standing[:_NEWEST]
    return {
        "title": desk.house.name or "Service bulletins",
        "newest": list(
            zip(entries(newest, desk), (b.issued.isoformat() for b in newest), strict=True)
        ),
        "today": long_date(desk.today),
        "count": len(desk.standing),
        "families": [
            (desk.families.way(family.name), family.product)
            for family in desk.house.families.values()
        ],
        "feeds": _feeds(desk),
        "components": desk.components.common(_FEW),
        "symptoms": desk.symptoms.common(_FEW),
        "codes": desk.codes.ways()[: _FEW * 3],
        "more_codes": len(desk.codes.names) > _FEW * 3,
    }


def _feeds(desk: Desk) -> list[Way]:
    """Return the feeds of the families; where they are many, each family's page names its own."""
    names = list(desk.house.families)
    return [feed_way(name, desk) for name in names] if len(names) <= _FEW else []
