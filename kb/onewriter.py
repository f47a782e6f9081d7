"""One writer at a time: a lock that is gone with the process that holds it, however that ends."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO


@contextmanager
def only_writer(lock: Path, waiting: Callable[[], object]) -> Iterator[bool]:
    """Hold the file *lock*; calls *waiting* once where somebody else holds it, and waits for them.

    Yields whether it is held: some systems and some network disks know no such locks. The file
    stays, for another process may be about to lock it.
    """
    with lock.open("ab") as handle:
        yield _hold(handle, waiting)


if sys.platform == "win32":

    def _hold(handle: IO[bytes], waiting: Callable[[], object]) -> bool:
        return False

else:
    import fcntl

    def _hold(handle: IO[bytes], waiting: Callable[[], object]) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            waiting()
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:
            return False
        return True
