"""The steps of workflow files run as their hosts run them: in bash, one after another.

`pip` only notes what it was asked for, and `kb` is the code at hand; nothing else is stood in for.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from kb.hosted import text
from tests.deskhouse import TODAY

ROOT = Path(__file__).resolve().parent.parent
BROKEN = "family: Tarn", "family: Tran"


def read(kind: str, house: Path) -> Any:
    """Return the file of *kind* as plain values; every scalar is text."""
    return yaml.load(text(kind, house), Loader=yaml.BaseLoader)


def git(*words: str | Path, cwd: Path) -> str:
    """Run git as a person of no particular name and return what it says."""
    who = ("-c", "user.name=Clerk", "-c", "user.email=clerk@hollin-ridge.example")
    done = subprocess.run(["git", *who, *words], cwd=cwd, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout


def commit_all(repository: Path) -> None:
    """Make *repository* one, if it is none, and commit everything in it."""
    if not (repository / ".git").exists():
        git("init", "--quiet", "--initial-branch", "main", cwd=repository)
    git("add", "--all", cwd=repository)
    git("commit", "--quiet", "--message", "Bulletins", cwd=repository)


@dataclass
class Runner:
    """A machine of the host: a folder with the checkout, one for its own files, and commands."""

    checkout: Path
    own: Path
    facts: Mapping[str, Any] = field(default_factory=dict)
    log: str = ""

    def environment(self, more: Mapping[str, str]) -> dict[str, str]:
        """Return the variables that every command sees, with *more*."""
        commands = self.own / "bin"
        commands.mkdir(parents=True, exist_ok=True)
        self._command("kb", f'exec "{sys.executable}" -m kb "$@"')
        self._command("pip", f'printf "%s\\n" "$*" >> "{self.own}/pip"')
        kept = {k: v for k, v in os.environ.items() if not k.startswith(("GIT_", "CI_"))}
        path = f"{commands}{os.pathsep}{os.environ['PATH']}"
        ours = {"PYTHONPATH": str(ROOT), "KB_TODAY": TODAY, "no_proxy": "127.0.0.1"}
        return {**kept, **ours, "PATH": path, "GIT_TERMINAL_PROMPT": "0", **more}

    def _command(self, name: str, line: str) -> None:
        path = self.own / "bin" / name
        path.write_text(f"#!/bin/sh\n{line}\n")
        path.chmod(0o755)

    def run(self, script: str, env: Mapping[str, str], *options: str) -> bool:
        """Run one script; tell whether it went well. What it says is added to the log."""
        done = subprocess.run(
            ["bash", "--noprofile", "--norc", *(options or ("-e",)), "-c", script],
            cwd=self.checkout,
            env=self.environment(env),
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            timeout=120,
        )
        self.log += done.stdout.decode()
        return done.returncode == 0

    @property
    def installed(self) -> list[str]:
        """What pip was asked for."""
        path = self.own / "pip"
        return path.read_text().splitlines() if path.exists() else []

    def job(self, workflow: Any, name: str) -> bool:
        """Run a job of a workflow file; actions of others are passed over."""
        well, outcomes = True, dict[str, str]()
        for step in workflow["jobs"][name]["steps"]:
            condition = step.get("if", "success()")
            if "run" not in step or not self._holds(condition, well, outcomes):
                continue
            env = {**workflow.get("env", {}), **step.get("env", {})}
            done = self.run(step["run"], {k: self._said(v) for k, v in env.items()})
            outcomes[step.get("id", "")] = "success" if done else "failure"
            well = well and done
        return well

    def _said(self, words: str) -> str:
        return re.sub(r"\$\{\{ *([\w.]+) *\}\}", lambda found: str(self.facts[found[1]]), words)

    def _holds(self, condition: str, well: bool, outcomes: Mapping[str, str]) -> bool:
        """Decide a condition: two values compared, or a function, joined by ``&&``."""
        bare = condition.removeprefix("${{").removesuffix("}}").strip()
        asked = bare if "()" in bare else f"success() && {bare}"
        return all(self._one(part.strip(), well, outcomes) for part in asked.split("&&"))

    def _one(self, part: str, well: bool, outcomes: Mapping[str, str]) -> bool:
        if part.endswith("()"):
            return {"success()": well, "failure()": not well}[part]
        left, right = (self._value(side.strip(), outcomes) for side in part.split("=="))
        return left == right

    def _value(self, word: str, outcomes: Mapping[str, str]) -> str:
        if word.startswith("'"):
            return word.strip("'")
        if found := re.fullmatch(r"steps\.(\w+)\.outcome", word):
            return outcomes.get(found[1], "skipped")
        return str(self.facts[word])


def scripts(kind: str, house: Path) -> Iterator[tuple[str, str]]:
    """Yield every shell script of a file with a name for it."""
    file = read(kind, house)
    if "jobs" in file:
        for name, job in file["jobs"].items():
            for at, step in enumerate(job["steps"]):
                if "run" in step:
                    yield f"{name} {at}", step["run"]
    elif "definitions" in file:
        for each in file["definitions"]["steps"]:
            yield each["step"]["name"], "\n".join(each["step"]["script"])
    elif "proof" in file:
        for name in ("proof", "pages"):
            yield name, "\n".join([*file[".kb"]["before_script"], *file[name]["script"]])
