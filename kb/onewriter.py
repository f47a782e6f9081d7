"""One writer at a time: a lock that is gone with the process that holds it, however that ends."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def only_writer(lock: Path, waiting: Callable[[], object]) -> Iterator[bool]:
    """Hold the file *lock*; calls *waiting* once where somebody else holds it, and waits for them.

    Yields whether it is held (see `hold`). The file stays, for another process may be about to lock
    it.
    """
    with lock.open("ab") as file:
        yield hold(file.fileno(), waiting)


if sys.platform == "win32":

    def hold(handle: int, waiting: Callable[[], object]) -> bool:
        """Tell that nothing is held: this system knows no such locks."""
        return False

else:
    import fcntl

    def hold(handle: int, waiting: Callable[[], object]) -> bool:
        """Hold an open file or folder until it is closed; *waiting* as for `only_writer`.

        Return whether it is held: some network disks know no such locks.
        """
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            waiting()
            fcntl.flock(handle, fcntl.LOCK_EX)
        except OSError:
            return False
        return True
