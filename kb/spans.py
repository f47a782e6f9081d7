"""Production of a model cut into spans: stretches over which exactly the same bulletins apply."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from kb.dates import Days
from kb.judge import Case, judge_blocks, plants_of, reached, reaches
from kb.prefixrows import PrefixRow, PrefixRows, prefix_table
from kb.ranges import Ranges
from kb.records import Block, Family, Verdict
from kb.scope import by_family
from kb.serials import Use, uses_of
from kb.settle import settle_case
from kb.units import Reference

__all__ = ["PrefixRow", "Span", "Sweep", "for_family", "prefix_table", "spans"]

_DAY = timedelta(days=1)
_State = dict[str, tuple[Verdict, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A stretch of production with one answer: *yes* and *maybe* are bulletin numbers.

    *settle* stands beside *maybe*: what would settle each. *latest* marks the stretch that is
    still being built: its last day is today only because today ends what is known.
    """

    name: str
    days: Days
    yes: tuple[str, ...]
    maybe: tuple[str, ...]
    settle: tuple[str, ...]
    rows: tuple[PrefixRow, ...]
    latest: bool = False


def for_family(
    family: Family, blocks_by_number: Mapping[str, tuple[Block, ...]]
) -> dict[str, tuple[Block, ...]]:
    """Return the bulletins open to some model of *family*: sift once before many models."""
    only = {family.name: family}
    return {
        number: where for number, where in blocks_by_number.items() if any(by_family(where, only))
    }


def _stretches(blocks: Sequence[Block], ranges: Ranges) -> Iterator[Days]:
    """Yield every stretch of days at whose ends the answer of *blocks* can change."""
    for block in blocks:
        if block.built:
            yield block.built
        for serials in block.serials:
            yield from (ends.days for ends in ranges.of(serials))
        if block.plants:
            yield from (days for _, days in ranges.uses)
        yield from _stretches(block.but_not, ranges)


def _cuts(stretches: Iterator[Days], whole: Days) -> list[date]:
    """Return the days after the first of *whole* on which a stretch begins or has just ended."""
    first, last = whole.first or date.min, whole.last or date.max
    days = set()
    for stretch in stretches:
        days.add(stretch.first or first)
        days.add(stretch.last + _DAY if stretch.last and stretch.last < last else first)
    return sorted(day for day in days if first < day <= last)


def _course(
    blocks: Sequence[Block], case: Case, uses: Sequence[Use], whole: Days
) -> Iterator[tuple[date, Verdict, str]]:
    """Yield the days on which the answer of one bulletin changes, with the new answer."""
    starts = [whole.first or date.min, *_cuts(_stretches(blocks, case.ranges), whole)]
    before: tuple[Verdict, str] = ("no", "")
    for start, following in zip(starts, [*starts[1:], None], strict=True):
        days = Days(start, following - _DAY if following else whole.last)
        now = replace(case, built=days, plants=plants_of([u for u in uses if u[1].meet(days)]))
        verdict = judge_blocks(blocks, now)
        told = (verdict, settle_case(blocks, now) if verdict == "maybe" else "")
        if told != before:
            yield start, *told
            before = told


def _known_start(days: Days, uses: Sequence[Use], changes: Sequence[Days]) -> date | None:
    """Return the first day of production, or the first day of which anything is known."""
    known = [d.first for d in (*(use[1] for use in uses), *changes) if d.first]
    return days.first or min(known, default=None)


def _whole(
    family: Family,
    uses: Sequence[Use],
    blocks_by_number: Mapping[str, tuple[Block, ...]],
    today: date,
) -> Days | None:
    known = family.produced.meet(Days(None, today))
    if known is None or known.first:
        return known
    ranges = Ranges(uses, today)
    told = [days for where in blocks_by_number.values() for days in _stretches(where, ranges)]
    first = _known_start(known, uses, told) or date(today.year, 1, 1)
    return Days(min(first, known.last or today), known.last)


def spans(
    family: Family,
    model: str,
    blocks_by_number: Mapping[str, tuple[Block, ...]],
    house: Reference,
    today: date,
) -> tuple[Span, ...]:
    """Return the spans of *model*: `Sweep` for one model alone."""
    return Sweep(family, blocks_by_number, house, today).spans(model)


