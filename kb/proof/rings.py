"""Rings in a graph of names: a row of steps that leads back to its own start."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping


def rings(steps: Mapping[str, Iterable[str]]) -> list[tuple[str, ...]]:
    """Return rings among *steps*, at least one of every knot, each beginning at its least name.

    A step from a name to itself is a ring of one. Takes time in proportion to the steps.
    """
    left = _without_ends(steps)
    found: list[tuple[str, ...]] = []
    done: set[str] = set()
    for start in sorted(left):
        way: dict[str, int] = {}
        here = start
        while here not in done and here not in way:
            way[here] = len(way)
            here = min(left[here])
        if here not in done:
            found.append(_from_least(tuple(way)[way[here] :]))
        done.update(way)
    return found


def _without_ends(steps: Mapping[str, Iterable[str]]) -> dict[str, set[str]]:
    """Return the steps without every name from which each way ends."""
    left = {name: {to for to in onward if to in steps} for name, onward in steps.items()}
    back: dict[str, set[str]] = {name: set() for name in left}
    for name, onward in left.items():
        for to in onward:
            back[to].add(name)
    ends = deque(name for name, onward in left.items() if not onward)
    while ends:
        end = ends.popleft()
        del left[end]
        for name in back[end]:
            left[name].discard(end)
            if not left[name]:
                ends.append(name)
    return left


def _from_least(ring: tuple[str, ...]) -> tuple[str, ...]:
    at = ring.index(min(ring))
    return ring[at:] + ring[:at]
