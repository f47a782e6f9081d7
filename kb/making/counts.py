"""How much an edition of a site has."""

from __future__ import annotations

from collections.abc import Collection
from typing import NamedTuple


class Counts(NamedTuple):
    """How many bulletins with a page, pages and files an edition has."""

    bulletins: int
    pages: int
    files: int


def counted(paths: Collection[str]) -> Counts:
    """Return how much there is at these *paths*."""
    return Counts(
        bulletins=sum(map(_is_bulletin, paths)),
        pages=sum(path.endswith(".html") for path in paths),
        files=len(paths),
    )


def _is_bulletin(path: str) -> bool:
    if not path.startswith("bulletins/"):
        return False
    steps = path.split("/")
    return len(steps) == 3 and steps[2] == "index.html"
