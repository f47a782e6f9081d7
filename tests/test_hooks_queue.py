"""Pushes that meet: they queue, the last one wins, nobody hangs, and a kill blocks nothing."""

from __future__ import annotations

import fcntl
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from tests.gityard import BAD, Yard, other, remote, until

WAITS = "A publish is running; yours follows."


@pytest.fixture
def yard(tmp_path: Path) -> Yard:
    return Yard(tmp_path)


@pytest.fixture
def www(yard: Yard) -> Path:
    return yard.root / "www"


@pytest.fixture(scope="module")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Yard:
    """A yard with a server that publishes, and a clerk's clone that has pushed the house to it."""
    made = Yard(tmp_path_factory.mktemp("pattern"))
    _, clerk = made.served("--out", str(made.root / "www"))
    assert made.push(clerk).status == 0
    return made


@pytest.fixture
def pair(pattern: Yard, tmp_path: Path) -> tuple[Path, Path]:
    """A server that publishes, with the house pushed to it, and the clerk's clone."""
    root = Yard.like(pattern, tmp_path).root
    return root / "server.git", root / "clerk of server.git"


def page(www: Path, number: str) -> Path:
    return www / "bulletins" / number / "index.html"


def add(yard: Yard, clerk: Path, number: str) -> None:
    yard.put(clerk, {f"2026/{number}.md": other(number)})
    assert yard.commit(clerk, f"Add {number}").status == 0


def log(server: Path) -> list[str]:
    return (server / "kb/publishes.log").read_text(encoding="utf-8").splitlines()


@contextmanager
def held(lock: Path) -> Iterator[None]:
    """Hold a lock as a long publish does."""
    with lock.open("rb") as handle:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def at_work(server: Path) -> list[int]:
    """Return the processes that go on in the server's folder, this one left out."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit() and int(entry.name) != os.getpid():
            try:
                where = str((entry / "cwd").readlink())
            except OSError:
                continue
            if where == str(server) or where.startswith(f"{server}/"):
                found.append(int(entry.name))
    return found


def killed(server: Path) -> list[int]:
    """Kill whatever goes on in the server's folder; return what was found."""
    found = at_work(server)
    for process in found:
        with suppress(ProcessLookupError):
            os.kill(process, signal.SIGKILL)
    return found


linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="looks into /proc")


