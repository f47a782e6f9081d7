"""A small house with a bulletin of every standing, and commands run against it in this process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from kb.cli import kb
from tests.conftest import SMALL_HOUSE

TODAY = "2026-11-25"
UNIT = ("TD45A3", "K P 14 00031")  # built 2022-W14 at Kirkholm, number 31


def bulletin(number: str, keys: str, body: str = "Text.", title: str = "") -> str:
    """Return a bulletin's file from its number and the keys that matter to a test."""
    given = {line.partition(":")[0] for line in keys.splitlines()}
    basic = {
        "title": title or f"About number {number}",
        "kind": "repair",
        "issued": "2025-03-02",
        "family": "Tarn",
        "component": "drain pump",
    }
    scope = {"family"} if given & {"applies", "models"} else set()
    lines = [f"{k}: {v}" for k, v in basic.items() if k not in given and k not in scope]
    return "\n".join(["---", f"number: {number}", *lines, keys.strip(), "---", body, ""])


BULLETINS: dict[str, str] = {
    "2022/2022-001.md": bulletin(
        "2022-001", "built: ..2021", "Old connector.", "Connector of the drain pump works loose"
    ),
    "2023/2023-001.md": bulletin(
        "2023-001", "built: 2022-W10..2022-W20\ncodes: [E21]", "The valve.", "Hums, water stays"
    ),
    "2023/2023-002.md": bulletin(
        "2023-002",
        "revision: 4..\nsymptoms: [drips at the door]",
        "The seal.",
        "Drips at the door corner",
    ),
    "2024/2024-001.md": bulletin(
        "2024-001", "kind: safety\nplant: [K]\nhazards: [electricity]", "Stop.", "Plug runs hot"
    ),
    "2024/2024-002.md": bulletin("2024-002", "status: draft", "Not yet.", "Draft about the pump"),
    "2024/2024-003.md": bulletin("2024-003", "status: withdrawn", "Gone.", "Withdrawn pump note"),
    "2024/2024-004.md": bulletin("2024-004", "", "Superseded.", "Older word on the filter"),
    "2024/2024-005.md": bulletin(
        "2024-005",
        "supersedes: [2024-004]\nkeep: [HR-310-7620]\n"
        "parts:\n  - {number: HR-310-4120, quantity: 1}",
        "Newer.",
        "Newer word on the pump",
    ),
    "2024/2024-006.md": bulletin(
        "2024-006",
        "age: {years: 5, advice: Renew the inlet hose}\nkind: reference",
        "Hose.",
        "Inlet hose and its age",
    ),
    "2024/2024-007.md": bulletin("2024-007", "family: Cairn", "Drum.", "Drum grinds"),
    "2024/2024-008.md": bulletin(
        "2024-008",
        "models: [TD60?]\nchecks:\n"
        "  - {cause: worn, test: turn it, likelihood: 0.5, minutes: 5, parts: [hr 310 4126]}\n"
        "  - {cause: stuck, test: pull it, likelihood: 0.4, minutes: 2}",
        "Wide.",
        "Wide machine, pump stands still",
    ),
}
HOUSE: Mapping[str, str] = {**SMALL_HOUSE, **BULLETINS}


def write_house(folder: Path, files: Mapping[str, str | bytes] = HOUSE) -> Path:
    """Write *files* below *folder* and return it."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return folder


@dataclass(frozen=True)
class Told:
    """What a command told: status, standard output and standard error."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one JSON object on standard output."""
        return json.loads(self.out)


def run(*words: str | Path, env: Mapping[str, str] | None = None, color: bool = False) -> Told:
    """Run `kb` in this process; an exception that is no message of ours is raised."""
    plain = {"KB_TODAY": TODAY, "NO_COLOR": "", "COLUMNS": "80", **(env or {})}
    done = CliRunner().invoke(kb, [str(word) for word in words], env=plain, color=color)
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return Told(done.exit_code, done.stdout, done.stderr)


def shell(
    *words: str | Path | bytes, cwd: Path | None = None, env: Mapping[str, str] | None = None
) -> Told:
    """Run `kb` as a process of its own."""
    done = subprocess.run(
        [sys.executable, "-m", "kb", *words],
        cwd=cwd,
        env={**os.environ, "KB_TODAY": TODAY, "PYTHONPATH": str(Path.cwd()), **(env or {})},
        capture_output=True,
        timeout=60,
        check=False,
    )
    return Told(done.returncode, done.stdout.decode(), done.stderr.decode())


def numbers(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the numbers of a list in a JSON answer."""
    return [row["number"] for row in rows]
