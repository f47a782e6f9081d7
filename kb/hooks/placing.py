"""Where hooks go: among those of the repository, or, where a place is taken, in front of them.

A hook of somebody else's is never changed or moved. Where ours would need its name, or where
``core.hooksPath`` leads to a folder that is not this repository's alone, ours go to a folder of
their own, ``core.hooksPath`` of this repository leads there, and every hook there runs the former.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from kb.errors import KbError
from kb.hooks import scripts
from kb.hooks.repository import Repository

_PATH_KEY = "core.hooksPath"
_FORMER_KEY = "kb.formerhooks"

# Hooks that do no harm by being there, so that one added later to the former folder is run too.
_FORWARDED = (
    *("applypatch-msg", "pre-applypatch", "post-applypatch", "pre-commit", "pre-merge-commit"),
    *("prepare-commit-msg", "commit-msg", "post-commit", "pre-rebase", "post-checkout"),
    *("post-merge", "pre-push", "pre-receive", "update", "post-receive", "post-update"),
    *("pre-auto-gc", "post-rewrite", "sendemail-validate"),
)


@dataclass(frozen=True, slots=True)
class Place:
    """A folder for our hooks. *former* is where the hooks lie that ours stand in front of."""

    folder: Path
    former: str = ""

    def others(self, names: Iterable[str], runs: bool) -> list[str]:
        """Return which of *names* are there as hooks of others: those that run, or those not."""
        folder = Path(self.former or self.folder)
        found = (
            name for name in names if (folder / name).is_file() and not _is_ours(folder / name)
        )
        return [name for name in found if os.access(folder / name, os.X_OK) == runs]


def find_place(repository: Repository, names: Iterable[str]) -> Place:
    """Return where the hooks *names* are to go; KbError where git would not look there."""
    own, usual = repository.home / "hooks", repository.common / "hooks"
    former = _configured(repository)
    if former:
        return Place(own, former)
    if any(os.path.lexists(usual / name) and not _is_ours(usual / name) for name in names):
        return Place(own, str(usual))
    return Place(usual)


def _configured(repository: Repository) -> str:
    """Return where ``core.hooksPath`` leads when ours is left out of account, or nothing."""
    words = ("config", "--show-scope", "--type=path", "--get-all", _PATH_KEY)
    rows = (row.split("\t", 1) for row in repository.ask(*words).split("\n") if row)
    own = str(repository.home / "hooks")
    found = [(scope, path) for scope, path in rows if path != own]
    if any(scope == "worktree" for scope, _ in found):
        raise KbError(
            f"this work tree has a {_PATH_KEY} of its own, which git follows before all others",
            f"take it away first: git config --worktree --unset {_PATH_KEY}",
        )
    kept = repository.house_words().get(_FORMER_KEY, "")
    local = [path for scope, path in found if scope == "local"] or ([kept] if kept else [])
    wider = [path for scope, path in found if scope in ("system", "global")]
    return [*wider, *local][-1] if wider or local else ""


def put(repository: Repository, place: Place, names: Iterable[str], flags: tuple[str, ...]) -> None:
    """Write our hooks *names* into their place, and take away those that stood elsewhere."""
    wanted = set(names)
    for folder in (repository.common / "hooks", repository.home / "hooks"):
        _clear(folder, keep=wanted if folder == place.folder else set())
    for name in sorted(wanted):
        _write(place.folder / name, scripts.ours(name, place.former, flags))
    if not place.former:
        _restore(repository)
        return
    for name in set(_FORWARDED) - wanted:
        _write(place.folder / name, scripts.forward(name, place.former))
    now = repository.ask("config", "--local", "--get", _PATH_KEY)
    if now != str(place.folder):
        if now:
            repository.configure(_FORMER_KEY, now)
        repository.configure(_PATH_KEY, str(place.folder))


def take_away(repository: Repository) -> list[str]:
    """Take our hooks away, give ``core.hooksPath`` back, and return the names of those there."""
    _restore(repository)
    every = [repository.common / "hooks", repository.home / "hooks"]
    return sorted({name for folder in every for name in _clear(folder, keep=set())})


def _restore(repository: Repository) -> None:
    if repository.ask("config", "--local", "--get", _PATH_KEY) == str(repository.home / "hooks"):
        former = repository.house_words().get(_FORMER_KEY, "")
        if former:
            repository.configure(_PATH_KEY, former)
        else:
            repository.forget(_PATH_KEY)
    repository.forget(_FORMER_KEY)


def _clear(folder: Path, keep: set[str]) -> list[str]:
    """Remove our hooks from *folder* but those to *keep*; return what was removed."""
    if not folder.is_dir():
        return []
    gone = [path for path in folder.iterdir() if path.name not in keep and _is_ours(path)]
    for path in gone:
        path.unlink()
    return [path.name for path in gone]


def _is_ours(path: Path) -> bool:
    try:
        return not path.is_symlink() and scripts.MARK.encode() in path.read_bytes()[:500]
    except OSError:
        return False


def _write(path: Path, text: str) -> None:
    """Write a hook in one step, so that git never runs half of one."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(
        "w", dir=path.parent, prefix=".kb-", delete=False, encoding="utf-8", newline="\n",
        errors="surrogateescape",
    ) as file:  # fmt: skip
        file.write(text)
    Path(file.name).chmod(0o755)
    Path(file.name).replace(path)
