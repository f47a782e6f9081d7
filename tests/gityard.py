"""Real repositories to try hooks in: a server and clones, untouched by this machine's git."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from kb.hooks.repository import Repository, here
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN
from tests.deskhouse import TODAY, bulletin

CONFIG = """\
[user]
    name = Clerk
    email = clerk@hollin-ridge.example
[init]
    defaultBranch = main
[advice]
    detachedHead = false
[protocol "file"]
    allow = always
"""
BAD = SOUND_BULLETIN.replace("2024-W10", "2024-W54")  # 2024 has 52 weeks (ISO 8601)
BAD_LINE = "bulletins/2026/2026-014.md:7: “built”: 2024 has 52 weeks"
HOUSE = {**SMALL_HOUSE, "2026/2026-014.md": SOUND_BULLETIN}


def other(number: str, keys: str = "component: filter", title: str = "") -> str:
    """Return a sound bulletin that has nothing to do with the first one."""
    return bulletin(number, keys, f"Words of {number}.", title or f"The filter, word {number}")


@dataclass(frozen=True)
class Told:
    """What a command answered; *said* is all that a person at a terminal sees."""

    status: int
    out: str
    err: str

    @property
    def said(self) -> str:
        return self.out + self.err


class Yard:
    """Repositories below one folder. Git is set up here alone, and the day is the same."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.home = root / "home"
        self.home.mkdir(parents=True, exist_ok=True)
        (self.home / ".gitconfig").write_text(CONFIG, encoding="utf-8")
        kept = {key: text for key, text in os.environ.items() if not key.startswith("GIT_")}
        kept.pop("PYTHONDONTWRITEBYTECODE", None)  # what is installed has its byte code
        self.env = {
            **kept,
            "HOME": str(self.home),
            "GIT_CONFIG_GLOBAL": str(self.home / ".gitconfig"),
            "GIT_CONFIG_NOSYSTEM": "1",
            "KB_TODAY": TODAY,
        }

    @classmethod
    def like(cls, pattern: Yard, root: Path) -> Yard:
        """Return a yard with all that *pattern* has, in another place: made once, used often."""
        shutil.copytree(pattern.root, root, symlinks=True, dirs_exist_ok=True)
        for name in ("config", "served.json", "publishes.log"):
            for path in root.rglob(name):
                text = path.read_text(encoding="utf-8")
                path.write_text(text.replace(str(pattern.root), str(root)), encoding="utf-8")
        return cls(root)

    def run(self, where: Path, *words: str, env: Mapping[str, str] | None = None) -> Told:
        """Run a command and return what it answered, whatever that is."""
        done = subprocess.run(
            words,
            cwd=where,
            env={**self.env, **(env or {})},
            capture_output=True,
            stdin=subprocess.DEVNULL,
            check=False,
        )
        return Told(done.returncode, done.stdout.decode(), done.stderr.decode())

    def kb(self, where: Path, *words: str, env: Mapping[str, str] | None = None) -> Told:
        """Run `kb` as a person does."""
        return self.run(where, sys.executable, "-m", "kb", *words, env=env)

    def hooks(self, where: Path, *words: str) -> Told:
        """Run `kb hooks`, which has to succeed."""
        told = self.kb(where, "hooks", *words)
        assert told.status == 0, told.said
        return told

    def git(self, where: Path, *words: str, env: Mapping[str, str] | None = None) -> Told:
        """Run git, whatever comes of it."""
        return self.run(where, "git", *words, env=env)

    def did(self, where: Path, *words: str) -> str:
        """Run git, which has to succeed, and return what it printed."""
        told = self.git(where, *words)
        assert told.status == 0, told.said
        return told.out.strip()

    def put(self, where: Path, files: Mapping[str, str], house: str = "bulletins") -> None:
        """Write files of a house below a work tree."""
        for name, text in files.items():
            path = where / house / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")

    def clone(self, name: str = "clerk", house: str = "bulletins", *init: str) -> Path:
        """Return a repository of its own with the small house committed, without hooks."""
        where = self.root / name
        self.did(self.root, "init", "-q", *init, str(where))
        self.put(where, HOUSE, house)
        self.commit(where, "The house")
        return where

    def commit(self, where: Path, message: str, *more: str) -> Told:
        """Commit everything in the work tree as it is."""
        self.did(where, "add", "-A")
        return self.git(where, "commit", "-q", "-m", message, *more)

    def served(self, *options: str, name: str = "server.git") -> tuple[Path, Path]:
        """Return a bare repository with hooks, and a clone that has the house committed."""
        server = self.root / name
        self.did(self.root, "init", "-q", "--bare", str(server))
        self.hooks(server, *options)
        clerk = self.clone(f"clerk of {name}")
        self.did(clerk, "remote", "add", "origin", str(server))
        return server, clerk

    def push(self, where: Path, *what: str) -> Told:
        """Push to the server."""
        return self.git(where, "push", "-q", "origin", *(what or ("main",)))


@contextmanager
def standing_in(yard: Yard, where: Path) -> Iterator[Repository]:
    """Stand in a repository of a yard, in this very process."""
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(where)
        for key in [key for key in os.environ if key.startswith("GIT_")]:
            patch.delenv(key)
        for key in ("HOME", "GIT_CONFIG_GLOBAL", "GIT_CONFIG_NOSYSTEM"):
            patch.setenv(key, yard.env[key])
        yield here()


def until(done: Callable[[], bool], seconds: float = 60) -> bool:
    """Wait for what another process does; return whether it came."""
    end = time.monotonic() + seconds
    while not done():
        if time.monotonic() > end:
            return False
        time.sleep(0.05)
    return True


def remote(told: Told) -> list[str]:
    """Return the lines that the server said, as the one who pushed reads them."""
    lines = told.err.split("\n")
    return [line.removeprefix("remote: ").rstrip() for line in lines if line.startswith("remote:")]
