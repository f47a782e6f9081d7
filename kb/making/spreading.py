"""Many small pieces of work spread over processes, where there are enough of them to pay for it.

Helpers are forked from this process, so that what the work needs is there without being sent; what
comes of it is sent back piece by piece. A helper stays no further ahead than its pipe holds. Where
processes cannot be forked, or other threads run that a fork would cut short, all is done here.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import suppress
from multiprocessing import get_all_start_methods, get_context
from multiprocessing.connection import Connection
from traceback import format_exc
from typing import Any, TypeVar

from kb.errors import KbError
from kb.processors import VARIABLE, processors

T = TypeVar("T")
Work = Callable[[int], T]

MANY = 400  # fewer pieces of work are done sooner than helpers begin
_RUN = 8  # neighbours that one helper makes: they share much, yet others must not wait long
_ENDING = (signal.SIGINT, signal.SIGTERM)
_AHEAD = 1 << 20  # bytes that a pipe holds, where the system lets one say so


class _Helper:
    """A process that does the work of the places that it was dealt, in their order."""

    def __init__(self, work: Work[Any], places: Iterable[int], others: Sequence[_Helper]) -> None:
        context = get_context("fork")
        self._results, sending = context.Pipe(duplex=False)
        inherited = [self._results, *(other._results for other in others)]
        try:
            _widen(sending)
            self._process = context.Process(
                target=_help, args=(work, places, sending, inherited), daemon=True
            )
            self._process.start()
        except BaseException:
            self._results.close()
            raise
        finally:
            sending.close()  # else the end of the helper would not show

    def result(self) -> Any:
        """Return what came of the next place: KbError if the helper is gone."""
        try:
            done, result = self._results.recv()
        except (EOFError, OSError, pickle.UnpicklingError) as gone:
            raise self._gone() from gone
        if done:
            return result
        raise result

    def _gone(self) -> KbError:
        self._process.join()
        code = self._process.exitcode or 0
        how = f"signal {-code}" if code < 0 else f"status {code}"
        return KbError(
            f"a helper process ended unexpectedly ({how})",
            f"see whether memory was short; {VARIABLE}=1 does without helpers",
        )

    def end(self) -> None:
        """End the helper, whatever it does."""
        self._process.kill()
        self._process.join()
        self._process.close()
        self._results.close()


def spread(count: int, work: Work[T], processes: int | None = None) -> Iterator[T]:
    """Yield what *work* gives for 0, 1 … *count* - 1, in this order: KbError.

    What *work* gives, and what it raises, has to be picklable. Whoever does not take all of it
    closes the iterator, which ends the helpers.
    """
    helpers = _begun(count, work, processors() if processes is None else processes)
    if not helpers:
        yield from map(work, range(count))
        return
    try:
        for place in range(count):
            yield helpers[_turn(place, len(helpers))].result()
    finally:
        for helper in helpers:
            helper.end()


def _turn(place: int, helpers: int) -> int:
    return place // _RUN % helpers


def _begun(count: int, work: Work[Any], processes: int) -> list[_Helper]:
    """Return helpers that have begun, none where all is to be done here."""
    if processes < 2 or count < MANY or not _can_fork():
        return []
    helpers: list[_Helper] = []
    gc.freeze()  # what is there already is never looked through, and so not copied, by a helper
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _ENDING)  # no helper may be left unknown
    try:
        for turn in range(processes):
            places = [place for place in range(count) if _turn(place, processes) == turn]
            helpers.append(_Helper(work, places, helpers))
    except OSError:  # no process or no memory to be had
        for helper in helpers:
            helper.end()
        return []
    finally:
        gc.unfreeze()
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    return helpers


def _can_fork() -> bool:
    """Return whether a fork is safe: other systems' libraries do not bear it, nor do threads."""
    alone = threading.active_count() == 1
    return sys.platform == "linux" and "fork" in get_all_start_methods() and alone


def _widen(pipe: Connection) -> None:
    import fcntl  # there wherever processes can be forked

    with suppress(OSError, AttributeError):
        fcntl.fcntl(pipe.fileno(), fcntl.F_SETPIPE_SZ, _AHEAD)


# In the helper


def _help(
    work: Work[Any], places: Iterable[int], results: Connection, inherited: Iterable[Connection]
) -> None:
    """Do the work and leave at once, without a word: nothing that was inherited is to be ended."""
    status = 1
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever began this ends it
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _ENDING)
        for pipe in inherited:
            pipe.close()  # else nobody would notice that their reader is gone
        _send_all(work, places, results)
        status = 0
    except OSError:  # whoever began this is gone
        pass
    finally:
        os._exit(status)


def _send_all(work: Work[Any], places: Iterable[int], results: Connection) -> None:
    for place in places:
        try:
            made = True, work(place)
        except Exception as trouble:
            trouble.add_note(format_exc())
            made = False, trouble
        results.send(made)
        if not made[0]:
            return
