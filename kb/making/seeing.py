"""What a house looks like to the pages that are made of it, as plain data to be compared."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cache
from hashlib import sha256
from pathlib import Path

from kb import __version__
from kb.making.changes import View, row_of_kit, row_of_part
from kb.pages import Desk
from kb.records import House
from kb.resources import folder


def view_of(desk: Desk, today: date) -> View:
    """Return what the house of *desk* looks like on the day *today*."""
    house = desk.house
    return View(
        ground=_ground(house),
        today=today.isoformat(),
        bulletins={b.number: b for b in desk.published},
        superseded=desk.superseded,
        families={b.number: tuple(desk.families_of(b)) for b in desk.published},
        places=desk.all_places(),
        parts=[row_of_part(row) for row in house.parts],
        kits=[row_of_kit(row) for row in house.kits],
        files=dict(_files(house)),
    )


def _ground(house: House) -> str:
    """Return a digest of what every page is made from."""
    told = (
        __version__, _program(), house.name, house.language, house.units, house.site, house.contact,
        house.schemes, house.words, house.components, house.codes,
        [replace(family, line=1, lines={}) for family in house.families.values()],
    )  # fmt: skip
    return sha256(repr(told).encode("utf-8", "replace")).hexdigest()


@cache
def _program() -> str:
    """Return what the program's own files look like: names, sizes and times."""
    places = (Path(__file__).parent.parent, folder("templates"), folder("site"))
    looks = sorted(look for place in places for look in _looks(place))
    return sha256(repr(looks).encode()).hexdigest()


def _looks(place: Path) -> Iterator[tuple[str, int, int]]:
    for path in place.rglob("*"):
        if path.suffix in (".py", ".html", ".xml", ".js", ".css", ".svg", ".png", ".json", ".txt"):
            with suppress(OSError):
                look = path.stat()
                yield str(path), look.st_size, look.st_mtime_ns


def _files(house: House) -> Iterator[tuple[str, tuple[int, int]]]:
    """Yield what files look like that are neither bulletins nor tables: pictures and the like."""
    for name in house.files:
        if not name.endswith(".md") and not name.startswith("reference/"):
            with suppress(OSError):
                look = (house.folder / name).stat()
                yield name, (look.st_size, look.st_mtime_ns)
