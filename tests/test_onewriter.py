"""One writer at a time: the second waits and says so, and a dead one holds nothing."""

from __future__ import annotations

import subprocess
import sys
import threading
from pathlib import Path

import pytest

from kb.onewriter import only_writer

ROOT = Path(__file__).resolve().parent.parent
HOLDER = """
import sys
from pathlib import Path
from kb.onewriter import only_writer
with only_writer(Path(sys.argv[1]), lambda: None):
    print("held", flush=True)
    sys.stdin.read()
"""


def unexpected() -> None:
    """Be called where nobody else holds the lock."""
    raise AssertionError("nobody else holds it")


def test_the_lock_is_held_and_can_be_had_again(tmp_path: Path) -> None:
    for _ in range(2):
        with only_writer(tmp_path / "lock", unexpected) as held:
            assert held


@pytest.mark.parametrize("killed", [True, False])
def test_a_second_writer_waits_until_the_first_ends_however_that_ends(
    tmp_path: Path, killed: bool
) -> None:
    lock = tmp_path / "lock"
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(lock)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    ) as holder:
        assert holder.stdout
        assert holder.stdout.readline() == b"held\n"
        waited = threading.Event()
        had = threading.Event()

        def second() -> None:
            with only_writer(lock, waited.set):
                had.set()

        thread = threading.Thread(target=second)
        thread.start()
        assert waited.wait(30)
        assert not had.is_set()
        if killed:
            holder.kill()
        else:
            holder.communicate()
        thread.join(30)
        assert had.is_set()


def test_an_error_inside_lets_go_of_the_lock(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="inside"), only_writer(tmp_path / "lock", unexpected):
        raise ValueError("inside")
    with only_writer(tmp_path / "lock", unexpected) as held:
        assert held


def test_where_there_are_no_locks_the_writer_goes_on_and_knows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*given: object) -> None:
        raise OSError("no locks available")

    monkeypatch.setattr("fcntl.flock", none)
    with only_writer(tmp_path / "lock", unexpected) as held:
        assert not held
