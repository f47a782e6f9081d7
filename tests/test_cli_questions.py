from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.deskhouse import BULLETINS, HOUSE, TODAY, UNIT, Told, numbers, run, shell, write_house


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_house(tmp_path_factory.mktemp("desk") / "bulletins")
    assert run("find", "pump", "--house", folder).status == 0
    return folder


@pytest.fixture(scope="module")
def broken(tmp_path_factory: pytest.TempPathFactory) -> Path:
    slips = {"2025/2025-001.md": "---\nnumber: 2025-001\n---\nNo title.\n"}
    return write_house(tmp_path_factory.mktemp("broken") / "bulletins", {**HOUSE, **slips})


# Where the house and the day are named


@pytest.mark.parametrize(
    "words",
    [
        ("--house", "{}", "plate", "TD45A"),
        ("plate", "TD45A", "--house", "{}"),
        ("plate", "--house", "{}", "TD45A"),
        ("--house", "/", "plate", "TD45A", "--house", "{}"),
    ],
)
def test_the_house_may_be_named_before_or_after_the_command_word(
    house: Path, words: tuple[str, ...]
) -> None:
    told = run(*(word.format(house) for word in words), "--json")
    assert told.status == 0
    assert told.json["family"] == "Tarn"


def test_a_folder_that_holds_a_house_in_bulletins_stands_for_it(house: Path) -> None:
    assert run("plate", "TD45A", "--json", "--house", house.parent).json["model"] == "TD45A"


@pytest.mark.parametrize(
    ("words", "env", "due"),
    [
        (("plate", *UNIT), {"KB_TODAY": "2026-11-25"}, "no"),
        (("plate", *UNIT), {"KB_TODAY": "2027-11-25"}, "yes"),
        (("--today", "2027-11-25", "plate", *UNIT), {"KB_TODAY": "2026-11-25"}, "yes"),
        (("plate", *UNIT, "--today", "2027-11-25"), {"KB_TODAY": "2026-11-25"}, "yes"),
        (("--today", "2020-01-01", "plate", *UNIT, "--today", "2027-11-25"), {}, "yes"),
        (("--today", "2027-04-06", "plate", *UNIT), {}, "maybe"),
        (("--today", "2027-11-25", "plate", *UNIT), {"KB_TODAY": ""}, "yes"),
    ],
)
def test_the_day_nearest_to_the_command_wins(
    house: Path, words: tuple[str, ...], env: dict[str, str], due: str
) -> None:
    # Built in week 14 of 2022 (4 to 10 April): five years are over on 10 April 2027 at the latest.
    told = run(*words, "--json", "--house", house, env=env)
    aged = [b for b in told.json["bulletins"] if "due" in b]
    assert [(b["number"], b["due"]) for b in aged] == [("2024-006", due)]


@pytest.mark.parametrize("day", ["25.11.2026", "tomorrow", "2026-13-01", "2026-02-30", "26-1-1"])
def test_a_day_that_is_none_is_wrong_usage_and_shows_how_one_is_written(
    house: Path, day: str
) -> None:
    for told in (
        run("plate", "TD45A", "--house", house, "--today", day),
        run("--today", day, "plate", "TD45A", "--house", house),
        run("plate", "TD45A", "--house", house, env={"KB_TODAY": day}),
    ):
        assert told.status == 2
        assert "2026-11-25" in told.err
        assert not told.out


@pytest.mark.parametrize("command", ["find", "plate", "part", "proof", "publish", "draft"])
def test_without_a_house_every_command_says_how_to_come_by_one(
    tmp_path: Path, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    words = {"find": ["x"], "plate": ["TD45A"], "part": ["HR-1"]}.get(command, [])
    told = run(command, *words)
    assert told.status == 1
    assert "kb start" in told.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["find", "plate", "part", "proof", "publish"])
