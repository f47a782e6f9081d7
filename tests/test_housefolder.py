from __future__ import annotations

from pathlib import Path

import pytest

from kb.errors import KbError
from kb.housefolder import house_at, is_house, nearest_house
from kb.resources import data, folder


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    for name in ("work/bulletins/reference", "work/bulletins/2024/deep", "work/other", "empty"):
        (tmp_path / name).mkdir(parents=True)
    return tmp_path


@pytest.mark.parametrize(
    "start",
    [
        "work",
        "work/other",
        "work/bulletins",
        "work/bulletins/reference",
        "work/bulletins/2024/deep",
    ],
)
def test_the_house_is_found_here_or_in_a_folder_above(tree: Path, start: str) -> None:
    assert nearest_house(tree / start) == (tree / "work/bulletins").resolve()


def test_a_house_of_another_name_is_found_from_inside(tree: Path) -> None:
    (tree / "notes/reference").mkdir(parents=True)
    assert nearest_house(tree / "notes/reference") == (tree / "notes").resolve()


def test_where_there_is_none_the_remedy_names_both_ways_out(tree: Path) -> None:
    with pytest.raises(KbError) as told:
        nearest_house(tree / "empty")
    assert "--house DIR" in told.value.remedy
    assert "kb start DIR" in told.value.remedy


@pytest.mark.parametrize("named", ["work", "work/bulletins"])
def test_a_folder_named_may_be_the_house_or_hold_it(tree: Path, named: str) -> None:
    assert house_at(tree / named) == tree / "work/bulletins"


@pytest.mark.parametrize("named", ["empty", "work/other", "work/bulletins/2024", "nosuch"])
def test_a_folder_that_is_no_house_is_refused(tree: Path, named: str) -> None:
    assert not is_house(tree / named)
    with pytest.raises(KbError, match="no house"):
        house_at(tree / named)


def test_a_file_called_reference_makes_no_house(tree: Path) -> None:
    (tree / "empty/reference").write_text("x")
    assert not is_house(tree / "empty")


def test_templates_site_and_data_are_where_they_are_looked_for() -> None:
    assert (folder("templates") / "base.html").is_file()
    assert (folder("site") / "style.css").is_file()
    assert (folder("site") / "preview/preview.js").is_file()
    assert data("start").is_dir()


def test_an_installed_package_uses_the_copies_inside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "kb"
    (package / "_shared/site").mkdir(parents=True)
    (tmp_path / "templates").mkdir()
    monkeypatch.setattr("kb.resources._PACKAGE", package)
    assert folder("site") == package / "_shared/site"
    assert folder("templates") == tmp_path / "templates"
    assert data("words.json") == package / "data/words.json"
