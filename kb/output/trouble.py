"""What keeps an output folder from being written to or exchanged, found out and said in words."""

from __future__ import annotations

import errno
import os
import re
from pathlib import Path

from kb.errors import KbError

_MOUNTS = "/proc/self/mountinfo"  # proc(5): the fifth word of a line is where something is mounted


def is_mounted(out: Path) -> bool:
    """Tell whether a file system is mounted at *out* or below: such a folder cannot be exchanged.

    A folder that is mounted from the same disk is told by Linux' own table alone.
    """
    if os.path.ismount(out):
        return True
    try:
        with open(_MOUNTS, "rb") as file:
            places = [_plain(line.split()[4]) for line in file]
    except OSError:
        return False
    here = os.fsencode(out)
    return any(place == here or place.startswith(here + b"/") for place in places)


def _plain(word: bytes) -> bytes:
    return re.sub(rb"\\([0-7]{3})", lambda found: bytes([int(found[1], 8)]), word)


def trouble(out: Path, error: Exception) -> KbError:
    """Say in words why *out* could not be published into, the site being as it was."""
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return KbError(
            f"there is no room left to write {out}: the site stays as it was",
            "free some room on that disk and publish again",
        )
    told = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
    return KbError(
        f"{out} cannot be written to: {told}{_where(error)}",
        "name a folder that you may write to with --out",
    )


def _where(error: Exception) -> str:
    named = error.filename if isinstance(error, OSError) else None
    return f" ({os.fsdecode(named)})" if isinstance(named, str | bytes | os.PathLike) else ""
