"""Locks that the system itself lets go when their holder ends, however it ends."""

from __future__ import annotations

import os
from pathlib import Path

try:
    import fcntl
except ImportError:
    # A system without them serves no pushes; commits are proofed there all the same.
    fcntl = None  # type: ignore[assignment]

AVAILABLE = fcntl is not None and hasattr(os, "fork")


def take(path: Path, wait: bool = False) -> int | None:
    """Take the lock at *path* and return its handle; None where another has it and *wait* is off.

    The lock goes with the handle: it is free once every process that has the handle is gone.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    # Read-only is enough for a lock, and lets another user of the same group have it in turn.
    handle = os.open(path, os.O_RDONLY | os.O_CREAT, 0o664)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except BlockingIOError:
        os.close(handle)
        return None
    return handle
