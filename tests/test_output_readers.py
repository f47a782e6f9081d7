"""Readers while the site changes, and two who publish at once."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.output import opened
from kb.output.room import folder_of
from tests.output_kills import quick
from tests.output_sites import EDITIONS, ROOT, publish, tree

__all__ = ["quick"]

_ROUNDS = 30
_FILES = ["index.html", "feed.xml", "models/index.html", "data/0/a/b/c.json", "parts/1/index.html"]


def _stamp(content: bytes) -> bytes:
    """Return which edition a file says that it is of."""
    return content.split(b"edition ")[1].split()[0]


def _look(path: Path) -> tuple[int, int]:
    """Return what tells one edition's folder from the next: an exchange changes its ctime."""
    found = path.stat()
    return found.st_ino, found.st_ctime_ns


def _read(folder: int, path: str) -> bytes:
    with open(os.open(path, os.O_RDONLY, dir_fd=folder), "rb") as file:
        return file.read()


def _one_visit(out: Path) -> set[bytes] | None:
    """Return the stamps of a visit; None where the site was exchanged between its requests."""
    before = _look(out)
    folder = os.open(out, os.O_RDONLY)
    try:
        stamps = {_stamp(_read(folder, path)) for path in _FILES}
        stamps |= {_stamp((out / path).read_bytes()) for path in _FILES}
    except FileNotFoundError:
        if _look(out) == before:
            raise
        return None
    finally:
        os.close(folder)
    return stamps if _look(out) == before else None


@pytest.fixture
def alternating(quick: Path) -> Iterator[tuple[Path, threading.Event]]:
    """Yield a site that a thread goes on publishing two editions of, until that is over."""
    out, over = quick / "site", threading.Event()
    publish(out, EDITIONS["A"])
    fault: list[BaseException] = []

    def go_on() -> None:
        try:
            for number in range(_ROUNDS):
                publish(out, EDITIONS["BA"[number % 2]])
                time.sleep(random.random() / 100)
        except BaseException as error:
            fault.append(error)
        finally:
            over.set()

    thread = threading.Thread(target=go_on)
    thread.start()
    yield out, over
    thread.join()
    assert not fault


def test_all_files_of_a_visit_are_of_one_edition(
    alternating: tuple[Path, threading.Event],
) -> None:
    out, over = alternating
    met = set[bytes]()
    while not over.is_set() or not met:
        stamps = _one_visit(out)
        assert stamps is None or len(stamps) == 1
        met |= stamps or set()
    assert met <= {b"A", b"B"}


def test_no_file_that_both_editions_have_is_ever_missing_or_half(
    alternating: tuple[Path, threading.Event],
) -> None:
    out, over = alternating
    whole = {EDITIONS[edition][path] for edition in "AB" for path in _FILES}
    reads = 0
    while not over.is_set() or not reads:
        for path in _FILES:
            assert (out / path).read_bytes() in whole
            reads += 1


# Two at once


def _start(out: Path, edition: str, before: str = "") -> subprocess.Popen[str]:
    program = f"""
import sys
sys.path.insert(0, {str(ROOT)!r})
from pathlib import Path
from kb.output import opened
from tests.output_sites import EDITIONS
site = EDITIONS[{edition!r}]
with opened(Path({str(out)!r}), waiting=lambda: print("waits", flush=True)) as output:
    print("has it", flush=True)
    {before}
    for path, content in site.items():
        output.put(path, content)
    output.finish(site)
print("done", flush=True)
"""
    pipe = subprocess.PIPE
    return subprocess.Popen(
        [sys.executable, "-I", "-S", "-c", program], stdin=pipe, stdout=pipe, text=True
    )


def _line(process: subprocess.Popen[str]) -> str:
    assert process.stdout
    return process.stdout.readline().strip()


@pytest.mark.parametrize("way", ["ends", "is killed"])
def test_a_second_publisher_waits_says_so_and_goes_on_when_the_first(quick: Path, way: str) -> None:
    out = quick / "site"
    publish(out, EDITIONS["C"])
    with _start(out, "A", "sys.stdin.read()") as first:
        assert _line(first) == "has it"
        with _start(out, "B") as second:
            assert _line(second) == "waits"
            assert (out / "c/only.html").exists()
            if way == "ends":
                assert first.stdin
                first.stdin.close()
                assert _line(first) == "done"
            else:
                first.kill()
            assert [_line(second), _line(second)] == ["has it", "done"]
    publish(quick / "other", EDITIONS["B"])
    assert tree(out) == tree(quick / "other")


def test_many_at_once_leave_the_edition_of_one_of_them(quick: Path) -> None:
    out = quick / "site"
    running = [_start(out, edition) for edition in "ABCABC"]
    for process in running:
        process.communicate()
        assert process.returncode == 0
    found = tree(out)
    expected = []
    for edition in "ABC":
        publish(quick / edition, EDITIONS[edition])
        expected.append(tree(quick / edition))
    assert found in expected


def test_a_lock_on_a_room_that_was_removed_is_not_held_for_one(quick: Path) -> None:
    out = quick / "site"
    publish(out, EDITIONS["A"])
    with opened(out):
        second = _start(out, "B")
        assert _line(second) == "waits"
        shutil.rmtree(folder_of(out))
    assert [_line(second), _line(second)] == ["has it", "done"]
    second.communicate()
    assert (folder_of(out) / "lock").exists()
