"""Pages in packs, so that a phone carries a family's pages in a few files and opens them anywhere.

A pack is a piece (see `kb.phone.pieces`): its value is ``[[[path, bytes] …], [[path, bytes] …]]``,
the pages that lie behind it in turn, and the pictures of these pages, which are fetched as they
are. Packs are bundled by the families that their pages belong to. Where a pack ends depends on the
names of the pages beside the cut alone, so a changed page changes its own pack.

The list of all that can be carried is a piece too. Behind its value lie the names of the pieces of
the search and then of the packs, bundle by bundle, five bytes each. The value::

    {"families": [name …], "search": how many pieces, "sizes": [bytes of each piece and pack],
     "bundles": [{"of": [places of families], "bulletins": n, "pictures": bytes, "packs": n}],
     "style": address of the style sheet, "shell": [[path, bytes] …]}

A bundle of no family is for all of them; the place -1 stands for what no family asks for.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from kb.phone.pieces import Atom, Left, Piece, Sizes, cut, pack
from kb.phone.whose import EVERY, REST, Families

# Bytes of pages before packing. They are much alike, so that a pack has about a tenth of them.
_PACKS = Sizes(least=64_000, usual=200_000, most=400_000)
_FEW = 8  # pages that are too few for a bundle of their own
_ALONG = (".svg", ".png", ".ico", ".webmanifest")  # files at the top that travel with the pages

Read = Callable[[str], bytes]


class File(NamedTuple):
    """A file of the site: its path below it and its bytes."""

    path: str
    size: int


@dataclass(slots=True)
class Bundle:
    """What all of these families carry; *packs* by name, *pictures* in bytes."""

    families: Families
    pages: list[File] = field(default_factory=list)
    packs: list[File] = field(default_factory=list)
    bulletins: int = 0
    pictures: int = 0

    @property
    def size(self) -> int:
        """All bytes to fetch."""
        return self.pictures + sum(file.size for file in self.packs)


def bundles(
    files: Iterable[File], whose: Callable[[str], Families], standing: Iterable[str]
) -> list[Bundle]:
    """Return the pages among *files* by the families whose they are, none packed yet.

    *standing* are the paths of the pages of bulletins in force.
    """
    found: dict[Families, Bundle] = {families: Bundle(families) for families in (EVERY, REST)}
    for file in filter(is_packed, files):
        families = whose(file.path)
        found.setdefault(families, Bundle(families)).pages.append(file)
    for bundle in list(found.values()):
        if len(bundle.pages) < _FEW and len(bundle.families) > 1:
            found[EVERY].pages += found.pop(bundle.families).pages
    counted = frozenset(standing)
    for bundle in found.values():
        bundle.bulletins = sum(file.path in counted for file in bundle.pages)
    order = sorted(found.values(), key=lambda bundle: (bundle.families == REST, bundle.families))
    return [bundle for bundle in order if bundle.pages]


def is_packed(file: File) -> bool:
    """Tell whether a file travels in a pack: pages, and what lies at the top beside them."""
    path = file.path
    if path.endswith(".html"):
        return path != "404.html"
    return "/" not in path and path.endswith(_ALONG)


class Filled(NamedTuple):
    """A pack and what it was made from: its pages, and the pictures that these show."""

    pages: tuple[File, ...]
    pictures: tuple[File, ...]
    piece: Left


class Before:
    """The packs of the edition before, by their first page; *changed* are pages made anew since."""

    def __init__(self, packs: Mapping[str, Filled], changed: Collection[str] = ()) -> None:
        self._packs = packs
        self._changed = changed
        self.filled: dict[str, Filled] = {}

    def again(self, pages: tuple[File, ...], pictures: tuple[File, ...]) -> Left | None:
        """Return the pack of these *pages*, if it is there and none of them has changed."""
        found = self._packs.get(pages[0].path)
        if not found or (found.pages, found.pictures) != (pages, pictures):
            return None
        if any(page.path in self._changed for page in pages):
            return None
        return found.piece


def fill(
    bundle: Bundle,
    pictures: Mapping[str, Sequence[File]],
    read: Read,
    before: Before | None = None,
) -> Iterator[Piece | Left]:
    """Pack the pages of *bundle*, one pack in memory at a time.

    *pictures* are those that lie beside a page, by their folder. A pack that is there from *before*
    is not made again.
    """
    known = before or Before({})
    for pages in _turns(bundle.pages):
        atoms = (Atom(file.path, file, file.path, file.size) for file in pages)
        for run in cut(atoms, _PACKS):
            held: tuple[File, ...] = tuple(each.value for each in run)
            beside = tuple(p for file in held for p in pictures.get(folder_of(file.path), ()))
            piece = known.again(held, beside) or _pack([f.path for f in held], beside, read)
            known.filled[held[0].path] = Filled(held, beside, Left(piece.name, piece.size))
            bundle.packs.append(File(piece.name, piece.size))
            bundle.pictures += sum(file.size for file in beside)
            yield piece


def _turns(pages: Sequence[File]) -> Iterator[Sequence[File]]:
    """Yield first what changes with every new bulletin: the start page and lists of bulletins."""
    first = [file for file in pages if _changes_often(file.path)]
    yield first
    yield [file for file in pages if not _changes_often(file.path)]


def _changes_often(path: str) -> bool:
    return path in ("index.html", "bulletins/index.html", "families/index.html") or "/~" in path


def _pack(paths: Sequence[str], pictures: Sequence[File], read: Read) -> Piece:
    contents = [read(path) for path in paths]
    pages = [[path, len(content)] for path, content in zip(paths, contents, strict=True)]
    return pack([pages, [list(file) for file in pictures]], b"".join(contents))


def folder_of(path: str) -> str:
    """Return the folder of a path below the site, "" for the site's own."""
    return path.rpartition("/")[0]


class Carriage(NamedTuple):
    """All that can be carried: the *list* as a piece, and the bytes of everything on it."""

    list: Piece
    whole: int


def carriage(
    bundles: Sequence[Bundle],
    families: Iterable[str],
    search: Sequence[Piece | Left],
    shell: Sequence[File],
    style: str,
) -> Carriage:
    """Return the list of *bundles* as packed, the pieces of the *search*, and the *shell*.

    The shell is what every page is shown with: style sheet and scripts. *families* are all of the
    house, in its own order.
    """
    places = {"": -1, **{name: at for at, name in enumerate(families)}}
    packs = [file for bundle in bundles for file in bundle.packs]
    pieces = [*(File(piece.name, piece.size) for piece in search), *packs]
    value = {
        "families": list(places)[1:],
        "style": style,
        "bundles": [_told(bundle, places) for bundle in bundles],
        "search": len(search),
        "sizes": [piece.size for piece in pieces],
        "shell": [list(file) for file in shell],
    }
    made = pack(value, b"".join(bytes.fromhex(piece.path) for piece in pieces))
    whole = sum(file.size for file in (*pieces, *shell)) + sum(b.pictures for b in bundles)
    return Carriage(made, whole + len(made.content))


def _told(bundle: Bundle, places: Mapping[str, int]) -> Mapping[str, Any]:
    return {
        "of": [places[name] for name in bundle.families],
        "bulletins": bundle.bulletins,
        "pictures": bundle.pictures,
        "packs": len(bundle.packs),
    }
