"""Making the files of a site: those whose facts are as they were stay, all others are made anew."""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Iterable, Iterator
from contextlib import closing
from datetime import date
from functools import partial
from hashlib import sha256
from itertools import compress
from typing import TYPE_CHECKING, NamedTuple

from kb.kept import KeptHouse
from kb.making import facts
from kb.making.changes import changed
from kb.making.kept import Kept, Made
from kb.making.phoning import phone_data
from kb.making.program import program
from kb.making.seeing import view_of
from kb.making.spreading import spread
from kb.pages import Asset, Desk, Unit, assets, sitemap, units
from kb.phone.carriage import Pages, packed
from kb.phone.kept import Kept as PhoneKept
from kb.phone.pieces import Left, Piece
from kb.records import Bulletin, House
from kb.render import Renderer
from kb.squeezing import copies

if TYPE_CHECKING:
    from kb.proof.again import Proofed

Read = Callable[[str], bytes]
Copied = tuple[Asset | Left, ...]  # a file and its packed copies


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
        self._phone: PhoneKept | None = None
        self._anew_since: dict[str, int] = {}  # files that may differ from those before
        self._packs = dict(before.packs) if before and self._changed is not None else {}

    def _models(self, bulletin: Bulletin) -> list[str]:
        return [model for _, models in self._desk.models_of(bulletin.where) for model in models]

    def made(self, reading: KeptHouse, proofed: Proofed | None = None) -> Kept | None:
        """Return what is to be known of this edition when the next one is made; all files must be.

        *reading* is what the house was read into, *proofed* what its proof found.
        """
        if self._phone is None:
            return None
        return Kept(
            program=program(),
            view=self._view,
            units=self._units,
            start=self._start,
            phone=self._phone,
            packs=self._packs,
            reading=reading,
            proofed=proofed,
        )

    def files(self, read: Read) -> Generator[File, None, None]:
        """Yield every file of the site; *read* gives the content of one that was yielded before.

        Whoever does not take all of them closes it: helpers may be at work.
        """
        if self._before and self._changed == set():
            yield from self._as_before(self._before)
            return
        written, self._phone = phone_data(
            self._house,
            self._desk,
            self._today,
            self._before,
            self._view,
            lambda name: read(Left(name, 0).path),
        )
        self._start = written.start.path
        if self._before and self._changed is not None and self._before.start != self._start:
            self._changed.add(facts.START)
        yield from self._all(lambda: units(self._desk, self._start))
        sitemap_unit = self._map()
        yield from self._all(lambda: (sitemap_unit,))
        # Few or packed already: cheaper to make than to know whether they are as they were.
        yield from self._anew("assets", assets())
        yield from self._anew("data", map(_as_file, written.every()))
        units_before = self._before.units if self._before else {}  # the map's name tells all paths
        pages = Pages(self._anew_since, sitemap_unit.name in units_before, lambda: self._sizes)
        packs = packed(self._desk, written, pages, read, self._packs)
        yield from self._anew("packs", packs)

    def _as_before(self, before: Kept) -> Iterator[File]:
        self._units, self._start = dict(before.units), before.start
        self._phone, self._packs = before.phone, dict(before.packs)
        for made in before.units.values():
            yield from _kept(made)

    def _all(self, units: Callable[[], Iterable[Unit]]) -> Iterator[File]:
        """Yield the files of *units*, made anew where anything that one looked up may differ.

        Units are listed again and again rather than kept, as they are very many.
        """
        anew = bytearray(self._stays(unit) is None for unit in units())
        rest = partial(_chosen, units, anew)
        with closing(spread(rest, sum(anew), self._make, self._get_ready)) as results:
            for unit, differs in zip(units(), anew, strict=True):
                if differs:
                    seen, made = next(results)
                    if self._before:
                        self._anew_since.update(_with_bytes(copied[0] for copied in made))
                    yield from self._noted(unit.name, seen, made)
                else:
                    yield from self._as_it_was(unit.name)

    def _stays(self, unit: Unit) -> Made | None:
        """Return how *unit* was made, None where it has to be made anew."""
        made = self._before.units.get(unit.name) if self._before else None
        if made and self._changed is not None and self._changed.isdisjoint(made.facts):
            return made
        return None

    def _as_it_was(self, name: str) -> Iterator[File]:
        assert self._before is not None  # else nothing stays
        made = self._before.units[name]
        self._units[name] = made
        self._sizes.update(made.files)
        yield from _kept(made)

    def _get_ready(self, units: Iterable[Unit]) -> None:
        """Make a unit of each kind of which there are many, so that what all look up is there."""
        named = ((unit.name.partition(" "), unit) for unit in units)
        for unit in {kind: unit for (kind, _, name), unit in named if name}.values():
            for _ in self._contents(unit):
                pass

    def _make(self, unit: Unit) -> tuple[Collection[str], list[Copied]]:
        """Return the facts that *unit* looked up, and its files; this may be in a helper."""
        seen = self._desk.seen = set()
        made = [self._copied(asset) for asset in self._contents(unit)]
        return sorted(seen), made

    def _contents(self, unit: Unit) -> Iterator[Asset]:
        for each in unit.make():
            if isinstance(each, Asset):
                yield each
            else:
                text = self._renderer.text(each)
                yield Asset(each.path, text.encode("utf-8", "replace"))

    def _copied(self, asset: Asset | Left) -> Copied:
        if self._compress and isinstance(asset, Asset):
            return (asset, *copies(*asset))
        return (asset,)

    def _anew(self, name: str, made: Iterable[Asset | Left]) -> Iterator[File]:
        seen = self._desk.seen = set()
        yield from self._noted(name, seen, map(self._copied, made))

    def _noted(self, name: str, seen: Collection[str], made: Iterable[Copied]) -> Iterator[File]:
        """Yield the files of a unit; *seen* is what it looked up when all of it is made."""
        files: list[tuple[str, int]] = []
        beside: list[str] = []
        for file, *rest in made:
            files += _with_bytes([file])
            beside += [copy.path for copy in rest]
            for each in (file, *rest):
                yield File(each.path, None if isinstance(each, Left) else each.content)
        self._sizes.update(files)
        self._units[name] = Made(tuple(sorted(seen)), tuple(files), tuple(beside))

    def _map(self) -> Unit:
        """Return the unit of the sitemap, named by the paths that it is made from."""
        paths = list(self._sizes)
        told = sha256("\n".join(paths).encode("utf-8", "replace")).hexdigest()[:16]
        return Unit(f"sitemap {told}", partial(sitemap, self._desk, paths))


def _as_file(piece: Piece | Left) -> Asset | Left:
    return piece if isinstance(piece, Left) else Asset(piece.path, piece.content)


def _with_bytes(files: Iterable[Asset | Left]) -> Iterator[tuple[str, int]]:
    for file in files:
        yield file.path, file.size if isinstance(file, Left) else len(file.content)


def _chosen(units: Callable[[], Iterable[Unit]], which: Iterable[int]) -> Iterator[Unit]:
    return compress(units(), which)


def _kept(made: Made) -> Iterator[File]:
    for path, _ in made.files:
        yield File(path, None)
    for path in made.copies:
        yield File(path, None)