def test_a_folder_without_tables_is_refused_and_left_as_it_is(tmp_path: Path, command: str) -> None:
    words = {"find": ["x"], "plate": ["TD45A"], "part": ["HR-1"]}.get(command, [])
    told = run(command, *words, "--json", "--house", tmp_path)
    assert told.status == 1
    assert "no house" in told.json["error"]
    assert "no house" in told.err
    assert list(tmp_path.iterdir()) == []


def test_the_house_here_or_above_is_found_from_a_folder_inside(house: Path) -> None:
    for place in (house.parent, house, house / "reference"):
        told = shell("plate", "TD45A", "--json", cwd=place)
        assert told.status == 0, told.err
        assert told.json["model"] == "TD45A"


def test_a_house_that_is_not_there_is_wrong_usage(tmp_path: Path) -> None:
    assert run("find", "x", "--house", tmp_path / "none").status == 2


# JSON


def test_plate_gives_the_keys_of_the_contract_with_their_types(house: Path) -> None:
    told = run("plate", *UNIT, "--json", "--house", house)
    answer = told.json
    assert told.status == 0
    assert {"model", "revision", "family", "readings", "bulletins"} <= answer.keys()
    assert (answer["model"], answer["revision"], answer["family"]) == ("TD45A", 3, "Tarn")
    # ISO 8601: week 14 of 2022 runs from Monday 4 April to Sunday 10 April.
    assert answer["readings"] == [
        {
            "scheme": "hollin",
            "plant": "K",
            "built": {"from": "2022-04-04", "to": "2022-04-10"},
            "sequence": 31,
        }
    ]
    for line in answer["bulletins"]:
        assert {"number", "title", "applies", "why", "settle"} <= line.keys()
        assert line["applies"] in {"yes", "maybe"}
        assert bool(line["settle"]) == (line["applies"] == "maybe")
        assert ("due" in line) == (line["number"] == "2024-006")


def test_plate_leaves_out_what_does_not_apply_unless_all_is_asked_for(house: Path) -> None:
    less = run("plate", *UNIT, "--json", "--house", house).json["bulletins"]
    more = run("plate", *UNIT, "--json", "--all", "--house", house).json["bulletins"]
    assert set(numbers(less)) == {"2023-001", "2024-001", "2024-005", "2024-006"}
    assert set(numbers(more)) - set(numbers(less)) > {"2022-001", "2023-002"}
    with_other_models = [b for b in more if "is for" in b["why"] or "not for" in b["why"]]
    assert with_other_models
    assert {b["applies"] for b in more} == {"yes", "no"}


def test_plate_puts_safety_first_among_what_applies(house: Path) -> None:
    answer = run("plate", *UNIT, "--json", "--house", house).json
    assert numbers(answer["bulletins"])[0] == "2024-001"


def test_plate_without_serial_and_digit_says_what_would_settle_each(house: Path) -> None:
    answer = run("plate", "td 45-a", "--json", "--house", house).json
    assert answer["revision"] is None
    assert answer["readings"] == []
    maybe = {b["number"]: b["settle"] for b in answer["bulletins"] if b["applies"] == "maybe"}
    assert maybe.keys() == {"2022-001", "2023-001", "2023-002", "2024-001"}
    assert all(maybe.values())


def test_a_serial_that_cannot_be_read_is_said_to_be_so_and_taken_as_none(house: Path) -> None:
    told = run("plate", "TD45A3", "zz9", "--json", "--house", house)
    bare = run("plate", "TD45A3", "--json", "--house", house)
    assert told.status == 0
    assert told.json["readings"] == []
    assert "K P 14 00031" in told.json["unreadable"]
    assert told.json["bulletins"] == bare.json["bulletins"]


@pytest.mark.parametrize("serial", [["K", "P", "14", "00031"], ["kp1400031"], ["K-P-14-00031"]])
def test_a_serial_may_be_typed_in_any_number_of_pieces(house: Path, serial: list[str]) -> None:
    answer = run("plate", "TD45A3", *serial, "--json", "--house", house).json
    assert answer["readings"][0]["sequence"] == 31


