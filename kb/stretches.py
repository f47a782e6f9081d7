"""When in a model's production a bulletin applies: the answer by day, for the store's plain SQL."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kb.dates import Days
from kb.judge import Case, judge_blocks, plants_of, reached
from kb.ranges import Ranges
from kb.records import Block, Family, Verdict
from kb.serials import Use, uses_of
from kb.units import Reference

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Stretch:
    """Days of production over which the answer for a unit known by model and day is the same."""

    days: Days
    applies: Verdict


def stretches(
    where: tuple[Block, ...], model: str, family: Family, house: Reference
) -> list[Stretch]:
    """Return when *where* applies or may apply to *model*, as stretches of built days in order.

    Plant, revision and serial count as unknown, so a condition on them makes a maybe, unless the
    schemes in use on those days leave but one answer. Nothing is cut to today.
    """
    uses = uses_of(family, house.schemes)
    found: list[Stretch] = []
    starts = _starts(where, Ranges(uses, None)) | set(_edges(days for _, days in uses))
    for days in _pieces(family.produced, starts):
        borne = _borne(uses, days)
        case = Case(
            model=model,
            family=family.name,
            ranges=Ranges(borne, None),
            built=days,
            plants=plants_of(borne),
        )
        _append(found, Stretch(days, judge_blocks(where, case)))
    return [stretch for stretch in found if stretch.applies != "no"]


def by_model(
    where: tuple[Block, ...], models: Iterable[str], family: Family, house: Reference
) -> Iterator[tuple[str, list[Stretch]]]:
    """Yield *models* of one family with their stretches, reckoned once for all reached alike."""
    known: dict[Hashable, list[Stretch]] = {}
    apart = any(map(_names_models, where))
    for model in models:
        marks = reached(where, family.name, model) if apart else ()
        if marks not in known:
            known[marks] = stretches(where, model, family, house)
        yield model, known[marks]


def _names_models(block: Block) -> bool:
    return bool(block.models) or any(map(_names_models, block.but_not))


def _borne(uses: Sequence[Use], days: Days) -> Sequence[Use]:
    """Return the schemes that units of these days can bear; none where nothing is known."""
    return [use for use in uses if use[1].meet(days)]


def _append(found: list[Stretch], stretch: Stretch) -> None:
    """Add a stretch, joined to the one before where the answer is the same."""
    if found and found[-1].applies == stretch.applies:
        found[-1] = Stretch(Days(found[-1].days.first, stretch.days.last), stretch.applies)
    else:
        found.append(stretch)


def _edges(spans: Iterable[Days]) -> Iterator[date]:
    """Yield the first day of each span, and the day behind its last."""
    for days in spans:
        yield from filter(None, (days.first, days.last and days.last + _DAY))


def _starts(where: Iterable[Block], ranges: Ranges) -> set[date]:
    """Return the days on which the answer can change."""
    starts: set[date] = set()
    for block in where:
        starts.update(_edges([block.built] if block.built else []))
        starts.update(_edges(end.days for each in block.serials for end in ranges.of(each)))
        starts |= _starts(block.but_not, ranges)
    return starts


def _pieces(produced: Days, starts: Iterable[date]) -> Iterator[Days]:
    first = produced.first
    for start in sorted(starts):
        if (first is None or first < start) and start in produced:
            yield Days(first, start - _DAY)
            first = start
    yield Days(first, produced.last)
