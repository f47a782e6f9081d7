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
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import suppress
from functools import partial
from multiprocessing import get_context
from multiprocessing.connection import Connection
from traceback import format_exc
from typing import Any, TypeVar

from kb.errors import KbError
from kb.processors import VARIABLE, can_fork, processors

S = TypeVar("S")
T = TypeVar("T")
Work = Callable[[Any], Any]
Pieces = Callable[[], Iterable[Any]]

MANY = 1_000  # fewer pieces of work are done sooner than helpers begin
_RUN = 32  # neighbours that one helper makes: they share much, yet others must not wait long
_ENDING = (signal.SIGINT, signal.SIGTERM)
_AHEAD = 1 << 20  # bytes that a pipe holds, where the system lets one say so


class _Helper:
    """A process that works at the pieces that it was dealt, in their order."""

    def __init__(self, work: Work, pieces: Pieces, others: Sequence[_Helper]) -> None:
        context = get_context("fork")
        self._results, sending = context.Pipe(duplex=False)
        inherited = [self._results, *(other._results for other in others)]
        try:
            _widen(sending)
            self._process = context.Process(
                target=_help, args=(work, pieces, sending, inherited), daemon=True
            )
            self._process.start()
        except BaseException:
            self._results.close()
            raise
        finally:
            sending.close()  # else the end of the helper would not show

    def result(self) -> Any:
        """Return what came of the next piece: KbError if the helper is gone."""
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


def spread(
    pieces: Callable[[], Iterable[S]],
    count: int,
    work: Callable[[S], T],
    get_ready: Callable[[Iterable[S]], None] = lambda pieces: None,
    processes: int | None = None,
) -> Generator[T, None, None]:
    """Yield what *work* gives for each of *count* *pieces*, in their order: KbError.

    *pieces* lists the same each time. What *work* gives, and what it raises, has to be picklable.
    *get_ready* is called before helpers begin: what it makes, they share. Whoever does not take
    everything closes the iterator, which ends the helpers.
    """
    wanted = processors() if processes is None else processes
    if wanted < 2 or count < MANY or not can_fork():
        yield from map(work, pieces())
        return
    get_ready(pieces())
    helpers = _begun(wanted, work, pieces)
    if not helpers:
        yield from map(work, pieces())
        return
    try:
        for at in range(count):
            yield helpers[_turn(at, wanted)].result()
    finally:
        for helper in helpers:
            helper.end()


def _turn(at: int, helpers: int) -> int:
    return at // _RUN % helpers


def _share(pieces: Pieces, turn: int, helpers: int) -> Iterator[Any]:
    return (piece for at, piece in enumerate(pieces()) if _turn(at, helpers) == turn)


def _begun(count: int, work: Work, pieces: Pieces) -> list[_Helper]:
    """Return *count* helpers that have begun, none where the system gives none."""
    helpers: list[_Helper] = []
    gc.freeze()  # what is there already is never looked through, and so not copied, by a helper
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _ENDING)  # no helper may be left unknown
    try:
        for turn in range(count):
            helpers.append(_Helper(work, partial(_share, pieces, turn, count), helpers))
    except OSError:  # no process or no memory to be had
        for helper in helpers:
            helper.end()
        return []
    finally:
        gc.unfreeze()
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
    return helpers


def _widen(pipe: Connection) -> None:
    import fcntl  # there wherever processes can be forked

    with suppress(OSError, AttributeError):
        fcntl.fcntl(pipe.fileno(), fcntl.F_SETPIPE_SZ, _AHEAD)


# In the helper


def _help(
    work: Work,
    pieces: Pieces,
    results: Connection,
    inherited: Iterable[Connection],
) -> None:
    """Do the work and leave at once, without a word: nothing that was inherited is to be ended."""
    status = 1
    try:
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # whoever began this ends it
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _ENDING)
        for pipe in inherited:
            pipe.close()  # else nobody would notice that their reader is gone
        _send_all(work, pieces, results)
        status = 0
    except OSError:  # whoever began this is gone
        pass
    finally:
        os._exit(status)


def _send_all(work: Work, pieces: Pieces, results: Connection) -> None:
    for piece in pieces():
        try:
            made = True, work(piece)
        except Exception as trouble:
            trouble.add_note(format_exc())
            made = False, trouble
        results.send(made)
        if not made[0]:
            return