def test_an_unknown_model_ends_with_status_1_the_nearest_name_and_an_empty_answer(
    house: Path,
) -> None:
    for words in (["plate", "TD45AX"], ["find", "--model", "TD45AX", "pump"]):
        told = run(*words, "--json", "--house", house)
        assert told.status == 1
        assert "TD45A" in told.err
        assert "TD45A" in told.json["remedy"]
        assert told.json.get("bulletins", told.json.get("results")) == []
    told = run("part", "HR-310-4120", "--model", "TD45AX", "--json", "--house", house)
    assert (told.status, told.json["order"]) == (1, [])
    assert "TD45A" in told.err


def test_find_gives_the_keys_of_the_contract_with_their_types(house: Path) -> None:
    told = run("find", "e-21", "hums", "--json", "--house", house)
    answer = told.json
    assert told.status == 0
    assert answer["asked"] == "e-21 hums"
    read_as = answer["read_as"]
    assert {"words", "model", "serial", "codes", "parts"} <= read_as.keys()
    assert (read_as["codes"], read_as["model"], read_as["serial"]) == (["E21"], None, None)
    assert read_as["words"] == ["hums"]
    assert numbers(answer["results"])[0] == "2023-001"
    for result in answer["results"]:
        assert {"number", "title", "kind", "score", "applies", "why"} <= result.keys()
        assert result["applies"] is None
        assert isinstance(result["score"], float)
        assert isinstance(result["why"], str)


def test_find_with_a_unit_leaves_out_what_does_not_apply_unless_all_is_asked_for(
    house: Path,
) -> None:
    words: list[str | Path] = [
        "find",
        "--model",
        UNIT[0],
        "--serial",
        UNIT[1],
        "pump",
        "--json",
        "--house",
        house,
    ]
    less, more = run(*words).json, run(*words, "--all").json
    assert {r["applies"] for r in less["results"]} <= {"yes", "maybe"}
    assert "2022-001" not in numbers(less["results"])
    assert "2022-001" in numbers(more["results"])
    assert (less["read_as"]["model"], less["read_as"]["revision"]) == ("TD45A", 3)


def test_find_reads_model_and_serial_out_of_the_words(house: Path) -> None:
    read_as = run("find", "pump td45a3 kp1400031", "--json", "--house", house).json["read_as"]
    assert read_as["model"] == "TD45A"
    assert read_as["serial"].replace(" ", "").upper() == "KP1400031"


def test_drafts_withdrawn_and_superseded_bulletins_are_not_found_by_words(house: Path) -> None:
    found = numbers(run("find", "word", "--json", "--house", house).json["results"])
    assert not set(found) & {"2024-002", "2024-003", "2024-004"}
    assert "2024-005" in found


def test_nothing_found_ends_with_status_1_and_no_results(house: Path) -> None:
    told = run("find", "E99", "--json", "--house", house)
    assert (told.status, told.json["results"]) == (1, [])
    plain = run("find", "E99", "--house", house)
    assert plain.status == 1
    assert "Nothing found" in plain.out


@pytest.mark.parametrize("words", [[""], [" "], ["", " "], []])
def test_a_search_for_nothing_is_wrong_usage(house: Path, words: list[str]) -> None:
    told = run("find", *words, "--house", house)
    assert told.status == 2
    assert not told.out


@pytest.mark.parametrize("words", [[""], ["-"], []])
def test_a_part_without_a_number_is_wrong_usage(house: Path, words: list[str]) -> None:
    assert run("part", "--house", house, "--", *words).status == 2


def test_the_limit_cuts_the_results_and_says_so(house: Path) -> None:
    every = run("find", "pump", "--json", "--house", house).json["results"]
    assert len(every) > 2
    cut = run("find", "pump", "--limit", "2", "--json", "--house", house).json["results"]
    assert cut == every[:2]
    assert "--limit 4" in run("find", "pump", "--limit", "2", "--house", house).out
    whole = run("find", "pump", "--limit", str(len(every)), "--house", house)
    assert "--limit" not in whole.out
    assert run("find", "pump", "--limit", "0", "--house", house).status == 2


