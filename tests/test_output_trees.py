"""What a tree of folders held, kept and looked at again: the same as a look through all of it."""

from __future__ import annotations

import os
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from kb.output import listing, opened, seen, sharing
from kb.output import tree as tree_of
from kb.output.room import Room
from kb.output.theirs import look
from kb.output.tree import Tree, walk
from tests.output_sites import EDITIONS, publish

_JUST_NOW = 20_000_000  # nanoseconds: longer than the system's clock for files takes to go on
_WITHIN = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
ROOT = Path(__file__).resolve().parent.parent
FORKS = pytest.mark.skipif(not hasattr(os, "fork"), reason="helpers are forked")


def whole(top: Path) -> Tree:
    tree = Tree()
    for row in walk(top):
        tree.add(row)
    return tree


def held(tree: Tree) -> tuple[object, ...]:
    """Return what a tree holds, in whatever order it was found."""
    shape = sorted(zip(tree.folders, tree.numbers, tree.counts, strict=True))
    return shape, sorted(tree.files), tree.empty, tree.sealed


NAMES = ["a", "b", "a/a", "a/b", "b/a", "b/b", "a/a/a", "a/a/b", "b/a/a", "\udcff"]


class Changes(RuleBasedStateMachine):
    """Whatever is done to a tree, and however seldom it is looked at."""

    def __init__(self) -> None:
        super().__init__()
        self.room = Path(tempfile.mkdtemp(dir=_WITHIN))
        self.top = self.room / "top"
        self.top.mkdir()
        self.patches = [
            patch("kb.output.tree._JUST_NOW", _JUST_NOW),
            patch("kb.output.sharing.MANY", 3),
        ]
        for each in self.patches:
            each.start()
        self.tree = whole(self.top)

    def teardown(self) -> None:
        """Leave nothing."""
        for each in self.patches:
            each.stop()
        shutil.rmtree(self.room)

    def _free(self, name: str) -> Path | None:
        place = self.top / name
        parent = place.parent
        if os.path.lexists(place) or not parent.is_dir() or parent.is_symlink():
            return None
        return place if parent.resolve() == parent else None

    @rule(name=st.sampled_from(NAMES), what=st.sampled_from(["folder", "file"]))
    def makes(self, name: str, what: str) -> None:
        """Make a folder or a file."""
        if place := self._free(name):
            if what == "folder":
                place.mkdir()
            else:
                place.write_bytes(b"")

    @rule(name=st.sampled_from(NAMES))
    def removes(self, name: str) -> None:
        """Remove whatever is there."""
        place = self.top / name
        if place.is_symlink() or place.is_file():
            place.unlink()
        elif place.is_dir():
            shutil.rmtree(place)

    @rule(name=st.sampled_from(NAMES), to=st.sampled_from(NAMES), link=st.booleans())
    def moves(self, name: str, to: str, link: bool) -> None:
        """Move something, and leave a link to it in its place or nothing."""
        place, free = self.top / name, self._free(to)
        if free and os.path.lexists(place) and not to.startswith(f"{name}/"):
            place.rename(free)
            if link:
                place.symlink_to(free)

    @rule(name=st.sampled_from(NAMES), other=st.sampled_from(NAMES))
    def exchanges(self, name: str, other: str) -> None:
        """Let two folders trade places."""
        one, two = self.top / name, self.top / other
        apart = not f"{name}/".startswith(f"{other}/") and not f"{other}/".startswith(f"{name}/")
        if apart and one.is_dir() and two.is_dir():
            one.rename(self.room / "aside")
            two.rename(one)
            (self.room / "aside").rename(two)

    @rule()
    def time_goes_by(self) -> None:
        """Wait until no change can bear the time of one before."""
        time.sleep(_JUST_NOW / 1e9)

    @rule()
    def is_kept_and_read(self) -> None:
        """Keep the tree in a file, whether it is so any more or not, and go on with that."""
        seen.remember(self.room / "seen", self.top, "boot", self.tree, [self.top])
        read = seen.recall(self.room / "seen", self.top, "boot")
        assert read == self.tree
        self.tree = read

    @rule()
    def is_looked_at_again(self) -> None:
        """Look again: what is found is what there is."""
        again = self.tree.again(self.top)
        if again.old or again.rows:
            self.tree = self.tree.changed(again)
        assert held(self.tree) == held(whole(self.top))

    @invariant()
    def each_folder_is_there_once(self) -> None:
        """See that nothing is counted twice."""
        assert len(set(self.tree.folders)) == len(self.tree.folders)
        assert len(self.tree.files) == sum(self.tree.counts)


