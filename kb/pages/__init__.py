"""The pages of the site: what each shows, without a word on how it looks.

Every page is made from the house and the day alone, so that the same input gives the same site,
byte for byte. The templates decide the looks, `kb.render` joins the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from kb.making import facts
from kb.pages import bulletins, feeds, front, models, parts, roundups, ways, webapp
from kb.pages.assets import Pictures, own_assets, style
from kb.pages.desk import Desk
from kb.pages.page import Asset, Group, Page, Unit
from kb.pages.scripts import script_assets, scripts
from kb.records import House

__all__ = [
    "Asset", "Desk", "Group", "Page", "Shell", "Unit", "all_pages", "assets", "groups", "sitemap",
    "units",
]  # fmt: skip

MISSING = "404.html"


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


def groups(desk: Desk, start: str) -> tuple[Group, ...]:
    """Return every page of the site but the sitemap, in units to be made together, in order.

    *start* is the address below the site of the piece of data that the front page's search begins
    with. Pages come with what every page carries.
    """
    pictures = Pictures(desk.house)
    shell = shell_of(desk.house)
    shown = (
        Group("front", frozenset(), lambda: front.units(desk, start)),
        Group("bulletins", _pages_of("bulletins"), lambda: bulletins.units(desk, pictures)),
        Group("models", frozenset(), lambda: models.units(desk)),
        Group("ways", _pages_of(*ways.KINDS), lambda: ways.units(desk)),
        Group("parts", _pages_of("parts"), lambda: parts.units(desk)),
        Group("roundups", frozenset((facts.STANDING,)), lambda: roundups.units(desk)),
    )
    return (
        *(group._replace(units=partial(_with_shell, group, shell)) for group in shown),
        Group("feeds", frozenset(), lambda: feeds.units(desk)),
        Group("web app", frozenset(), lambda: webapp.units(desk)),
    )


def units(desk: Desk, start: str) -> Iterator[Unit]:
    """Yield the units of all `groups`."""
    for group in groups(desk, start):
        yield from group.units()


def _pages_of(*kinds: str) -> frozenset[str]:
    return frozenset(map(facts.pages, kinds))


def _with_shell(group: Group, shell: Shell) -> Iterator[Unit]:
    for unit in group.units():
        yield Unit(unit.name, partial(_shown, unit, shell))


def _shown(unit: Unit, shell: Shell) -> Iterator[Page | Asset]:
    for each in unit.make():
        if isinstance(each, Page):
            yield replace(each, data={**each.data, "shell": shell})
        else:
            yield each


def sitemap(desk: Desk, paths: Iterable[str]) -> Iterator[Page]:
    """Yield the sitemap of those of *paths* that are pages to be found."""
    found = sorted(p for p in paths if p.endswith(".html") and p != MISSING)
    yield from feeds.sitemap(desk, found)


def all_pages(
    house: House, today: date, desk: Desk | None = None, start: str = ""
) -> Iterator[Page]:
    """Yield every page of the site; none is kept, so a large house needs no more room."""
    desk = desk or Desk(house, today)
    paths: list[str] = []
    for unit in units(desk, start):
        for each in unit.make():
            if isinstance(each, Page):
                paths.append(each.path)
                yield each
    yield from sitemap(desk, paths)


def assets() -> Iterator[Asset]:
    """Yield every file that is the same for every house: style sheet, scripts, icons."""
    yield from own_assets()
    yield from script_assets()
