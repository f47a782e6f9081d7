from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from kb import __version__
from kb.cli import COMMANDS, EPILOG, kb
from kb.cli.publishing import counting
from kb.cli.shared import stages
from kb.errors import KbError
from tests.deskhouse import bulletin, run, shell, write_house


def options(word: str) -> set[str]:
    """Return the long options of a command."""
    command = kb.get_command(click.Context(kb), word)
    assert command is not None
    every = (o for p in command.params for o in (*p.opts, *p.secondary_opts))
    return {option for option in every if option.startswith("--")}


def test_the_commands_of_a_working_day_are_all_there() -> None:
    words = ["draft", "proof", "publish", "preview", "find", "plate", "part", "start"]
    assert [word for word in COMMANDS if word in words] == words


def test_kb_alone_shows_the_help() -> None:
    told = run()
    assert told.status == 2
    assert "Commands:" in told.out + told.err


@pytest.mark.parametrize("option", ["--help", "-h"])
def test_help_names_every_command_in_full_and_how_to_get_completion(option: str) -> None:
    told = run(option)
    assert told.status == 0
    lines = told.out.splitlines()
    for word in COMMANDS:
        assert any(line.startswith(f"  {word} ") for line in lines)
    assert "..." not in told.out.partition("Commands:")[2].partition("Each")[0]
    assert "_KB_COMPLETE=bash_source" in told.out
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize("word", COMMANDS)
def test_every_help_text_has_an_example_and_fits_80_columns(word: str) -> None:
    told = run(word, "--help")
    assert told.status == 0
    assert f"\n  kb {word} " in told.out or f"\n  kb {word}\n" in told.out
    assert max(map(len, told.out.splitlines())) <= 80


@pytest.mark.parametrize("word", ["draft", "proof", "publish", "preview", "find", "plate", "part"])
def test_every_command_on_a_house_takes_house_and_today(word: str) -> None:
    assert {"--house", "--today"} <= options(word)


@pytest.mark.parametrize("word", ["find", "plate", "part", "proof", "publish"])
def test_every_reading_command_takes_json(word: str) -> None:
    assert "--json" in options(word)


def test_every_example_in_a_help_text_names_commands_and_options_that_exist() -> None:
    import shlex

    for word in COMMANDS:
        text = run(word, "--help").out
        for line in text.splitlines():
            if line.startswith(f"  kb {word}"):
                words = shlex.split(line)
                assert {each for each in words if each.startswith("--")} <= options(word)


def test_the_version_is_told() -> None:
    assert __version__ in run("--version").out


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("fnd", "find"),
        ("plat", "plate"),
        ("PROOF", "proof"),
        ("publsih", "publish"),
        ("previw", "preview"),
        ("parts", "part"),
        ("drafts", "draft"),
        ("strat", "start"),
    ],
)
def test_a_mistyped_command_is_answered_with_the_nearest(typed: str, meant: str) -> None:
    told = run(typed, "x")
    assert told.status == 2
    assert f"'{meant}'" in told.err


def test_a_word_that_is_like_no_command_is_answered_with_the_way_to_the_list() -> None:
    told = run("zzzzzz")
    assert told.status == 2
    assert "kb --help" in told.err


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (("find", "--modle", "x", "pump"), "--model"),
        (("find", "--jsn", "pump"), "--json"),
        (("plate", "--al", "TD45A"), "--all"),
        (("part", "--seral", "x", "1"), "--serial"),
        (("publish", "--ot", "x"), "--out"),
        (("preview", "--prot", "1"), "--port"),
        (("draft", "--famly", "x"), "--family"),
        (("proof", "--hous", "x"), "--house"),
        (("--tody", "x", "proof"), "--today"),
    ],
)
def test_a_mistyped_option_is_answered_with_the_nearest(words: tuple[str, ...], meant: str) -> None:
    told = run(*words)
    assert told.status == 2
    assert meant in told.err
    assert not told.out


@pytest.mark.parametrize(
    "words",
    [
        ("plate",),
        ("part",),
        ("start",),
        ("start", "one", "two"),
        ("proof", "extra"),
        ("publish", "extra"),
        ("find", "--limit", "many", "x"),
        ("preview", "--port", "99999"),
        ("draft", "--kind", "repiar"),
    ],
)
def test_wrong_usage_ends_with_status_2_and_a_message_on_standard_error(
    words: tuple[str, ...],
) -> None:
    told = run(*words)
    assert told.status == 2
    assert told.err
    assert not told.out