Changes.TestCase.settings = settings(
    max_examples=int(os.environ.get("KB_POINTS", "60")),
    stateful_step_count=25,
    deadline=None,
    suppress_health_check=list(HealthCheck),
)
TestChanges = Changes.TestCase


def _looked_at_again(tree: Tree, top: Path) -> Tree:
    again = tree.again(top)
    return tree.changed(again) if again.old or again.rows else tree


def _in_one_moment(act: Callable[[Path], tuple[Path, Path]], within: Path) -> None:
    """Act in new folders until two that come of it bear the same time."""
    for number in range(1000):
        one, other = act(within / str(number))
        if one.stat().st_ctime_ns == other.stat().st_ctime_ns:
            return
    pytest.skip("this disk's times tell any two changes apart")


def test_folders_of_one_moment_that_trade_places_are_told_by_their_numbers(tmp_path: Path) -> None:
    def make(top: Path) -> tuple[Path, Path]:
        for name in ("a/in", "b/in"):
            (top / name).mkdir(parents=True)
        for name in ("a/in/one", "b/in/other"):
            (top / name).write_bytes(b"")
        return top / "a/in", top / "b/in"

    _in_one_moment(make, tmp_path)
    with patch("kb.output.tree._JUST_NOW", _JUST_NOW):
        time.sleep(_JUST_NOW / 1e9)
        tree = whole(tmp_path)
        top = max(tmp_path.iterdir(), key=lambda path: int(path.name))
        (top / "a").rename(top / "aside")
        (top / "b").rename(top / "a")
        (top / "aside").rename(top / "b")
        assert held(_looked_at_again(tree, tmp_path)) == held(whole(tmp_path))


def test_a_change_in_the_moment_of_a_look_is_found_by_the_next(tmp_path: Path) -> None:
    trees: list[tuple[Path, Tree]] = []

    def make(top: Path) -> tuple[Path, Path]:
        for name in ("a", "b"):
            (top / name).mkdir(parents=True)
        trees.append((top, whole(top)))
        (top / "a/late").write_bytes(b"")
        return top / "a", top / "b"

    _in_one_moment(make, tmp_path)
    top, tree = trees[-1]
    assert _looked_at_again(tree, top).files == ["a/late"]


def test_what_was_in_a_folder_is_not_found_by_way_of_a_link_in_its_place(tmp_path: Path) -> None:
    top = tmp_path / "top"
    (top / "a/deep").mkdir(parents=True)
    (top / "a/deep/file").write_bytes(b"")
    with patch("kb.output.tree._JUST_NOW", _JUST_NOW):
        time.sleep(_JUST_NOW / 1e9)
        tree = whole(top)
        (top / "a").rename(tmp_path / "elsewhere")
        (top / "a").symlink_to(tmp_path / "elsewhere")
        assert _looked_at_again(tree, top).files == ["a"]


