"""The order of checks: worked figures, and every permitted order tried one after the other."""

from __future__ import annotations

import json
import math
import time
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.checks import EXACT_LIMIT, OrderError, best_order, expected_minutes
from kb.records import Check

CASES: list[dict[str, Any]] = json.loads(
    (Path(__file__).parent / "cases" / "checks.json").read_text(encoding="utf-8")
)


def _checks(case: dict[str, Any]) -> list[Check]:
    return [
        Check(**{**given_, "before": tuple(given_.get("before", ()))}) for given_ in case["checks"]
    ]


def _check(likelihood: float, minutes: float, **more: Any) -> Check:
    return Check(cause=more.pop("cause", "x"), likelihood=likelihood, minutes=minutes, **more)


@pytest.fixture(params=CASES, ids=lambda case: case["says"])
def case(request: pytest.FixtureRequest) -> dict[str, Any]:
    """Each list of checks that desk and phone share."""
    found: dict[str, Any] = request.param
    return found


def test_the_best_order_is_that_of_the_table(case: dict[str, Any]) -> None:
    checks = _checks(case)
    assert [checks[place].cause for place in best_order(checks)] == case["order"]


def test_the_minutes_of_the_best_order_are_those_of_the_table(case: dict[str, Any]) -> None:
    checks = _checks(case)
    assert expected_minutes(checks, best_order(checks)) == pytest.approx(case["minutes"])


def test_the_minutes_as_written_are_those_of_the_table(case: dict[str, Any]) -> None:
    checks = _checks(case)
    assert expected_minutes(checks, range(len(checks))) == pytest.approx(case["written"])


# The figures below: rule of Kadane & Simon 1977 and of Heckerman, Breese & Rommelse, CACM 38(3),
# 1995; no copy of either with a worked number was found, so they come from trying every order.


@pytest.mark.parametrize(
    ("order", "minutes"),
    [((1, 3, 0, 2), 28.4), ((0, 1, 2, 3), 39.2), ((3, 1, 2, 0), 30.5), ((0, 2, 1, 3), 44.2)],
    ids=["best", "by likelihood alone", "by minutes alone", "motor before fuse"],
)
def test_four_checks_take_as_long_as_reckoned(order: tuple[int, ...], minutes: float) -> None:
    checks = [_check(0.4, 30), _check(0.3, 5), _check(0.2, 20), _check(0.1, 2)]
    assert expected_minutes(checks, order) == pytest.approx(minutes)


def test_the_worst_of_the_24_orders_takes_as_long_as_reckoned() -> None:
    checks = [_check(0.4, 30), _check(0.3, 5), _check(0.2, 20), _check(0.1, 2)]
    worst = max(expected_minutes(checks, order) for order in permutations(range(4)))
    assert worst == pytest.approx(46.3)
    best = [o for o in permutations(range(4)) if expected_minutes(checks, o) < 28.4 + 1e-9]
    assert best == [(1, 3, 0, 2)]


def test_the_same_order_is_best_where_several_actions_may_each_succeed() -> None:
    """Independent chances .1, .5, .3 at cost 1, 6, 4: 8.2 at best, 8.55 at worst."""
    chance, cost = (0.1, 0.5, 0.3), (1, 6, 4)

    def expected(order: Sequence[int]) -> float:
        open_, total = 1.0, 0.0
        for place in order:
            total += open_ * cost[place]
            open_ *= 1 - chance[place]
        return total

    checks = [_check(p, c) for p, c in zip(chance, cost, strict=True)]
    figures = [expected(order) for order in permutations(range(3))]
    assert best_order(checks) == (0, 1, 2)
    assert expected(best_order(checks)) == pytest.approx(8.2) == min(figures)
    assert max(figures) == pytest.approx(8.55)


# Every permitted order


_LIKELY = st.sampled_from([0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, 0.9])
_MINUTES = st.sampled_from([0.5, 1, 2, 3, 5, 10, 15, 30, 60])


@st.composite
def _lists(draw: st.DrawFn, most: int = 6, bound: bool = True) -> list[Check]:
    """Lists of checks; `before` names only causes written earlier in a shuffled list: no rings."""
    count = draw(st.integers(1, most))
    ranks = draw(st.permutations(range(count)))
    last = [bound and draw(st.integers(0, 4)) == 0 for _ in range(count)]
    checks = []
    for place in range(count):
        earlier = [
            other
            for other in range(count)
            if ranks[other] < ranks[place] and (last[place] or not last[other])
        ]
        before = draw(st.lists(st.sampled_from(earlier), max_size=2)) if bound and earlier else []
        checks.append(
            Check(
                cause=f"cause {place}",
                likelihood=draw(_LIKELY),
                minutes=draw(_MINUTES),
                last=last[place],
                before=tuple(f"Cause {other}" for other in before),
            )
        )
    return checks


def _permitted(checks: Sequence[Check], order: Sequence[int]) -> bool:
    at = {place: turn for turn, place in enumerate(order)}
    by_cause = {check.cause.lower(): place for place, check in enumerate(checks)}
    held = all(
        at[by_cause[cause.lower()]] < at[place]
        for place, check in enumerate(checks)
        for cause in check.before
    )
    flags = [checks[place].last for place in order]
    return held and flags == sorted(flags)