def test_part_gives_the_keys_of_the_contract_with_their_types(house: Path) -> None:
    told = run("part", "hr 310.4120", "--json", "--house", house)
    assert told.status == 0
    assert told.json == {
        "asked": "hr 310.4120",
        "order": [
            {
                "number": "HR-310-4126",
                "quantity": 1,
                "name": "Drain pump, sealed rotor",
                "status": "current",
                "models": [],
            }
        ],
        "choose": False,
        "chain": [
            {
                "from": "HR-310-4120",
                "to": "HR-310-4126",
                "relation": "forward",
                "since": "2019-W08",
            }
        ],
        "interchange": "forward",
        "coming": [],
        "notes": [],
        "bulletins": ["2024-005", "2024-008"],
    }


@pytest.mark.parametrize(
    ("options", "bulletins"),
    [
        (["--model", "TD45A"], ["2024-005"]),
        (["--model", "TD60A"], ["2024-005", "2024-008"]),
        (["--serial", "K P 14 00031"], ["2024-005", "2024-008"]),
        (["--serial", "L D 14 00031"], []),  # 2013: no family was made then
    ],
)
def test_part_names_the_bulletins_that_can_concern_the_unit(
    house: Path, options: list[str], bulletins: list[str]
) -> None:
    told = run("part", "HR-310-4120", *options, "--json", "--house", house)
    assert told.status == 0
    answer = told.json
    if not bulletins:  # a serial that no family reads narrows nothing down, and is said to
        assert "narrows nothing" in " ".join(answer["notes"])
        bulletins = ["2024-005", "2024-008"]
    assert answer["bulletins"] == bulletins


def test_part_with_an_unreadable_serial_says_so_and_answers_all_the_same(house: Path) -> None:
    for options in (["--serial", "zz"], ["--serial", "zz", "--model", "TD45A"]):
        told = run("part", "HR-310-4120", *options, "--json", "--house", house)
        assert told.status == 0
        assert any("serial" in note for note in told.json["notes"])
        assert told.json["order"]


def test_an_unknown_part_ends_with_status_1_the_nearest_and_an_empty_answer(house: Path) -> None:
    told = run("part", "HR-310-4121", "--json", "--house", house)
    assert told.status == 1
    assert "HR-310-4120" in told.err
    answer = told.json
    assert answer["asked"] == "HR-310-4121"
    assert (answer["order"], answer["choose"], answer["interchange"]) == ([], False, "none")
    assert {"chain", "coming", "notes", "bulletins"} <= answer.keys()


# The store behind the answers


def test_the_first_question_says_that_the_house_is_read_and_the_next_is_silent(
    tmp_path: Path,
) -> None:
    house = write_house(tmp_path / "bulletins")
    first = run("plate", "TD45A", "--house", house)
    assert "First question" in first.err
    assert run("plate", "TD45A", "--house", house).err == ""


def test_an_edit_is_answered_for_at_once_and_said_to_bring_the_store_up_to_date(
    tmp_path: Path,
) -> None:
    house = write_house(tmp_path / "bulletins")
    run("plate", "CW7A", "--house", house)
    (house / "2024/2024-007.md").unlink()
    told = run("plate", "CW7A", "--json", "--house", house)
    assert "up to date" in told.err
    assert told.json["bulletins"] == []


def test_a_house_with_errors_answers_from_what_is_sound_and_says_so(broken: Path) -> None:
    for words in (["find", "pump"], ["plate", "TD45A"], ["part", "HR-310-4120"]):
        told = run(*words, "--json", "--house", broken)
        assert told.status == 0
        assert isinstance(told.json, dict)
        assert "kb proof" in told.err
        assert "2025-001" not in told.out