def test_times_in_whole_seconds_are_believed_after_two_more(tmp_path: Path) -> None:
    look_at, second = tmp_path.stat(), 10**9
    with patch("kb.output.tree.changed_at", lambda look: 5 * second):
        believed = [tree_of._settled(look_at, at * second // 10) for at in (50, 52, 70, 72, 90)]
    assert believed == [0, 0, 0, 5 * second, 5 * second]
    with patch("kb.output.tree.changed_at", lambda look: 5 * second + 1):
        believed = [tree_of._settled(look_at, at * second // 10) for at in (50, 51, 52)]
    assert believed == [0, 0, 5 * second + 1]


@pytest.fixture
def out(tmp_path: Path) -> Iterator[Path]:
    """Yield a site that has been looked at, long enough after it was written."""
    out = tmp_path / "site"
    with patch("kb.output.tree._JUST_NOW", _JUST_NOW), patch("kb.output.whole._FEW", 0):
        for edition in "ABAB":
            publish(out, EDITIONS[edition])
            time.sleep(_JUST_NOW / 1e9)
        yield out


def test_folders_that_have_not_changed_are_not_read_at_the_next_publish(
    out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    read: list[str] = []
    scandir = os.scandir

    def scan(place: str | int) -> object:
        read.append(str(place).removeprefix(f"{out}/"))
        return scandir(place)

    monkeypatch.setattr("kb.output.tree.os.scandir", scan)
    publish(out, {**EDITIONS["B"], "bulletins/2024-001/index.html": b"changed"})
    assert "models/T1" not in read
    read.clear()
    (out / "models/T1/own.pdf").write_bytes(b"theirs")
    publish(out, EDITIONS["B"])
    assert "models/T1" in read
    assert "models/T2" not in read
    assert (out / "models/T1/own.pdf").read_bytes() == b"theirs"


@pytest.mark.parametrize("late", ["before", "during"])
def test_modes_of_folders_stay_though_no_look_comes_across_them_again(out: Path, late: str) -> None:
    def close() -> None:
        (out / "models/T2").chmod(0o711)
        time.sleep(2 * _JUST_NOW / 1e9)

    if late == "before":
        close()
    with opened(out) as output:
        output.put("index.html", b"new")
        if late == "during":
            close()
        output.finish(EDITIONS["B"])
    for edition in "ABAB":
        assert stat.S_IMODE((out / "models/T2").stat().st_mode) == 0o711
        publish(out, EDITIONS[edition])
        time.sleep(_JUST_NOW / 1e9)


def _room(out: Path) -> list[Path]:
    return sorted((out.parent / f".{out.name}.kb/seen").iterdir())


def test_what_two_trees_hold_is_kept_for_the_two_of_them_alone(out: Path) -> None:
    for edition in "CAB":
        publish(out, EDITIONS[edition])
    trees = out, out.parent / ".site.kb/next"
    assert {file.name for file in _room(out)} == {str(tree.stat().st_ino) for tree in trees}


@pytest.mark.parametrize("harm", ["cut", "flipped", "emptied", "another", "made a folder"])
def test_a_damaged_note_of_what_a_tree_holds_costs_a_look_through_all_of_it(
    out: Path, tmp_path: Path, harm: str
) -> None:
    (out / "theirs.txt").write_bytes(b"theirs")
    for file in _room(out):
        content = file.read_bytes()
        file.unlink()
        if harm == "made a folder":
            file.mkdir()
            continue
        harmed = {
            "cut": content[: len(content) // 2],
            "flipped": content.replace(b"T2/index.html", b"T2/indey.html"),
            "emptied": b"",
            "another": b"no note at all",
        }
        assert harmed[harm] != content
        file.write_bytes(harmed[harm])
    assert Room(out).recall() is None
    for edition in "AB":
        publish(out, EDITIONS[edition])
        assert (out / "theirs.txt").read_bytes() == b"theirs"
        assert all((out / path).read_bytes() == held for path, held in EDITIONS[edition].items())


def test_a_note_counts_for_one_folder_and_one_start_of_the_machine(tmp_path: Path) -> None:
    one, other = tmp_path / "one", tmp_path / "other"
    one.mkdir()
    other.mkdir()
    seen.remember(tmp_path / "seen", one, "now", whole(one), [one, other])
    assert seen.recall(tmp_path / "seen", one, "now") == whole(one)
    assert seen.recall(tmp_path / "seen", one, "later") is None
    assert seen.recall(tmp_path / "seen", other, "now") is None
    (tmp_path / "seen" / str(one.stat().st_ino)).rename(
        tmp_path / "seen" / str(other.stat().st_ino)
    )
    assert seen.recall(tmp_path / "seen", other, "now") is None


def test_on_a_disk_whose_folders_do_not_tell_of_new_names_nothing_is_remembered(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, behind in (("one", 0), ("other", 1)):
        room = tmp_path / name
        monkeypatch.setattr(
            "kb.output.seen.changed_at", lambda look, by=behind: -by * stat.S_ISDIR(look.st_mode)
        )
        seen.remember(room, tmp_path, "now", whole(tmp_path), [tmp_path])
        assert (seen.recall(room, tmp_path, "now") is None) == bool(behind)


@pytest.mark.parametrize("ours", [["a/x"], ["a/x", "a/y", "gone", "b/gone"], []])
def test_what_is_ours_and_theirs_is_told_by_a_tree_as_by_a_look(
    tmp_path: Path, ours: list[str]
) -> None:
    top = tmp_path / "top"
    (top / "a").mkdir(parents=True)
    for name in ("x", "y", "z"):
        (top / "a" / name).write_bytes(b"")
    first, second = look(top, ours), look(top, ours, whole(top))
    assert first.paths == second.paths == {"a/x", "a/y", "a/z"} - set(ours)
    assert first.missing == second.missing == set(ours) & {"gone", "b/gone"}


# Many things looked at by several processes


@pytest.fixture
def three(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let three processes look at however few things there are."""
    monkeypatch.setattr(sharing, "MANY", 1)
    monkeypatch.setenv("KB_PROCESSES", "3")


def _odd(begin: int, end: int) -> list[int]:
    return [number for number in range(begin, end) if number % 2]


@FORKS
@pytest.mark.usefixtures("three")
@pytest.mark.parametrize("count", [0, 1, 2, 3, 1000, 100_000])
def test_shared_by_processes_the_same_is_found_in_the_same_order(count: int) -> None:
    assert sharing.shared(_odd, count) == _odd(0, count)


@FORKS
@pytest.mark.usefixtures("three")
def test_what_a_helper_that_is_killed_or_fails_did_not_find_is_found_without_it() -> None:
    here = os.getpid()

    def killed(begin: int, end: int) -> list[int]:
        if os.getpid() != here:
            os.kill(os.getpid(), signal.SIGKILL)
        return _odd(begin, end)

    def failing(begin: int, end: int) -> list[int]:
        if os.getpid() != here:
            raise OSError("not here")
        return _odd(begin, end)

    for look_at in (killed, failing):
        assert sharing.shared(look_at, 1000) == _odd(0, 1000)


FAILING = """
import os, time
from kb.errors import KbError
from kb.output import sharing
sharing.MANY, here, fork, begun = 10, os.getpid(), sharing._fork, []

def counted():
    process = fork()
    begun.append(process)
    return process

def look_at(begin, end):
    if os.getpid() == here:
        raise KbError("in the way", "move it")
    time.sleep(60)
    return []

sharing._fork = counted
try:
    sharing.shared(look_at, 1000)
except KbError as error:
    print(len(begun), "begun:", error)
try:
    print(os.waitpid(-1, os.WNOHANG))
except ChildProcessError:
    print("no helper is left")
"""


@FORKS
def test_no_helper_is_left_where_looking_fails() -> None:
    """In a process that has no threads and no processes of other tests."""
    told = subprocess.run(
        [sys.executable, "-c", FAILING],
        env={**os.environ, "KB_PROCESSES": "3"},
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=30,
        check=True,
    )
    assert told.stdout.startswith("2 begun: in the way")
    assert told.stdout.splitlines()[-1] == "no helper is left"


# Lists


LINES = st.lists(st.text(alphabet="a./\\\0\n-", max_size=6), min_size=1, max_size=4)


@given(LINES)
def test_a_list_that_is_trusted_as_a_whole_is_trusted_line_by_line(lines: list[str]) -> None:
    text = "".join(f"{line}\n" for line in lines)
    if listing._all_stay_inside(text):
        assert all(map(listing.stays_inside, text.split("\n")[:-1]))
