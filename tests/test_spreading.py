"""Work spread over processes: the same outcome as in one, nothing left running however it ends."""

from __future__ import annotations

import mmap
import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, suppress
from datetime import date
from multiprocessing import active_children
from multiprocessing.context import ForkProcess
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.errors import KbError
from kb.house import read_house
from kb.making import spreading
from kb.making.spreading import spread
from kb.processors import VARIABLE, processors
from kb.publish import publish

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "bulletins"
TODAY = date(2026, 11, 25)
PATIENCE = 20  # seconds, common practice, no source

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="processes are forked on Linux")


@pytest.fixture(autouse=True)
def alone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Threads that other tests have left take no part here; no test leaves a process."""
    monkeypatch.setattr(threading, "active_count", lambda: 1)
    monkeypatch.setattr(spreading, "MANY", 10)
    monkeypatch.delenv(VARIABLE, raising=False)
    yield
    assert not active_children()


def over(count: int) -> Callable[[], Iterable[int]]:
    return lambda: range(count)


def pid_of(piece: int) -> int:
    return os.getpid()


def is_there(pid: int) -> bool:
    """Whether a process runs; one that has ended and waits to be asked for does not."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def are_gone(pids: Iterable[int]) -> bool:
    until = time.monotonic() + PATIENCE
    while any(map(is_there, pids)) and time.monotonic() < until:
        time.sleep(0.02)
    return not any(map(is_there, pids))


# The same as in one process


@settings(deadline=None)  # how long processes take depends on what else runs
@given(st.integers(0, 300), st.integers(1, 5), st.integers(1, 40))
def test_results_come_in_the_order_of_the_pieces_whoever_makes_them(
    count: int, processes: int, run: int
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(spreading, "_RUN", run)
        patch.setattr(spreading, "MANY", 100)
        found = list(spread(over(count), count, lambda n: (n, "x" * n), processes=processes))
    assert found == [(n, "x" * n) for n in range(count)]


def test_many_pieces_are_made_by_as_many_helpers_as_are_wanted() -> None:
    made = list(spread(over(300), 300, pid_of, processes=3))
    assert len(set(made)) == 3
    assert os.getpid() not in made


@pytest.mark.parametrize(("count", "processes"), [(9, 2), (300, 1)])
def test_few_pieces_or_one_process_need_no_helper(count: int, processes: int) -> None:
    assert set(spread(over(count), count, pid_of, processes=processes)) == {os.getpid()}


def test_beside_another_thread_nothing_is_forked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(threading, "active_count", lambda: 2)
    assert set(spread(over(300), 300, pid_of, processes=2)) == {os.getpid()}


def test_where_no_process_is_to_be_had_all_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    begun = []
    start = ForkProcess.start

    def second_fails(process: ForkProcess) -> None:
        begun.append(process)
        if len(begun) == 2:
            raise BlockingIOError(11, "Resource temporarily unavailable")
        start(process)

    monkeypatch.setattr(ForkProcess, "start", second_fails)
    assert set(spread(over(300), 300, pid_of, processes=2)) == {os.getpid()}
    assert len(begun) == 2


def test_what_is_got_ready_is_shared_by_all_helpers() -> None:
    ready: list[int] = []

    def get_ready(pieces: Iterable[int]) -> None:
        ready.append(sum(pieces))

    made = list(spread(over(300), 300, lambda n: ready[0], get_ready, processes=2))
    assert made == [sum(range(300))] * 300


def test_helpers_stay_no_further_ahead_than_their_pipes_hold() -> None:
    """Each result is of 64 kB: a pipe of 1 MB (fcntl(2), F_SETPIPE_SZ) holds 16 at most."""
    count = 1000
    done = mmap.mmap(-1, count)  # shared with those who are forked

    def make(piece: int) -> bytes:
        done[piece] = 1
        return b"x" * 65536

    with closing(spread(over(count), count, make, processes=2)) as results:
        next(results)
        before = -1
        while (now := sum(done[:])) != before:  # until nobody goes on
            before = now
            time.sleep(0.3)
        assert 1 <= now <= 1 + 2 * (16 + 1)
        assert sum(1 for _ in results) == count - 1
    assert sum(done[:]) == count


# However it ends


def test_an_error_of_a_helper_is_raised_as_it_is_in_its_turn() -> None:
    def work(piece: int) -> int:
        if piece == 150:
            raise KbError("a picture is too large", "make it smaller")
        return piece

    found: list[int] = []
    with (
        pytest.raises(KbError) as raised,
        closing(spread(over(300), 300, work, processes=2)) as made,
    ):
        found.extend(iter(lambda: next(made), None))
    assert found == list(range(150))
    assert (raised.value.message, raised.value.remedy) == (
        "a picture is too large",
        "make it smaller",
    )


def test_a_fault_of_the_program_tells_where_it_was() -> None:
    def work(piece: int) -> int:
        return 1 // (piece - 200)

    with pytest.raises(ZeroDivisionError) as raised:
        list(spread(over(300), 300, work, processes=2))
    assert "in work" in "".join(raised.value.__notes__)


@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGTERM])
def test_a_helper_that_is_killed_is_told_and_none_is_left(sign: signal.Signals) -> None:
    def work(piece: int) -> int:
        if piece == 100:
            os.kill(os.getpid(), sign)
        return os.getpid()

    pids: set[int] = set()
    with pytest.raises(KbError) as raised, closing(spread(over(300), 300, work, processes=2)) as m:
        pids.update(iter(lambda: next(m), None))
    assert raised.value.message == f"a helper process ended unexpectedly (signal {sign.value})"
    assert f"{VARIABLE}=1" in raised.value.remedy
    assert not any(map(is_there, pids))


