"""What goes into the van: which parts are needed how likely, and which faults that puts right.

The bulletins that answer a complaint are rival explanations of one fault. Each has a *weight*, the
chance that it is the right one; the weights add up to 1. Within a bulletin the checks are rivals
too: their likelihoods are taken as written (what they leave of 1 belongs to causes that nobody
listed), scaled down where they add up to more than 1, and equal where none is given. A cause
without a likelihood beside others counts as the least of them, within what they leave of 1.

- A part is needed by a bulletin with the likelihoods of the causes that name it added up; with 1
  where it stands under ``parts`` and no cause names it.
- Over rival bulletins these are added, each times its weight.
- Work that is due on any visit (a recall) comes on top, independent of the fault:
  1 − (1 − fault) × (1 − due).

Rivals share a part, for only one of them is the fault: the greatest quantity is packed. What is
due on any visit is packed in addition. Nothing is read or written here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod

from kb.catalogue import Ordered
from kb.checks import expected_minutes
from kb.folding import fold
from kb.jobs import Job
from kb.records import Check, PartStatus
from kb.supply import Supplier, Supply


@dataclass(frozen=True, slots=True)
class Candidate:
    """One bulletin of a visit: *weight* as rival explanation, *due* as work on any visit (0..1)."""

    job: Job
    weight: float = 0.0
    due: float = 0.0

    @property
    def chance(self) -> float:
        """How likely the bulletin's work is to be done: as what is due, or as the fault."""
        return max(self.weight, self.due)


@dataclass(frozen=True, slots=True)
class Part:
    """A part to take along under the number to order today.

    *together* tells that never just one of them is replaced, *bulletins* who asks for it.
    """

    number: str
    quantity: int
    name: str
    status: PartStatus
    likelihood: float
    in_hand: bool
    together: bool
    bulletins: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """A part that a bulletin asks for and that is not packed, and why."""

    number: str
    bulletin: str
    why: str


@dataclass(frozen=True, slots=True)
class Need:
    """How a number to order is needed by one bulletin: if at all, with *share*."""

    line: Ordered
    share: float
    quantity: int
    in_hand: bool
    together: bool


@dataclass(frozen=True, slots=True)
class Pack:
    """What one bulletin asks to be packed; *causes* are shares, each with whether it is covered."""

    needs: tuple[Need, ...]
    missing: tuple[Missing, ...]
    causes: tuple[tuple[float, bool], ...]


def shares(checks: Sequence[Check]) -> list[float]:
    """Return how likely each cause is, where the bulletin is the right one; at most 1 together.

    >>> shares([Check(cause="a", likelihood=0.6), Check(cause="b", likelihood=0.9)])
    [0.4, 0.6]
    """
    given = [max(check.likelihood, 0.0) for check in checks]
    total = sum(given)
    if checks and not total:
        return [1 / len(checks)] * len(checks)
    untold = [share for share in given if not share]
    left = max(1 - total, 0.0) / max(len(untold), 1)
    least = min((share for share in given if share), default=0.0)
    return [share / max(total, 1.0) if share else min(least, left) for share in given]


def labour(job: Job) -> float | None:
    """Return the minutes that a bulletin tells, else those until its cause is found, or None."""
    if job.minutes is not None:
        return job.minutes
    return expected_minutes(job.checks, job.order) if job.checks else None


def expected_labour(candidates: Iterable[Candidate]) -> float:
    """Return the minutes that a visit takes on average; bulletins that tell none are left out.

    One rival's labour, each by its weight, and all that is due on any visit, by its chance.
    """
    every = [(c, minutes) for c in candidates if (minutes := labour(c.job)) is not None]
    rivals = [(c.weight, minutes) for c, minutes in every if not c.due]
    known = sum(weight for weight, _ in rivals)
    fault = sum(weight * minutes for weight, minutes in rivals) / known if known else 0.0
    due = sum(c.chance * minutes for c, minutes in every if c.due)
    taken = sum(c.weight for c, _ in every if c.due)
    return fault * (1 - min(taken, 1.0)) + due


# One bulletin


def pack(candidate: Candidate, supplier: Supplier, kept: Mapping[str, str]) -> Pack:
    """Return what *candidate* asks for.

    *kept* holds the folded numbers that are to be left in, with the bulletin that says so; work
    that is due on any visit has its parts all the same.
    """
    job = candidate.job
    chances = shares(job.checks)
    occasions = [(1.0, _always(job))]
    occasions += [(s, _of_check(c, job)) for s, c in zip(chances, job.checks, strict=True)]
    supplied = [
        [(n, _supply(n, job, supplier, {} if candidate.due else kept)) for n in numbers]
        for _, numbers in occasions
    ]
    failed = [_failed(each) for each in supplied]
    missing = {n: Missing(s.asked, job.number, s.why) for each in failed for n, s in each}
    causes = [(c, not failed[0] and not failed[at]) for at, c in enumerate(chances, 1)]
    return Pack(
        needs=tuple(_needs(job, [share for share, _ in occasions], supplied)),
        missing=tuple(missing.values()),
        causes=tuple(causes or [(1.0, not failed[0])]),
    )