def _cost(checks: Sequence[Check], order: Sequence[int]) -> Fraction:
    spent = total = Fraction(0)
    for place in order:
        spent += Fraction(str(checks[place].minutes))
        total += Fraction(str(checks[place].likelihood)) * spent
    return total


@given(_lists())
@settings(max_examples=300, deadline=None)
def test_no_permitted_order_is_better(checks: list[Check]) -> None:
    order = best_order(checks)
    assert _permitted(checks, order)
    orders = [o for o in permutations(range(len(checks))) if _permitted(checks, o)]
    assert _cost(checks, order) == min(_cost(checks, each) for each in orders)


@given(_lists(most=9, bound=False))
@settings(max_examples=200, deadline=None)
def test_the_search_over_sets_finds_the_order_by_worth(checks: list[Check]) -> None:
    """A `before` that holds anyway makes the exact search run: it must not change the order."""
    by_worth = best_order(checks)
    first, second = by_worth[0], by_worth[-1]
    if first == second:
        return
    bound = list(checks)
    bound[second] = Check(
        cause=checks[second].cause,
        likelihood=checks[second].likelihood,
        minutes=checks[second].minutes,
        before=(checks[first].cause,),
    )
    assert best_order(bound) == by_worth


@given(_lists(most=7))
@settings(max_examples=200, deadline=None)
def test_the_minutes_are_those_of_the_sum(checks: list[Check]) -> None:
    order = best_order(checks)
    whole = sum(Fraction(str(check.likelihood)) for check in checks)
    if whole:
        assert expected_minutes(checks, order) == pytest.approx(float(_cost(checks, order) / whole))


@given(_lists(most=7))
@settings(max_examples=100, deadline=None)
def test_the_minutes_lie_between_the_first_check_and_all_of_them(checks: list[Check]) -> None:
    order = best_order(checks)
    minutes = expected_minutes(checks, order)
    assert checks[order[0]].minutes <= minutes + 1e-9
    assert minutes <= sum(check.minutes for check in checks) + 1e-9


# Many checks


def _many(count: int) -> list[Check]:
    return [
        Check(
            cause=f"c{place}",
            likelihood=(place * 7 % 13 + 1) / 200,
            minutes=place * 5 % 11 + 1,
            before=(f"c{place // 2}",) if place % 3 == 2 else (),
        )
        for place in range(count)
    ]


def test_sixteen_bound_checks_are_put_in_order_within_a_second_or_two() -> None:
    start = time.process_time()
    order = best_order(_many(EXACT_LIMIT))
    assert time.process_time() - start < 5
    assert _permitted(_many(EXACT_LIMIT), order)


@pytest.mark.parametrize("count", [17, 25, 60])
def test_more_checks_get_a_permitted_order_better_than_as_written(count: int) -> None:
    checks = _many(count)
    order = best_order(checks)
    assert sorted(order) == list(range(count))
    assert _permitted(checks, order)
    assert expected_minutes(checks, order) < expected_minutes(checks, range(count))


def test_the_order_of_many_checks_is_near_the_exact_one() -> None:
    """A seventeenth check that finds nothing: the quick way against the exact order of 16."""
    checks = _many(16)
    exact = expected_minutes(checks, best_order(checks))
    idle = Check(cause="idle", likelihood=0.0, minutes=1)
    near = expected_minutes([*checks, idle], best_order([*checks, idle]))
    assert exact <= near + 1e-9 <= exact * 1.02


def test_many_free_checks_are_in_the_order_of_their_worth() -> None:
    checks = [_check((place % 7) / 10, place % 5 + 1, cause=str(place)) for place in range(200)]
    worth = [_cost([checks[p]], [0]) / Fraction(checks[p].minutes) ** 2 for p in best_order(checks)]
    assert worth == sorted(worth, reverse=True)


# What cannot be put in order


def _bound(**before: tuple[str, ...]) -> list[Check]:
    return [
        Check(cause=cause, likelihood=0.1, minutes=5, before=ahead)
        for cause, ahead in before.items()
    ]


@pytest.mark.parametrize(
    ("checks", "named"),
    [
        (_bound(a=("b",), b=("a",)), ["'a' waits for 'b' waits for 'a'"]),
        (_bound(a=("a",)), ["'a' waits for 'a'"]),
        (_bound(a=("b",), b=("c",), c=("a",)), ["'a'", "'b'", "'c'"]),
        (_bound(z=("a",), a=("b",), b=("a",)), ["'a' waits for 'b' waits for 'a'"]),
        (_bound(a=("door",), b=()), ["'a' waits for 'door', which is no cause"]),
        (
            [_check(0.1, 5, cause="a", before=("b",)), _check(0.1, 5, cause="b", last=True)],
            ["'a' waits for 'b', which is marked 'last'"],
        ),
    ],
    ids=["pair", "itself", "three", "behind a ring", "unknown cause", "last"],
)
def test_an_order_that_cannot_be_names_the_causes(checks: list[Check], named: list[str]) -> None:
    with pytest.raises(OrderError) as trouble:
        best_order(checks)
    assert all(name in trouble.value.message for name in named)
    assert trouble.value.remedy


