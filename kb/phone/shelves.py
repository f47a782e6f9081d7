"""The pages of a bundle in the order in which they are packed, and how that is kept.

For every bundle two sections are kept: what changes only where pages come and go, and what changes
with the pages themselves. So one changed page of a large bundle writes little.
"""

from __future__ import annotations

import json
from array import array
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, NamedTuple

from kb.phone.packs import Bundle, File, changes_often
from kb.phone.whose import Families, Whose

Sections = MutableMapping[str, Any]

_LIST = "bundles"


class Turned(NamedTuple):
    """The paths of files that are made one after the other, as they *were* and as they *are*."""

    were: Sequence[str]
    are: Sequence[str]


@dataclass(frozen=True, slots=True)
class Shelf:
    """The pages that one bundle carries: their *paths* and *sizes* in the order of the packs.

    The first of them, *often* by number, are packed apart: they change with every new bulletin.
    *stands* tells of each whether it is the page of a bulletin in force. *pictures* lie beside a
    page, by its path. *merged* are pages of too few to have a bundle, and whose they are. *runs*
    tells how many pages are in each pack, once they are packed.
    """

    paths: Sequence[str]
    sizes: array[int]
    stands: bytearray
    often: int
    pictures: Mapping[str, Sequence[File]] = field(default_factory=dict)
    merged: Mapping[str, Families] = field(default_factory=dict)
    runs: Sequence[int] = ()

    @property
    def shown(self) -> int:
        """The bytes of all pictures."""
        return sum(file.size for files in self.pictures.values() for file in files)

    def renewed(self, news: Mapping[str, int], whose: Whose) -> Shelf | None:
        """Return the shelf with pages made anew, *news* and their bytes; None if one is missing."""
        places = [at for at, path in enumerate(self.paths) if path in news]
        if len(places) < len(news):
            return None
        sizes, stands = array("Q", self.sizes), bytearray(self.stands)
        for at in places:
            path = self.paths[at]
            sizes[at], stands[at] = news[path], whose.stands(path)
        return replace(self, sizes=sizes, stands=stands)

    def turned(self, turned: Turned) -> Shelf | None:
        """Return the shelf with other pages in place of a stretch; None where that is not here.

        Of pages that were not there, `renewed` has still to tell the bytes.
        """
        was, now = turned
        apart = any(
            p in self.merged or p in self.pictures or changes_often(p) for p in (*was, *now)
        )
        if apart or not (was and now) or was[0] not in self.paths:
            return None
        first = self.paths.index(was[0])
        place = slice(first, first + len(was))
        if tuple(self.paths[place]) != tuple(was):
            return None
        old = {path: (self.sizes[at], self.stands[at]) for at, path in enumerate(was, first)}
        new = [old.get(path, (0, 0)) for path in now]
        paths, sizes, stands = list(self.paths), array("Q", self.sizes), bytearray(self.stands)
        paths[place] = now
        sizes[place] = array("Q", [size for size, _ in new])
        stands[place] = bytes(stood for _, stood in new)
        return replace(self, paths=paths, sizes=sizes, stands=stands)


class Listed(NamedTuple):
    """The *bundles* in the order in which they are told, and the *shell* told beside them."""

    bundles: Sequence[Bundle]
    shell: Sequence[File]


def listed(kept: Sections) -> Listed:
    """Return the bundles that were kept, if any."""
    found: Listed = kept.get(_LIST, Listed((), ()))
    return found


def load(kept: Sections, families: Families) -> Shelf:
    """Return the shelf of a bundle that was kept."""
    paths, often, pictures, merged = kept[_key("pages", families)]
    sizes, stands, runs = kept[_key("packs", families)]
    return Shelf(paths.split("\n"), sizes, bytearray(stands), often, pictures, merged, runs)


def save(kept: Sections, shelf: Shelf, families: Families, before: Shelf | None) -> None:
    """Keep the shelf of a bundle; *before* is what was kept of it."""
    if before is None or _still(before) != _still(shelf):
        kept[_key("pages", families)] = ("\n".join(shelf.paths), *_still(shelf)[1:])
    if before is None or _moving(before) != _moving(shelf):
        kept[_key("packs", families)] = _moving(shelf)


def _still(shelf: Shelf) -> tuple[Any, ...]:
    return shelf.paths, shelf.often, shelf.pictures, shelf.merged


def _moving(shelf: Shelf) -> tuple[Any, ...]:
    return shelf.sizes, bytes(shelf.stands), tuple(shelf.runs)


def save_list(kept: Sections, now: Listed, was: Listed) -> None:
    """Keep the list of bundles, and nothing of those that *was* has and *now* has not."""
    stay = {bundle.families for bundle in now.bundles}
    for families in {bundle.families for bundle in was.bundles} - stay:
        for what in ("pages", "packs"):
            kept.pop(_key(what, families), None)
    kept[_LIST] = now


def _key(what: str, families: Families) -> str:
    return f"{what} {json.dumps(families)}"
