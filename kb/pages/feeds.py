"""What machines read: Atom feed (RFC 4287), sitemap (protocol 0.9) and web app manifest."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from datetime import date
from urllib.parse import quote
from uuid import NAMESPACE_URL, uuid5

from kb.pages.desk import Desk, newest_first
from kb.pages.page import Page, address
from kb.records import Bulletin

_NEWEST = 40
MOST_ADDRESSES = 50_000
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def feed(desk: Desk) -> Page:
    """Return the Atom feed of the bulletins that stand, the latest changed first."""
    latest = sorted(newest_first(desk.standing), key=changed, reverse=True)[:_NEWEST]
    data = {
        "id": identity(desk),
        "title": _clean(desk.house.name or "Service bulletins"),
        "author": _clean(desk.house.name or "Service desk"),
        "updated": stamp(max(map(changed, latest), default=desk.today)),
        "site": _site(desk),
        "feed_entries": [_entry(bulletin, desk) for bulletin in latest],
    }
    return Page("feed.xml", "feed.xml", data)


def changed(bulletin: Bulletin) -> date:
    """Return the day on which a bulletin was last changed."""
    return max(bulletin.issued, bulletin.revised or bulletin.issued)


def stamp(day: date) -> str:
    """Return a day as a date and time of RFC 3339."""
    return f"{day.isoformat()}T00:00:00Z"


def identity(desk: Desk, number: str = "") -> str:
    """Return the lasting id of the feed or of a bulletin's entry: an IRI that never changes."""
    base = _site(desk) or f"urn:{desk.house.name}/"
    return uuid5(NAMESPACE_URL, base + number).urn


def _site(desk: Desk) -> str:
    return desk.house.site.rstrip("/") + "/" if desk.house.site else ""


def _entry(bulletin: Bulletin, desk: Desk) -> dict[str, str]:
    href = address("bulletins", desk.place(bulletin))
    return {
        "id": identity(desk, bulletin.number),
        "title": _clean(f"{bulletin.number} {bulletin.title}"),
        "href": _site(desk) + (href.removesuffix("index.html") if desk.house.site else href),
        "published": stamp(bulletin.issued),
        "updated": stamp(changed(bulletin)),
        "kind": bulletin.kind,
        "summary": _clean(desk.summary(bulletin)),
    }


def _clean(text: str) -> str:
    """Return *text* without the characters that XML 1.0 has no way to hold."""
    return _NO_XML.sub("", text)


def sitemap(desk: Desk, paths: Sequence[str]) -> Iterator[Page]:
    """Yield the sitemap of all pages in *paths*; a long one is cut, with an index over the pieces.

    A sitemap holds full addresses, so that of a house whose site is not known stays empty.
    """
    site = _site(desk)
    places = [site + quote(path.removesuffix("index.html")) for path in paths] if site else []
    pieces = [places[at : at + MOST_ADDRESSES] for at in range(0, len(places), MOST_ADDRESSES)]
    if len(pieces) < 2:
        yield Page("sitemap.xml", "sitemap.xml", {"places": places})
        return
    names = [f"sitemap-{number}.xml" for number in range(1, len(pieces) + 1)]
    for name, piece in zip(names, pieces, strict=True):
        yield Page(name, "sitemap.xml", {"places": piece})
    yield Page("sitemap.xml", "sitemaps.xml", {"places": [site + name for name in names]})


def manifest(desk: Desk) -> Page:
    """Return the web app manifest; its addresses are seen from the site's own folder."""
    name = desk.house.name
    members = {
        "id": "./",
        "name": f"{name} service bulletins" if name else "Service bulletins",
        "short_name": name[:12].strip() or "Bulletins",
        "lang": desk.house.language,
        "dir": "auto",
        "start_url": "./",
        "scope": "./",
        "display": "standalone",
        "background_color": "#ffffff",
        "theme_color": "#14373d",
        "icons": [
            {"src": "icon-192.png", "sizes": "192x192", "type": "image/png", "purpose": "any"},
            {"src": "icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "any"},
            {"src": "icon-512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
            {"src": "icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any"},
        ],
    }
    return Page("manifest.webmanifest", "manifest.webmanifest", {"members": members})
