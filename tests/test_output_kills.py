"""A publish that is killed between any two steps leaves the old site or the new, and no work."""

from __future__ import annotations

import os
import random
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.output_kills import CASES, POINTS, Case, Expected, again, quick, set_up
from tests.output_sites import act

__all__ = ["quick"]

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="stops a child of its own by fork")

_POINTS = 9  # of each case, unless KB_POINTS asks for more
_PAIRS = 5


def stopped(out: Path, case: Case, at: int) -> int | None:
    """Publish in a child that is killed at its step *at*; None, or how many steps it took."""
    return killed(lambda: act(out, case.does, case.keep, case.way), out.parent, at)


def killed(acting: Callable[[], object], below: Path, at: int) -> int | None:
    """Act in a child that is killed before its step *at*; None, or how many steps it took."""
    read, write = os.pipe()
    child = os.fork()
    if not child:
        _act_and_die(acting, below, at, write)
    os.close(write)
    with open(read, "rb") as file:
        told = file.read()
    os.waitpid(child, 0)
    assert told[:1] != b"!", told.decode()
    return int(told) if told else None


def _act_and_die(acting: Callable[[], object], below: Path, at: int, write: int) -> None:
    """Never come back."""
    told = b"! failed"
    try:
        steps = _count_steps(str(below), at)
        acting()
        told = str(len(steps)).encode()
    except BaseException as error:
        told = f"! {error!r}".encode()
    finally:
        os.write(write, told)
        os._exit(0)


def _count_steps(below: str, at: int) -> list[str]:
    """Kill this process before step *at* of those that change the file system."""
    steps: list[str] = []

    def step(name: str) -> None:
        if len(steps) == at:
            os.kill(os.getpid(), signal.SIGKILL)
        steps.append(name)

    def audit(event: str, given: tuple[Any, ...]) -> None:
        if event == "open":
            path, mode, flags = given
            writes = (flags or 0) & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            if isinstance(path, str) and path.startswith(below) and writes:
                step(f"open {path} {mode}")
        elif event in {"os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "os.chmod"}:
            step(event)

    def before(call: Callable[..., Any]) -> Callable[..., Any]:
        def stepping(*given: Any) -> Any:
            step(call.__name__)
            return call(*given)

        return stepping

    os.fsync = before(os.fsync)
    sys.addaudithook(audit)
    return steps


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_publish_killed_anywhere_leaves_a_whole_site_and_the_next_one_mends(
    quick: Path, case: Case
) -> None:
    start, expected, place = set_up(case, quick), Expected(case, quick), quick / "run"
    count = stopped(again(start, place), case, -1)
    assert count
    expected.must_be(place / "site", case.new, "not stopped")
    for point in random.Random(case.name).sample(range(count), min(POINTS or _POINTS, count)):
        out = again(start, place)
        assert stopped(out, case, point) is None
        expected.check(out, [point])


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_publish_killed_after_one_that_was_killed_does_no_harm_either(
    quick: Path, case: Case
) -> None:
    start, expected, place = set_up(case, quick), Expected(case, quick), quick / "run"
    count = stopped(again(start, place), case, -1)
    assert count
    chance = random.Random(f"{case.name}, twice")
    for _ in range(POINTS or _PAIRS):
        out = again(start, place)
        stops = [chance.randrange(count) for _ in range(2)]
        for point in stops:
            try:
                stopped(out, case, point)
            except AssertionError as error:
                assert case.does == "back" and "no older edition" in str(error)
        expected.check(out, stops)
