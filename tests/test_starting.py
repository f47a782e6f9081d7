from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

from kb.errors import KbError
from kb.house import read_house
from kb.records import HAZARDS, KINDS, PART_STATUSES, RELATIONS
from kb.resources import data
from kb.starting import start
from tests.deskhouse import numbers, run, shell


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("own") / "myhouse"
    start(folder)
    return folder


def test_a_new_house_holds_the_reference_tables_and_one_bulletin(begun: Path) -> None:
    files = {str(p.relative_to(begun)) for p in begun.rglob("*") if p.is_file()}
    tables = {"house.yaml", "families.yaml", "serials.yaml", "parts.csv", "kits.csv", "words.yaml"}
    assert {f"bulletins/reference/{name}" for name in tables} <= files
    assert [name for name in files if re.fullmatch(r"bulletins/20\d\d/.*\.md", name)]


def test_a_new_house_proofs_clean_without_a_warning(tmp_path: Path) -> None:
    told = run("start", tmp_path / "new")
    assert told.status == 0
    assert "kb proof" in told.err
    assert all(Path(line).is_file() for line in told.out.splitlines())
    proof = run("proof", "--json", "--house", tmp_path / "new")
    assert (proof.status, proof.json) == (0, {"problems": []})


def test_a_new_house_answers_and_publishes(begun: Path, tmp_path: Path) -> None:
    where = ("--json", "--house", begun)
    plate = run("plate", "AB451", "A 21 14 00031", *where).json
    assert [(b["number"], b["applies"]) for b in plate["bulletins"]] == [("2026-001", "yes")]
    assert plate["readings"][0]["built"] == {"from": "2021-04-05", "to": "2021-04-11"}
    assert numbers(run("find", "pump hums", *where).json["results"]) == ["2026-001"]
    assert numbers(run("find", "mud trap", *where).json["results"]) == ["2026-001"]
    assert numbers(run("part", "10-2040", *where).json["order"]) == ["10-2041"]
    assert numbers(run("part", "10-3310", *where).json["order"]) == ["10-3316"]
    done = run("publish", "--out", tmp_path / "site", *where)
    assert (done.status, done.json["bulletins"]) == (0, 1)
    assert (tmp_path / "site/bulletins/2026-001/index.html").is_file()


def test_the_next_steps_named_work_in_the_new_folder(tmp_path: Path) -> None:
    assert shell("start", "my house", cwd=tmp_path).err.startswith("Next: cd 'my house' && kb")
    assert shell("proof", cwd=tmp_path / "my house").status == 0
    assert shell("draft", "Something", cwd=tmp_path / "my house").status == 0


def test_a_folder_called_bulletins_becomes_the_house_itself(tmp_path: Path) -> None:
    start(tmp_path / "bulletins")
    assert (tmp_path / "bulletins/reference/house.yaml").is_file()
    assert run("proof", "--house", tmp_path).status == 0


def test_hidden_files_such_as_those_of_git_are_no_hindrance(tmp_path: Path) -> None:
    (tmp_path / ".git").mkdir()
    assert start(tmp_path)


@pytest.mark.parametrize("name", ["bulletins/reference/house.yaml", "README.md", "reference/x"])
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / name).write_text("mine")
    with pytest.raises(KbError, match="not empty"):
        start(tmp_path)
    told = run("start", tmp_path)
    assert told.status == 1
    assert "empty" in told.err
    assert [p.name for p in tmp_path.rglob("*") if p.is_file()] == [Path(name).name]
    assert (tmp_path / name).read_text() == "mine"


def test_starting_twice_is_refused_the_second_time(tmp_path: Path) -> None:
    assert run("start", tmp_path / "a").status == 0
    assert run("start", tmp_path / "a").status == 1
    assert run("start", tmp_path / "a" / "bulletins").status == 1


def test_a_file_where_the_folder_should_be_is_wrong_usage(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("mine")
    assert run("start", tmp_path / "a").status == 2


def table(name: str) -> str:
    return (data("start") / "reference" / name).read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "keys"),
    [
        ("house.yaml", ["name", "language", "units", "site", "contact", "components", "codes"]),
        ("families.yaml", ["product", "models", "produced", "scheme", "used"]),
        (
            "serials.yaml",
            ["layout", "plant", "year", "letters", "first", "month", "week", "used", "examples"],
        ),
        ("words.yaml", ["same", "spelled"]),
    ],
)
def test_the_tables_show_or_explain_every_key(name: str, keys: list[str]) -> None:
    text = table(name)
    for key in keys:
        assert re.search(rf"\b{key}:", text), key
    assert text.startswith("#")


def test_the_tables_explain_every_letter_of_a_layout_and_both_weeks() -> None:
    text = table("serials.yaml")
    for letter in "PYWMDJNX":
        assert re.search(rf"\b{letter} [a-z]", text), letter
    assert "jan-1" in text


def test_the_columns_of_the_two_lists_are_explained_with_every_value() -> None:
    guide = table("README.md")
    for name in ("parts.csv", "kits.csv"):
        for column in next(csv.reader([table(name).splitlines()[0]])):
            assert f"| `{column}` |" in guide
    for word in (*PART_STATUSES, *RELATIONS):
        assert f"`{word}`" in guide


def test_the_sample_bulletin_says_what_kinds_there_are() -> None:
    text = (data("start") / "2026/2026-001.md").read_text(encoding="utf-8")
    for kind in KINDS:
        assert kind in text
    assert any(hazard in text for hazard in HAZARDS)


def test_the_sample_uses_checks_parts_panel_and_a_quantity(begun: Path) -> None:
    sample = read_house(begun / "bulletins").bulletins[0]
    assert len(sample.checks) == 2
    assert sample.parts
    assert "::: warning" in sample.body
    assert "{1.2 N m}" in sample.body
