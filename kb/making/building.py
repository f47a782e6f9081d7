"""Making the files of a site: those whose facts are as they were stay, all others are made anew."""

from __future__ import annotations

from collections.abc import Callable, Collection, Generator, Iterable, Iterator, Mapping
from contextlib import closing
from datetime import date
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from kb.conversion import Line, know, known_lines
from kb.kept import KeptHouse
from kb.making import facts
from kb.making.changes import changed
from kb.making.choosing import Chosen, chosen
from kb.making.keeping import Keeping, Now
from kb.making.kept import Known, Note
from kb.making.ledger import Ledger
from kb.making.memory import Made
from kb.making.phoning import phone_data
from kb.making.seeing import view_of
from kb.making.spreading import spread
from kb.pages import Asset, Desk, Unit, assets, groups, sitemap
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
_MAP = "sitemap"
_ASSETS = "assets"


class File(NamedTuple):
    """A file of the site that is made anew."""

    path: str
    content: bytes


class _MadeNow(NamedTuple):
    """What came of a unit: the facts that it looked up, its files, *lines* if any are new."""

    seen: Collection[str]
    files: list[Copied]
    lines: Mapping[tuple[str, str], Line]


class Building:
    """The making of one edition of a site; *before* is what is known of the one before, if any.

    What the next one will need is kept in *memory*, if there is a place for it. With *compress*
    there are packed copies beside the files (`kb.squeezing`).
    """

    def __init__(
        self,
        house: House,
        today: date,
        before: Known | None = None,
        memory: Path | None = None,
        compress: bool = False,
    ) -> None:
        self._house = house
        self._today = today
        self._compress = compress
        known = (before.places(house), before.families(house)) if before else ()
        self._desk = Desk(house, today, *known)
        self._view = view_of(self._desk, today, compress)
        found = changed(before.view, self._view, self._models) if before else None
        self._changed = found or set()
        self._before = before if found is not None else None  # what can be gone on from
        self._keeping = Keeping(memory, self._before)
        self._renderer = Renderer(self._keeping.templates)
        self._start = ""
        self._phone: PhoneKept | None = None
        self.ledger = Ledger(self._before)

    def _models(self, bulletin: Bulletin) -> list[str]:
        return [model for _, models in self._desk.models_of(bulletin.where) for model in models]

    def keep(
        self, out: Path, note: Note, reading: KeptHouse, proofed: Proofed | None, lasting: bool
    ) -> None:
        """Keep what is to be known of this edition in *out*; all files must have been made.

        *reading* is what the house was read into, *proofed* what its proof found.
        """
        if self._phone is not None:
            now = Now(
                house=self._house,
                view=self._view,
                reading=reading,
                proofed=proofed,
                phone=self._phone,
                start=self._start,
                counts=self.ledger.counts,
            )
            self._keeping.keep(out, note, now, lasting)

    def close(self) -> None:
        """Free what was written for the next edition to know, if it has not been kept."""
        self._keeping.give_up()

    def files(self, read: Read) -> Generator[File, None, None]:
        """Yield every file that is made anew; *read* gives the content of any file of the edition.

        Whoever does not take all of them closes it: helpers may be at work.
        """
        if self._before and not self._changed:
            self._start, self._phone = self._before.edition.start, self._before.phone
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
        if self._before and self._before.edition.start != self._start:
            self._changed.add(facts.START)
        listed = groups(self._desk, self._start)
        choice = chosen(listed, self._before, self._changed)
        yield from self._all(choice)
        every = partial(self.ledger.every, listed, (_MAP, _ASSETS))
        if not self.ledger.same or _MAP in choice.others:
            where = partial(sitemap, self._desk, every())
            made = self._make(Unit(_MAP, where))
            yield from self._noted(_MAP, _MAP, made.seen, made.files)
        # Few or packed already: cheaper to make than to know whether they are as they were.
        yield from self._anew(_ASSETS, assets())
        pages = Pages(self.ledger.changed, self.ledger.turned, every)
        yield from self._anew("data", map(_as_file, written.every()))
        packs = packed(self._desk, written, pages, read, self._keeping.packs)
        yield from self._anew("packs", packs)

    def _all(self, choice: Chosen) -> Iterator[File]:
        """Yield the files of the units that are made anew.

        Units are listed again and again rather than kept, as they are very many.
        """
        self._keeping.gone(choice.gone)
        self.ledger.gone(choice.gone)
        units = partial(map, _unit, choice)
        with closing(spread(units, choice.count, self._make, self._get_ready)) as results:
            for group, unit in choice:
                made = next(results)
                know(made.lines)
                yield from self._noted(group, unit.name, made.seen, made.files)

    def _get_ready(self, units: Iterable[Unit]) -> None:
        """Make a unit of each kind of which there are many, so that what all look up is there."""
        named = ((unit.name.partition(" "), unit) for unit in units)
        for unit in {kind: unit for (kind, _, name), unit in named if name}.values():
            for _ in self._contents(unit):
                pass

    def _make(self, unit: Unit) -> _MadeNow:
        """Make a unit; this may be in a helper."""
        seen = self._desk.seen = set()
        before = len(known_lines())
        made = [self._copied(asset) for asset in self._contents(unit)]
        lines = known_lines()
        return _MadeNow(sorted(seen), made, lines if len(lines) > before else {})

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
        yield from self._noted(name, name, (), map(self._copied, made))

    def _noted(
        self, group: str, name: str, seen: Collection[str], made: Iterable[Copied]
    ) -> Iterator[File]:
        """Yield the files of a unit that are not there from before; *seen* is what it looked up."""
        files: list[tuple[str, int]] = []
        beside: list[str] = []
        for file, *rest in made:
            files.append((file.path, file.size if isinstance(file, Left) else len(file.content)))
            beside += [copy.path for copy in rest]
            for each in (file, *rest):
                if isinstance(each, Asset):
                    yield File(*each)
        done = Made(group, tuple(files), tuple(beside))
        self.ledger.made(name, done)
        self._keeping.made(name, done, seen)


def _as_file(piece: Piece | Left) -> Asset | Left:
    return piece if isinstance(piece, Left) else Asset(piece.path, piece.content)


def _unit(chosen: tuple[str, Unit]) -> Unit:
    return chosen[1]
