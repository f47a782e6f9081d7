"""Rings in a graph of names, held against a plain search from every name."""

from __future__ import annotations

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
