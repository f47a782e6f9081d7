"""Files brought safely to the disk before a name leads to them."""

from __future__ import annotations

import os
from collections.abc import Collection
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path

_FEW = 400  # files; of more, the whole system's buffers are written out at once
_AT_ONCE = 16


def settle(folder: Path, paths: Collection[str]) -> None:
    """Bring the files at *paths* below *folder*, and the folders that they lie in, to the disk."""
    if len(paths) > _FEW:
        os.sync()
        return
    files = [folder / path for path in paths]
    folders = {file.parent for file in files}
    # A file system writes its journal once for all that ask at the same time.
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        list(pool.map(_settle, [*files, *folders, folder]))


def settle_folder(folder: Path) -> None:
    """Bring what a folder holds by name to the disk."""
    _settle(folder)


def _settle(path: Path) -> None:
    with suppress(FileNotFoundError, NotADirectoryError, PermissionError):
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0))
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
