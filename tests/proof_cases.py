"""Reads tests/cases/proof.md: a small sound house, and cases that change it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from pathlib import Path

from kb.errors import Problem
from kb.house import read_house
from kb.proof import run

TODAY = date(2026, 11, 25)
FILE = Path(__file__).parent / "cases" / "proof.md"

_BLOCK = re.compile(r"^\*\*(?P<file>[^*]+)\*\*\n~~~\n(?P<text>.*?)^~~~$", re.MULTILINE | re.DOTALL)
_EDIT = re.compile(r'^- (?P<file>\S+): "(?P<old>.+?)" becomes "(?P<new>.*)"$', re.MULTILINE)
_SAYS = re.compile(
    r"^- says (?P<file>\S+):(?P<line>\d+) (?P<level>error|warning): (?P<words>.+)$", re.M
)


@dataclass(frozen=True)
class Case:
    """One case: what changes in the sound house, and what is said: file, line, level, words."""

    title: str
    files: dict[str, str]
    edits: tuple[tuple[str, str, str], ...]
    says: tuple[tuple[str, int, str, str], ...]


@dataclass
class Cases:
    """The sound house, and the cases by title."""

    house: dict[str, str] = field(default_factory=dict)
    cases: list[Case] = field(default_factory=list)


def _blocks(text: str) -> dict[str, str]:
    return {found["file"]: found["text"] for found in _BLOCK.finditer(text)}


@cache
def load() -> Cases:
    """Read the file of cases; a case without any word of what is said is refused."""
    start, _, rest = FILE.read_text("utf-8").partition("\nCases\n=====\n")
    loaded = Cases(_blocks(start.partition("\nThe sound house\n")[2]))
    for part in re.split(r"^## ", rest, flags=re.MULTILINE)[1:]:
        title, _, text = part.partition("\n")
        says = tuple(
            (found["file"], int(found["line"]), found["level"], found["words"].strip())
            for found in _SAYS.finditer(text)
        )
        assert says or "- says nothing" in text, f"the case '{title}' says nothing of its outcome"
        edits = tuple((e["file"], _ends(e["old"]), _ends(e["new"])) for e in _EDIT.finditer(text))
        assert len(edits) == text.count('" becomes "'), f"a change in '{title}' cannot be read"
        assert len(says) == text.count("- says ") - text.count("- says nothing"), title
        loaded.cases.append(Case(title.strip(), _blocks(text), edits, says))
    return loaded


def _ends(text: str) -> str:
    return text.replace("\\n", "\n")


def changed(case: Case) -> dict[str, str]:
    """Return the files of the house that *case* is about."""
    files = {**load().house, **case.files}
    for file, old, new in case.edits:
        assert files[file].count(old) == 1, f"{case.title}: '{old}' is not once in {file}"
        files[file] = files[file].replace(old, new)
    return files


def write(folder: Path, files: dict[str, str]) -> Path:
    """Write *files* below *folder* and return it."""
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return folder


def proofed(folder: Path, files: dict[str, str], today: date = TODAY) -> list[Problem]:
    """Write a house, read it as every command does, and return what the proof says."""
    return run(read_house(write(folder, files)), today)


def told(problem: Problem) -> str:
    """Return a problem as one line, for the words of a failing test."""
    place = f"{problem.file}:{problem.line} {problem.level}"
    return f"{place}: {problem.message} | {problem.remedy} [{problem.rule}]"
