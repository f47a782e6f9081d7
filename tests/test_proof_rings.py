"""Rings in a graph of names, held against a plain search from every name."""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.proof.rings import rings

GRAPHS = st.dictionaries(
    st.sampled_from("abcdefgh"), st.lists(st.sampled_from("abcdefghxy"), max_size=3), max_size=8
)


def _on_a_ring(steps: dict[str, list[str]], start: str) -> bool:
    seen: set[str] = set()
    waiting = list(steps[start])
    while waiting:
        here = waiting.pop()
        if here == start:
            return True
        if here in steps and here not in seen:
            seen.add(here)
            waiting += steps[here]
    return False


@given(GRAPHS)
def test_every_ring_told_is_one(steps: dict[str, list[str]]) -> None:
    for ring in rings(steps):
        assert len(set(ring)) == len(ring) > 0
        for here, there in zip(ring, (*ring[1:], ring[0]), strict=True):
            assert there in steps[here]


@given(GRAPHS)
def test_a_ring_is_told_just_where_there_is_one(steps: dict[str, list[str]]) -> None:
    assert bool(rings(steps)) == any(_on_a_ring(steps, name) for name in steps)


@given(GRAPHS)
def test_no_ring_is_told_twice_and_each_begins_at_its_least_name(
    steps: dict[str, list[str]],
) -> None:
    found = rings(steps)
    assert len(set(found)) == len(found)
    assert all(ring[0] == min(ring) for ring in found)


def test_separate_rings_are_all_told() -> None:
    steps = {"a": ["b"], "b": ["a"], "c": ["c"], "d": ["e"], "e": ["f"], "f": ["d"], "g": ["a"]}
    assert rings(steps) == [("a", "b"), ("c",), ("d", "e", "f")]


@settings(deadline=None, max_examples=20)
@given(st.integers(1, 5_000))
def test_a_long_row_without_a_ring_has_none(length: int) -> None:
    assert rings({str(n): [str(n + 1)] for n in range(length)}) == []


def test_a_long_ring_is_told_whole() -> None:
    steps = {f"{n:05}": [f"{(n + 1) % 20_000:05}"] for n in range(20_000)}
    (ring,) = rings(steps)
    assert len(ring) == 20_000


def _knots(steps: dict[str, list[str]]) -> list[set[str]]:
    """The names that can reach one another and themselves, by a plain search from every name."""
    reach = {name: _reached(steps, name) for name in steps}
    on = [name for name in steps if name in reach[name]]
    found: list[set[str]] = []
    for name in on:
        knot = {other for other in on if other in reach[name] and name in reach[other]}
        if knot not in found:
            found.append(knot)
    return found


def _reached(steps: dict[str, list[str]], start: str) -> set[str]:
    seen: set[str] = set()
    waiting = list(steps.get(start, ()))
    while waiting:
        here = waiting.pop()
        if here in steps and here not in seen:
            seen.add(here)
            waiting += steps[here]
    return seen


@given(GRAPHS)
def test_each_ring_lies_in_one_knot(steps: dict[str, list[str]]) -> None:
    knots = _knots(steps)
    for ring in rings(steps):
        assert sum(set(ring) <= knot for knot in knots) == 1


@given(GRAPHS)
def test_a_ring_taken_apart_and_again_leaves_none_in_the_end(steps: dict[str, list[str]]) -> None:
    left = {name: list(onward) for name, onward in steps.items()}
    for _ in range(30):
        found = rings(left)
        if not found:
            break
        for ring in found:
            after = ring[1] if len(ring) > 1 else ring[0]
            left[ring[0]] = [to for to in left[ring[0]] if to != after]
    assert not any(_on_a_ring(left, name) for name in left)


@given(GRAPHS, st.randoms(use_true_random=False))
def test_the_order_in_which_names_and_steps_are_given_does_not_matter(
    steps: dict[str, list[str]], dice: random.Random
) -> None:
    names = list(steps)
    dice.shuffle(names)
    mixed = {name: dice.sample(steps[name], len(steps[name])) for name in names}
    assert rings(mixed) == rings(steps)


@pytest.mark.parametrize(
    ("steps", "found"),
    [
        ({}, []),
        ({"a": []}, []),
        ({"a": ["a"]}, [("a",)]),
        ({"a": ["b"]}, []),
        ({"a": ["b", "b"], "b": []}, []),
        ({"b": ["a"], "a": ["b"]}, [("a", "b")]),
        ({"a": ["b"], "b": ["c"], "c": ["b"]}, [("b", "c")]),
        ({"a": ["b"], "b": ["a", "c"], "c": []}, [("a", "b")]),
        ({"a": ["x"], "x": ["y"], "y": ["a", "z"]}, [("a", "x", "y")]),
    ],
)
def test_rings_of_small_graphs(steps: dict[str, list[str]], found: list[tuple[str, ...]]) -> None:
    assert rings(steps) == found
