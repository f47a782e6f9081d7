"""The desk answers while its store is written, and after a writer was stopped wherever it stood."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from kb import derived, desk, editions, fulltext
from kb.desk import Desk
from kb.errors import KbError
from tests.search_house import ODD_HOUSE, TODAY, ask, bulletin, write_house

ROOT = Path(__file__).resolve().parent.parent
AS_ROOT = pytest.mark.skipif(
    os.name != "posix" or os.geteuid() != 0 or not shutil.which("mount"),
    reason="only root may mount a small disk",
)


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """Return a small house that has been asked before, with one bulletin that has gone since."""
    folder = write_house(tmp_path / "bulletins", ODD_HOUSE)
    Desk(folder, TODAY)
    return folder


def edition(house: Path) -> derived.Edition:
    """Return the edition that readers are pointed to."""
    found = derived.current(house)
    assert found is not None
    return found


def folders(house: Path) -> set[str]:
    """Return the names of all editions, whole or not."""
    return {path.name for path in derived.home(house).glob("edition-*")}


def change(house: Path) -> None:
    """Take a bulletin away, so that the other one about a zigzag spring is the one in force."""
    (house / "2026" / "2026-020.md").unlink()


# A reader before, during and after


def test_readers_opened_before_during_and_after_writing_each_have_a_whole_answer(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = Desk(house, TODAY)
    searched = Desk(house, TODAY)
    assert ask(searched, "zigzag") == ["2026-020"]
    during: list[Desk] = []
    build = fulltext.build

    def watched(*given: object) -> None:
        held = edition(house)
        during.append(Desk.__new__(Desk))
        monkeypatch.setattr(derived, "look", lambda house: held.seen.read_bytes())
        during[0].__init__(house, TODAY)  # type: ignore[misc]  # a question while one is writing
        monkeypatch.undo()
        assert ask(during[0], "zigzag") == ["2026-020"]
        build(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(fulltext, "build", watched)
    change(house)
    after = Desk(house, TODAY)
    assert ask(after, "zigzag") == ["2025-002"]
    assert len(during) == 1
    assert ask(during[0], "zigzag") == ask(searched, "zigzag") == ["2026-020"]
    assert ask(before, "zigzag") == ["2025-002"]  # it had opened no index yet
    assert folders(house) == {edition(house).folder.name}


def test_an_edition_cleared_away_while_a_reader_opens_it_gives_way_to_the_new_one(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pointed = derived.fresh(house, derived.look(house))
    assert pointed
    read_house_anew = iter([True])
    fresh = derived.fresh

    def overtaken(folder: Path, looks: bytes) -> derived.Edition | None:
        found = fresh(folder, looks)
        if next(read_house_anew, False):  # between being pointed and opening, another one writes
            shutil.copytree(pointed.folder, pointed.folder.parent / "edition-newer")
            editions.finish(derived.Edition(pointed.folder.parent / "edition-newer"), looks)
            assert not pointed.folder.exists()
        return found

    monkeypatch.setattr(derived, "fresh", overtaken)
    said: list[str] = []
    assert ask(Desk(house, TODAY, said.append), "zigzag") == ["2026-020"]
    assert said == []


# Killed at every step

KILLED = """
import os, sys
from datetime import date
from pathlib import Path
from kb import desk, durable, editions, entries, fulltext, indexing, store
module, name = sys.argv[2].rsplit(".", 1)
owner = eval(module)
real = getattr(owner, name)
def killed(*given, **more):
    if sys.argv[3] == "after":
        real(*given, **more)
    os.kill(os.getpid(), 9)