@pytest.mark.parametrize(
    ("table", "content"),
    [
        ("families.yaml", "Tarn: [\n"),
        ("families.yaml", ""),
        ("families.yaml", "Tarn:\n  models: [TD45A]\nCairn:\n  models: [TD45A, TD45A]\n"),
        ("families.yaml", "Tarn:\n  models: [TD45A]\n  scheme: nosuch\n  produced: 2016..\n"),
        ("serials.yaml", "hollin: {layout: Q}\n"),
        ("serials.yaml", "\x00\x01"),
        ("parts.csv", "number\nA\nA,B,C,D\n"),
        (
            "parts.csv",
            "number,name,status,replaced_by,relation\nA,a,gone,B,same\nB,b,gone,A,same\n",
        ),
        ("kits.csv", "kit,number,quantity\nHR-1,HR-1,1\n"),
        ("kits.csv", "kit,number,quantity\nHR-1,HR-2,x\n"),
        ("words.yaml", "same: {a: b}\n"),
        ("house.yaml", "- a\n"),
    ],
)
def test_no_broken_table_ends_a_question_in_anything_but_words(
    tmp_path: Path, table: str, content: str
) -> None:
    house = write_house(tmp_path / "bulletins", {**HOUSE, f"reference/{table}": content})
    for words in (["find", "pump"], ["plate", "TD45A"], ["part", "A"], ["part", "HR-310-4120"]):
        told = run(*words, "--json", "--house", house)
        assert told.status in (0, 1)
        assert isinstance(told.json, dict)
    assert run("proof", "--json", "--house", house).status == 1


def test_a_store_that_was_damaged_is_made_anew_and_said_to_be(tmp_path: Path) -> None:
    house = write_house(tmp_path / "bulletins")
    run("plate", "TD45A", "--house", house)
    for store in (house / ".kb").rglob("kb.sqlite"):
        store.write_bytes(b"not a database, whatever its name may say" * 99)
    told = run("plate", "TD45A", "--json", "--house", house)
    assert told.status == 0
    assert told.json["bulletins"]
    assert "anew" in told.err
    assert run("plate", "TD45A", "--house", house).err == ""


# What a person reads


def lines_too_long(text: str) -> list[str]:
    return [line for line in text.splitlines() if len(line) > 80 and len(line.split()) > 1]


LONG = "A title with very many words that goes on and on until no terminal has room for it all"


@pytest.mark.parametrize(
    "words",
    [
        ["find", "pump"],
        ["find", "pump", "--all", "--model", "TD45A3", "--serial", "K P 14 00031"],
        ["find", "pump", "--model", "TD45A"],
        ["find", "2024-004"],
        ["plate", "TD45A3", "K P 14 00031", "--all"],
        ["plate", "TD45A"],
        ["plate", "TD45A", "x" * 120],
        ["part", "HR-310-4120"],
        ["part", "y" * 100],
        ["plate", "z" * 100],
    ],
)
def test_no_line_is_wider_than_80_columns_unless_one_word_is(
    house: Path, tmp_path: Path, words: list[str]
) -> None:
    wide = {
        "2025/2025-009.md": BULLETINS["2023/2023-001.md"]
        .replace("2023-001", "2025-009")
        .replace("Hums, water stays", LONG)
    }
    folder = write_house(tmp_path / "bulletins", {**HOUSE, **wide})
    told = run(*words, "--house", folder)
    assert not lines_too_long(told.out + told.err)


def test_plain_answers_carry_the_verdict_as_a_word(house: Path) -> None:
    out = run("plate", *UNIT, "--all", "--house", house).out
    assert "built 2022-W14, plant K, number 31" in out
    places = [out.index(word) for word in ("Applies", "Does not apply")]
    assert places == sorted(places)
    assert "SAFETY" in out
    assert "Not due yet: Renew the inlet hose" in out
    less = run("plate", *UNIT, "--house", house).out
    assert "2 more for this model do not apply" in less
    assert "May apply" in run("plate", "TD45A", "--house", house).out
    assert "settled by" in run("plate", "TD45A", "--house", house).out


def test_a_model_without_a_bulletin_is_said_to_have_none(house: Path) -> None:
    empty = run("plate", "CW7A", "--house", house, "--today", TODAY)
    assert empty.status == 0
    assert "2024-007" in empty.out


