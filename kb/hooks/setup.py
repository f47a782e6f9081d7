"""Setting a repository up, and undoing it: the work of `kb hooks`."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import kb
from kb.errors import KbError
from kb.hooks import locks, placing
from kb.hooks.repository import HEADS, Repository
from kb.hooks.settings import (
    KEPT,
    Settings,
    is_pattern,
    preview_key,
    published_branch,
    settings_of,
)
from kb.hooks.targets import read_served, withdraw

Say = Callable[[str], None]

# The same Python and the same kb, whatever the environment says, from whatever folder.
PYTHON_FLAGS = ("-E", "-P", "-X", "utf8")

COMMITS = ("pre-commit", "pre-merge-commit")
PUSHES = ("pre-receive",)
SERVES = ("post-receive",)
SERVES_HERE = ("post-commit", "post-merge", "post-rewrite")
EVERY = (*COMMITS, *PUSHES, *SERVES, *SERVES_HERE)


@dataclass(frozen=True, slots=True)
class Wish:
    """What the user asks for: where the site and the previews go, and how; the rest stays."""

    out: Path | None = None
    previews: tuple[tuple[str, Path], ...] = ()
    keep: int | None = None
    compress: bool | None = None


def set_up(repository: Repository, wish: Wish, say: Say) -> None:
    """Put the hooks in place, or bring them up to date, and say what is so from now on."""
    _refuse_unfit(repository, wish)
    _note(repository, wish)
    settings = settings_of(repository)
    names = hook_names(repository, settings)
    place = placing.find_place(repository, names)
    placing.put(repository, place, names, PYTHON_FLAGS)
    for line in (*_what_is_so(repository, settings), *_who_else(place, names)):
        say(line)


def hook_names(repository: Repository, settings: Settings) -> tuple[str, ...]:
    """Return the hooks that a repository needs for what it is set up to do."""
    here = () if repository.bare else COMMITS
    serving = SERVES if repository.bare else (*SERVES, *SERVES_HERE)
    return (*here, *PUSHES, *(serving if settings.serves else ()))


def _refuse_unfit(repository: Repository, wish: Wish) -> None:
    """Refuse what could not work later, while somebody is there to read it."""
    flags = [sys.executable, *PYTHON_FLAGS, "-c", "import kb; print(kb.__file__)"]
    run = subprocess.run(flags, capture_output=True, text=True, cwd=os.sep, check=False)
    if Path(run.stdout.strip() or os.devnull).resolve() != Path(kb.__file__).resolve():
        raise KbError(
            "this kb is not installed: a hook would not find it from another folder",
            "install it first, `pip install` and the folder of its source, then kb hooks again",
        )
    if (wish.out or wish.previews) and not locks.AVAILABLE:
        raise KbError(
            "this system cannot publish what is pushed",
            "serve the repository from Linux, macOS or another Unix",
        )
    _refuse_folders(wished(settings_of(repository), wish))


def wished(settings: Settings, wish: Wish) -> Settings:
    """Return what a repository will be set up to do once *wish* is granted."""
    previews = {**dict(settings.previews), **dict(wish.previews)}
    return replace(settings, out=wish.out or settings.out, previews=tuple(previews.items()))


def _refuse_folders(settings: Settings) -> None:
    """Refuse folders in which two sites would be mixed, or that cannot be written to."""
    sites = [settings.out, *(each for name, each in settings.previews if not is_pattern(name))]
    folders = [settings.out, *(folder for _, folder in settings.previews)]
    for at, folder in enumerate(filter(None, folders)):
        nearest = next(each for each in (folder, *folder.parents) if each.exists())
        if not nearest.is_dir() or not os.access(nearest, os.W_OK):
            raise KbError(f"{folder} cannot be written to", "name a folder that you may write to")
        for other in filter(None, folders[:at]):
            mixed = folder in other.parents or other in folder.parents or folder == other
            if mixed and (folder in sites or other in sites):
                raise KbError(
                    f"what is published to {other} and to {folder} would be mixed",
                    "give each a folder of its own, one beside the other",
                )


def _note(repository: Repository, wish: Wish) -> None:
    if wish.out:
        repository.configure("kb.out", str(wish.out))
    for pattern, folder in wish.previews:
        repository.configure(preview_key(pattern), str(folder))
    if wish.keep is not None:
        repository.configure("kb.keep", str(wish.keep))
    if wish.compress is not None:
        repository.configure("kb.compress", str(wish.compress).lower())
    settings = settings_of(repository)
    head = repository.head_branch().removeprefix(HEADS)
    if settings.serves and head and not settings.branch and not repository.bare:
        # HEAD of a clone moves with every switch of branch; what is published must not.
        repository.configure("kb.branch", head)


def _what_is_so(repository: Repository, settings: Settings) -> Iterator[str]:
    branch = published_branch(repository, settings).removeprefix(HEADS) or "the first branch"
    if not repository.bare:
        yield "Commits made here are proofed first; an error that a commit brings refuses it."
    if repository.bare or settings.serves:
        yield f"Pushes to {branch} are proofed first; an error that a push brings refuses it."
    if settings.out:
        yield f"What comes to {branch} is published to {settings.out}"
    for pattern, folder in settings.previews:
        yield f"A preview of {pattern} goes to {folder}"
    if settings.serves:
        yield from _how(settings)
    elif repository.bare:
        yield "Nothing is published from here: kb hooks --out DIR would."


def _how(settings: Settings) -> Iterator[str]:
    if settings.keep != KEPT:
        yield f"Older editions kept to go back to: {settings.keep}."
    if settings.compress:
        yield "Packed copies lie beside the files."


def _who_else(place: placing.Place, names: Iterable[str]) -> Iterator[str]:
    for name in place.others(names, runs=True):
        yield f"The {name} that was here stays and runs first."
    for name in place.others(names, runs=False):
        yield f"The {name} that was here is not executable: git passes over it, and so does kb."
    if place.former:
        yield f"core.hooksPath leads to {place.folder}; hooks in {place.former} run as before."


def remove(repository: Repository, say: Say) -> None:
    """Take away the hooks and everything we keep in the repository; published sites stay."""
    lock = locks.take(repository.home / "publishing.lock") if locks.AVAILABLE else None
    if locks.AVAILABLE and lock is None:
        raise KbError("a publish is running", "try again in a moment")
    try:
        _remove(repository, say)
    finally:
        if lock is not None:
            os.close(lock)


def _remove(repository: Repository, say: Say) -> None:
    settings = settings_of(repository)
    gone = placing.take_away(repository)
    for out, entry in read_served(repository).items():
        if entry.get("preview"):
            withdraw(Path(out))
            say(f"The preview of {entry.get('branch')} is removed: {out}")
    shutil.rmtree(repository.home, ignore_errors=True)
    for key in repository.house_words():
        repository.forget(key)
    say("The hooks are removed." if gone else "There were no hooks of kb here.")
    if settings.out:
        say(f"The site in {settings.out} stays as it is.")
