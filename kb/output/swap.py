"""Two folders exchanged in one step, so that whoever looks meets the one or the other whole.

Linux does this with ``renameat2(2)`` and its flag RENAME_EXCHANGE, macOS with ``renamex_np(2)`` and
RENAME_SWAP. Neither is in Python's library, so both are called through ctypes.
"""

from __future__ import annotations

import ctypes
import errno
import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

_HERE = -100  # AT_FDCWD: a path that is not absolute is seen from the current folder
_EXCHANGE = 2  # RENAME_EXCHANGE of Linux, RENAME_SWAP of macOS
_CANNOT = frozenset((errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM))

Call = Callable[[bytes, bytes], int]


def exchange(new: Path, old: Path, aside: Path) -> None:
    """Put the folder *new* in the place of *old* and *old* in the place of *new*: OSError.

    Where the system cannot do that in one step, *old* goes by way of *aside*: for a moment nothing
    is in its place, and a stop in that moment leaves it so until `recover` mends it.
    """
    if _at_once(new, old):
        return
    os.rename(old, aside)
    try:
        os.rename(new, old)
    except OSError:
        os.rename(aside, old)
        raise
    os.rename(aside, new)


def can_be_moved(folder: Path, filled: Path) -> bool:
    """Tell whether the system lets *folder* be renamed; *filled* is a folder that is not empty.

    A layer of a container's disk and a place where something is mounted cannot be. No folder takes
    the place of one that is not empty (rename(2), ENOTEMPTY), so that asking changes nothing.
    """
    try:
        os.rename(folder, filled)
    except OSError as error:
        return error.errno not in (errno.EXDEV, errno.EBUSY)
    return True


def recover(new: Path, old: Path, aside: Path) -> None:
    """Finish or undo an exchange by way of *aside* that was stopped: OSError.

    Where others have made the folder *old* anew meanwhile, what they put there joins what it was.
    """
    if not aside.exists():
        return
    if old.exists() and not new.exists():
        os.rename(aside, new)
        return
    if old.exists():
        for name in os.listdir(old):
            if not os.path.lexists(aside / name):
                os.rename(old / name, aside / name)
        os.rmdir(old)
    os.rename(aside, old)


def _at_once(one: Path, other: Path) -> bool:
    call = _system_call()
    if call is None:
        return False
    if call(os.fsencode(one), os.fsencode(other)) == 0:
        return True
    number = ctypes.get_errno()
    if number in _CANNOT:
        return False
    raise OSError(number, os.strerror(number), str(one), None, str(other))


@cache
def _system_call() -> Call | None:
    """Return what exchanges two paths, 0 for success; None where the system has no such thing."""
    try:
        library = ctypes.CDLL(None, use_errno=True)
        if sys.platform == "darwin":
            swap = library.renamex_np
            return lambda one, other: int(swap(one, other, ctypes.c_uint(_EXCHANGE)))
        rename = library.renameat2
    except (OSError, AttributeError, TypeError):
        return None
    return lambda one, other: int(rename(_HERE, one, _HERE, other, ctypes.c_uint(_EXCHANGE)))