def test_what_cannot_be_sent_ends_in_a_message_too() -> None:
    with pytest.raises(KbError, match="ended unexpectedly"):
        list(spread(over(300), 300, lambda n: lambda: n, processes=2))


def test_whoever_stops_early_leaves_no_helper() -> None:
    made = spread(over(300), 300, lambda n: (os.getpid(), b"x" * 65536), processes=2)
    pids = {next(made)[0] for _ in range(100)}
    assert len(pids) == 2
    made.close()
    assert not any(map(is_there, pids))


STALLING = """
import os, signal, sys, time
from kb.making import spreading
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell lets what runs aside ignore it
spreading.MANY = 10
made = spreading.spread(lambda: range(300), 300, lambda n: (os.getpid(), b"x" * 65536), processes=2)
print(*{next(made)[0] for _ in range(100)}, flush=True)
time.sleep(60)
"""


@pytest.mark.parametrize("sign", [signal.SIGKILL, signal.SIGINT, signal.SIGTERM])
@pytest.mark.parametrize("all_of_them", [True, False])
def test_helpers_end_with_whoever_began_them(sign: signal.Signals, all_of_them: bool) -> None:
    """As a terminal's Ctrl-C, which all are sent, or a signal to the publisher alone."""
    command = [sys.executable, "-c", STALLING]
    told = subprocess.PIPE
    with subprocess.Popen(
        command, cwd=ROOT, stdout=told, stderr=told, text=True, start_new_session=True
    ) as process:
        assert process.stdout
        assert process.stderr
        pids = [int(pid) for pid in process.stdout.readline().split()]
        assert len(pids) == 2
        (os.killpg if all_of_them else os.kill)(process.pid, sign)
        process.wait(PATIENCE)
        assert are_gone(pids)
        assert process.stderr.read().count("Traceback") == (sign == signal.SIGINT)


# A site


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_a_site_is_the_same_whoever_makes_its_pages(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    house = read_house(DEMO)
    helpers = []
    start = ForkProcess.start

    def counted(process: ForkProcess) -> None:
        helpers.append(process)
        start(process)

    monkeypatch.setattr(ForkProcess, "start", counted)
    for processes in "123":
        monkeypatch.setenv(VARIABLE, processes)
        publish(house, TODAY, tmp_path / processes)
    assert len(helpers) == 5
    one = files_of(tmp_path / "1")
    assert one
    assert files_of(tmp_path / "2") == one
    assert files_of(tmp_path / "3") == one


def test_a_helper_that_is_killed_leaves_the_site_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(VARIABLE, "2")
    shutil.copytree(DEMO, tmp_path / "house")
    site = tmp_path / "site"
    publish(read_house(tmp_path / "house"), TODAY, site)
    before = files_of(site)
    table = tmp_path / "house" / "reference" / "house.yaml"  # its contact stands on every page
    table.write_text(table.read_text("utf-8").replace("Service desk", "Help desk"), "utf-8")
    changed = read_house(tmp_path / "house")
    with monkeypatch.context() as patch:
        patch.setattr(spreading, "_send_all", lambda *_: os.kill(os.getpid(), signal.SIGKILL))
        with pytest.raises(KbError, match="a helper process ended unexpectedly"):
            publish(changed, TODAY, site)
    assert files_of(site) == before
    publish(changed, TODAY, site)
    publish(changed, TODAY, tmp_path / "fresh")
    assert files_of(site) == files_of(tmp_path / "fresh") != before


# How many


def test_as_many_processes_as_processors_where_nothing_is_said() -> None:
    assert processors() == len(os.sched_getaffinity(0))


def test_the_environment_says_how_many_processes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(VARIABLE, " 3 ")
    assert processors() == 3


@pytest.mark.parametrize("said", ["0", "-1", "two", "1.5", "²"])
def test_no_number_of_processes_is_told(monkeypatch: pytest.MonkeyPatch, said: str) -> None:
    monkeypatch.setenv(VARIABLE, said)
    with pytest.raises(KbError, match=VARIABLE) as raised:
        processors()
    assert said in raised.value.message
