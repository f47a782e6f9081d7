"""The output folder of a site: the next edition is made ready aside and takes its place at once.

Files of others in the folder stay where they are. Whatever stops a publish, readers keep the site
that they had, and the next publish finds its way by itself.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from kb.onewriter import hold
from kb.output.folder import Output
from kb.output.inplace import clear, one_by_one
from kb.output.listing import listed
from kb.output.room import MEMORY, locked
from kb.output.swap import can_be_moved
from kb.output.theirs import look
from kb.output.trouble import is_mounted, trouble
from kb.output.whole import whole

__all__ = ["Output", "opened"]


@contextmanager
def opened(
    out: Path,
    keep: int = 1,
    waiting: Callable[[], None] = lambda: None,
    lasting: bool = True,
) -> Iterator[Output]:
    """Yield the folder *out*, which nobody else can publish into meanwhile: KbError.

    *keep* older editions are kept. *waiting* is called where another publish has to be waited for.
    What is not *lasting* is not brought to the disk at once: a busy disk can take long for it.
    Nothing a reader can see changes unless `Output.finish` or `Output.back` is called.
    """
    try:
        place = out.resolve()
        if place.exists() and not place.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR), str(place))
        place.parent.mkdir(parents=True, exist_ok=True)
        with _held(place, keep, waiting, lasting) as output:
            yield output
    except (OSError, RuntimeError) as error:  # RuntimeError: links that lead in a ring
        raise trouble(out, error) from error


@contextmanager
def _held(out: Path, keep: int, waiting: Callable[[], None], lasting: bool) -> Iterator[Output]:
    if is_mounted(out) or not os.access(out.parent, os.W_OK):
        with _in_place(out, waiting) as output:
            yield output
        return
    with locked(out, waiting) as room:
        room.lasting = lasting
        room.recover()
        clear(out)
        theirs = look(out, listed(out), room.recall())
        if theirs.only_for_their_owner() or not can_be_moved(out, room.folder):
            room.forget()  # what it knows is not so any more when files change one by one
            (room.folder / MEMORY).unlink(missing_ok=True)
            with one_by_one(out, theirs) as output:
                yield output
        else:
            with whole(room, theirs, keep) as output:
                yield output


@contextmanager
def _in_place(out: Path, waiting: Callable[[], None]) -> Iterator[Output]:
    out.mkdir(exist_ok=True)
    handle = os.open(out, os.O_RDONLY)
    try:
        hold(handle, waiting)
        clear(out)
        with one_by_one(out, look(out, listed(out))) as output:
            yield output
    finally:
        os.close(handle)
