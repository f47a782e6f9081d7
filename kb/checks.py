"""The order of checks that finds the cause soonest, and how long an order takes on average.

With one fault and checks that do not disturb each other, going by likelihood ÷ minutes, highest
first, takes the least time on average (Kadane & Simon 1977; Heckerman, Breese & Rommelse, CACM
38(3), 1995). ``last`` and ``before`` bind that order: then the best of the permitted orders is
found by dynamic programming over the sets of checks already done. The rule does not hold where
checks share work, such as one panel that must come off for several of them: ``before`` says so.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from functools import lru_cache

from kb.errors import KbError
from kb.folding import fold_name
from kb.records import Check

EXACT_LIMIT = 16

_Order = tuple[int, ...]
_Earlier = Mapping[int, frozenset[int]]


class OrderError(KbError):
    """``before`` or ``last`` ask for an order that cannot be."""


def best_order(checks: Sequence[Check]) -> tuple[int, ...]:
    """Return the places (from 0) of *checks* in the order of the least expected time.

    Checks marked ``last`` come after all others. ``before`` on a check names the causes that must
    be checked before it. Equal ones keep their written order. The order is exact where nothing
    binds it and for up to 16 bound checks on either side of ``last``; beyond that the check that
    is most worth its minutes, together with all that must come before it, is taken next.

    Raises OrderError where ``before`` names an unknown cause, goes round in a ring, or holds a
    check behind one that is marked ``last``.
    """
    return _best_order(tuple(checks))


@lru_cache(maxsize=1024)
def _best_order(checks: tuple[Check, ...]) -> _Order:
    earlier = _earlier(checks)
    first = [place for place, check in enumerate(checks) if not check.last]
    last = [place for place, check in enumerate(checks) if check.last]
    return _group_order(checks, first, earlier) + _group_order(checks, last, earlier)


def expected_minutes(checks: Sequence[Check], order: Sequence[int]) -> float:
    """Return the minutes until the cause is found, on average, checking in *order*.

    Reckoned for a cause that is one of those listed: the sum of likelihood × minutes spent up to
    and with each check, over the sum of the likelihoods. What the likelihoods leave of 1 belongs
    to no check; it would add the same to every order. Without any likelihood, each check counts
    the same. Zero for no checks.
    """
    likely = [_figure(check.likelihood) for check in checks]
    if not any(likely[place] for place in order):
        likely = [Fraction(1)] * len(checks)
    spent = total = Fraction(0)
    for place in order:
        spent += _figure(checks[place].minutes)
        total += likely[place] * spent
    whole = sum(likely[place] for place in order)
    return float(total / whole) if whole else 0.0


@lru_cache(maxsize=1024)
def _figure(value: float) -> Fraction:
    """Return a likelihood or time as typed (0.1 is one tenth), nothing below 0 or endless."""
    return Fraction(repr(float(value))) if value > 0 and math.isfinite(value) else Fraction(0)


def _worth(likelihood: Fraction, minutes: Fraction) -> tuple[bool, Fraction]:
    """Return likelihood ÷ minutes to compare by; what takes no time comes before all else."""
    if not minutes:
        return bool(likelihood), Fraction(0)
    return False, likelihood / minutes


# What must come before what


def _earlier(checks: Sequence[Check]) -> _Earlier:
    """Return, for each check, the checks that ``before`` puts ahead of it."""
    places: dict[str, list[int]] = {}
    for place, check in enumerate(checks):
        places.setdefault(fold_name(check.cause), []).append(place)
    earlier = {
        place: frozenset(
            ahead for cause in check.before for ahead in _places_of(cause, check, places)
        )
        for place, check in enumerate(checks)
    }
    _refuse_behind_last(checks, earlier)
    _refuse_rings(checks, earlier)
    return earlier


def _places_of(cause: str, check: Check, places: Mapping[str, list[int]]) -> list[int]:
    found = places.get(fold_name(cause))
    if found is None:
        raise OrderError(
            f"'{check.cause}' waits for '{cause}', which is no cause of this list",
            "write the cause under 'before' as it stands in its check",
        )
    return found


def _refuse_behind_last(checks: Sequence[Check], earlier: _Earlier) -> None:
    for place, ahead in earlier.items():
        for other in sorted(ahead):
            if checks[other].last and not checks[place].last:
                raise OrderError(
                    f"'{checks[place].cause}' waits for '{checks[other].cause}', "
                    "which is marked 'last'",
                    "take out the 'before', or mark both checks 'last'",
                )


def _refuse_rings(checks: Sequence[Check], earlier: _Earlier) -> None:
    waiting = {place: set(ahead) for place, ahead in earlier.items()}
    while free := [place for place, ahead in waiting.items() if not ahead]:
        for place in free:
            del waiting[place]
        for ahead in waiting.values():
            ahead.difference_update(free)
    if waiting:
        ring = " waits for ".join(f"'{checks[place].cause}'" for place in _ring(waiting))
        raise OrderError(f"{ring}: none of them can come first", "take out one 'before' of them")


def _ring(waiting: Mapping[int, set[int]]) -> list[int]:
    """Return a ring in *waiting*, where all wait; its first place stands again at its end."""
    path = [min(waiting)]
    while True:
        ahead = min(place for place in waiting[path[-1]] if place in waiting)
        path.append(ahead)
        if ahead in path[:-1]:
            return path[path.index(ahead) :]


# The best order of one group


def _group_order(checks: Sequence[Check], places: list[int], earlier: _Earlier) -> _Order:
    """Return the best order of *places*, whose checks all come before or all after the rest."""
    inside = {place: earlier[place] & set(places) for place in places}
    if not any(inside.values()):
        return _by_worth(checks, places)
    if len(places) > EXACT_LIMIT:
        return _worthiest_next(checks, inside)
    return _exact(checks, places, inside)


def _check_worth(check: Check) -> tuple[bool, Fraction]:
    return _worth(_figure(check.likelihood), _figure(check.minutes))


def _by_worth(checks: Sequence[Check], places: Iterable[int]) -> _Order:
    """Return *places* by likelihood ÷ minutes, highest first; equal ones in written order."""
    return tuple(sorted(places, key=lambda place: _check_worth(checks[place]), reverse=True))


def _whole(figures: Sequence[Fraction]) -> list[int]:
    """Return *figures* in one common part, so that sums are exact and fast."""
    part = math.lcm(*(figure.denominator for figure in figures))
    return [int(figure * part) for figure in figures]


def _exact(checks: Sequence[Check], places: Sequence[int], earlier: _Earlier) -> _Order:
    """Return the best permitted order: the cheapest way on from every set of checks done.

    Sets are the bits of a number, a bit for each of *places*. Ways on are compared from the full
    set backwards; of equal ones the check worth more, then the one written first, goes first.
    """
    ranked = _by_worth(checks, places)
    bit = {place: 1 << at for at, place in enumerate(ranked)}
    needs = [sum(bit[ahead] for ahead in earlier[place]) for place in ranked]
    likely = _whole([_figure(checks[place].likelihood) for place in ranked])
    minutes = _whole([_figure(checks[place].minutes) for place in ranked])
    full = (1 << len(ranked)) - 1
    cost, step = [0] * (full + 1), [0] * (full + 1)
    # Placing a check next delays all that are still open, itself included, by its minutes.
    open_likely = [0] * (full + 1)
    for done in range(full - 1, -1, -1):
        lowest = ~done & (done + 1)
        open_likely[done] = open_likely[done | lowest] + likely[lowest.bit_length() - 1]
        best = -1
        for at, need in enumerate(needs):
            if done >> at & 1 or need & ~done:
                continue
            total = minutes[at] * open_likely[done] + cost[done | 1 << at]
            if best < 0 or total < best:
                best, step[done] = total, at
        cost[done] = max(best, 0)
    return _walk(ranked, step, full)


def _walk(ranked: _Order, step: Sequence[int], full: int) -> _Order:
    order, done = [], 0
    while done != full:
        order.append(ranked[step[done]])
        done |= 1 << step[done]
    return tuple(order)


def _worthiest_next(checks: Sequence[Check], earlier: _Earlier) -> _Order:
    """Return a good permitted order for many checks.

    Of the checks still open, the one most worth its minutes together with all that must come
    before it is next, they before it.
    """
    order: list[int] = []
    needs = {place: _closure(place, earlier) for place in earlier}
    while len(order) < len(earlier):
        open_needs = {p: needs[p].difference(order) for p in sorted(earlier) if p not in order}
        chosen = max(open_needs, key=lambda place: _together(checks, open_needs[place]))
        order.extend(_permitted(open_needs[chosen], earlier, lambda p: _check_worth(checks[p])))
    return tuple(order)


def _closure(place: int, earlier: _Earlier) -> frozenset[int]:
    found, fresh = {place}, [place]
    while fresh:
        ahead = earlier[fresh.pop()] - found
        found |= ahead
        fresh.extend(ahead)
    return frozenset(found)


def _together(checks: Sequence[Check], places: Iterable[int]) -> tuple[bool, Fraction]:
    members = [checks[place] for place in places]
    likelihood = sum((_figure(c.likelihood) for c in members), Fraction(0))
    return _worth(likelihood, sum((_figure(c.minutes) for c in members), Fraction(0)))


def _permitted(
    places: frozenset[int], earlier: _Earlier, worth: Callable[[int], tuple[bool, Fraction]]
) -> list[int]:
    """Return *places* in a permitted order, at each turn the free one that is worth most."""
    order: list[int] = []
    while left := sorted(places.difference(order)):
        free = [place for place in left if not (earlier[place] & set(left))]
        order.append(max(free, key=worth))
    return order
