"""Making the files of a site: those whose facts are as they were stay, all others are made anew."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from functools import partial
from hashlib import sha256
from typing import NamedTuple

from kb import phone
from kb.making import facts
from kb.making.changes import changed
from kb.making.kept import Kept, Made
from kb.making.seeing import view_of
from kb.pages import Asset, Desk, Unit, assets, sitemap, units
from kb.phone.carriage import packed
from kb.records import Bulletin, House
from kb.render import Renderer
from kb.squeezing import copies

Read = Callable[[str], bytes]


class File(NamedTuple):
    """A file of the site; *content* is None where it is as it was."""

    path: str
    content: bytes | None


class Building:
    """The making of one edition of a site; *before* is what is known of the one before, if any.

    With *compress* there are packed copies beside the files (`kb.squeezing`).
    """

    def __init__(
        self, house: House, today: date, before: Kept | None, compress: bool = False
    ) -> None:
        self._house = house
        self._today = today
        self._desk = Desk(house, today)
        self._compress = compress
        self._view = view_of(self._desk, today, compress)
        self._before = before
        self._changed = changed(before.view, self._view, self._models) if before else None
        self._renderer = Renderer()
        self._units: dict[str, Made] = {}
        self._sizes: dict[str, int] = {}
        self._start = ""

    def _models(self, bulletin: Bulletin) -> list[str]:
        return [model for _, models in self._desk.models_of(bulletin.where) for model in models]

    @property
    def made(self) -> Kept:
        """What is to be known of this edition when the next one is made; all files must be."""
        return Kept(self._view, self._units, self._start)

    def files(self, read: Read) -> Iterator[File]:
        """Yield every file of the site; *read* gives the content of one that was yielded before."""
        if self._before and self._changed == set():
            yield from self._as_before(self._before)
            return
        written = phone.write(self._house, self._today, self._desk.body)
        self._start = written.start.path
        if self._before and self._changed is not None and self._before.start != self._start:
            self._changed.add(facts.START)
        for unit in units(self._desk, self._start):
            yield from self._unit(unit)
        yield from self._unit(self._map())
        # Few or packed already: cheaper to make than to know whether they are as they were.
        yield from self._anew("assets", assets())
        yield from self._anew("data", (Asset(p.path, p.content) for p in written.pieces()))
        yield from self._anew("packs", packed(self._desk, written, self._sizes, read))

    def _as_before(self, before: Kept) -> Iterator[File]:
        self._units, self._start = dict(before.units), before.start
        for made in before.units.values():
            yield from _kept(made)

    def _unit(self, unit: Unit) -> Iterator[File]:
        """Yield the files of *unit*, made anew if anything that it looked up may differ."""
        made = self._before.units.get(unit.name) if self._before else None
        if made and self._changed is not None and self._changed.isdisjoint(made.facts):
            self._units[unit.name] = made
            self._sizes.update(made.files)
            yield from _kept(made)
        else:
            yield from self._anew(unit.name, self._contents(unit))

    def _contents(self, unit: Unit) -> Iterator[Asset]:
        for each in unit.make():
            if isinstance(each, Asset):
                yield each
            else:
                text = self._renderer.text(each)
                yield Asset(each.path, text.encode("utf-8", "replace"))

    def _anew(self, name: str, made: Iterator[Asset]) -> Iterator[File]:
        self._desk.seen = set()
        files, beside = [], []
        for path, content in made:
            files.append((path, len(content)))
            yield File(path, content)
            for copy in copies(path, content) if self._compress else ():
                beside.append(copy.path)
                yield File(*copy)
        self._sizes.update(files)
        self._units[name] = Made(tuple(sorted(self._desk.seen)), tuple(files), tuple(beside))

    def _map(self) -> Unit:
        """Return the unit of the sitemap, named by the paths that it is made from."""
        paths = list(self._sizes)
        told = sha256("\n".join(paths).encode("utf-8", "replace")).hexdigest()[:16]
        return Unit(f"sitemap {told}", partial(sitemap, self._desk, paths))


def _kept(made: Made) -> Iterator[File]:
    for path, _ in made.files:
        yield File(path, None)
    for path in made.copies:
        yield File(path, None)
