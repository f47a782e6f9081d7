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

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import accumulate
from typing import Any, NamedTuple

from kb.phone.pieces import Left, Piece, pack
from kb.phone.whose import Families

_ALONG = (".svg", ".png", ".ico", ".webmanifest")  # files at the top that travel with the pages

Read = Callable[[str], bytes]


class File(NamedTuple):
    """A file of the site: its path below it and its bytes."""

    path: str
    size: int


class Bundle(NamedTuple):
    """What all of these families carry: *packs* by name, and bytes of *pictures*.

    *bulletins* are those in force.
    """

    families: Families
    packs: Sequence[File] = ()
    bulletins: int = 0
    pictures: int = 0


def is_packed(path: str) -> bool:
    """Tell whether a file travels in a pack: pages, and what lies at the top beside them."""
    if path.endswith(".html"):
        return path != "404.html"
    return "/" not in path and path.endswith(_ALONG)


def changes_often(path: str) -> bool:
    """Tell whether a page changes with every new bulletin: the start page, lists of bulletins."""
    return path in ("index.html", "bulletins/index.html", "families/index.html") or "/~" in path


class Contents(NamedTuple):
    """What is in a pack: which pages and pictures, and the bytes of the pages."""

    told: Sequence[Sequence[Sequence[Any]]]
    whole: bytes

    def pages(self) -> dict[str, bytes]:
        """Return the bytes of each page by its path."""
        ends = list(accumulate(size for _, size in self.told[0]))
        places = zip(self.told[0], [0, *ends], ends, strict=False)
        return {path: self.whole[first:end] for (path, _), first, end in places}


def contents(paths: Iterable[str], pictures: Iterable[File], read: Read) -> Contents:
    """Return what a pack of the pages at *paths*, as *read* gives them, and *pictures* holds."""
    found = [(path, read(path)) for path in paths]
    pages = [[path, len(content)] for path, content in found]
    return Contents([pages, [list(file) for file in pictures]], b"".join(c for _, c in found))


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
