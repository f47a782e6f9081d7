"""The pages of the site: what each shows, without a word on how it looks.

Every page is made from the house and the day alone, so that the same input gives the same site,
byte for byte. The templates decide the looks, `kb.render` joins the two.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from kb.pages import bulletins, feeds, front, models, parts, roundups, ways, webapp
from kb.pages.assets import Pictures, own_assets, picture_assets, style
from kb.pages.desk import Desk
from kb.pages.page import Asset, Page
from kb.pages.scripts import script_assets, scripts
from kb.records import House

__all__ = ["Asset", "Desk", "Page", "Shell", "all_pages", "assets"]


@dataclass(frozen=True, slots=True)
class Shell:
    """What every page carries: the house, and where its style sheet and scripts lie.

    *scripts* gives the address below the site of each entry file by its name (``find``, ``job`` …).
    """

    name: str
    language: str
    contact: str
    site: str
    style: str
    scripts: Mapping[str, str]


def shell_of(house: House) -> Shell:
    """Return what every page of *house* carries: nothing of the day, or all would change daily."""
    site = house.site.rstrip("/") + "/" if house.site else ""
    name = house.name or "Service bulletins"
    addresses = {entry: script.path for entry, script in scripts().items()}
    return Shell(name, house.language, house.contact, site, style().path, addresses)


def all_pages(
    house: House, today: date, desk: Desk | None = None, start: str = ""
) -> Iterator[Page]:
    """Yield every page of the site; none is kept, so a large house needs no more room.

    *start* is the address below the site of the piece of data that the front page's search begins
    with.
    """
    desk = desk or Desk(house, today)
    shell = shell_of(house)
    paths: list[str] = []
    for page in _told(desk, start):
        if page.path != "404.html":
            paths.append(page.path)
        yield replace(page, data={**page.data, "shell": shell})
    yield from feeds.feeds(desk)
    yield from webapp.pages(desk)
    yield from feeds.sitemap(desk, sorted(paths))


def _told(desk: Desk, start: str) -> Iterator[Page]:
    yield from front.pages(desk, start)
    yield from bulletins.pages(desk, Pictures(desk.house))
    yield from models.pages(desk)
    yield from ways.pages(desk)
    yield from parts.pages(desk)
    yield from roundups.pages(desk)


def assets(house: House) -> Iterator[Asset]:
    """Yield every file that is no page: style sheet, scripts, icons, pictures of bulletins."""
    yield from own_assets()
    yield from script_assets()
    yield from picture_assets(Desk(house, date.min), Pictures(house))
