"""The desk: brings its store up to date by itself, and mends what is broken."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from kb import derived
from kb.desk import Desk
from kb.errors import KbError
from tests.search_house import ODD_HOUSE, TODAY, ask, bulletin, write_house

# Whoosh leaves a file that it could not read to the garbage collector.
LEFT_OPEN = "ignore::pytest.PytestUnraisableExceptionWarning"


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """Return a small house that no question has been put to yet."""
    return write_house(tmp_path / "bulletins", ODD_HOUSE)


def edition(house: Path) -> derived.Edition:
    """Return the edition that readers are pointed to."""
    found = derived.current(house)
    assert found is not None
    return found


def test_the_first_question_makes_the_store_and_says_so(house: Path) -> None:
    said: list[str] = []
    assert ask(Desk(house, TODAY, said.append), "zigzag") == ["2026-020"]
    assert said == ["First question to this house: reading its bulletins."]


def test_the_next_question_is_answered_from_what_is_there(house: Path) -> None:
    Desk(house, TODAY)
    first = edition(house)
    said: list[str] = []
    Desk(house, TODAY, said.append)
    assert said == []
    assert edition(house) == first


CHANGES: dict[str, tuple[Callable[[Path], object], list[str]]] = {
    "added": (
        lambda h: (h / "2026" / "n.md").write_text(bulletin("2026-030", "Zigzag new")),
        ["2026-030", "2026-020"],
    ),
    "changed": (
        lambda h: (h / "2026" / "2026-020.md").write_text(bulletin("2026-020", "Nothing at all")),
        ["2025-002"],
    ),
    "removed": (lambda h: (h / "2026" / "2026-020.md").unlink(), ["2025-002"]),
    "words added": (
        lambda h: (h / "reference" / "words.yaml").write_text("spelled: {zogzog: zigzag}\n"),
        ["2026-020"],
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_changed_is_answered_for_at_once(house: Path, change: str) -> None:
    Desk(house, TODAY)
    alter, expected = CHANGES[change]
    alter(house)
    said: list[str] = []
    desk = Desk(house, TODAY, said.append)
    assert set(ask(desk, "zogzog" if change == "words added" else "zigzag")) == set(expected)
    assert said == ["The bulletins have changed: bringing the store up to date."]


def test_a_reader_keeps_answering_while_a_new_edition_is_made(house: Path) -> None:
    reader = Desk(house, TODAY)
    before = reader.finder.find("zigzag spring").as_json()
    plate = reader.finder.find("TD45A kp1400031").as_json()
    (house / "2026" / "2026-020.md").unlink()
    Desk(house, TODAY)
    assert reader.finder.find("zigzag spring").as_json() == before
    assert reader.finder.find("TD45A kp1400031").as_json() == plate


def test_a_reader_whose_edition_went_before_it_searched_finds_the_new_one(house: Path) -> None:
    reader = Desk(house, TODAY)
    (house / "2026" / "2026-020.md").unlink()
    Desk(house, TODAY)
    assert ask(reader, "zigzag") == ["2025-002"]


def cut(path: Path) -> None:
    """Cut a file to half its length."""
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


BREAKAGES: dict[str, Callable[[derived.Edition], object]] = {
    "store gone": lambda e: e.store.unlink(),
    "store empty": lambda e: e.store.write_bytes(b""),
    "store garbage": lambda e: e.store.write_bytes(b"garbage" * 999),
    "index gone": lambda e: shutil.rmtree(e.index),
    "index emptied": lambda e: list(map(Path.unlink, e.index.iterdir())),
    "index garbage": lambda e: [path.write_bytes(b"\x00" * 99) for path in e.index.iterdir()],
    "index cut": lambda e: list(map(cut, e.index.glob("*.trm"))),
    "words gone": lambda e: e.words.unlink(),
    "words cut": lambda e: cut(e.words),
    "looks gone": lambda e: e.seen.unlink(),
    "all gone": lambda e: shutil.rmtree(e.folder),
    "pointer garbage": lambda e: (e.folder.parent / "current").write_bytes(b"\xff\x00"),
    "pointer gone": lambda e: (e.folder.parent / "current").unlink(),
}


@pytest.mark.filterwarnings("ignore::ResourceWarning", LEFT_OPEN)
@pytest.mark.parametrize("breakage", BREAKAGES)
def test_a_broken_edition_is_made_anew(house: Path, breakage: str) -> None:
    whole = Desk(house, TODAY).finder.find("zigzag E21 drum").as_json()
    BREAKAGES[breakage](edition(house))
    said: list[str] = []
    desk = Desk(house, TODAY, said.append)
    assert desk.finder.find("zigzag E21 drum").as_json() == whole
    assert len(said) == 1
    said.clear()
    assert ask(Desk(house, TODAY, said.append), "zigzag") == ["2026-020"]
    assert said == []


def test_everything_derived_may_be_deleted(house: Path) -> None:
    before = Desk(house, TODAY).finder.find("zigzag").as_json()
    shutil.rmtree(house / ".kb")
    assert Desk(house, TODAY).finder.find("zigzag").as_json() == before


def test_two_editions_of_one_house_have_the_same_store(house: Path) -> None:
    Desk(house, TODAY)
    first = edition(house).store.read_bytes()
    shutil.rmtree(house / ".kb")
    Desk(house, TODAY)
    assert edition(house).store.read_bytes() == first


def test_a_locked_house_is_answered_for_from_the_caches(
    house: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "caches"))
    monkeypatch.setattr("os.access", lambda path, mode: False)
    assert ask(Desk(house, TODAY), "zigzag") == ["2026-020"]
    assert not (house / ".kb").exists()
    assert (tmp_path / "caches" / "fettlebook").is_dir()


@pytest.mark.parametrize(
    "broken", ["", "---\nnumber: [\n---\n", "\x00\xff", "---\ntitle: x\n---\n"]
)
def test_a_broken_bulletin_does_not_keep_the_others_from_being_found(
    house: Path, broken: str
) -> None:
    (house / "2026" / "broken.md").write_bytes(broken.encode("latin-1"))
    assert ask(Desk(house, TODAY), "zigzag") == ["2026-020"]


def test_an_empty_house_answers_with_nothing(tmp_path: Path) -> None:
    (tmp_path / "bulletins" / "reference").mkdir(parents=True)
    desk = Desk(tmp_path / "bulletins", TODAY)
    for typed in ("drain", "E21", "2026-014", "TD45A", "HR-310-4126", '"a b"', ""):
        assert desk.finder.find(typed).results == ()


def test_an_index_that_cannot_be_made_is_told_plainly(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kb import fulltext

    monkeypatch.setattr(fulltext, "build", lambda folder, entries: folder.mkdir())
    with pytest.raises(KbError, match="does not open"):
        Desk(house, TODAY).finder.find("drain")