class Sweep:
    """The spans of one family's models, from the start of production to *today*, oldest first.

    Bulletins keep the order of *blocks_by_number*, in which only those that count now belong.
    One sweep over the starts and ends of all ranges; each bulletin is judged once for each
    stretch between its own ends, and once for all models that its blocks reach alike.
    """

    def __init__(
        self,
        family: Family,
        blocks_by_number: Mapping[str, tuple[Block, ...]],
        house: Reference,
        today: date,
    ) -> None:
        self._family = family
        self._blocks = blocks_by_number
        self._order = {number: at for at, number in enumerate(blocks_by_number)}
        self._uses = uses_of(family, house.schemes)
        self._whole = _whole(family, self._uses, blocks_by_number, today)
        self._running = not family.produced.last or family.produced.last > today
        self._ranges = Ranges(self._uses, today)
        self._rows = PrefixRows(self._uses)
        self._courses: dict[tuple[str, Hashable], list[tuple[date, Verdict, str]]] = {}

    def spans(self, model: str) -> tuple[Span, ...]:
        """Return the spans of *model*."""
        whole = self._whole
        if whole is None:
            return ()
        merged = list(_merged(_sweep(self._changes(model, whole), self._order, whole)))
        return tuple(_named(merged, self._rows, self._running))

    def _changes(self, model: str, whole: Days) -> dict[date, _State]:
        """Return by bulletin the days on which the answer changes and what it is from then on."""
        changes: dict[date, _State] = {}
        for number, where in self._blocks.items():
            marks = reached(where, self._family.name, model)
            if not any(marks):
                continue
            key = (number, marks)
            if key not in self._courses:
                self._courses[key] = list(self._course(where, model, whole))
            for day, verdict, settle in self._courses[key]:
                changes.setdefault(day, {})[number] = (verdict, settle)
        return changes

    def _course(
        self, where: Sequence[Block], model: str, whole: Days
    ) -> Iterator[tuple[date, Verdict, str]]:
        blocks = [block for block in where if reaches(block, self._family.name, model)]
        case = Case(
            model=model,
            family=self._family.name,
            ranges=self._ranges,
            built=whole,
            plants=None,
        )
        return _course(blocks, case, self._uses, whole)


@dataclass(frozen=True, slots=True)
class _Stretch:
    days: Days
    yes: tuple[str, ...]
    maybe: tuple[str, ...]
    settle: tuple[str, ...]


def _sweep(
    changes: Mapping[date, _State], order: Mapping[str, int], whole: Days
) -> Iterator[_Stretch]:
    """Yield the stretches between one change and the next."""
    first = whole.first or date.min
    state: _State = {}
    starts = sorted({first, *changes})
    for start, following in zip(starts, [*starts[1:], None], strict=True):
        state.update(changes.get(start, {}))
        state = {number: told for number, told in state.items() if told[0] != "no"}
        numbers = sorted(state, key=order.__getitem__)
        maybe = tuple(number for number in numbers if state[number][0] == "maybe")
        yield _Stretch(
            Days(start, following - _DAY if following else whole.last),
            tuple(number for number in numbers if state[number][0] == "yes"),
            maybe,
            tuple(state[number][1] for number in maybe),
        )


def _merged(stretches: Iterator[_Stretch]) -> Iterator[_Stretch]:
    """Yield stretches, neighbours with the same answers made one."""
    held = next(stretches)
    for stretch in stretches:
        if (stretch.yes, stretch.maybe) == (held.yes, held.maybe):
            settle = tuple(map(_either, held.settle, stretch.settle))
            held = replace(held, days=Days(held.days.first, stretch.days.last), settle=settle)
        else:
            yield held
            held = stretch
    yield held


def _either(one: str, other: str) -> str:
    return "; or ".join(dict.fromkeys([*one.split("; or "), *other.split("; or ")]))


def _named(stretches: Sequence[_Stretch], table: PrefixRows, running: bool) -> Iterator[Span]:
    """Yield the spans, each named by its first serial prefix; the day is added to a name taken."""
    taken: set[str] = set()
    for stretch in stretches:
        rows = table.over(stretch.days)
        start = (stretch.days.first or date.min).isoformat()
        begun = [row.first for row in rows if row.days.first == stretch.days.first]
        name = next(iter(begun), start)
        name = f"{name}-{start}" if name in taken else name
        taken.add(name)
        yield Span(
            name=name,
            days=stretch.days,
            yes=stretch.yes,
            maybe=stretch.maybe,
            settle=stretch.settle,
            rows=rows,
            latest=running and stretch is stretches[-1],
        )