def test_a_bulletin_asked_for_by_number_shows_what_superseded_it(house: Path) -> None:
    told = run("find", "2024-004", "--house", house)
    assert "superseded by 2024-005" in told.out


def colours(told: Told) -> bool:
    return "\x1b[" in told.out


@pytest.mark.parametrize("words", [["plate", *UNIT], ["find", "pump"], ["part", "HR-310-4120"]])
def test_colours_are_for_terminals_and_no_color_turns_them_off(
    house: Path, words: list[str]
) -> None:
    # https://no-color.org: "when present and not an empty string" (from memory).
    assert colours(run(*words, "--house", house, color=True))
    assert not colours(run(*words, "--house", house))
    for set_to in ("1", "0", "no"):
        assert not colours(run(*words, "--house", house, color=True, env={"NO_COLOR": set_to}))
    assert colours(run(*words, "--house", house, color=True, env={"NO_COLOR": ""}))


def test_colours_change_nothing_but_colours(house: Path) -> None:
    import click

    for words in (["plate", "TD45A"], ["find", "pump"], ["part", "HR-310-4120"]):
        plain = run(*words, "--house", house)
        assert click.unstyle(run(*words, "--house", house, color=True).out) == plain.out


# Odd input from a shell


@pytest.mark.parametrize(
    "word", ["\udcff\udcfe", "a" * 5000, "🔧", "%s%n", "';--", "*", "?", "\x1b[2J"]
)
def test_odd_words_are_answered_in_words(house: Path, word: str) -> None:
    for words in (["find", word], ["plate", word], ["plate", "TD45A", word], ["part", word]):
        told = run(*words, "--json", "--house", house)
        assert told.status in (0, 1)
        assert isinstance(told.json, dict)


def test_bytes_that_are_no_text_do_not_stop_the_command(house: Path) -> None:
    told = shell("find", b"\xff\xfe pump", "--json", "--house", house)
    assert told.status in (0, 1)
    assert isinstance(told.json, dict)


def test_json_is_read_back_the_same_whatever_the_encoding_of_the_output(house: Path) -> None:
    told = shell("find", "Prüfung ✓ pump", "--json", "--house", house)
    other = shell(
        "find", "Prüfung ✓ pump", "--json", "--house", house, env={"PYTHONIOENCODING": "ascii"}
    )
    assert told.json == other.json
    assert told.json["asked"] == "Prüfung ✓ pump"


def test_a_pipe_that_is_closed_early_ends_quietly(house: Path) -> None:
    import subprocess
    import sys

    process = subprocess.Popen(
        [sys.executable, "-m", "kb", "plate", "TD45A", "--json", "--house", str(house)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert process.stdout and process.stderr
    process.stdout.close()
    assert b"Traceback" not in process.stderr.read()
    process.stderr.close()
    process.wait(30)


# Speed: what is loaded for a question


def loaded(house: Path, *words: str) -> set[str]:
    import subprocess
    import sys

    script = (
        "import sys, json\n"
        "from kb.cli import kb\n"
        "try: kb(sys.argv[1:], prog_name='kb')\n"
        "except SystemExit: pass\n"
        "print('\\n' + json.dumps(sorted(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, *words, "--house", str(house)],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    names: list[str] = json.loads(done.stdout.splitlines()[-1])
    return {name.partition(".")[0] for name in names}


HEAVY = {"yaml", "markdown_it", "jinja2", "pint", "sqlite_utils", "watchfiles", "segno"}


@pytest.mark.parametrize(
    ("words", "absent"),
    [
        (("plate", *UNIT), {*HEAVY, "whoosh", "Stemmer"}),
        (("part", "HR-310-4120"), {*HEAVY, "whoosh", "Stemmer"}),
        (("find", "pump", "e21"), HEAVY),
    ],
)
def test_a_question_loads_nothing_that_it_does_not_need(
    house: Path, words: tuple[str, ...], absent: set[str]
) -> None:
    found: Any = loaded(house, *words) & absent
    assert found == set()
