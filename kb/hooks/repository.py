"""The git repository that one stands in. The one module that runs git."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from kb.errors import KbError

HEADS = "refs/heads/"


@dataclass(frozen=True, slots=True)
class Repository:
    """A repository: the git folder of this work tree, and the one that all work trees share."""

    folder: Path
    common: Path
    bare: bool

    @property
    def home(self) -> Path:
        """The folder for what we keep about the repository: proofs, exports, locks, the log."""
        return self.common / "kb"

    def git(
        self,
        *words: str,
        given: bytes = b"",
        env: Mapping[str, str] | None = None,
        cwd: Path | None = None,
    ) -> bytes:
        """Run git in this repository and return what it prints; KbError where it fails.

        What git told a hook through the environment (a temporary index, objects in quarantine)
        goes along.
        """
        run = _run(words, given, env, cwd)
        if run.returncode:
            told = run.stderr.decode("utf-8", "replace").strip()
            raise KbError(f"git {words[0]} failed: {told or 'it does not say why'}")
        return run.stdout

    def text(self, *words: str) -> str:
        """Return what git prints, as text without the line end; KbError where it fails."""
        return self.git(*words).decode("utf-8", "surrogateescape").strip("\n")

    def ask(self, *words: str) -> str:
        """Return what git prints, or nothing where it answers no."""
        run = _run(words)
        return "" if run.returncode else run.stdout.decode("utf-8", "surrogateescape").strip("\n")

    def shared(self, *words: str) -> str:
        """Ask as `ask` does, about the repository itself rather than one of its work trees."""
        run = _run(words, env={"GIT_DIR": str(self.common)})
        return "" if run.returncode else run.stdout.decode("utf-8", "surrogateescape").strip("\n")

    def branches(self) -> dict[str, str]:
        """Return every branch, by its full name, with the commit that it stands at."""
        told = self.text("for-each-ref", "--format=%(objectname) %(refname)", HEADS)
        rows = (line.split(" ", 1) for line in told.split("\n") if line)
        return {name: commit for commit, name in rows}

    def head_branch(self) -> str:
        """Return the full name of the branch that HEAD points to, or nothing."""
        return self.shared("symbolic-ref", "-q", "HEAD")

    def house_words(self) -> dict[str, str]:
        """Return our keys of git's configuration (``kb.…``) with their values."""
        told = self.ask("config", "-z", "--get-regexp", r"^kb\.")
        pairs = (entry.partition("\n") for entry in told.split("\0") if entry)
        return {key: value for key, _, value in pairs}

    def configure(self, key: str, value: str) -> None:
        """Set a key in the repository's own configuration."""
        self.git("config", "--local", key, value)

    def forget(self, key: str) -> None:
        """Take a key out of the repository's own configuration; one that is not there is fine."""
        self.ask("config", "--local", "--unset-all", key)


def here() -> Repository:
    """Return the repository that one stands in; KbError where there is none, or no git."""
    run = _run(("rev-parse", "--absolute-git-dir", "--git-common-dir", "--is-bare-repository"))
    if run.returncode:
        raise _none(run.stderr.decode("utf-8", "replace"))
    folder, common, bare = os.fsdecode(run.stdout).rstrip("\n").split("\n")
    return Repository(Path(folder), Path(common).resolve(), bare == "true")


def _none(told: str) -> KbError:
    if "ownership" in told:
        return KbError(
            "git does not trust this repository: it belongs to another user",
            "become that user, or see `git help config` on safe.directory",
        )
    return KbError(
        f"{Path.cwd()} lies in no git repository",
        "go to the clone or the bare repository that holds the bulletins; `git init` begins one",
    )


def _run(
    words: tuple[str, ...],
    given: bytes = b"",
    env: Mapping[str, str] | None = None,
    cwd: Path | None = None,
) -> subprocess.CompletedProcess[bytes]:
    # Messages of git are matched and passed on: in one language.
    around = {**os.environ, "LC_ALL": "C.UTF-8", "GIT_LITERAL_PATHSPECS": "1", **(env or {})}
    try:
        return subprocess.run(
            ["git", *words], input=given, capture_output=True, env=around, cwd=cwd, check=False
        )
    except FileNotFoundError as error:
        raise KbError(
            "git is not installed, or not on the path", "install git 2.30 or newer"
        ) from (error)
