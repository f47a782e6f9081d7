"""Looking at very many things, shared by all processors where that pays."""

from __future__ import annotations

import os
import signal
from array import array
from collections.abc import Callable, Iterable
from contextlib import suppress
from itertools import pairwise

from kb.processors import can_fork, processors

MANY = 20_000  # fewer things are looked at sooner than a process is forked
Look = Callable[[int, int], Iterable[int]]


def shared(look: Look, count: int) -> list[int]:
    """Return all numbers that *look* gives for the things from one number to another: OSError.

    There are *count* things, numbered from 0. What a helper does not come to is done here.
    """
    helpers = processors() if count >= MANY and can_fork() else 1
    cuts = [count * at // helpers for at in range(helpers + 1)]
    begun: list[_Helper] = []
    try:
        for cut in pairwise(cuts[1:]):
            begun.append(_Helper(look, *cut))
        found = list(look(cuts[0], cuts[1]))
        for helper in begun:
            found += helper.found()
    finally:
        for helper in begun:
            helper.end()
    return found


class _Helper:
    """A process that looks at a share; it holds nothing but its pipe and ends by itself."""

    def __init__(self, look: Look, begin: int, end: int) -> None:
        self._share = begin, end
        self._look = look
        self._pipe, sending = os.pipe()
        # No helper may be left unknown, and none may believe itself to be what was forked.
        before = signal.pthread_sigmask(signal.SIG_BLOCK, _ENDING)
        try:
            self._process = _fork()
            if self._process == 0:
                _send(look, begin, end, sending)
        finally:
            os.close(sending)
            signal.pthread_sigmask(signal.SIG_SETMASK, before)

    def found(self) -> Iterable[int]:
        """Return what the helper found, or look here if it came to nothing."""
        with open(self._pipe, "rb", closefd=False) as pipe:
            held = pipe.read()
        if held[-1:] != _END:
            return self._look(*self._share)
        return array("Q", held[:-1])

    def end(self) -> None:
        """End the helper, whatever it does."""
        os.close(self._pipe)
        if self._process:
            os.kill(self._process, signal.SIGKILL)
            os.waitpid(self._process, 0)


_END = b"."
_ENDING = (signal.SIGINT, signal.SIGTERM)


def _fork() -> int | None:
    """Return the number of a new process, 0 in that process, None where there is none to be had."""
    with suppress(OSError):
        return os.fork()
    return None


def _send(look: Look, begin: int, end: int, sending: int) -> None:
    """Look and leave at once, without a word: nothing that was inherited is to be ended."""
    try:
        with open(sending, "wb") as pipe:
            pipe.write(array("Q", look(begin, end)).tobytes() + _END)
    finally:
        os._exit(0)