def test_pushes_during_a_long_publish_return_with_a_word_and_the_last_one_is_published(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    with held(server / "kb/publishing.lock"):
        for number in ("2026-021", "2026-022", "2026-023"):
            add(yard, clerk, number)
            told = yard.push(clerk)
            assert told.status == 0
            assert remote(told)[-1] == WAITS
        assert not page(www, "2026-021").exists()
    assert until(lambda: page(www, "2026-023").is_file())
    assert page(www, "2026-021").is_file()
    tip = yard.did(server, "rev-parse", "main")
    assert until(lambda: f"main {tip} published" in log(server)[-1])
    assert sum(" begun: " in line for line in log(server)) == 2  # the first push, then the last


def test_a_push_to_be_refused_is_refused_during_a_long_publish_too(
    yard: Yard, pair: tuple[Path, Path]
) -> None:
    server, clerk = pair
    with held(server / "kb/publishing.lock"):
        yard.put(clerk, {"2026/2026-014.md": BAD})
        yard.commit(clerk, "Bad")
        assert yard.push(clerk).status == 1


def test_two_who_push_at_once_are_both_served(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    yard.hooks(server, "--preview", "draft/*", str(yard.root / "drafts"))
    colleague = yard.root / "colleague"
    yard.did(yard.root, "clone", "-q", str(server), str(colleague))
    add(yard, clerk, "2026-021")
    add(yard, colleague, "2026-022")
    both = [
        subprocess.Popen(
            ["git", "push", "-q", "origin", what], cwd=where, env=yard.env, stderr=subprocess.PIPE
        )
        for where, what in ((clerk, "main"), (colleague, "main:draft/one"))
    ]
    told = [process.communicate(timeout=120)[1].decode() for process in both]
    assert [process.returncode for process in both] == [0, 0], told
    assert until(lambda: page(www, "2026-021").is_file())
    assert until(lambda: page(yard.root / "drafts/draft/one", "2026-022").is_file())


def test_of_two_who_push_to_one_branch_at_once_one_is_told_to_fetch_first(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    colleague = yard.root / "colleague"
    yard.did(yard.root, "clone", "-q", str(server), str(colleague))
    add(yard, clerk, "2026-021")
    add(yard, colleague, "2026-022")
    both = [
        subprocess.Popen(
            ["git", "push", "-q", "origin", "main"], cwd=where, env=yard.env,
            stderr=subprocess.DEVNULL,
        )
        for where in (clerk, colleague)
    ]  # fmt: skip
    statuses = [process.wait(timeout=120) for process in both]
    assert sorted(statuses) == [0, 1]
    second = (colleague, clerk)[statuses.index(0)]
    yard.did(second, "pull", "-q", "--rebase", "origin", "main")
    assert yard.push(second).status == 0
    assert until(lambda: page(www, "2026-021").is_file() and page(www, "2026-022").is_file())


@linux
def test_what_is_begun_goes_on_when_the_one_who_pushed_hangs_up(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    with held(yard.root / f".{www.name}.kb/lock"):  # the publish waits before it writes
        push = subprocess.Popen(
            ["git", "push", "-q", "origin", "main"], cwd=clerk, env=yard.env,
            stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        assert until(lambda: sum(" begun: " in line for line in log(server)) == 2)
        os.killpg(push.pid, signal.SIGINT)  # Ctrl-C
        push.wait(timeout=60)
    assert until(lambda: page(www, "2026-021").is_file())


@linux
def test_the_one_who_pushed_is_told_when_the_publish_is_stopped(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    with held(yard.root / f".{www.name}.kb/lock"):
        push = subprocess.Popen(
            ["git", "push", "-q", "origin", "main"], cwd=clerk, env=yard.env,
            stderr=subprocess.PIPE,
        )  # fmt: skip
        assert until(lambda: sum(" begun: " in line for line in log(server)) == 2)
        leader = int(log(server)[-1].rpartition("process ")[2])
        os.kill(leader, signal.SIGKILL)
        told = push.communicate(timeout=60)[1].decode()
    assert push.returncode == 0
    assert "The publish was stopped" in told
    assert until(lambda: not at_work(server))  # what it had started ends by itself


@linux
def test_a_publish_that_is_killed_half_way_blocks_nothing(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    with held(yard.root / f".{www.name}.kb/lock"):
        push = subprocess.Popen(
            ["git", "push", "-q", "origin", "main"], cwd=clerk, env=yard.env,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        assert until(lambda: sum(" begun: " in line for line in log(server)) == 2)
        assert until(lambda: not killed(server))
        push.wait(timeout=60)
    add(yard, clerk, "2026-022")
    told = yard.push(clerk)
    assert told.status == 0
    assert WAITS not in remote(told)
    assert page(www, "2026-021").is_file()
    assert page(www, "2026-022").is_file()


def test_an_export_that_was_cut_short_is_begun_anew(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    (export,) = (server / "kb/exports").iterdir()
    (export / "bulletins/2026/2026-098.md").write_text(other("2026-098"), encoding="utf-8")
    record = server / "kb/served.json"
    tip = yard.did(server, "rev-parse", "main")
    text = record.read_text(encoding="utf-8")
    # What stands there while an export is written: which house, and no tree yet.
    record.write_text(text.replace(f'"tree": "{tip}"', '"tree": ""'), encoding="utf-8")
    assert record.read_text(encoding="utf-8") != text
    add(yard, clerk, "2026-021")
    assert yard.push(clerk).status == 0
    assert page(www, "2026-021").is_file()
    assert not page(www, "2026-098").exists()


def test_after_a_stop_the_commit_of_before_is_published_again_when_it_comes_back(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    assert yard.push(clerk).status == 0
    # As after a kill just before the end: the site is there, and no commit on record.
    record = server / "kb/served.json"
    tip = yard.did(server, "rev-parse", "main")
    text = record.read_text(encoding="utf-8")
    record.write_text(text.replace(f'"commit": "{tip}"', '"commit": ""'), encoding="utf-8")
    assert record.read_text(encoding="utf-8") != text
    assert yard.push(clerk, "--force", "HEAD~1:main").status == 0
    assert page(www, "2026-014").is_file()
    assert not page(www, "2026-021").exists()


@linux
def test_while_a_publish_runs_no_commit_stands_on_record(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    with held(yard.root / f".{www.name}.kb/lock"):
        push = subprocess.Popen(
            ["git", "push", "-q", "origin", "main"], cwd=clerk, env=yard.env,
            stderr=subprocess.DEVNULL,
        )  # fmt: skip
        record = server / "kb/served.json"
        assert until(lambda: '"commit": ""' in record.read_text(encoding="utf-8"))
    assert push.wait(timeout=120) == 0
    tip = yard.did(server, "rev-parse", "main")
    assert f'"commit": "{tip}"' in record.read_text(encoding="utf-8")


def test_what_an_earlier_push_left_undone_is_made_good_by_the_next(
    yard: Yard, pair: tuple[Path, Path], www: Path
) -> None:
    server, clerk = pair
    add(yard, clerk, "2026-021")
    yard.did(clerk, "push", "-q", "origin", "main:aside")
    yard.did(server, "update-ref", "refs/heads/main", "refs/heads/aside")  # no hook sees it
    assert yard.push(clerk, "main:another").status == 0
    assert page(www, "2026-021").is_file()


def test_remove_waits_for_nobody(yard: Yard, pair: tuple[Path, Path]) -> None:
    server, _ = pair
    with held(server / "kb/publishing.lock"):
        told = yard.kb(server, "hooks", "--remove")
    assert told.status == 1
    assert "a publish is running" in told.err
    assert (server / "hooks/pre-receive").exists()
