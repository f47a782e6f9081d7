"""What a stop at any point of a publish must leave, for tests that stop it one way or another."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.output_sites import EDITIONS, Tree, act, fresh, go_back, publish, put_theirs, tree

POINTS = int(os.environ.get("KB_POINTS", "0"))  # of each case; as they are set in the tests for 0
_MEMORY = Path("/dev/shm")


@pytest.fixture
def quick(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Yield a folder in memory, where nothing waits for a disk, which kills leave alone."""
    monkeypatch.setattr("os.sync", lambda: None)
    within = _MEMORY if os.access(_MEMORY, os.W_OK) else None
    with tempfile.TemporaryDirectory(dir=within) as folder:
        yield Path(folder)


@dataclass(frozen=True, slots=True)
class Case:
    """A publish to be stopped: what went before, what it does, and how."""

    name: str
    before: tuple[str, ...]  # editions published before, "empty" for an empty folder
    does: str
    keep: int = 1
    way: str = "plain"
    theirs: bool = True

    @property
    def old(self) -> str:
        """The edition that readers have before it."""
        return self.before[-1] if self.before else "nothing"

    @property
    def new(self) -> str:
        """The edition that readers have after it."""
        return self.before[-2] if self.does == "back" else self.does


CASES = [
    Case("a first publish", (), "B", theirs=False),
    Case("into an empty folder", ("empty",), "B", theirs=False),
    Case("beside files of others", ("empty",), "B"),
    Case("one that changes", ("A",), "B"),
    Case("one with a twin to bring up to date", ("C", "B", "A"), "B"),
    Case("one that keeps no older edition", ("C", "A"), "B", keep=0),
    Case("one that keeps three", ("A", "C", "A"), "B", keep=3),
    Case("going back", ("C", "A", "B"), "back", keep=3),
    Case("one that catches up at once", ("A",), "B", way="catching up"),
    Case("where folders are exchanged by steps", ("B", "A"), "B", way="stepwise"),
    Case("going back by steps", ("A", "B"), "back", way="stepwise"),
    Case("file by file", ("A",), "B", way="in place"),
]


def set_up(case: Case, tmp_path: Path) -> Path:
    """Make the folder with all that goes before; return what holds it."""
    start = tmp_path / "start"
    out = start / "site"
    start.mkdir(parents=True)
    for edition in case.before:
        if edition == "empty":
            out.mkdir()
        else:
            act(out, edition, case.keep, case.way)
        if case.theirs and not (out / "robots.txt").exists():
            put_theirs(out)
    if len(case.before) > 1 and case.theirs:  # so that the twin has to learn of that, too
        (out / "robots.txt").unlink()
        (out / "robots.txt").write_bytes(b"theirs")
    return start


def again(start: Path, place: Path) -> Path:
    """Put what `set_up` made in a place of its own, hard links kept; return the output folder."""
    shutil.rmtree(place, ignore_errors=True)
    subprocess.run(["cp", "-a", str(start), str(place)], check=True)
    return place / "site"


class Expected:
    """What has to be found after a stop, and after the next publish."""

    def __init__(self, case: Case, tmp_path: Path) -> None:
        self.case = case
        self._trees = {name: fresh(tmp_path, name, case.theirs) for name in EDITIONS}
        empty = tmp_path / "nothing"
        empty.mkdir()
        if case.theirs:
            put_theirs(empty)
        self._trees["empty"] = tree(empty)
        self._trees["nothing"] = {}

    def check(self, out: Path, stops: Sequence[object]) -> None:
        """Check the folder after a stop, publish, and check it again, older edition included."""
        case, told = self.case, f"{self.case.name}, stopped at {stops}"
        found = tree(out)
        if case.way != "in place" and (found or case.way != "stepwise"):
            # Whoever goes back again, having been stopped, may have gone back twice.
            further = case.before if case.does == "back" and len(stops) > 1 else ()
            assert self._is(found, case.old, case.new, *further), told
        act(out, "B", case.keep, case.way)
        self.must_be(out, "B", told)
        assert {each.name for each in out.parent.iterdir()} <= {".site.kb", "site"}, told
        if case.way != "in place" and case.keep and case.old in EDITIONS and case.does != "back":
            go_back(out)
            self.must_be(out, case.old, told)
        publish(out, EDITIONS["C"])
        self.must_be(out, "C", told)

    def must_be(self, out: Path, edition: str, told: str) -> None:
        """Check that the folder holds an edition, as a first publish gives it, and theirs."""
        assert tree(out) == self._trees[edition], f"{told}: not {edition}"

    def _is(self, found: Tree, *editions: str) -> bool:
        return any(found == self._trees[edition] for edition in editions)
