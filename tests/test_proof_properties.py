"""What holds for the proof of any house, whatever is wrong in it."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from kb.errors import Problem
from kb.house import read_house
from kb.proof import RULES, in_order, run
from kb.proof.look import Look
from kb.records import House
from tests.proof_cases import TODAY, Case, changed, load, proofed, told, write
from tests.proof_edits import DOOR, FAMILIES, HEATER, HOSE, KITS, PARTS, PUMP, WORDS, Edit, edited

# A house with something wrong in every file, on many lines, sound in its form.
WRONG: tuple[Edit, ...] = (
    (PUMP, "family: Tarn", "family: [Tarn, Tran]"),
    (PUMP, "plant: K", "plant: [K, S]"),
    (PUMP, "component: drain pump", "component: [drain pmup, gramophone]"),
    (PUMP, "related: [2024-007]", "related: [2024-070, 2026-001]"),
    (PUMP, "keep: [HR-1002-10]", "keep: [HR-1001-20, HR-1002-11]"),
    (PUMP, "likelihood: 0.3", "likelihood: 0.8"),
    (PUMP, "before: [connector not fully home]", "before: [pump worn, rotor]"),
    (PUMP, "see bulletin 2024-007", "see 2024-071"),
    (PUMP, "{2 N m}", "{2 Nmm}"),
    (PUMP, "(2026-001/pump.svg)", "(2026-001/pmup.svg)"),
    (PUMP, "::: warning", "::: warnnig"),
    (HEATER, "L P 11 00020", "L P 61 00020"),
    (HEATER, "hazards: [electricity, hot-surface]\n", ""),
    (HEATER, "This can start a fire.", "In rare situations\nit burns: HR-1007-11."),
    (HOSE, "family: [Tarn, Cairn]", "family: Tarn\nmodels: [TD45*, TX*]"),
    (DOOR, "number: HR-1004-10", "number: HR-1001-10"),
    (PARTS, "HR-1006-20,forward", "HR-1006-21,forward"),
    (PARTS, "HR-1900-10,kit", "HR-1901-10,kit"),
    (KITS, "HR-1901-10", "HR-1910-10"),
    (WORDS, "gaskit: gasket", "gaskit: gaskit"),
    (FAMILIES, "[CW7A, CW8B]", "[CW7A, CW8B, CW8B1]"),
)
FRONT, END = "---\n", "\n---\n"


@pytest.fixture(scope="module")
def wrong(tmp_path_factory: pytest.TempPathFactory) -> House:
    """The house with many mistakes, read once."""
    return read_house(write(tmp_path_factory.mktemp("wrong"), edited(WRONG)))


@pytest.fixture(scope="module")
def said(wrong: House) -> list[Problem]:
    """What the proof says of it."""
    return run(wrong, TODAY)


def test_the_house_with_mistakes_breaks_many_rules(said: list[Problem]) -> None:
    assert len({problem.rule for problem in said}) >= 25
    assert len({problem.file for problem in said}) >= 7


def test_running_twice_says_the_same(wrong: House, said: list[Problem]) -> None:
    assert run(wrong, TODAY) == said


def test_the_list_is_in_order_and_says_nothing_twice(said: list[Problem]) -> None:
    assert said == in_order(said)
    assert len(set(said)) == len(said)


def test_what_is_said_does_not_hang_on_the_order_of_the_rules(
    wrong: House, said: list[Problem]
) -> None:
    dice = random.Random(20261125)
    for _ in range(5):
        look = Look(wrong, TODAY)
        rules = dice.sample(RULES, len(RULES))
        told = {problem for rule in rules for problem in rule.problems(look)}
        names = {rule.name for rule in RULES}
        assert told == {problem for problem in said if problem.rule in names}


def test_what_is_said_does_not_hang_on_the_order_of_the_files(
    wrong: House, said: list[Problem]
) -> None:
    dice = random.Random(11)
    for _ in range(5):
        shuffled = replace(
            wrong,
            bulletins=tuple(dice.sample(wrong.bulletins, len(wrong.bulletins))),
            unsound=tuple(dice.sample(wrong.unsound, len(wrong.unsound))),
            files=tuple(dice.sample(wrong.files, len(wrong.files))),
            problems=tuple(dice.sample(wrong.problems, len(wrong.problems))),
        )
        assert run(shuffled, TODAY) == said


def test_files_written_in_another_order_and_folder_say_the_same(
    tmp_path: Path, said: list[Problem]
) -> None:
    files = edited(WRONG)
    backwards = dict(sorted(files.items(), reverse=True))
    assert proofed(tmp_path / "elsewhere", backwards) == said


def test_folders_between_the_files_are_free(tmp_path: Path, said: list[Problem]) -> None:
    def moved(path: str) -> str:
        return path if path.startswith("reference/") else f"Tarn and others/{path}"

    files = {moved(path): text for path, text in edited(WRONG).items()}
    expected = in_order(replace(p, file=moved(p.file)) for p in said)
    assert proofed(tmp_path, files) == expected


def _rewritten(change: Callable[[str], str]) -> dict[str, str]:
    return {path: change(text) for path, text in edited(WRONG).items()}


def _as_bytes(folder: Path, files: dict[str, str], coding: str) -> list[Problem]:
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode(coding))
    return run(read_house(folder), TODAY)


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_line_ends_and_a_byte_order_mark_change_nothing(
    end: str, coding: str, tmp_path: Path, said: list[Problem]
) -> None:
    files = _rewritten(lambda text: text.replace("\n", end))
    assert _as_bytes(tmp_path, files, coding) == said


def test_blanks_at_line_ends_change_nothing(tmp_path: Path, said: list[Problem]) -> None:
    def trailing(path: str, text: str) -> str:
        return text.replace("\n", " \n") if path.endswith(".yaml") else text

    files = {path: trailing(path, text) for path, text in edited(WRONG).items()}
    assert proofed(tmp_path, files) == said


def test_a_table_without_a_line_end_at_its_end_says_the_same(
    tmp_path: Path, said: list[Problem]
) -> None:
    assert proofed(tmp_path, _rewritten(lambda text: text.rstrip("\n"))) == said


def _body_from(text: str) -> int:
    """Return the line of the first line of the body."""
    return text[: text.index(END, len(FRONT)) + len(END)].count("\n") + 1


@pytest.mark.parametrize("blank", [1, 2, 5])
def test_blank_lines_above_a_body_move_what_is_said_of_it_and_nothing_else(
    blank: int, tmp_path: Path, said: list[Problem]
) -> None:
    files = edited(WRONG)
    starts = {path: _body_from(text) for path, text in files.items() if path.endswith(".md")}
    lower = {
        path: text.replace(END, END + "\n" * blank, 1) if path in starts else text
        for path, text in files.items()
    }
    # What is told at the start of the body as a whole stays at its start.
    expected = [
        replace(p, line=p.line + blank)
        if p.file in starts and p.line >= starts[p.file] and p.rule != "safety-steps"
        else p
        for p in said
    ]
    assert proofed(tmp_path, lower) == in_order(expected)


def test_a_comment_above_the_front_matter_s_keys_moves_all_that_is_said(
    tmp_path: Path, said: list[Problem]
) -> None:
    files = {
        path: text.replace(FRONT, FRONT + "# kept by the desk\n", 1)
        if path.endswith(".md")
        else text
        for path, text in edited(WRONG).items()
    }

    def lower(problem: Problem) -> Problem:
        moved = replace(problem, line=problem.line + 1)
        message = problem.message.replace("by line 15", "by line 16")
        return replace(moved, message=message) if problem.file.endswith(".md") else problem

    assert proofed(tmp_path, files) == in_order(map(lower, said))


def test_a_bulletin_renamed_everywhere_changes_nothing_but_its_name(
    tmp_path: Path, said: list[Problem]
) -> None:
    names = {"2024-007": "2024-907", "2026-003": "2026-903"}

    def renamed(text: str) -> str:
        for old, new in names.items():
            text = text.replace(old, new)
        return text

    files = {renamed(path): renamed(text) for path, text in edited(WRONG).items()}
    found = {(p.file, p.line, p.level, p.rule, p.message) for p in proofed(tmp_path, files)}
    assert found == {(renamed(p.file), p.line, p.level, p.rule, renamed(p.message)) for p in said}


def test_a_sound_bulletin_more_changes_nothing(tmp_path: Path, said: list[Problem]) -> None:
    more = (
        "---\nnumber: 2023-100\ntitle: Clamp, how to close it\nkind: reference\n"
        "issued: 2023-01-09\nfamily: Cairn\ncomponent: heater\n---\nClose it by hand.\n"
    )
    assert proofed(tmp_path, {**edited(WRONG), "2023/2023-100.md": more}) == said


@pytest.mark.parametrize("edit", WRONG, ids=[f"{file}: {new}" for file, _, new in WRONG])
def test_a_mistake_mended_says_less_and_nothing_new(
    edit: Edit, tmp_path: Path, said: list[Problem]
) -> None:
    left = proofed(tmp_path, edited(e for e in WRONG if e != edit))
    keys = {(p.file, p.rule, p.message) for p in said}
    assert [told(p) for p in left if (p.file, p.rule, p.message) not in keys] == []
    assert len(left) < len(said)


@pytest.mark.parametrize("case", load().cases, ids=[case.title for case in load().cases])
def test_what_reading_met_is_passed_on_unchanged(case: Case, tmp_path: Path) -> None:
    house = read_house(write(tmp_path, changed(case)))
    found = run(house, TODAY)
    assert set(house.problems) <= set(found)
    assert all(problem.file in house.files for problem in found)


def test_every_place_told_is_in_its_file(wrong: House, said: list[Problem]) -> None:
    for problem in said:
        lines = (wrong.folder / problem.file).read_text("utf-8").count("\n") + 1
        assert 1 <= problem.line <= lines


def test_what_a_message_quotes_stands_on_its_line(wrong: House, said: list[Problem]) -> None:
    asked = {"family-unknown", "model-unknown", "component-unknown", "keep-unknown"}
    for problem in [p for p in said if p.rule in asked]:
        quoted = problem.message.split("'")[1]
        line = (wrong.folder / problem.file).read_text("utf-8").splitlines()[problem.line - 1]
        assert quoted in line
