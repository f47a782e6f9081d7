"""Publishing on one screen: a house in, its pages in a folder out; they appear all at once."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import asdict, dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from kb.errors import KbError
from kb.house import read_again
from kb.kept import KeptHouse
from kb.making.counts import Counts, counted
from kb.making.kept import Known, Note, known_of, note_of
from kb.making.memory import Damaged
from kb.output import Output, opened
from kb.output.listing import FOLDER, listed
from kb.output.room import MEMORY, Room, folder_of
from kb.output.theirs import look
from kb.processors import processors
from kb.records import House

if TYPE_CHECKING:
    from kb.making.building import Building
    from kb.proof.again import Proofed

Accept = Callable[[House, "Proofed | None"], "Proofed | None"]
Progress = Callable[[int, int], None]
_LOOKED_AFTER = 50_000  # files of a site that are looked for each time
KEPT = 1  # older editions that stay to go back to, where nothing else is said


@dataclass(frozen=True, slots=True)
class Published:
    """What a publish did: bulletins with a page, all pages, files written, left and removed."""

    bulletins: int
    pages: int
    written: int
    unchanged: int
    removed: int
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Return the figures as `kb publish --json` gives them."""
        return asdict(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How a site is published.

    *keep* older editions stay to go back to; with *compress* packed copies lie beside the files.
    *asked* stands for all that is asked (see `asking`). What is not *lasting* need not outlive the
    machine's end. *progress* is told how many files are made, and of about how many; *waiting* is
    called where another publish has to be waited for.
    """

    keep: int = KEPT
    compress: bool = False
    asked: str = ""
    lasting: bool = True
    progress: Progress = lambda done, total: None
    waiting: Callable[[], None] = lambda: None


def publish(house: House, today: date, out: Path, manner: Manner | None = None) -> Published:
    """Write the site of *house* into *out*: KbError, after which the site is as it was."""
    how = manner or Manner()
    begun = time.perf_counter()
    refuse_mixing(house.folder, out)
    with opened(out, how.keep, how.waiting, how.lasting) as output, _known(output) as before:
        asked = _Asked(house, today, how, begun, KeptHouse(), None)
        return _written(asked, output, before)


def publish_from(
    folder: Path,
    today: date,
    out: Path,
    accept: Accept,
    manner: Manner | None = None,
) -> Published:
    """Read the house in *folder* and write its site into *out*: KbError, as `publish`.

    Of the house only what has changed since the last publish into *out* is read. *accept* is shown
    the house with what the last proof found, and raises what speaks against publishing it; what it
    returns is there for the next publish.
    """
    how = manner or Manner()
    begun = time.perf_counter()
    refuse_mixing(folder, out)
    with opened(out, how.keep, how.waiting, how.lasting) as output, _known(output) as before:
        kept = before.reading if before else KeptHouse()
        house, reading = read_again(folder, kept, processors())
        proofed = accept(house, before.proofed if before else None)
        asked = _Asked(house, today, how, begun, reading, proofed)
        return _written(asked, output, before)


class _Asked(NamedTuple):
    """A publish that is asked for: of what, on what day, how, and since when it is under way."""

    house: House
    today: date
    how: Manner
    begun: float
    reading: KeptHouse
    proofed: Proofed | None


def _written(asked: _Asked, output: Output, before: Known | None) -> Published:
    """Write the site into *output*: KbError."""
    try:
        return _write(asked, output, before)
    except Damaged:  # only what was kept from the edition before: make everything anew
        return _write(asked, output, None)


def _write(asked: _Asked, output: Output, before: Known | None) -> Published:
    from kb.making.building import Building  # loads much that going back has no need of

    how = asked.how
    building = Building(asked.house, asked.today, before, output.memory, how.compress)
    with closing(building):
        done = _published(building, output, asked)
        note = Note(how.asked, done.as_json())
        building.keep(output.out, note, asked.reading, asked.proofed, how.lasting)
    return done


def _published(building: Building, output: Output, asked: _Asked) -> Published:
    """Put every file that is made anew into *output*, and make it the edition that is read."""
    progress, ledger = asked.how.progress, building.ledger
    written = 0
    with closing(building.files(output.read)) as files:
        for count, (path, content) in enumerate(files, 1):
            written += output.put(path, content)
            progress(count, len(output.ours) if ledger.whole else 0)
    progress(len(ledger.new), len(ledger.new))
    if ledger.whole:
        removed = output.finish(ledger.new)
    else:
        removed = output.finish_changed(ledger.new, ledger.removed)
    return _figures(ledger.counts, written, removed, asked.begun)


def asking(house: Path, today: date, compress: bool) -> str:
    """Return what stands for all that is asked of a publish: program, house as it looks, day."""
    from kb.derived import look
    from kb.making.program import program

    told = (program(), look(house, ("",)), today.isoformat(), compress)
    return sha256(repr(told).encode()).hexdigest()


def as_before(asked: str, out: Path) -> Published | None:
    """Return the figures where the site in *out* is what is *asked* for already, else None.

    Of a site of very many files it is taken for granted that none was taken away by hand.
    """
    begun = time.perf_counter()
    place = out.resolve()
    note = note_of(folder_of(place) / MEMORY, place)
    if note is None or note.asked != asked:
        return None
    files = note.figures["written"] + note.figures["unchanged"]
    if files <= _LOOKED_AFTER and look(place, listed(place), Room(place).recall()).missing:
        return None
    took = round(time.perf_counter() - begun, 3)
    return Published(
        **{**note.figures, "written": 0, "unchanged": files, "removed": 0, "seconds": took}
    )


@contextmanager
def _known(output: Output) -> Iterator[Known | None]:
    """Yield what is known of the edition in the output folder, if that is all still there."""
    known = None if output.theirs.missing else known_of(output.memory, output.out)
    try:
        yield known
    finally:
        if known:
            known.close()


def go_back(out: Path, waiting: Callable[[], None] = lambda: None) -> tuple[Published, str]:
    """Return *out* to the edition before, and tell when that was published (UTC): KbError."""
    begun = time.perf_counter()
    with opened(out, waiting=waiting) as output:
        kept = output.back()
    paths = {path for path in listed(output.out) if not path.startswith(FOLDER)}
    changed = {path for path in kept.paths if not path.startswith(FOLDER)}
    done = _figures(counted(paths), len(changed & paths), len(changed - paths), begun)
    return done, kept.published


def _figures(counts: Counts, written: int, removed: int, begun: float) -> Published:
    return Published(
        bulletins=counts.bulletins,
        pages=counts.pages,
        written=written,
        unchanged=counts.files - written,
        removed=removed,
        seconds=round(time.perf_counter() - begun, 3),
    )


def refuse_mixing(house: Path, out: Path) -> None:
    """Refuse an output folder that would mix the site with the house: KbError."""
    inner, outer = out.resolve(), house.resolve()
    if inner == outer or (outer in inner.parents and ".kb" not in inner.relative_to(outer).parts):
        raise KbError(
            f"{out} lies in the house: the site would be mixed with the bulletins",
            "publish beside the house, like --out site",
        )
    if inner in outer.parents:
        raise KbError(
            f"{out} holds the house: the site would be mixed with the bulletins",
            "publish into a folder of its own, like --out site",
        )
