"""The files of the site that are no pages: style sheet, icons, and the pictures of bulletins."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from hashlib import sha256
from pathlib import Path, PurePosixPath

from rcssmin import cssmin

from kb.addresses import below
from kb.making import facts
from kb.outlines import Placed
from kb.pages.desk import Desk
from kb.pages.page import Asset
from kb.pictures import SUFFIXES, check_svg, size
from kb.records import Bulletin, House
from kb.resources import folder

FILES = (*SUFFIXES, ".pdf", ".csv", ".txt")
_OWN = (".svg", ".png", ".ico")


def own_assets() -> Iterator[Asset]:
    """Yield the product's own style sheet and icons, at the top of the site."""
    for path in sorted(folder("site").iterdir()):
        if path.suffix in _OWN and path.is_file():
            yield Asset(path.name, path.read_bytes())
    yield style()


def hashed(name: str, data: bytes) -> str:
    """Return the name under which a file is published, new whenever its content is.

    A reader who holds an older page keeps its style sheet, and no cache serves a wrong one.
    """
    stem, _, suffix = name.rpartition(".")
    return f"assets/{stem}.{sha256(data).hexdigest()[:10]}.{suffix}"


@cache
def style() -> Asset:
    """Return the style sheet, without blanks and comments, under a name made from its content."""
    path = folder("site") / "style.css"
    content = str(cssmin(path.read_text(encoding="utf-8"))).encode()
    return Asset(hashed(path.name, content), content)


class Pictures:
    """The files that one house's bulletins show or link to, each read once."""

    def __init__(self, house: House) -> None:
        self._files = set(house.files)
        self._folder = house.folder
        self._read: dict[str, tuple[bytes, tuple[int, int]] | None] = {}

    def place(self, bulletin_folder: str, address: str) -> Placed | None:
        """Return how the page of a bulletin in *bulletin_folder* shows the file at *address*.

        None stands for a file that the house does not hold or that must not be published: a
        drawing with more in it than a drawing needs, or a kind of file that is not known.
        """
        path = below(bulletin_folder, address)
        found = self.load(path) if path else None
        if path is None or found is None:
            return None
        data, (width, height) = found
        return Placed(name_of(path, data), width, height)

    def load(self, path: str) -> tuple[bytes, tuple[int, int]] | None:
        """Return the content and size of a file of the house, or None where it stays inside."""
        if path not in self._read:
            self._read[path] = self._checked(path)
        return self._read[path]

    def _checked(self, path: str) -> tuple[bytes, tuple[int, int]] | None:
        suffix = PurePosixPath(path).suffix.lower()
        if path not in self._files or suffix not in FILES:
            return None
        data = _bytes(self._folder, path)
        if data is None or (suffix == ".svg" and check_svg(data)):
            return None
        return data, (size(path, data) or (0, 0)) if suffix in SUFFIXES else (0, 0)


def _bytes(house: Path, path: str) -> bytes | None:
    """Return a file's content if it truly lies in the house (no link leads out of it)."""
    file = house / path
    try:
        inside = file.resolve().is_relative_to(house.resolve())
        return file.read_bytes() if inside else None
    except OSError:
        return None


def name_of(path: str, data: bytes) -> str:
    """Return the name of a house's file beside the page that shows it."""
    name = PurePosixPath(path)
    stem = "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in name.stem)
    return f"{stem or 'file'}.{sha256(data).hexdigest()[:8]}{name.suffix.lower()}"


def assets_of(bulletin: Bulletin, desk: Desk, pictures: Pictures) -> Iterator[Asset]:
    """Yield every file that a bulletin shows or links to, beside its page."""
    body, home = desk.told(bulletin), desk.folder(bulletin)
    named = {below(home, address) for address in body.files}
    for path in sorted(filter(None, named)):
        desk.saw(facts.file(path))
        found = pictures.load(path)
        if found:
            place = f"bulletins/{desk.place(bulletin)}/{name_of(path, found[0])}"
            yield Asset(place, found[0])
