"""A publish goes by the proof of the last one, and still tells all that is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.proof import again
from kb.proof.base import Each
from kb.proof.look import Look
from tests.deskhouse import run, write_house

DOOR = "2024/2024-007.md"


@pytest.fixture
def house(tmp_path: Path) -> Path:
    """A house that is published beside itself."""
    house = write_house(tmp_path / "bulletins")
    assert run("publish", "--house", house).status == 0
    return house


def changed(house: Path, old: str, new: str) -> None:
    path = house / DOOR
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))


def test_what_a_changed_text_breaks_refuses_the_publish(house: Path) -> None:
    changed(house, "Drum.", "Turn it with {2 Nmm}.")
    told = run("publish", "--house", house)
    assert told.status == 1
    assert "Nmm" in told.err and DOOR in told.err
    changed(house, "{2 Nmm}", "{2 N m}")
    assert run("publish", "--house", house).status == 0


def test_a_changed_text_is_proofed_without_going_over_the_house(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    find = Each.__call__

    def over_all(rule: Each, look: Look) -> object:
        asked.append("all")
        return find(rule, look)

    monkeypatch.setattr(Each, "__call__", over_all)
    changed(house, "Drum.", "The drum grinds.")
    assert run("publish", "--house", house).status == 0
    assert not asked
    (house / DOOR).rename(house / "2024/2024-008.md")
    assert run("publish", "--house", house).status == 0
    assert asked


def test_without_what_was_kept_the_whole_house_is_proofed(
    house: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    befores: list[object] = []
    proofed = again.proofed

    def noted(*words: object) -> object:
        befores.append(words[-1])
        return proofed(*words)  # type: ignore[arg-type]

    monkeypatch.setattr("kb.proof.proofed", noted)
    out = house.parent / "site"
    changed(house, "Drum.", "The drum grinds.")
    assert run("publish", "--house", house).status == 0
    for kept in out.rglob("made"):
        kept.unlink()
    changed(house, "The drum grinds.", "It grinds.")
    assert run("publish", "--house", house).status == 0
    assert [before is None for before in befores] == [False, True]
