"""A house read from a folder: everything in it, every problem at once, nothing outside of it."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from kb.dates import parse_days
from kb.house import read_house
from kb.records import House
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN, MakeHouse

ONE = {"2026/2026-014.md": SOUND_BULLETIN}


def told(house: House) -> list[tuple[str, int, str]]:
    return [(problem.file, problem.line, problem.rule) for problem in house.problems]


def numbered(number: str) -> str:
    return SOUND_BULLETIN.replace("2026-014", number)


def test_a_sound_house_is_read_whole(make_house: MakeHouse) -> None:
    folder = make_house({**ONE, "2026/2026-014/pump.svg": "<svg/>"})
    house = read_house(folder)
    assert told(house) == []
    assert house.folder == folder and house.name == "Hollin Ridge"
    assert list(house.families) == ["Tarn", "Cairn"] and list(house.schemes) == ["hollin"]
    assert (len(house.parts), len(house.kits)) == (6, 2)
    assert house.words.spelled == {"gaskit": "gasket"}
    assert house.components == ("door seal", "main control")
    assert house.files == (
        "2026/2026-014.md",
        "2026/2026-014/pump.svg",
        "reference/families.yaml",
        "reference/house.yaml",
        "reference/kits.csv",
        "reference/parts.csv",
        "reference/serials.yaml",
        "reference/words.yaml",
    )
    (bulletin,) = house.bulletins
    assert (bulletin.number, bulletin.issued) == ("2026-014", date(2026, 3, 2))
    assert bulletin.where[0].built == parse_days("2024-W10..2025-W22")
    assert bulletin.file == "2026/2026-014.md"


def test_the_demo_house_is_read_without_a_word(demo_house: Path) -> None:
    house = read_house(demo_house)
    assert told(house) == [] and not house.unsound
    assert len(house.bulletins) > 50 and len(house.families) == 5


@pytest.mark.parametrize(
    "present", [[], ["house.yaml"], ["families.yaml"], ["serials.yaml", "parts.csv"]]
)
def test_each_missing_table_is_told_once_with_a_remedy(tmp_path: Path, present: list[str]) -> None:
    (tmp_path / "reference").mkdir()
    for name in present:
        (tmp_path / "reference" / name).write_text(SMALL_HOUSE[f"reference/{name}"])
    house = read_house(tmp_path)
    needed = {"house.yaml", "families.yaml", "serials.yaml"} - set(present)
    assert sorted(told(house)) == sorted((f"reference/{n}", 1, "missing-file") for n in needed)
    assert all("kb start" in problem.remedy for problem in house.problems)


def test_parts_kits_and_words_may_be_missing(make_house: MakeHouse) -> None:
    folder = make_house(ONE)
    for name in ("parts.csv", "kits.csv", "words.yaml"):
        (folder / "reference" / name).unlink()
    house = read_house(folder)
    assert told(house) == [] and house.parts == () and house.words.same == ()


def test_an_empty_or_missing_folder_ends_in_problems(tmp_path: Path) -> None:
    assert len(read_house(tmp_path).problems) == 3
    assert read_house(tmp_path / "nowhere").problems[0].rule == "unreadable"


def test_every_problem_of_every_file_comes_out_in_one_run(make_house: MakeHouse) -> None:
    house = read_house(
        make_house(
            {
                "reference/house.yaml": "name: Hollin\nunits: miles\n",
                "reference/parts.csv": "number,name,status\nHR-1,Hose,lost\n",
                "reference/serials.yaml": "hollin:\n  layout: QQ\n",
                "reference/words.yaml": "same:\n\t- [a, b]\n",
                "a.md": SOUND_BULLETIN.replace("kind: repair", "kind: fix"),
                "b/b.md": SOUND_BULLETIN.replace("2026-014", "B-1").replace("issued", "isued"),
                "c.md": "no keys\n",
                "d.md": b"\xff\xfe---",
                "z.md": SOUND_BULLETIN,
            }
        )
    )
    assert told(house) == [
        ("a.md", 4, "unknown-word"),
        ("b/b.md", 5, "unknown-key"),
        ("c.md", 1, "front-matter"),
        ("d.md", 1, "encoding"),
        ("reference/house.yaml", 2, "unknown-word"),
        ("reference/parts.csv", 2, "unknown-word"),
        ("reference/serials.yaml", 2, "layout"),
        ("reference/words.yaml", 2, "syntax"),
    ]
    assert [b.file for b in house.bulletins] == ["z.md"]
    assert [b.file for b in house.unsound] == ["b/b.md"]


@pytest.mark.parametrize("second", ["2026-014", "2026.014", "2026014", "2026--014"])
def test_a_number_belongs_to_one_bulletin(make_house: MakeHouse, second: str) -> None:
    house = read_house(make_house({"a.md": SOUND_BULLETIN, "b.md": numbered(second)}))
    assert told(house) == [("b.md", 2, "number-twice")]
    assert "a.md" in house.problems[0].message
    assert [b.file for b in house.bulletins] == ["a.md"]


def test_numbers_compare_without_case(make_house: MakeHouse) -> None:
    house = read_house(make_house({"a.md": numbered("T-1a"), "b.md": numbered("t-1A")}))
    assert told(house) == [("b.md", 2, "number-twice")]


@pytest.mark.parametrize("name", ["README.md", "readme.md", "2026/README.md"])
def test_a_readme_without_keys_is_no_bulletin(make_house: MakeHouse, name: str) -> None:
    house = read_house(make_house({**ONE, name: "# About this folder\n"}))
    assert told(house) == [] and name in house.files


def test_a_readme_with_keys_is_a_bulletin(make_house: MakeHouse) -> None:
    house = read_house(make_house({"README.md": SOUND_BULLETIN}))
    assert [b.file for b in house.bulletins] == ["README.md"]


def test_notes_among_the_tables_and_hidden_folders_are_left_alone(make_house: MakeHouse) -> None:
    house = read_house(
        make_house(
            {
                **ONE,
                "reference/notes.md": "about the tables",
                ".git/x.md": "no bulletin",
                ".draft.md": "no bulletin",
                "2026/notes.txt": "no bulletin",
            }
        )
    )
    assert told(house) == []
    assert not [name for name in house.files if "/." in name or name.startswith(".")]
    assert "2026/notes.txt" in house.files


def test_a_suffix_in_capitals_is_a_bulletin_too(make_house: MakeHouse) -> None:
    assert len(read_house(make_house({"2026-014.MD": SOUND_BULLETIN})).bulletins) == 1


def test_families_stand_as_in_their_table(make_house: MakeHouse) -> None:
    text = SOUND_BULLETIN.replace("family: Tarn", "family: [ tarn, CAIRN, Scree]")
    (bulletin,) = read_house(make_house({"a.md": text})).bulletins
    assert bulletin.where[0].families == ("Tarn", "Cairn", "Scree")


def test_links_that_lead_out_of_the_house_are_not_followed(
    make_house: MakeHouse, tmp_path: Path
) -> None:
    folder = make_house(ONE)
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "secret.md").write_text(numbered("S-1"))
    (folder / "out.md").symlink_to(outside / "secret.md")
    (folder / "away").symlink_to(outside, target_is_directory=True)
    (folder / "round").symlink_to(folder, target_is_directory=True)
    (folder / "nowhere.md").symlink_to(tmp_path / "gone.md")
    (folder / "reference" / "again.svg").symlink_to(folder / "2026" / "2026-014.md")
    house = read_house(folder)
    assert [b.number for b in house.bulletins] == ["2026-014"]
    assert {(p.file, p.rule, p.level) for p in house.problems} == {
        ("out.md", "link", "warning"),
        ("away", "link", "warning"),
        ("nowhere.md", "link", "warning"),
        ("round", "link", "warning"),
    }
    assert "reference/again.svg" in house.files


def test_pipes_and_odd_names_do_not_stop_the_reading(make_house: MakeHouse) -> None:
    folder = make_house(ONE)
    os.mkfifo(folder / "pipe.md")
    (folder / "folder.md").mkdir()
    Path(os.fsdecode(os.fsencode(folder) + b"/odd\xff.md")).write_bytes(b"---\n")
    house = read_house(folder)
    assert [problem.rule for problem in house.problems] == ["file-name"]
    house.problems[0].file.encode()
    assert len(house.bulletins) == 1


@pytest.mark.parametrize("ends", ["\r\n", "\r"])
def test_tables_take_any_line_ends_and_a_mark(make_house: MakeHouse, ends: str) -> None:
    marked = {
        name: b"\xef\xbb\xbf" + text.replace("\n", ends).encode()
        for name, text in {**SMALL_HOUSE, **ONE}.items()
    }
    house = read_house(make_house(marked))
    assert told(house) == [] and len(house.bulletins) == 1


def test_reading_twice_gives_the_same(make_house: MakeHouse) -> None:
    files: Mapping[str, str] = {**ONE, "x.md": "---\nnumber: [\n---\n"}
    folder = make_house(files)
    assert read_house(folder) == read_house(folder)


def test_a_list_of_two_hundred_thousand_parts_is_read(make_house: MakeHouse) -> None:
    row = "HR-9{:07},Part of a drain pump with a long name of its own,drain pump,current,,,,,\n"
    rows = "".join(map(row.format, range(200_000)))
    folder = make_house({**ONE, "reference/parts.csv": SMALL_HOUSE["reference/parts.csv"] + rows})
    assert (folder / "reference/parts.csv").stat().st_size > 10_000_000
    house = read_house(folder)
    assert told(house) == []
    assert len(house.parts) == 200_006
