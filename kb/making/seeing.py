"""What a house looks like to the pages that are made of it, as plain data to be compared."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from datetime import date
from hashlib import sha256

from kb import __version__
from kb.making.changes import View
from kb.making.program import program
from kb.pages import Desk
from kb.records import House


def view_of(desk: Desk, today: date, compress: bool = False) -> View:
    """Return what the house of *desk* looks like on *today*, published with *compress* or not."""
    house = desk.house
    return View(
        ground=_ground(house, compress),
        today=today.isoformat(),
        bulletins={b.number: b for b in desk.published},
        superseded=desk.superseded,
        families={b.number: tuple(desk.families_of(b)) for b in desk.published},
        places=desk.all_places(),
        parts=house.parts,
        kits=house.kits,
        files=dict(_files(house)),
    )


def _ground(house: House, compress: bool) -> str:
    """Return a digest of what every page is made from."""
    told = (
        __version__, program(), compress, house.name, house.language, house.units, house.site,
        house.contact, house.schemes, house.words, house.components, house.codes,
        [replace(family, line=1, lines={}) for family in house.families.values()],
    )  # fmt: skip
    return sha256(repr(told).encode("utf-8", "replace")).hexdigest()


def _files(house: House) -> Iterator[tuple[str, tuple[int, int]]]:
    """Yield what files look like that are neither bulletins nor tables: pictures and the like."""
    for name in house.files:
        if not name.endswith(".md") and not name.startswith("reference/"):
            with suppress(OSError):
                look = (house.folder / name).stat()
                yield name, (look.st_size, look.st_mtime_ns)
