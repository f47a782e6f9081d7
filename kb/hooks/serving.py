"""After a push: publishing goes on by itself, one at a time, and whoever pushed is told.

Whoever comes while a publish runs is told so and leaves; one process waits in their stead and
then publishes what the branches ask for at that moment, so the last push wins and those between
cost nothing. Two locks do it: one for the publishing, one for the place behind it. A waiting
process looks at the branches only after it has left its place, so a push that finds the place
taken is sure to be seen.
"""

from __future__ import annotations

import os
import select
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from traceback import format_exc

from kb.hooks.locks import take
from kb.hooks.publishing import Publisher, log
from kb.hooks.repository import HEADS, Repository
from kb.hooks.settings import Settings, published_branch, settings_of, was_published

Say = Callable[[str], None]

_PATIENCE = 60.0  # seconds that a push waits for the word that it is published
_WAITS = "A publish is running; yours follows."
_STOPPED = "The publish was stopped half-way; the site is as it was. The next push makes it good."
_GOES_ON = "The publish takes long; it goes on by itself."


def after_push(repository: Repository, day: date, say: Say, afresh: bool = False) -> None:
    """Have published whatever the branches ask for now."""
    settings = settings_of(repository)
    if not settings.serves:
        return
    settings = _adopt(repository, settings, say)
    place = take(repository.home / "next.lock")
    if place is None:
        say(_WAITS)
        return
    lock = take(repository.home / "publishing.lock")
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _publish_aside(repository, settings, day, (place, lock, writing), afresh)
    os.close(writing)
    os.close(place)
    if lock is None:
        say(_WAITS)
    else:
        os.close(lock)
        if _relay(reading, child, say):
            log(repository, f"stopped: process {child}")
    os.close(reading)


def _adopt(repository: Repository, settings: Settings, say: Say) -> Settings:
    """Write down the published branch where it was taken for lack of the one HEAD points to."""
    if settings.branch or was_published(repository):
        return settings
    branch = published_branch(repository, settings)
    if not branch or branch == repository.head_branch():
        return settings
    name = branch.removeprefix(HEADS)
    repository.configure("kb.branch", name)
    say(f"{name} is the published branch from now on (git config kb.branch, on the server).")
    return settings_of(repository)


def _publish_aside(
    repository: Repository,
    settings: Settings,
    day: date,
    handles: tuple[int, int | None, int],
    afresh: bool,
) -> None:
    """Publish in a process of its own, which no hang-up of the one who pushed can end."""
    place, lock, writing = handles
    status = 1
    try:
        os.setsid()
        _let_go(keep={place, writing, *([] if lock is None else [lock])})
        if lock is None:
            lock = take(repository.home / "publishing.lock", wait=True)
        os.close(place)
        if lock is not None:
            teller = _teller(writing)
            try:
                Publisher(repository, settings, day, teller).round(afresh)
            except Exception as error:  # nobody sees a traceback of a process aside
                teller(f"Not published: {error}")
                log(repository, f"not published: {format_exc().rstrip()}")
        status = 0
    finally:
        os._exit(status)


def _let_go(keep: set[int]) -> None:
    """Let go of everything that the one who pushed waits for."""
    nothing = os.open(os.devnull, os.O_RDWR)
    for stream in (0, 1, 2):
        os.dup2(nothing, stream)
    with suppress(OSError):
        for handle in [int(entry.name) for entry in Path("/dev/fd").iterdir()]:
            if handle > 2 and handle not in keep:
                with suppress(OSError):
                    os.close(handle)


def _teller(writing: int) -> Say:
    def tell(text: str) -> None:
        with suppress(OSError):  # the one who pushed may have left
            os.write(writing, text.encode("utf-8", "replace") + b"\n")

    return tell


def _relay(reading: int, child: int, say: Say) -> bool:
    """Say what the publishing process tells until it ends, or until patience does.

    Return whether it was stopped on its way.
    """
    deadline = time.monotonic() + _PATIENCE
    kept = b""
    while (left := deadline - time.monotonic()) > 0:
        if select.select([reading], [], [], left)[0]:
            some = os.read(reading, 65536)
            if not some:
                stopped = os.waitpid(child, 0)[1] != 0
                if stopped:
                    say(_STOPPED)
                return stopped
            *lines, kept = (kept + some).split(b"\n")
            for line in lines:
                say(line.decode("utf-8", "replace"))
    say(_GOES_ON)
    return False