def complete(*words: str) -> set[str]:
    """Return what the shell is offered behind *words*, the last of them unfinished."""
    done = subprocess.run(
        [sys.executable, "-c", "from kb.cli import main; main()"],
        env={
            "PATH": "/usr/bin:/bin",
            "PYTHONPATH": str(Path(__file__).resolve().parent.parent),
            "_KB_COMPLETE": "zsh_complete",
            "COMP_WORDS": " ".join(words),
            "COMP_CWORD": str(len(words) - 1),
        },
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    return set(done.stdout.splitlines()[1::3])


def test_completion_offers_every_command_word() -> None:
    assert complete("kb", "") >= set(COMMANDS)
    assert complete("kb", "p") == {"proof", "publish", "preview", "plate", "part"}


def test_completion_offers_options_and_kinds() -> None:
    assert {"--model", "--serial", "--json", "--limit", "--all"} <= complete("kb", "find", "--")
    assert {"repair", "reference"} <= complete("kb", "draft", "--kind", "re")


@pytest.mark.parametrize("name", ["bash", "zsh", "fish"])
def test_the_completion_scripts_that_the_help_names_are_given(name: str) -> None:
    assert f"_KB_COMPLETE={name}_source kb" in EPILOG


def test_a_message_of_ours_is_told_with_its_remedy_and_status_1(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def refuse(folder: Path) -> list[Path]:
        raise KbError("this is wrong", "do that")

    monkeypatch.setattr("kb.starting.start", refuse)
    told = run("start", tmp_path)
    assert (told.status, told.err) == (1, "kb: this is wrong\n    do that\n")


def test_what_the_system_refuses_is_told_with_the_place(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def refuse(folder: Path) -> list[Path]:
        raise PermissionError(13, "Permission denied", "/some/place")

    monkeypatch.setattr("kb.starting.start", refuse)
    told = run("start", tmp_path)
    assert told.status == 1
    assert "Permission denied: /some/place" in told.err


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        ("ValueError('out of step')", "a fault in kb itself (ValueError: out of step)"),
        ("RecursionError()", "nested too deeply"),
        ("MemoryError()", "too little memory"),
    ],
)
def test_not_even_a_fault_of_ours_shows_a_traceback(tmp_path: Path, fault: str, words: str) -> None:
    script = (
        "import sys, kb.starting\n"
        f"def fail(folder): raise {fault}\n"
        "kb.starting.start = fail\n"
        "from kb.cli import main\n"
        "main()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, "start", "here"],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={"PATH": "/usr/bin", "TMPDIR": str(tmp_path), "PYTHONPATH": str(Path.cwd())},
    )
    assert done.returncode == 1
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    kept = list(tmp_path.glob("kb-fault-*.txt"))
    assert all("ValueError: out of step" in path.read_text() for path in kept)
    assert len(kept) == ("ValueError" in fault)


def test_the_package_runs_as_a_module(tmp_path: Path) -> None:
    house = write_house(tmp_path / "bulletins")
    told = shell("plate", "TD45A", "--json", "--house", house)
    assert told.status == 0
    assert told.json["model"] == "TD45A"


# Progress


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Make standard error a terminal and return what is written to it."""
    told: list[str] = []
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    monkeypatch.setattr("click.echo", lambda text, **how: told.append(text))
    return told


def test_progress_on_a_terminal_counts_towards_the_last_total(terminal: list[str]) -> None:
    count = counting(False)
    for done in range(1, 121):
        count(done, 120)
    assert [text.strip("\r").removesuffix("\x1b[K") for text in terminal] == [
        "50 of about 120 files …",
        "100 of about 120 files …",
        "",
    ]


def test_progress_without_a_known_total_counts_alone(terminal: list[str]) -> None:
    count = counting(False)
    for done in range(1, 60):
        count(done, 0)
    assert [text.strip("\r").removesuffix("\x1b[K") for text in terminal] == ["50 files …"]


def test_every_stage_replaces_the_one_before(terminal: list[str]) -> None:
    stage = stages(False)
    stage("Reading")
    stage("")
    assert terminal == ["\rReading …\x1b[K", "\r\x1b[K"]


def test_with_json_or_without_a_terminal_nothing_is_told(terminal: list[str]) -> None:
    stages(True)("Reading")
    counting(True)(50, 100)
    assert terminal == []


def test_in_a_pipe_no_progress_is_told(tmp_path: Path) -> None:
    house = write_house(tmp_path / "bulletins")
    told = shell("publish", "--house", house, "--out", tmp_path / "out")
    assert told.status == 0
    assert told.err == ""
    assert "\r" not in told.out


def test_on_a_terminal_progress_is_told_and_cleared(tmp_path: Path) -> None:
    import pty

    house = write_house(tmp_path / "bulletins")
    run("plate", "TD45A", "--house", house)  # from now on there is a store to bring up to date
    write_house(house, {"2025/2025-001.md": bulletin("2025-001", "")})
    leader, follower = pty.openpty()
    done = subprocess.run(
        [sys.executable, "-m", "kb", "publish", "--house", house, "--out", tmp_path / "out"],
        stdout=subprocess.PIPE,
        stderr=follower,
        timeout=60,
        check=False,
    )
    os.close(follower)
    seen = os.read(leader, 100_000).decode()
    os.close(leader)
    assert done.returncode == 0
    assert "Reading the house …" in seen
    assert "Indexing …" in seen
    assert seen.endswith("\r\x1b[K")