def _failed(supplied: Sequence[tuple[str, Supply]]) -> list[tuple[str, Supply]]:
    """Return what cannot be had; of several parts those for other models are not wanted here."""
    here = any(supply.lines for _, supply in supplied)
    return [(n, s) for n, s in supplied if s.why and not (here and s.elsewhere)]


def _supply(number: str, job: Job, supplier: Supplier, kept: Mapping[str, str]) -> Supply:
    quantity = sum(line.quantity for line in job.lines if fold(line.number) == number)
    written = [line.number for line in job.lines] + [n for c in job.checks for n in c.parts]
    typed = next(each for each in written if fold(each) == number)
    found = supplier.supply(typed, quantity or 1)
    ways = {number, *(fold(line.number) for line in found.lines)}
    keeper = next((kept[way] for way in sorted(ways) if way in kept), "")
    return replace(found, lines=(), why=f"{keeper} says to leave it in") if keeper else found


def _named(job: Job) -> set[str]:
    return {fold(part) for check in job.checks for part in check.parts}


def _set(job: Job) -> list[str]:
    """Return the folded numbers of which never just one is replaced."""
    return list(dict.fromkeys(fold(line.number) for line in job.lines if line.all))


def _always(job: Job) -> list[str]:
    """Return the folded numbers needed whatever the cause.

    A set goes with the check that names one of it.
    """
    named, together = _named(job), _set(job)
    tied = set(together) if named & set(together) else set()
    numbers = dict.fromkeys(fold(line.number) for line in job.lines)
    return [n for n in numbers if n not in named and n not in tied]


def _of_check(check: Check, job: Job) -> list[str]:
    numbers = list(dict.fromkeys(fold(part) for part in check.parts))
    together = _set(job)
    return list(dict.fromkeys(numbers + together)) if set(numbers) & set(together) else numbers


def _needs(
    job: Job, chances: Sequence[float], supplied: Sequence[Sequence[tuple[str, Supply]]]
) -> Iterator[Need]:
    """Yield each number to order: certain where it is always needed, else by its causes."""
    in_hand = {fold(line.number) for line in job.lines if line.in_hand}
    together = set(_set(job))
    lines: dict[str, tuple[Ordered, set[str]]] = {}
    amounts = [_amounts(each) for each in supplied]
    for number, found in (pair for each in supplied for pair in each):
        for line in found.lines:
            lines.setdefault(fold(line.number), (line, set()))[1].add(number)
    for key, (line, asked) in lines.items():
        always = amounts[0].get(key, 0)
        causes = [amount.get(key, 0) for amount in amounts[1:]]
        share = sum(c for c, count in zip(chances[1:], causes, strict=True) if count)
        yield Need(
            line=line,
            share=1.0 if always else share,
            quantity=always + max(causes, default=0),
            in_hand=bool(asked & in_hand),
            together=bool(asked & together),
        )


def _amounts(supplied: Iterable[tuple[str, Supply]]) -> dict[str, int]:
    """Return how many of each number to order one occasion takes; parts share their kit."""
    found: dict[str, int] = {}
    for _, supply in supplied:
        for line in supply.lines:
            key, held = fold(line.number), found.get(fold(line.number), 0)
            found[key] = max(held, line.quantity) if supply.in_kit else held + line.quantity
    return found


# All bulletins together


def parts(packs: Sequence[tuple[Candidate, Pack]]) -> list[Part]:
    """Return what to take along, the likeliest first, then by number."""
    wanted: dict[str, list[tuple[Candidate, Need]]] = {}
    for candidate, packed in packs:
        for need in packed.needs:
            wanted.setdefault(fold(need.line.number), []).append((candidate, need))
    return sorted(map(_part, wanted.values()), key=lambda part: (-part.likelihood, part.number))


def _part(wanted: Sequence[tuple[Candidate, Need]]) -> Part:
    line = wanted[0][1].line
    rivals = [need.quantity for candidate, need in wanted if not candidate.due]
    due = [need.quantity for candidate, need in wanted if candidate.due]
    fault = sum(candidate.weight * need.share for candidate, need in wanted if not candidate.due)
    unneeded = prod(1 - c.chance * need.share for c, need in wanted if c.due)
    return Part(
        number=line.number,
        quantity=max(rivals, default=0) + sum(due),
        name=line.name,
        status=line.status,
        likelihood=1 - (1 - min(fault, 1.0)) * unneeded,
        in_hand=any(need.in_hand for _, need in wanted),
        together=any(need.together for _, need in wanted),
        bulletins=tuple(candidate.job.number for candidate, _ in wanted),
    )


def covered(packs: Iterable[tuple[Candidate, Pack]]) -> float:
    """Return the share (0..1) of the listed causes, by likelihood, that can be put right."""
    causes = [(c.weight * share, done) for c, packed in packs for share, done in packed.causes]
    whole = sum(share for share, _ in causes)
    return sum(share for share, done in causes if done) / whole if whole else 0.0
