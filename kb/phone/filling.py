"""Packs filled with pages; those in which nothing changed stay, unread.

Where a pack ends depends on the pages since the last cut and on the next one alone. So pages are
cut anew from the start of a pack in which something changed, and as soon as a new cut falls on an
old one, all that follows is as it was, up to the next change.
"""

from __future__ import annotations

from collections.abc import Collection, Generator, Iterator, Sequence
from dataclasses import replace
from itertools import accumulate, pairwise
from typing import NamedTuple

from kb.phone.packs import Bundle, Contents, File, Read, contents
from kb.phone.pieces import Atom, Left, Piece, Sizes, begins, pack, unpack
from kb.phone.shelves import Shelf

# Bytes of pages before packing. They are much alike, so that a pack has about a tenth of them.
PACKS = Sizes(least=64_000, usual=200_000, most=400_000)


class Cuts(NamedTuple):
    """How pages were cut before: of each pack how many of the pages of now are in its place.

    What is *touched* is not as it was; where a *loose* pack ends has to be looked at again.
    """

    runs: Sequence[int]
    touched: Collection[int]
    loose: Collection[int] = ()


def fill(
    bundle: Bundle, shelf: Shelf, read: Read, before: Shelf | None, fresh: Collection[str] = ()
) -> Generator[Piece | Left, None, tuple[Bundle, Shelf]]:
    """Pack the pages of *shelf*, one pack in memory at a time; return them as packed.

    *bundle* has the packs of *before*, if there were any; *read* gives these too. *fresh* are the
    paths of pages made anew since then.
    """
    cuts = before and cuts_of(before, shelf, fresh)
    cuts = cuts or Cuts([len(shelf.paths)], {0})
    were = dict(zip(_places(cuts.runs), enumerate(bundle.packs), strict=False))
    runs: list[int] = []
    packs: list[File] = []
    for place in cut_again(shelf, cuts):
        at, old = were.get(place, (0, None))
        if old and at not in cuts.touched:
            piece: Piece | Left = Left(*old)
        else:
            piece = _packed(shelf, place, read, old, fresh)
        runs.append(place[1] - place[0])
        packs.append(File(piece.name, piece.size))
        yield piece
    told = Bundle(bundle.families, tuple(packs), shelf.stands.count(1), shelf.shown)
    return told, replace(shelf, runs=tuple(runs))


def _places(runs: Sequence[int]) -> Iterator[tuple[int, int]]:
    return pairwise(accumulate(runs, initial=0))


def _packed(
    shelf: Shelf, place: tuple[int, int], read: Read, old: File | None, fresh: Collection[str]
) -> Piece | Left:
    """Return the pack of the pages at a *place*; *old* is the one that was there.

    Often a page that was made anew came out as it was. Reading a pack is much quicker than making
    one, and saves reading all pages that are not *fresh*.
    """
    paths, pictures = shelf.paths[slice(*place)], shelf.pictures
    shown = [file for path in paths if path in pictures for file in pictures[path]]
    if old is None:
        return pack(*contents(paths, shown, read))
    was = Contents(*unpack(read(Left(*old).path)))
    pages = was.pages()
    now = contents(
        paths,
        shown,
        lambda path: pages[path] if path in pages and path not in fresh else read(path),
    )
    return Left(*old) if now == was else pack(*now)


def cuts_of(before: Shelf, after: Shelf, fresh: Collection[str]) -> Cuts | None:
    """Return how the pages of *after* were cut before; None where they stood in another order."""
    runs = _runs(before, after)
    if runs is None:
        return None
    touched: set[int] = set()
    loose: set[int] = set()
    news = frozenset(fresh) | _shown_otherwise(before, after)
    starts = zip(accumulate(before.runs, initial=0), accumulate(runs, initial=0), strict=True)
    for at, (was, now) in enumerate(zip(starts, zip(before.runs, runs, strict=True), strict=False)):
        old, new = _part(before, was[0], now[0]), _part(after, was[1], now[1])
        if old != new or not news.isdisjoint(new[0]):
            touched.add(at)
        if at and (old[0][:1], old[1][:1]) != (new[0][:1], new[1][:1]):
            loose.add(at - 1)
    return Cuts(runs, touched, loose)


def _part(shelf: Shelf, first: int, count: int) -> tuple[Sequence[str], Sequence[int]]:
    return shelf.paths[first : first + count], shelf.sizes[first : first + count]


def _shown_otherwise(before: Shelf, after: Shelf) -> set[str]:
    paths = before.pictures.keys() | after.pictures.keys()
    return {path for path in paths if before.pictures.get(path) != after.pictures.get(path)}


def _runs(before: Shelf, after: Shelf) -> Sequence[int] | None:
    """Return how many pages stand for each pack; one that came stands with the one before."""
    if before.paths == after.paths:
        return before.runs
    packs = (at for at, count in enumerate(before.runs) for _ in range(count))
    pack_of = dict(zip(before.paths, packs, strict=True))
    stays = [path for path in after.paths if path in pack_of]
    still = frozenset(stays)
    if stays != [path for path in before.paths if path in still]:
        return None
    runs = [0] * len(before.runs)
    at = 0
    for path in after.paths:
        at = pack_of.get(path, at)
        runs[at] += 1
    return runs


def cut_again(shelf: Shelf, cuts: Cuts) -> Iterator[tuple[int, int]]:
    """Yield of each pack the place of its first page and of the one behind it."""
    first = held = end = 0
    for turn, count in enumerate(cuts.runs):
        start, end = end, end + count
        is_open = first < start
        stays = turn not in cuts.touched and turn not in cuts.loose
        if stays and not (is_open and not _begins(shelf, start, held)):
            if is_open:
                yield first, start
            yield start, end
            first, held = end, 0
            continue
        for at in range(start, end):
            if first < at and _begins(shelf, at, held):
                yield first, at
                first, held = at, 0
            held += shelf.sizes[at]
    if first < end:
        yield first, end


def _begins(shelf: Shelf, at: int, held: int) -> bool:
    """Tell whether a pack begins with a page, behind one of *held* bytes."""
    path = shelf.paths[at]
    return at == shelf.often or begins(Atom(path, None, path, shelf.sizes[at]), held, PACKS)
