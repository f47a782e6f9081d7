"""Everything that a phone can carry of a published site, packed from the files of the site."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import starmap

from kb.pages.assets import style
from kb.pages.desk import Desk
from kb.pages.page import Asset
from kb.phone import Written
from kb.phone.bundling import SHELL, Work, renewed, sorted_out
from kb.phone.filling import fill
from kb.phone.packs import File, Read, carriage
from kb.phone.pieces import Left, Piece
from kb.phone.shelves import Listed, Sections, Turned, listed, save, save_list
from kb.phone.whose import Whose


@dataclass(frozen=True, slots=True)
class Pages:
    """The files of the site so far, and which of them are news.

    *changed* are those made anew since the edition before, with their bytes; all others are as they
    were. *turned* are the stretches, in the order in which files are made, in which any came, went
    or changed its turn since then; None where nothing is known of that. *every* gives all files
    with their bytes in the order in which they are made.
    """

    changed: Mapping[str, int]
    turned: Sequence[Turned] | None
    every: Callable[[], Mapping[str, int]]


def packed(
    desk: Desk,
    written: Written,
    pages: Pages,
    read: Read,
    kept: Sections,
) -> Iterator[Asset | Left]:
    """Yield the packs of pages, the list of all that can be carried, and the head file.

    Pages are *read* again one by one, so that no more than one pack is in memory. What *kept* holds
    of the edition before, in sections of its own naming, is brought up to date; packs that are
    there from before come without content. It must be empty where all pages may be others.
    """
    for piece in refilled(Whose(desk), pages, read, kept):
        yield _asset(piece) if isinstance(piece, Piece) else piece
    bundles, shell = listed(kept)
    every = carriage(bundles, desk.house.families, written.every(), shell, style().path)
    yield _asset(every.list)
    bulletins = sum(bundle.bulletins for bundle in bundles)
    yield written.head(carry=every.list.path, whole=every.whole, bulletins=bulletins)


def refilled(whose: Whose, pages: Pages, read: Read, kept: Sections) -> Iterator[Piece | Left]:
    """Yield the packs of all bundles and bring *kept* up to date, as `packed` does."""
    was = listed(kept)
    works, shell = _works(whose, pages, was, kept)
    bundles = []
    for bundle, shelf, before in works:
        if shelf:
            bundle, full = yield from fill(bundle, shelf, read, before, pages.changed.keys())
            save(kept, full, bundle.families, before)
        else:
            yield from starmap(Left, bundle.packs)
        bundles.append(bundle)
    save_list(kept, Listed(bundles, shell), was)


def _works(
    whose: Whose, pages: Pages, was: Listed, kept: Sections
) -> tuple[Iterable[Work], Sequence[File]]:
    """Return what there is to do for each bundle, and what every page is shown with."""
    if pages.turned is not None and was.bundles:
        works = renewed(was, pages.changed, pages.turned, whose, kept)
        if works is not None:
            return works, was.shell
    files = pages.every()
    shell = [File(path, size) for path, size in files.items() if path.startswith(SHELL)]
    return sorted_out(files, pages.changed, whose, was, kept), shell


def _asset(piece: Piece) -> Asset:
    return Asset(piece.path, piece.content)
