"""What machines read to keep up: Atom feeds (RFC 4287) and sitemap (protocol 0.9)."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import partial
from urllib.parse import quote
from uuid import NAMESPACE_URL, uuid5

from kb.folding import fold_name
from kb.making import facts
from kb.pages.desk import Desk, newest_first
from kb.pages.page import Page, Unit, Way, address
from kb.records import Bulletin

_NEWEST = 40
MOST_ADDRESSES = 50_000
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff\ud800-\udfff]")


def units(desk: Desk) -> Iterator[Unit]:
    """Yield the Atom feed of all bulletins that stand, and one for each family."""
    yield Unit("feed", lambda: iter([feed(desk)]))
    for name in desk.house.families:
        yield Unit(f"feed {name}", partial(_family_feed, name, desk))


def _family_feed(name: str, desk: Desk) -> Iterator[Page]:
    yield family_feed(name, desk)


def feed(desk: Desk) -> Page:
    """Return the Atom feed of the bulletins that stand, the latest changed first."""
    about = {
        "id": identity(desk),
        "title": clean(desk.house.name or "Service bulletins"),
        "alternate": "" if desk.house.site else "index.html",
    }
    desk.saw(facts.STANDING)
    return _feed("feed.xml", about, desk.standing, desk)


def family_feed(name: str, desk: Desk) -> Page:
    """Return the Atom feed of the bulletins that can concern a family, beside the family's page.

    An entry has the same id as in the feed of all bulletins: a reader shows it once.
    """
    folder = desk.families.place(fold_name(name))
    page = address("families", folder)
    about = {
        "id": identity(desk, f"families/{folder}"),  # no bulletin's number has a slash in it
        "title": clean(f"{desk.house.name or 'Service bulletins'}: {name}"),
        "alternate": page.removesuffix("index.html") if desk.house.site else page,
    }
    return _feed(feed_path(name, desk), about, desk.families.of(fold_name(name)), desk)


def feed_path(name: str, desk: Desk) -> str:
    """Return the path below the site of a family's feed."""
    return f"families/{desk.families.place(fold_name(name))}/feed.xml"


def feed_way(name: str, desk: Desk) -> Way:
    """Return a family's name with the address of its feed."""
    return Way(name, quote(feed_path(name, desk)))


def _feed(path: str, about: Mapping[str, str], bulletins: Sequence[Bulletin], desk: Desk) -> Page:
    latest = sorted(newest_first(bulletins), key=changed, reverse=True)[:_NEWEST]
    dated: Sequence[Bulletin] = latest
    if not latest:  # it is as old as the house's last change, or it would change every day
        desk.saw(facts.STANDING)
        dated = desk.standing
    data = {
        **about,
        "author": clean(desk.house.name or "Service desk"),
        "updated": stamp(max(map(changed, dated), default=desk.today)),
        "site": site_of(desk),
        "own": quote(path),
        "feed_entries": [_entry(bulletin, desk) for bulletin in latest],
    }
    return Page(path, "feed.xml", data)


def changed(bulletin: Bulletin) -> date:
    """Return the day on which a bulletin was last changed."""
    return max(bulletin.issued, bulletin.revised or bulletin.issued)


def stamp(day: date) -> str:
    """Return a day as a date and time of RFC 3339."""
    return f"{day.isoformat()}T00:00:00Z"


def identity(desk: Desk, number: str = "") -> str:
    """Return the lasting id of the feed or of a bulletin's entry: an IRI that never changes."""
    base = site_of(desk) or f"urn:{desk.house.name}/"
    return uuid5(NAMESPACE_URL, base + number).urn


def site_of(desk: Desk) -> str:
    """Return the address at which the site will stand, with a slash behind it; "" if not known."""
    return desk.house.site.rstrip("/") + "/" if desk.house.site else ""


def _entry(bulletin: Bulletin, desk: Desk) -> dict[str, str]:
    desk.saw(facts.content(bulletin.number))
    href = address("bulletins", desk.place(bulletin))
    return {
        "id": identity(desk, bulletin.number),
        "title": clean(f"{bulletin.number} {bulletin.title}"),
        "href": href.removesuffix("index.html") if desk.house.site else href,
        "published": stamp(bulletin.issued),
        "updated": stamp(changed(bulletin)),
        "kind": bulletin.kind,
        "summary": clean(desk.summary(bulletin)),
    }


def clean(text: str) -> str:
    """Return *text* without the characters that XML 1.0 has no way to hold."""
    return _NO_XML.sub("", text)


def sitemap(desk: Desk, paths: Sequence[str]) -> Iterator[Page]:
    """Yield the sitemap of all pages in *paths*; a long one is cut, with an index over the pieces.

    A sitemap holds full addresses, so that of a house whose site is not known stays empty.
    """
    site = site_of(desk)
    places = [site + quote(path.removesuffix("index.html")) for path in paths] if site else []
    pieces = [places[at : at + MOST_ADDRESSES] for at in range(0, len(places), MOST_ADDRESSES)]
    if len(pieces) < 2:
        yield Page("sitemap.xml", "sitemap.xml", {"places": places})
        return
    names = [f"sitemap-{number}.xml" for number in range(1, len(pieces) + 1)]
    for name, piece in zip(names, pieces, strict=True):
        yield Page(name, "sitemap.xml", {"places": piece})
    yield Page("sitemap.xml", "sitemaps.xml", {"places": [site + name for name in names]})
