"""Writing editions: one writer, aside, to the disk, then pointed to; nothing half is left."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from kb import derived, durable, editions
from tests.test_derived import house, make

__all__ = ["house"]


def begun(house: Path, store: str = "half") -> derived.Edition:
    """Begin an edition and leave it unfinished."""
    edition = editions.begin(house)
    edition.store.write_text(store, encoding="utf-8")
    return edition


def test_an_edition_under_way_is_not_read(house: Path) -> None:
    first = make(house)
    begun(house)
    assert derived.current(house) == first


def test_finishing_clears_older_editions_away(house: Path) -> None:
    first = make(house)
    second = make(house)
    assert derived.current(house) == second
    assert not first.folder.exists()


def test_what_a_killed_writer_left_is_cleared_away_before_the_next_begins(house: Path) -> None:
    half = begun(house)
    with editions.writing(house):
        assert not half.folder.exists()


def test_without_locks_only_what_was_left_long_ago_is_cleared_away(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_locks(*given: object) -> None:
        raise OSError("no locks available")

    monkeypatch.setattr("fcntl.flock", no_locks)
    old, new = begun(house), begun(house)
    os.utime(old.folder, (1e9, 1e9))
    assert derived.current(house) is None
    edition = make(house)
    assert derived.current(house) == edition
    assert not old.folder.exists()
    assert new.folder.exists()


def test_two_writers_without_locks_both_end_with_a_whole_edition(house: Path) -> None:
    one, other = begun(house), begun(house)
    editions.finish(one, b"looks")
    editions.finish(other, b"looks")
    assert derived.current(house) == other


def test_the_files_are_on_the_disk_before_they_are_pointed_to_and_the_old_ones_go_last(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = make(house)
    steps: list[str] = []
    settle, replace = durable.settle, Path.replace

    def settled(path: Path) -> None:
        steps.append(path.name)
        settle(path)

    def replaced(path: Path, target: Path) -> Path:
        assert first.folder.exists()
        steps.append("pointed")
        return replace(path, target)

    monkeypatch.setattr(durable, "settle", settled)
    monkeypatch.setattr(Path, "replace", replaced)
    second = make(house)
    written = {"kb.sqlite", "seen", "index", second.folder.name}
    assert set(steps[: steps.index("pointed")]) == written
    assert steps[steps.index("pointed") - 1] == second.folder.name
    assert steps[steps.index("pointed") + 1 :] == [".kb"]
    assert not first.folder.exists()


def test_an_edition_can_be_read_by_whoever_may_read_the_house(house: Path) -> None:
    edition = make(house)
    assert edition.folder.stat().st_mode == house.stat().st_mode


def test_discarding_what_is_gone_already_is_no_fault(house: Path) -> None:
    edition = make(house)
    editions.discard(edition)
    editions.discard(edition)
    assert derived.current(house) is None
