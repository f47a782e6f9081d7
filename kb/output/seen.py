"""What a tree was seen to hold, kept beside it, so that the next look reads what has changed alone.

Each of the two trees of a site has a file in the folder ``seen``, named by the number (inode) of
the tree's own folder. It can be lost, damaged or older than the tree: times tell what has changed
since, and without it all is looked through.
"""

from __future__ import annotations

import os
import pickle
import zlib
from array import array
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from kb.output.tree import Tree, changed_at

_FORM = 1
_END = "\0"


def recall(folder: Path, top: Path, boot: str) -> Tree | None:
    """Return what the tree at *top* was seen to hold since *boot*, None where that is not known."""
    with suppress(Exception):  # whatever a damaged file leads to
        name, key = _named(top, boot)
        held = (folder / name).read_bytes()
        content = memoryview(held)[4:]
        if zlib.crc32(content) == int.from_bytes(held[:4], "big"):
            told, *lists = pickle.loads(content)
            return _tree(*lists) if told == key else None
    return None


def remember(folder: Path, top: Path, boot: str, tree: Tree, trees: Iterable[Path]) -> None:
    """Keep what the tree at *top* was seen to hold; of *trees*, and of no others, it is kept."""
    with suppress(OSError):
        name, key = _named(top, boot)
        folder.mkdir(exist_ok=True)
        living = {_named(each, boot)[0] for each in trees if each.is_dir()}
        for each in set(os.listdir(folder)) - living:
            os.unlink(folder / each)
        content = pickle.dumps((key, *_lists(tree)), pickle.HIGHEST_PROTOCOL)
        with (folder / "new").open("xb") as file:
            if tree.sealed or not _tells(folder, folder / "new"):
                return
            file.writelines((zlib.crc32(content).to_bytes(4, "big"), content))
        (folder / "new").replace(folder / name)


def _named(top: Path, boot: str) -> tuple[str, tuple[object, ...]]:
    look = os.stat(top)
    return str(look.st_ino), (_FORM, boot, look.st_dev, look.st_ino)


def _tells(folder: Path, fresh: Path) -> bool:
    """Tell whether a folder's time says that a name has come into it, as not on every disk."""
    return bool(changed_at(os.stat(folder)) >= changed_at(os.stat(fresh)))


def _lists(tree: Tree) -> tuple[bytes, ...]:
    texts = (tree.folders, tree.files, sorted(tree.empty))
    numbers = (tree.times, tree.numbers, tree.counts)
    return (*map(_as_bytes, texts), *(each.tobytes() for each in numbers))


def _as_bytes(paths: Iterable[str]) -> bytes:
    return "".join(f"{path}{_END}" for path in paths).encode("utf-8", "surrogateescape")


def _paths(held: bytes) -> list[str]:
    return held.decode("utf-8", "surrogateescape").split(_END)[:-1]


def _tree(
    folders: bytes, files: bytes, empty: bytes, times: bytes, numbers: bytes, counts: bytes
) -> Tree:
    ways = _paths(folders), array("q", times), array("Q", numbers), array("q", counts)
    return Tree(*ways, _paths(files), set(_paths(empty)))
