"""What must outlive a loss of power: files and folders brought to the disk, names exchanged."""

from __future__ import annotations

import os
from pathlib import Path


def settle(path: Path) -> None:
    """Bring one file, or the names in one folder, to the disk."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except PermissionError:  # a folder, on a system that opens none
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def settle_all(folder: Path) -> None:
    """Bring everything below *folder* to the disk, files before the folders that name them."""
    for path, _, files in os.walk(folder, topdown=False):
        for name in files:
            settle(Path(path, name))
        settle(Path(path))


def exchange(path: Path, text: str, aside: Path) -> None:
    """Let *path* hold *text* in one step, for good; it is written *aside*, on the same disk."""
    with aside.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    aside.replace(path)
    settle(path.parent)
