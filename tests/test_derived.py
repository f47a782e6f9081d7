"""Editions of derived data: which one is read, when it is stale, and what is cleared away."""

from __future__ import annotations

import marshal
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from kb import __version__, derived, editions


def make(house: Path, looks: bytes = b"looks") -> derived.Edition:
    """Write a small finished edition."""
    with editions.writing(house):
        edition = editions.begin(house)
        edition.store.write_text("store", encoding="utf-8")
        edition.index.mkdir()
        editions.finish(edition, looks)
    return edition


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """Return a house of a few files."""
    folder = tmp_path / "bulletins"
    (folder / "reference").mkdir(parents=True)
    (folder / "2026").mkdir()
    (folder / "reference" / "parts.csv").write_text("number\n", encoding="utf-8")
    (folder / "2026" / "a.md").write_text("one", encoding="utf-8")
    return folder


def test_a_house_without_editions_has_none_to_read(house: Path) -> None:
    assert derived.current(house) is None


def test_a_finished_edition_is_the_one_to_read(house: Path) -> None:
    edition = make(house)
    assert derived.current(house) == edition
    assert derived.is_fresh(edition, b"looks")
    assert derived.fresh(house, b"looks") == edition
    assert not derived.is_fresh(edition, b"other looks")
    assert derived.fresh(house, b"other looks") is None


def test_an_edition_lies_inside_the_house_and_is_kept_out_of_its_history(house: Path) -> None:
    edition = make(house)
    assert edition.folder.parent == house / ".kb"
    assert (house / ".kb" / ".gitignore").read_text(encoding="utf-8") == "*\n"


@pytest.mark.parametrize("gone", ["kb.sqlite", "seen"])
def test_an_edition_with_a_file_missing_is_not_read(house: Path, gone: str) -> None:
    edition = make(house)
    (edition.folder / gone).unlink()
    assert derived.current(house) is None
    assert not derived.is_fresh(edition, b"looks") or gone != "seen"


@pytest.mark.parametrize(
    "content", [b"", b"nowhere", b"../..", b"\xff\xfe", b"edition-x\n", b"a\x00b"]
)
def test_a_broken_pointer_means_that_there_is_no_edition(house: Path, content: bytes) -> None:
    make(house)
    (house / ".kb" / "current").write_bytes(content)
    assert derived.current(house) is None


CHANGES: dict[str, Callable[[Path], object]] = {
    "a bulletin changed": lambda h: (h / "2026" / "a.md").write_text("longer", encoding="utf-8"),
    "a bulletin added": lambda h: (h / "2026" / "b.md").write_text("", encoding="utf-8"),
    "a bulletin removed": lambda h: (h / "2026" / "a.md").unlink(),
    "a bulletin moved": lambda h: (h / "2026" / "a.md").rename(h / "a.md"),
    "a table changed": lambda h: (h / "reference" / "parts.csv").write_text("n", encoding="utf-8"),
    "a table added": lambda h: (h / "reference" / "x.yaml").write_text("", encoding="utf-8"),
    "saved again a second later": lambda h: os.utime(h / "2026" / "a.md", (9e8, 9e8)),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_house_looks_different_after(house: Path, change: str) -> None:
    before = derived.look(house)
    CHANGES[change](house)
    assert derived.look(house) != before


UNSEEN: dict[str, Callable[[Path], object]] = {
    "derived data": make,
    "a hidden file": lambda h: (h / ".hidden.md").write_text("", encoding="utf-8"),
    "a hidden folder": lambda h: (h / ".git").mkdir(),
    "a text of another sort": lambda h: (h / "notes.txt").write_text("", encoding="utf-8"),
    "an empty folder": lambda h: (h / "2027").mkdir(),
}


@pytest.mark.parametrize("change", UNSEEN)
def test_a_house_looks_the_same_after(house: Path, change: str) -> None:
    before = derived.look(house)
    UNSEEN[change](house)
    assert derived.look(house) == before


def test_looks_tell_the_version_that_made_them(house: Path) -> None:
    version, _, seen = marshal.loads(derived.look(house))
    assert version == __version__
    assert [(folder, names) for folder, names, _, _ in seen] == [
        ("2026/", "a.md"),
        ("reference/", "parts.csv"),
    ]


def test_where_files_are_told_by_their_whole_paths_alone_a_house_looks_the_same(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = derived.look(house)
    monkeypatch.setattr("os.supports_fd", set())
    assert derived.look(house) == before


def test_an_edition_of_another_form_is_not_fresh(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = derived.look(house)
    monkeypatch.setattr(derived, "_FORM", 0)
    assert derived.look(house) != before


def test_folders_that_link_to_each_other_come_to_an_end(house: Path) -> None:
    (house / "2026" / "again").symlink_to(house, target_is_directory=True)
    assert derived.look(house)


def test_a_locked_house_keeps_its_editions_in_the_users_caches(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    monkeypatch.setattr("os.access", lambda path, mode: False)
    home = derived.home(house)
    assert home.parent == tmp_path / "caches" / "fettlebook"
    assert derived.home(house) == home
    assert derived.home(tmp_path / "another") != home
    edition = make(house)
    assert derived.current(house) == edition
    assert not (house / ".kb").exists()


def test_in_a_locked_house_the_edition_of_whoever_may_write_there_is_read(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    theirs = make(house, b"looks")
    monkeypatch.setattr("os.access", lambda path, mode: False)
    assert derived.fresh(house, b"looks") == theirs
    own = make(house, b"newer looks")
    assert derived.fresh(house, b"newer looks") == own != theirs
    assert derived.fresh(house, b"looks") == theirs


def test_a_house_that_is_moved_looks_the_same(house: Path) -> None:
    before = derived.look(house)
    moved = house.rename(house.parent / "moved")
    assert derived.look(moved) == before


def test_without_a_named_cache_folder_it_lies_under_home(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("XDG_CACHE_HOME", raising=False)
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.setattr("os.access", lambda path, mode: False)
    assert derived.home(house).is_relative_to(tmp_path / "home" / ".cache")
