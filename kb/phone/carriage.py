"""Everything that a phone can carry of a published site, packed from the files of the site."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, MutableMapping
from dataclasses import dataclass
from typing import Any

from kb.pages.assets import style
from kb.pages.desk import Desk
from kb.pages.page import Asset
from kb.phone import Written
from kb.phone.packs import Before, Bundle, File, bundles, carriage, fill, folder_of, is_packed
from kb.phone.pieces import Left, Piece
from kb.phone.whose import Whose

_SHOWN_BESIDE = "bulletins/"
_SHELL = "assets/"
_PACKS = "packs"


@dataclass(frozen=True, slots=True)
class Pages:
    """The files of the site so far, and which of them are news.

    *changed* are those made anew since the edition before, with their bytes; all others are as they
    were. *same* tells that no page and no picture came, went or changed its turn since then.
    *every* gives all files with their bytes in the order in which they are made.
    """

    changed: Mapping[str, int]
    same: bool
    every: Callable[[], Mapping[str, int]]


def packed(
    desk: Desk,
    written: Written,
    pages: Pages,
    read: Callable[[str], bytes],
    kept: MutableMapping[str, Any],
) -> Iterator[Asset | Left]:
    """Yield the packs of pages, the list of all that can be carried, and the head file.

    Pages are *read* again one by one, so that no more than one pack is in memory. What *kept* holds
    of the edition before, in sections of its own naming, is brought up to date; packs that are
    there from before come without content. It must be empty where all pages may be others.
    """
    files = [File(path, size) for path, size in pages.every().items()]
    before = Before(kept.get(_PACKS, {}), pages.changed)
    standing = {f"bulletins/{desk.place(bulletin)}/index.html" for bulletin in desk.standing}
    found = bundles(files, Whose(desk), standing)
    beside = _pictures(files)
    for bundle in found:
        for piece in fill(bundle, beside, read, before):
            yield piece if isinstance(piece, Left) else _asset(piece)
    kept[_PACKS] = before.filled
    shell = [file for file in files if file.path.startswith(_SHELL)]
    every = carriage(found, desk.house.families, written.every(), shell, style().path)
    yield _asset(every.list)
    yield written.head(carry=every.list.path, whole=every.whole, bulletins=_count(found))


def _pictures(files: list[File]) -> Mapping[str, list[File]]:
    """Return the files that lie beside bulletins, by their folder."""
    found: dict[str, list[File]] = {}
    for file in files:
        if file.path.startswith(_SHOWN_BESIDE) and not is_packed(file):
            found.setdefault(folder_of(file.path), []).append(file)
    return found


def _count(found: list[Bundle]) -> int:
    return sum(bundle.bulletins for bundle in found)


def _asset(piece: Piece) -> Asset:
    return Asset(piece.path, piece.content)
