"""Rows of parts.csv and kits.csv for tests, from short lines."""

from __future__ import annotations

from collections.abc import Iterable

from kb.catalogue import Catalogue
from kb.records import PART_STATUSES, RELATIONS, KitRow, PartRow


def part(line: str) -> PartRow:
    """Return the row of ``number,status,replaced_by,relation,models,since,note``, ends left off."""
    number, status, replaced_by, relation, models, since, note = [*line.split(","), *[""] * 6][:7]
    return PartRow(
        number=number,
        name=f"part {number}",
        status=next(known for known in PART_STATUSES if known == status),
        replaced_by=replaced_by,
        relation=next((known for known in RELATIONS if known == relation), None),
        models=tuple(models.split()),
        since_text=since,
        note=note,
    )


def kit(line: str) -> KitRow:
    """Return the row of ``kit,number,quantity``."""
    name, number, quantity = line.split(",")
    return KitRow(kit=name, number=number, quantity=int(quantity))


def catalogue(parts: Iterable[str], kits: Iterable[str] = ()) -> Catalogue:
    """Return a catalogue of short lines."""
    return Catalogue(map(part, parts), map(kit, kits))
