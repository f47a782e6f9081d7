"""What is to be published where: the published branch, and previews of others."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kb.hooks.repository import HEADS, Repository
from kb.hooks.settings import RECORD, Settings, published_branch

Served = dict[str, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Target:
    """A branch at a commit, and the folder that its site goes to."""

    branch: str
    commit: str
    out: Path

    @property
    def name(self) -> str:
        """The branch as people call it."""
        return self.branch.removeprefix(HEADS)


def targets(repository: Repository, settings: Settings) -> Iterator[Target]:
    """Yield what the branches ask for as they stand now, the published one first."""
    branches = repository.branches()
    main = published_branch(repository, settings)
    if settings.out and main in branches:
        yield Target(main, branches[main], settings.out)
    for branch, commit in branches.items():
        folder = None if branch == main else settings.preview_of(branch)
        if folder:
            yield Target(branch, commit, folder)


def _record(repository: Repository) -> Path:
    return repository.home / RECORD


def read_served(repository: Repository) -> Served:
    """Return what has been published from here: by folder, the branch, commit and tree."""
    try:
        found = json.loads(_record(repository).read_bytes())
        return {str(out): dict(entry) for out, entry in found.items()}
    except (OSError, ValueError, AttributeError, TypeError):
        return {}


def note_served(repository: Repository, served: Mapping[str, Mapping[str, Any]]) -> None:
    """Write down what has been published; for the holder of the lock alone."""
    fresh = _record(repository).with_suffix(".new")
    fresh.write_text(json.dumps(served, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    fresh.replace(_record(repository))


def withdraw(out: Path) -> None:
    """Remove a published site with its older editions; what others put there stays: KbError."""
    from kb.output import opened
    from kb.output.room import folder_of

    if not out.is_dir():
        return
    with opened(out, keep=0) as output:
        output.finish(())
    shutil.rmtree(folder_of(out.resolve()), ignore_errors=True)
    with suppress(OSError):  # files of others are in it
        out.rmdir()
