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

from kb.errors import KbError
from kb.output.folder import Output
from kb.output.inplace import OneByOne
from kb.output.room import lock, locked
from kb.output.whole import Whole

__all__ = ["Output", "opened"]


@contextmanager
def opened(
    out: Path, keep: int = 1, waiting: Callable[[], None] = lambda: None
) -> Iterator[Output]:
    """Yield the folder *out*, which nobody else can publish into meanwhile: KbError.

    *keep* older editions are kept. *waiting* is called where another publish has to be waited for.
    Nothing a reader can see changes unless `Output.finish` or `Output.back` is called.
    """
    place = out.resolve()
    try:
        with _held(place, keep, waiting) as output:
            try:
                yield output
            except BaseException:
                output.give_up()
                raise
    except OSError as error:
        raise _trouble(out, error) from error


@contextmanager
def _held(out: Path, keep: int, waiting: Callable[[], None]) -> Iterator[Output]:
    out.parent.mkdir(parents=True, exist_ok=True)
    if os.path.ismount(out) or not os.access(out.parent, os.W_OK):
        with _in_place(out, waiting) as output:
            yield output
    else:
        with locked(out, waiting) as room:
            yield Whole(room, keep)


@contextmanager
def _in_place(out: Path, waiting: Callable[[], None]) -> Iterator[Output]:
    handle = os.open(out, os.O_RDONLY)
    try:
        lock(handle, waiting)
        yield OneByOne(out)
    finally:
        os.close(handle)


def _trouble(out: Path, error: OSError) -> KbError:
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return KbError(
            f"there is no room left to write {out}: the site stays as it was",
            "free some room on that disk and publish again",
        )
    return KbError(
        f"{out} cannot be written to: {error.strerror or error}",
        "name a folder that you may write to with --out",
    )
