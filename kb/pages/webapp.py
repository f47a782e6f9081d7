"""What browsers take the site up by: web app manifest and OpenSearch description (1.1 draft 6)."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any
from urllib.parse import urlsplit

from kb.pages.desk import Desk
from kb.pages.feeds import clean, site_of
from kb.pages.page import Page, Unit, address

_SHORT_NAME, _LONG_NAME = 16, 48  # characters that an OpenSearch description has room for
_INK = "#14373d"


def units(desk: Desk) -> Iterator[Unit]:
    """Yield the manifest and, where the site's address is known, the OpenSearch description."""
    yield Unit("web app", partial(pages, desk))


def pages(desk: Desk) -> Iterator[Page]:
    """Yield the manifest and, where the site's address is known, the OpenSearch description."""
    yield manifest(desk)
    if desk.house.site:
        yield opensearch(desk)


def title(desk: Desk) -> str:
    """Return what the site as a whole is called."""
    name = desk.house.name
    return f"{name} service bulletins" if name else "Service bulletins"


def manifest(desk: Desk) -> Page:
    """Return the web app manifest; its addresses are seen from the site's own folder.

    The one exception is the id, which browsers read from the top of the host: two sites under one
    host would be taken for the same. So it is told only where the site's address is known; else
    the address of the start page stands for it, as the standard has it.
    """
    site = site_of(desk)
    members: dict[str, Any] = {
        **({"id": urlsplit(site).path} if site else {}),
        "name": title(desk),
        "short_name": desk.house.name[:12].strip() or "Bulletins",
        "description": "Service bulletins: what applies, what hurts, what to check and order.",
        "lang": desk.house.language,
        "dir": "auto",
        "categories": ["utilities"],
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": _INK,
        "icons": _icons(),
        "shortcuts": _shortcuts(desk),
        "share_target": _share_target(),
    }
    return Page("manifest.webmanifest", "manifest.webmanifest", {"members": members})


def _icons() -> list[dict[str, str]]:
    return [
        {"src": "icon-192.png", "sizes": "192x192", "type": "image/png", "purpose": "any"},
        {"src": "icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "any"},
        {"src": "icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
        {"src": "icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
    ]


def _shortcuts(desk: Desk) -> list[dict[str, Any]]:
    """Return what the app's icon offers at a long press, the likeliest first."""
    places = [("Find", "./#q"), ("Newest bulletins", address("bulletins"))]
    if desk.house.families:
        places.append(("Families", address("families")))
    icons = _icons()[:1]
    return [{"name": name, "url": url, "icons": icons} for name, url in places]


def _share_target() -> dict[str, Any]:
    """Return how shared text comes in: it stands in the search box.

    A title is no question, and an address is none unless nothing else is shared; both keep names
    of their own, so that neither is mistaken for what was asked.
    """
    return {
        "action": "./",
        "method": "GET",
        "params": {"title": "title", "text": "q", "url": "url"},
    }


def opensearch(desk: Desk) -> Page:
    """Return the OpenSearch description: the browser's own search field asks this site.

    Its address template has to be a full one, so it is there only where the site is known.
    """
    data = {
        "short": short_name(desk),
        "long": _cut(title(desk), _LONG_NAME),
        "description": clean(f"Search the {title(desk)}: words, codes, part numbers, models."),
        "language": desk.house.language,
        "site": site_of(desk),
    }
    return Page("opensearch.xml", "opensearch.xml", data)


def short_name(desk: Desk) -> str:
    """Return the name in at most 16 characters by which browsers list this search."""
    return _cut(desk.house.name, _SHORT_NAME) or "Bulletins"


def _cut(text: str, most: int) -> str:
    """Return *text* in at most *most* characters, cut behind a whole word where there is one."""
    whole = " ".join(clean(text).split())
    if len(whole) <= most:
        return whole
    words = whole[: most + 1].rpartition(" ")[0]
    return words or whole[:most]
