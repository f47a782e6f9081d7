"""How many processes may work at once: as many as there are processors, or as many as is said."""

from __future__ import annotations

import os
import sys
import threading

from kb.errors import KbError

VARIABLE = "KB_PROCESSES"  # the environment variable that says how many


def processors() -> int:
    """Return how many processes may work at once: KbError where what is said is no number."""
    said = os.environ.get(VARIABLE, "").strip()
    if not said:
        return _there()
    if said.isdecimal() and int(said) > 0:
        return int(said)
    raise KbError(
        f"{VARIABLE} is {said!r}, which says no number of processes",
        "set it to 1 to do all work in one process, or unset it",
    )


def can_fork() -> bool:
    """Tell whether a fork is safe: other systems' libraries do not bear it, nor do threads."""
    return sys.platform == "linux" and hasattr(os, "fork") and threading.active_count() == 1


def _there() -> int:
    """Return how many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # a system that does not tell
        return os.cpu_count() or 1
