"""Where a house is looked for: the folder named, one named bulletins, and the folders above."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.errors import KbError
from kb.housefolder import house_at, is_house, nearest_house


def house(folder: Path) -> Path:
    (folder / "reference").mkdir(parents=True)
    return folder


def test_a_house_is_a_folder_with_tables(tmp_path: Path) -> None:
    assert is_house(house(tmp_path / "a"))
    assert not is_house(tmp_path)
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "reference").write_text("no folder")
    assert not is_house(tmp_path / "b") and not is_house(tmp_path / "nowhere")


def test_the_folder_named_is_the_house_or_holds_it(tmp_path: Path) -> None:
    inner = house(tmp_path / "desk" / "bulletins")
    assert house_at(inner) == inner
    assert house_at(tmp_path / "desk") == inner
    outer = house(tmp_path / "desk" / "bulletins" / "bulletins").parent
    assert house_at(outer) == outer


@pytest.mark.parametrize("name", ["", "empty", "nowhere", "desk/deeper"])
def test_a_folder_without_a_house_says_what_to_do(tmp_path: Path, name: str) -> None:
    house(tmp_path / "desk" / "bulletins")
    (tmp_path / "empty").mkdir()
    with pytest.raises(KbError) as trouble:
        house_at(tmp_path / name)
    assert trouble.value.message == (
        f"{tmp_path / name} is no house: it has no folder reference/ with tables"
    )
    assert trouble.value.remedy == (
        "name the folder that holds reference/, or begin a house: kb start DIR"
    )


def test_the_nearest_house_wins_and_bulletins_below_a_folder_comes_first(tmp_path: Path) -> None:
    far = house(tmp_path / "bulletins").resolve()
    near = house(tmp_path / "desk" / "bulletins").resolve()
    itself = house(tmp_path / "other").resolve()
    deep = tmp_path / "desk" / "a" / "b"
    deep.mkdir(parents=True)
    assert nearest_house(deep) == nearest_house(tmp_path / "desk") == near
    assert nearest_house(near / "reference") == near
    assert nearest_house(itself) == itself
    assert nearest_house(tmp_path) == far
    house(itself / "bulletins")
    assert nearest_house(itself) == itself / "bulletins"


def test_no_house_anywhere_above_says_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(KbError) as trouble:
        nearest_house(tmp_path)
    assert trouble.value.message == "there is no folder bulletins/ with bulletins here or above"
    assert "--house DIR" in trouble.value.remedy and "kb start DIR" in trouble.value.remedy