def test_a_ring_does_not_name_what_only_waits_for_it() -> None:
    with pytest.raises(OrderError) as trouble:
        best_order(_bound(z=("a",), a=("b",), b=("a",)))
    assert "'z'" not in trouble.value.message


def test_a_last_check_may_wait_for_any_other() -> None:
    checks = [
        _check(0.5, 5, cause="a", last=True, before=("b", "c")),
        _check(0.1, 5, cause="b", last=True),
        _check(0.1, 5, cause="c"),
    ]
    assert best_order(checks) == (2, 1, 0)


def test_a_cause_that_stands_twice_is_waited_for_twice() -> None:
    checks = [
        _check(0.9, 1, cause="a", before=("b",)),
        _check(0.1, 5, cause="b"),
        _check(0.1, 9, cause="B"),
    ]
    assert best_order(checks) == (1, 2, 0)


# Figures that are missing or odd


def test_no_checks_are_no_trouble() -> None:
    assert best_order([]) == ()
    assert expected_minutes([], ()) == 0


@pytest.mark.parametrize("odd", [0.0, -1.0, math.nan, math.inf])
def test_an_odd_likelihood_counts_as_none(odd: float) -> None:
    checks = [_check(odd, 5, cause="a"), _check(0.5, 50, cause="b")]
    assert best_order(checks) == (1, 0)
    assert expected_minutes(checks, (1, 0)) == 50


@pytest.mark.parametrize("odd", [0.0, -1.0, math.nan])
def test_minutes_that_are_missing_do_not_divide_by_zero(odd: float) -> None:
    checks = [_check(0.5, 5, cause="a"), _check(0.5, odd, cause="b")]
    assert best_order(checks) == (1, 0)
    assert expected_minutes(checks, (1, 0)) == 2.5


def test_nothing_known_at_all_stays_as_written() -> None:
    checks = [_check(0, 0, cause=str(place)) for place in range(4)]
    assert best_order(checks) == (0, 1, 2, 3)
    assert expected_minutes(checks, (0, 1, 2, 3)) == 0


def test_tenths_are_compared_as_typed() -> None:
    """0.1 ÷ 1 and 0.3 ÷ 3 are equal to a person; as binary fractions they are not."""
    assert best_order([_check(0.1, 1, cause="a"), _check(0.3, 3, cause="b")]) == (0, 1)
    assert best_order([_check(0.3, 3, cause="a"), _check(0.1, 1, cause="b")]) == (0, 1)


# ---- Laws of the order ----------------------------------------------------------------------


@given(_lists(most=7))
@settings(max_examples=80, deadline=None)
def test_every_check_stands_in_the_order_once_and_where_it_may(checks: list[Check]) -> None:
    order = best_order(checks)
    assert sorted(order) == list(range(len(checks)))
    assert _permitted(checks, order)


@given(_lists(most=7), st.integers(2, 9))
@settings(max_examples=60, deadline=None)
def test_other_units_of_time_or_odds_change_no_order(checks: list[Check], times: int) -> None:
    slower = [replace(check, minutes=check.minutes * times) for check in checks]
    surer = [replace(check, likelihood=check.likelihood / 2) for check in checks]
    order = best_order(checks)
    assert best_order(slower) == order
    assert _cost(checks, best_order(surer)) == _cost(checks, order)
    if any(check.likelihood for check in checks):
        assert expected_minutes(slower, order) == pytest.approx(
            times * expected_minutes(checks, order)
        )


@given(_lists(most=6))
@settings(max_examples=60, deadline=None)
def test_taking_out_a_before_never_makes_it_slower(checks: list[Check]) -> None:
    free = [replace(check, before=()) for check in checks]
    assert _cost(free, best_order(free)) <= _cost(checks, best_order(checks))


@pytest.mark.parametrize(
    ("checks", "message", "remedy"),
    [
        (
            [_check(0.5, 5, cause="A", before=("B",))],
            "'A' waits for 'B', which is no cause of this list",
            "write the cause under 'before' as it stands in its check",
        ),
        (
            [_check(0.5, 5, cause="A", before=("A",))],
            "'A' waits for 'A': none of them can come first",
            "take out one 'before' of them",
        ),
        (
            [
                _check(0.5, 5, cause="A", before=("B",)),
                _check(0.5, 5, cause="B", before=("A",)),
            ],
            "'A' waits for 'B' waits for 'A': none of them can come first",
            "take out one 'before' of them",
        ),
        (
            [_check(0.5, 5, cause="A", before=("B",)), _check(0.5, 5, cause="B", last=True)],
            "'A' waits for 'B', which is marked 'last'",
            "take out the 'before', or mark both checks 'last'",
        ),
    ],
)
def test_an_order_that_cannot_be_says_what_to_do(
    checks: list[Check], message: str, remedy: str
) -> None:
    with pytest.raises(OrderError) as refused:
        best_order(checks)
    assert (refused.value.message, refused.value.remedy) == (message, remedy)
