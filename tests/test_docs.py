"""What the documents say is there, and what is there is in the documents."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from kb.cli import COMMANDS
from kb.folding import fold
from kb.house import read_house

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")


def modules() -> list[str]:
    found = (path.relative_to(ROOT / "kb") for path in sorted((ROOT / "kb").rglob("*.py")))
    return [path.with_suffix("").as_posix() for path in found if path.name != "__main__.py"]


@pytest.mark.parametrize("module", modules())
def test_every_module_stands_on_the_map_of_the_code(module: str) -> None:
    name = module.removesuffix("/__init__")
    assert f"`{name}`" in DEVELOPERS


def test_the_map_names_no_module_that_is_gone() -> None:
    table = DEVELOPERS.partition("## Map of the code")[2].partition("\n## ")[0]
    named = re.findall(r"^\| `([a-z_/]+)` \|", table, re.MULTILINE)
    known = {module.removesuffix("/__init__") for module in modules()}
    assert named
    assert set(named) <= known


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_told_of_in_the_readme(command: str) -> None:
    assert f"kb {command}" in README


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help_with_an_example(command: str) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "kb", command, "--help"], capture_output=True, text=True, check=True
    )
    assert f"\n  kb {command}" in run.stdout


def test_the_bulletin_in_the_readme_is_one_of_the_demo_house() -> None:
    shown = re.search(r"```yaml\n(---\n.*?)```", README, re.DOTALL)
    assert shown
    number = re.search(r"^number: (\S+)", shown[1], re.MULTILINE)
    assert number
    house = read_house(ROOT / "bulletins")
    source = next(b for b in house.bulletins if fold(b.number) == fold(number[1]))
    text = (ROOT / "bulletins" / source.file).read_text(encoding="utf-8")
    assert shown[1].strip().removesuffix("…").strip() in text


ANSWERS = re.findall(r"    \$ (kb [^\n]*)\n((?:    [^\n]*\n|\n)*?)(?=\n[^ \n])", README)


@pytest.mark.parametrize(("command", "shown"), ANSWERS, ids=lambda text: text.split("\n")[0])
def test_the_answers_in_the_readme_are_what_the_commands_print(command: str, shown: str) -> None:
    words = [*command.split()[1:], "--today", "2026-11-25"]
    run = subprocess.run(
        [sys.executable, "-m", "kb", *words], cwd=ROOT, capture_output=True, text=True, check=True
    )
    printed = run.stdout.split("\n")
    lines = [line.removeprefix("    ") for line in shown.rstrip().split("\n")]
    assert [line for line in lines if line.strip("… ") and line not in printed] == []


def test_the_readme_shows_an_answer_of_each_kind() -> None:
    assert {command.split()[1] for command, _ in ANSWERS} == {"find", "plate", "part"}


def test_the_ci_runs_the_readmes_test_command() -> None:
    assert "python tests/run.py" in README
    assert "python tests/run.py" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")


def test_each_dependency_has_its_reason_beside_it() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    listed = re.findall(r"^    \"[A-Za-z][\w.-]*[<>=~].*$|^    \"types-[\w-]+\".*$", project, re.M)
    assert len(listed) > 15
    assert all("#" in line for line in listed)


@pytest.mark.parametrize("path", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
def test_links_in_the_documents_lead_somewhere(path: str) -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", path):
        assert (ROOT / target).exists(), target
