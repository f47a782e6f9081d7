"""Files brought safely to the disk before a name leads to them."""

from __future__ import annotations

import os
import stat
from collections.abc import Collection
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

from kb import durable
from kb.output.theirs import folders_of

_FEW = 400  # files; of more, the whole system's buffers are written out at once
_AT_ONCE = 16


def settle(folder: Path, paths: Collection[str]) -> None:
    """Bring the files at *paths* below *folder*, and the folders above them, to the disk."""
    if len(paths) > _FEW:
        settle_everything()
        return
    folders = {each for path in paths for each in folders_of(path)}
    # A file system writes its journal once for all that ask at the same time.
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        list(pool.map(_settle, [folder / path for path in {*paths, *folders}]))
    _settle(folder)


def settle_everything() -> None:
    """Bring all that has been written on this machine to the disk."""
    os.sync()


def _settle(path: Path) -> None:
    with suppress(FileNotFoundError, NotADirectoryError):
        # What others have put there may be a link or a pipe, which cannot be waited for.
        if stat.S_IFMT(os.lstat(path).st_mode) in (stat.S_IFREG, stat.S_IFDIR):
            durable.settle(path)
