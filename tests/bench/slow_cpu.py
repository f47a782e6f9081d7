"""A processor as slow as a phone's: the browser's page processes run a part of the time only.

A browser's own throttling reaches a page's main thread and not its workers. Here whole processes
are stopped and let go again, a few milliseconds at a time, so that page and workers are slowed
alike, whoever's page it is.
"""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Event, Thread

_PERIOD = 0.008  # seconds
_LOOK = 0.2  # seconds between two looks for new processes


def children(parent: int) -> Iterator[int]:
    """Yield every process below *parent*."""
    for task in Path(f"/proc/{parent}/task").glob("*/children"):
        with suppress(OSError):
            for child in task.read_text().split():
                yield int(child)
                yield from children(int(child))


def page_processes() -> list[int]:
    """Return the processes of browsers that this process started which hold pages."""
    found = []
    for process in children(os.getpid()):
        with suppress(OSError):
            if b"--type=renderer" in Path(f"/proc/{process}/cmdline").read_bytes():
                found.append(process)
    return found


def _signal(processes: list[int], what: signal.Signals) -> None:
    for process in processes:
        with suppress(ProcessLookupError):
            os.kill(process, what)


def _slow_down(times: float, done: Event) -> None:
    processes: list[int] = []
    looked = 0.0
    try:
        while not done.is_set():
            if time.monotonic() - looked > _LOOK:
                processes, looked = page_processes(), time.monotonic()
            _signal(processes, signal.SIGSTOP)
            time.sleep(_PERIOD * (1 - 1 / times))
            _signal(processes, signal.SIGCONT)
            time.sleep(_PERIOD / times)
    finally:
        _signal(processes, signal.SIGCONT)


@contextmanager
def slowed(times: float = 4) -> Iterator[None]:
    """Let the pages of browsers started here run at 1/*times* of their speed."""
    done = Event()
    thread = Thread(target=_slow_down, args=(times, done), daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join()