setattr(owner, name, killed)
desk.Desk(Path(sys.argv[1]), date(2026, 11, 25))
"""
STEPS = [
    ("editions.begin", "before"),
    ("editions.begin", "after"),
    ("store.write", "before"),
    ("store._insert", "after"),
    ("store.write", "after"),
    ("indexing.entry_of", "before"),
    ("fulltext.build", "before"),
    ("fulltext.FileIndex.create", "after"),
    ("fulltext.build", "after"),
    ("editions.settle_all", "before"),
    ("editions.settle_all", "after"),
    ("Path.replace", "before"),
]


@pytest.mark.parametrize(("step", "when"), STEPS)
def test_a_writer_killed_half_way_leaves_the_old_answer_and_the_next_clears_up(
    house: Path, step: str, when: str
) -> None:
    old, searched = edition(house), Desk(house, TODAY)
    looks = derived.look(house)
    change(house)
    done = subprocess.run(
        [sys.executable, "-c", KILLED, str(house), step, when], cwd=ROOT, check=False
    )
    assert done.returncode == -9
    assert edition(house) == old
    assert derived.is_fresh(old, looks)
    assert ask(searched, "zigzag") == ["2026-020"]
    assert ask(Desk(house, TODAY), "zigzag") == ["2025-002"]
    assert folders(house) == {edition(house).folder.name} != {old.folder.name}


@pytest.mark.parametrize("step", ["editions.exchange", "editions.discard"])
def test_a_writer_killed_once_it_has_pointed_leaves_the_new_answer(house: Path, step: str) -> None:
    change(house)
    when = "after" if step == "editions.exchange" else "before"
    subprocess.run([sys.executable, "-c", KILLED, str(house), step, when], cwd=ROOT, check=False)
    said: list[str] = []
    assert ask(Desk(house, TODAY, said.append), "zigzag") == ["2025-002"]
    assert said == []
    (house / "2026" / "2026-030.md").write_text(bulletin("2026-030", "Zigzag"), encoding="utf-8")
    Desk(house, TODAY)
    assert folders(house) == {edition(house).folder.name}


# Two writers


def test_of_two_writers_at_once_the_second_waits_and_reads_what_the_first_wrote(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    change(house)
    writing, waiting = threading.Event(), threading.Event()
    write, said, asked = desk._write, [""], {}

    def slow(*given: object) -> derived.Edition:
        writing.set()
        assert waiting.wait(30)
        return write(*given)  # type: ignore[arg-type]

    def second(text: str) -> None:
        said.append(text)
        waiting.set()

    def question(name: str, say: Callable[[str], None]) -> None:
        asked[name] = Desk(house, TODAY, say)._edition

    monkeypatch.setattr(desk, "_write", slow)
    first = threading.Thread(target=question, args=("first", lambda text: None))
    first.start()
    assert writing.wait(30)
    other = threading.Thread(target=question, args=("second", second))
    other.start()
    first.join(60)
    other.join(60)
    assert asked["first"] == asked["second"] == edition(house)
    assert said == ["", "Another kb is at this house's store: waiting."]


def test_many_processes_that_ask_at_once_all_answer(house: Path) -> None:
    change(house)
    command = [sys.executable, "-m", "kb", "--house", str(house), "find", "zigzag", "--json"]
    running = [
        subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(4)
    ]
    for each in running:
        answer, _ = each.communicate(timeout=120)
        assert each.returncode == 0
        assert b'"2025-002"' in answer
    assert folders(house) == {edition(house).folder.name}


# A full disk, a locked house


def test_what_cannot_be_written_is_told_and_leaves_no_half_edition(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*given: object) -> None:
        raise OSError(28, "No space left on device")

    old = edition(house)
    change(house)
    monkeypatch.setattr(fulltext, "build", full)
    with pytest.raises(KbError, match="No space left on device") as raised:
        Desk(house, TODAY)
    assert str(derived.home(house)) in raised.value.remedy
    assert edition(house) == old
    assert folders(house) == {old.folder.name}
    monkeypatch.undo()
    assert ask(Desk(house, TODAY), "zigzag") == ["2025-002"]


@contextmanager
def mounted(folder: Path, *options: str) -> Iterator[Path]:
    """Mount a disk that lies in memory at *folder*."""
    folder.mkdir(exist_ok=True)
    done = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", ",".join(options), "tmpfs", str(folder)], check=False
    )
    if done.returncode:
        pytest.skip("no disk can be mounted here")
    try:
        yield folder
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)


@AS_ROOT
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("kilobytes", [64, 128, 256, 384, 448])
def test_a_full_disk_is_told_and_the_old_answer_stays(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kilobytes: int
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "small"))
    monkeypatch.setattr("os.access", lambda path, mode: False)
    shutil.rmtree(house / ".kb")
    with mounted(tmp_path / "small", "size=2m") as small:
        searched = Desk(house, TODAY)
        old = edition(house)
        used = sum(path.stat().st_size for path in small.rglob("*") if path.is_file())
        remount = f"remount,size={used // 1024 + kilobytes}k"
        subprocess.run(["mount", "-o", remount, str(small)], check=True)
        change(house)
        with pytest.raises(KbError, match=r"full|space"):
            Desk(house, TODAY)
        assert edition(house) == old
        assert ask(searched, "zigzag") == ["2026-020"]
        assert folders(house) == {old.folder.name}
        subprocess.run(["mount", "-o", "remount,size=4m", str(small)], check=True)
        assert ask(Desk(house, TODAY), "zigzag") == ["2025-002"]
        assert folders(house) == {edition(house).folder.name}


@AS_ROOT
def test_a_house_on_a_disk_that_takes_no_writing_is_answered_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    with mounted(tmp_path / "disk", "size=4m") as disk:
        for name, asked in (("new", False), ("known", True)):
            folder = write_house(disk / name, ODD_HOUSE)
            if asked:
                Desk(folder, TODAY)
        subprocess.run(["mount", "-o", "remount,ro", str(disk)], check=True)
        said: list[str] = []
        assert ask(Desk(disk / "known", TODAY, said.append), "zigzag") == ["2026-020"]
        assert said == []
        assert not (tmp_path / "caches").exists()
        assert ask(Desk(disk / "new", TODAY, said.append), "zigzag") == ["2026-020"]
        assert len(said) == 1
        assert ask(Desk(disk / "new", TODAY, said.append), "zigzag") == ["2026-020"]
        assert len(said) == 1
        assert not (disk / "new" / ".kb").exists()
