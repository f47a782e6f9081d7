"""The house of a commit: where it lies in the tree, and its files written out clean.

Files are written as a checkout writes them (attributes and filters included), but into a folder
aside and from the tree alone, so nothing that lies about in a work tree gets in.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from kb.hooks.repository import Repository
from kb.housefolder import FOLDER

_TABLES = tuple(f"reference/{name}.yaml" for name in ("families", "house", "serials"))


def house_in(repository: Repository, tree: str, named: str = "") -> str | None:
    """Return the path of the house in *tree* (nothing for its top), or None.

    *named* is looked at alone where it is given; else ``bulletins`` at the top comes first, then
    the place with reference tables that is nearest to the top.
    """
    likely = named or FOLDER
    if repository.ask("rev-parse", "-q", "--verify", f"{tree}:{likely}/reference"):
        return likely
    if named:
        return None
    return min(_houses(repository, tree), key=_nearness, default=None)


def _houses(repository: Repository, tree: str) -> Iterator[str]:
    for path in repository.text("ls-tree", "-r", "-z", "--name-only", tree).split("\0"):
        for table in _TABLES:
            if path == table or path.endswith(f"/{table}"):
                yield path[: -len(table)].rstrip("/")


def _nearness(house: str) -> tuple[int, bool, str]:
    steps = house.split("/") if house else []
    return len(steps), FOLDER not in steps[-1:], house


def subtree(repository: Repository, tree: str, house: str) -> str:
    """Return the id of the house's own tree inside *tree*."""
    return repository.text("rev-parse", f"{tree}:{house}" if house else f"{tree}^{{tree}}")


def export(repository: Repository, tree: str, house: str, folder: Path, since: str = "") -> Path:
    """Write the house of *tree* below *folder* and return where it lies.

    With *since*, the tree that was last written there, only what differs is written or removed.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="kb-index-") as aside:
        env = {
            "GIT_DIR": str(repository.folder),
            "GIT_WORK_TREE": str(folder),
            "GIT_INDEX_FILE": f"{aside}/index",
        }
        repository.git("read-tree", "--no-sparse-checkout", tree, env=env, cwd=folder)
        names = (
            _changed(repository, since, tree, house, folder, env)
            if since
            else repository.git("ls-files", "-z", *_below(house), env=env, cwd=folder)
        )
        writing = ("checkout-index", "-f", "-q", "-z", "--stdin")
        repository.git(*writing, given=names, env=env, cwd=folder)
    inside = folder / house
    inside.mkdir(parents=True, exist_ok=True)
    return inside


def _below(house: str) -> tuple[str, ...]:
    return ("--", house) if house else ()


def _changed(
    repository: Repository,
    since: str,
    tree: str,
    house: str,
    folder: Path,
    env: Mapping[str, str],
) -> bytes:
    """Remove what *tree* has no more and return the paths that it has new or changed."""
    words = ("diff-tree", "-r", "-z", "--no-renames", "--name-status", since, tree)
    told = repository.git(*words, *_below(house), env=env, cwd=folder)
    fields = told.split(b"\0")
    wanted: list[bytes] = []
    for status, path in zip(fields[0::2], fields[1::2], strict=False):
        if status == b"D":
            (folder / path.decode("utf-8", "surrogateescape")).unlink(missing_ok=True)
        else:
            wanted.append(path + b"\0")
    return b"".join(wanted)
