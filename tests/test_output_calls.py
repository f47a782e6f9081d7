"""A publish is killed, or refused, at each system call that changes the file system: strace(1).

The names of calls and their errors are those of Linux' manual pages, section 2; how a call is made
to fail is "syscall tampering" of strace(1).
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.output_kills import CASES, POINTS, Case, Expected, again, quick, set_up
from tests.output_sites import ROOT, TOLD, tree

__all__ = ["quick"]

CALLS = (
    "openat,write,rename,renameat,renameat2,link,linkat,symlink,unlink,unlinkat,mkdir,mkdirat,"
    "rmdir,ftruncate,fsync,fdatasync,sync,chmod,fchmod,fchmodat,chown,fchown,lchown,fchownat,"
    "utimensat,setxattr"
)
_POINTS = 3  # of each case, unless KB_POINTS asks for more

pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or not shutil.which("strace"),
    reason="strace is not installed: it stops a publish at a system call (apt install strace)",
)


def publish(out: Path, case: Case, *asked: str) -> subprocess.CompletedProcess[str]:
    """Publish in a process of its own below strace, with what is *asked* of that."""
    program = [sys.executable, "-I", "-S", str(ROOT / "tests/output_sites.py"), str(out)]
    return subprocess.run(
        ["strace", "-f", "-qq", *asked, *program, case.does, str(case.keep), case.way],
        check=False,
        capture_output=True,
        text=True,
    )


def points(out: Path, case: Case) -> list[tuple[str, int]]:
    """Publish and return every call that changed something below the folder that *out* is in.

    Each is a name and which call of that name it is in its thread, as strace counts.
    """
    log = out.parent.parent / "calls"
    done = publish(out, case, "-y", "-s", "0", "-e", f"trace={CALLS}", "-o", str(log))
    assert done.returncode == 0, done.stderr
    seen: Counter[tuple[str, str]] = Counter()
    found = []
    for line in log.read_text("utf-8", "replace").splitlines():
        if call := re.match(r"(\d+) +(\w+)\((.*)", line):
            thread, name, told = call.groups()
            seen[thread, name] += 1
            reads = name == "openat" and "O_CREAT" not in told and "O_WRONLY" not in told
            if (str(out.parent) in told or name == "sync") and not reads:
                found.append((name, seen[thread, name]))
    return list(dict.fromkeys(found))


def some(found: list[tuple[str, int]], count: int, seed: str) -> list[tuple[str, int]]:
    """Return a few of the points, or all."""
    count = POINTS or count
    return random.Random(seed).sample(found, min(count, len(found)))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_publish_killed_in_any_call_leaves_a_whole_site_and_the_next_one_mends(
    quick: Path, case: Case
) -> None:
    start, expected, place = set_up(case, quick), Expected(case, quick), quick / "run"
    found = points(again(start, place), case)
    assert len(found) > 20
    for name, number in some(found, _POINTS, case.name):
        out = again(start, place)
        kill = f"inject={name}:signal=SIGKILL:when={number}"
        done = publish(out, case, "-e", f"trace={name}", "-e", kill)
        assert done.returncode == -9, (name, number, done.stderr)
        expected.check(out, [f"{name} {number}"])


# What is refused

_DENIED = {
    "ENOSPC": ("openat", "write", "mkdir", "linkat", "rename", "renameat2"),
    "EDQUOT": ("openat", "write", "mkdir", "linkat"),
    "EROFS": ("openat", "mkdir", "linkat", "rename", "unlink"),
    "EACCES": ("openat", "mkdir", "rename", "unlink"),
    "EIO": ("write", "fsync", "rename"),
}
_WORDS = {"ENOSPC": "there is no room left", "EDQUOT": "there is no room left"}
_OTHER_WORDS = "cannot be written to"
_CHANGING = next(case for case in CASES if case.name == "one that changes")
_FIRST = next(case for case in CASES if case.name == "a first publish")


@pytest.mark.parametrize("case", [_FIRST, _CHANGING], ids=lambda case: case.name)
@pytest.mark.parametrize("error", _DENIED)
def test_what_the_system_refuses_from_some_call_on_is_told_and_leaves_the_site(
    quick: Path, case: Case, error: str
) -> None:
    start, expected, place = set_up(case, quick), Expected(case, quick), quick / "run"
    found = [each for each in points(again(start, place), case) if each[0] in _DENIED[error]]
    for name, number in some(found, 2, case.name + error):
        out = again(start, place)
        before = tree(out)
        refuse = f"inject={name}:error={error}:when={number}+"
        done = publish(out, case, "-e", f"trace={name}", "-o", "/dev/null", "-e", refuse)
        told = f"{refuse}: {done.stderr}"
        if done.returncode:
            assert done.returncode == TOLD[_WORDS.get(error, _OTHER_WORDS)], told
            assert tree(out) == before, told
        else:  # after the exchange, or where there is another way: copies in place of links
            expected.must_be(out, "B", told)
        expected.check(out, [refuse])


@pytest.mark.parametrize("error", ["EMLINK", "EPERM", "EXDEV", "EOPNOTSUPP"])
@pytest.mark.parametrize("case", [_FIRST, _CHANGING], ids=lambda case: case.name)
def test_where_files_cannot_have_two_names_they_are_copied(
    quick: Path, case: Case, error: str
) -> None:
    start, expected, place = set_up(case, quick), Expected(case, quick), quick / "run"
    out = again(start, place)
    refuse = f"inject=linkat:error={error}:when=1+"
    done = publish(out, case, "-e", "trace=linkat", "-o", "/dev/null", "-e", refuse)
    assert done.returncode == 0, done.stderr
    links = [path for path in out.rglob("*") if path.is_file() and path.stat().st_nlink > 1]
    assert case is _CHANGING or not links
    expected.check(out, [refuse])


@pytest.mark.parametrize("error", ["ENOSYS", "EINVAL", "EOPNOTSUPP", "EPERM"])
def test_where_two_folders_cannot_be_exchanged_at_once_it_is_done_by_steps(
    quick: Path, error: str
) -> None:
    start, expected, place = set_up(_CHANGING, quick), Expected(_CHANGING, quick), quick / "run"
    out = again(start, place)
    refuse = f"inject=renameat2:error={error}:when=1+"
    done = publish(out, _CHANGING, "-e", "trace=renameat2", "-o", "/dev/null", "-e", refuse)
    assert done.returncode == 0, done.stderr
    expected.must_be(out, "B", refuse)
    expected.check(out, [refuse])


def test_the_calls_are_met_that_publishing_lives_by(quick: Path) -> None:
    names = Counter[str]()
    for case in (_FIRST, _CHANGING):
        start = set_up(case, quick / case.name)
        names.update(name for name, _ in points(again(start, quick / "run"), case))
    assert names.keys() >= {"openat", "write", "rename", "renameat2", "unlink", "mkdir", "fsync"}
    assert names.keys() & {"link", "linkat"}
    assert sum(names.values()) > 200
