"""Pages sorted into bundles by the families whose they are."""

from __future__ import annotations

from array import array
from collections.abc import Collection, Container, Mapping, Sequence
from itertools import compress, filterfalse
from typing import NamedTuple

from kb.phone.packs import Bundle, File, changes_often, is_packed
from kb.phone.shelves import Listed, Sections, Shelf, Turned, load
from kb.phone.whose import EVERY, REST, Families, Whose

_FEW = 8  # pages that are too few for a bundle of their own
_SHOWN_BESIDE = "bulletins/"
SHELL = "assets/"


class Work(NamedTuple):
    """A *bundle* as it was packed last, its pages, and these as they were; None for none.

    A bundle without a *shelf* is as it was.
    """

    bundle: Bundle
    shelf: Shelf | None = None
    before: Shelf | None = None


def renewed(
    was: Listed,
    changed: Mapping[str, int],
    turned: Sequence[Turned],
    whose: Whose,
    kept: Sections,
) -> list[Work] | None:
    """Return all bundles where those files *changed* that are told, and others came as *turned*.

    None where that is not all: a page belongs to others now, or the shell is another.
    """
    bundles = {bundle.families: bundle for bundle in was.bundles}
    news: dict[Families, News] = {families: News({}, []) for families in bundles}
    if any(path.startswith(SHELL) for path in changed):
        return None
    for path in filter(is_packed, changed):
        its = news.get(_of_bundle(path, bundles, whose))
        if its is None:
            return None
        its.changed[path] = changed[path]
    for stretch in turned:
        pages = Turned(*(list(filter(is_packed, paths)) for paths in stretch))
        owners = {_of_bundle(path, bundles, whose) for path in pages.are}
        if len(owners) != 1 or pages.were == pages.are or not owners <= news.keys():
            return None  # of the last the pictures are others
        news[owners.pop()].turned.append(pages)
    works = [_renewed(bundles[families], its, whose, kept) for families, its in news.items()]
    found = [work for work in works if work]
    return found if len(found) == len(works) else None


class News(NamedTuple):
    """What is new in a bundle: pages with their bytes, and stretches of other pages than before."""

    changed: dict[str, int]
    turned: list[Turned]


def _of_bundle(path: str, bundles: Container[Families], whose: Whose) -> Families:
    """Return in which bundle a page is to be looked for."""
    families = whose(path)
    return families if families in bundles else EVERY


def _renewed(bundle: Bundle, news: News, whose: Whose, kept: Sections) -> Work | None:
    if not (news.changed or news.turned):
        return Work(bundle)
    before = load(kept, bundle.families)
    if any(before.merged.get(path, bundle.families) != whose(path) for path in news.changed):
        return None
    shelf: Shelf | None = before
    for stretch in news.turned:
        shelf = shelf and shelf.turned(stretch)
    shelf = shelf and shelf.renewed(news.changed, whose)
    return Work(bundle, shelf, before) if shelf and _enough(shelf.paths, bundle.families) else None


def _enough(paths: Sequence[str], families: Families) -> bool:
    """Tell whether pages are enough for a bundle of their own."""
    return len(paths) >= _FEW or len(families) < 2


class _Before:
    """What was kept of all bundles: whose the pages are, and which bulletins stood."""

    def __init__(self, was: Listed, kept: Sections, fresh: Collection[str]) -> None:
        self.bundles = {bundle.families: bundle for bundle in was.bundles}
        self.shelves = {families: load(kept, families) for families in self.bundles}
        self.whose: dict[str, Families] = {}
        self.stood: set[str] = set()
        for families, shelf in self.shelves.items():
            self.whose |= dict.fromkeys(shelf.paths, families)
            self.whose |= shelf.merged
            self.stood.update(compress(shelf.paths, shelf.stands))
        for path in fresh:
            self.whose.pop(path, None)

    def stands(self, path: str, whose: Whose) -> bool:
        """Tell whether a page is one of a bulletin in force; *whose* tells it of news."""
        return path in self.stood if path in self.whose else whose.stands(path)


def sorted_out(
    files: Mapping[str, int],
    fresh: Collection[str],
    whose: Whose,
    was: Listed,
    kept: Sections,
) -> list[Work]:
    """Return all bundles of the pages among *files*, in the order in which they are told.

    Only of pages that are *fresh*, or were not there before, it is asked whose they are.
    """
    before = _Before(was, kept, fresh)
    found = _by_families(files, before, whose)
    merged = _merge_few(found)
    pictures = _pictures(files)
    works = []
    for families in sorted(filter(found.get, found), key=_turn):
        paths = _in_turn(found[families])
        shelf = Shelf(
            paths=paths,
            sizes=array("Q", map(files.__getitem__, paths)),
            stands=bytearray(before.stands(path, whose) for path in paths),
            often=sum(map(changes_often, paths)),
            pictures={path: pictures[path] for path in paths if path in pictures},
            merged=merged if families == EVERY else {},
        )
        bundle = before.bundles.get(families, Bundle(families))
        works.append(Work(bundle, shelf, before.shelves.get(families)))
    return works


def _by_families(
    files: Mapping[str, int], before: _Before, whose: Whose
) -> dict[Families, list[str]]:
    found: dict[Families, list[str]] = {EVERY: [], REST: []}
    known = before.whose
    for path in files:
        if path in known:
            found.setdefault(known[path], []).append(path)
        elif is_packed(path):
            found.setdefault(whose(path), []).append(path)
    return found


def _merge_few(found: dict[Families, list[str]]) -> dict[str, Families]:
    """Put pages that are too few for a bundle with those of all, and return whose they are."""
    merged: dict[str, Families] = {}
    for families, paths in list(found.items()):
        if not _enough(paths, families):
            found[EVERY] += found.pop(families)
            merged |= dict.fromkeys(paths, families)
    return merged


def _pictures(files: Mapping[str, int]) -> dict[str, list[File]]:
    """Return the files that lie beside the pages of bulletins, by the path of the page."""
    found: dict[str, list[File]] = {}
    for path, size in files.items():
        if path.startswith(_SHOWN_BESIDE) and not is_packed(path):
            page = f"{path.rpartition('/')[0]}/index.html"
            found.setdefault(page, []).append(File(path, size))
    return found


def _turn(families: Families) -> tuple[bool, Families]:
    return families == REST, families


def _in_turn(paths: list[str]) -> list[str]:
    """Return first what changes with every new bulletin."""
    often = list(filter(changes_often, paths))
    return [*often, *filterfalse(changes_often, paths)]
