"""Which bulletins stand: in force, superseded, withdrawn or draft."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from kb.folding import fold
from kb.records import Bulletin


def superseded_by(bulletins: Iterable[Bulletin]) -> dict[str, str]:
    """Return for each superseded bulletin's folded number the number that supersedes it.

    Only a bulletin whose own status is in force supersedes; of several the latest issued counts.
    """
    found: dict[str, str] = {}
    for bulletin in sorted(bulletins, key=lambda b: (b.issued, b.number)):
        if bulletin.status == "in-force":
            for number in bulletin.supersedes:
                found[fold(number)] = bulletin.number
    return found


def standing(bulletin: Bulletin, superseded: Mapping[str, str]) -> str:
    """Return ``in-force``, ``superseded``, ``withdrawn`` or ``draft``."""
    if bulletin.status == "in-force" and fold(bulletin.number) in superseded:
        return "superseded"
    return bulletin.status


def in_force(bulletins: Iterable[Bulletin]) -> list[Bulletin]:
    """Return the bulletins that are in force and not superseded, in the given order."""
    every = list(bulletins)
    superseded = superseded_by(every)
    return [b for b in every if standing(b, superseded) == "in-force"]
