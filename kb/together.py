"""Many bulletins' files read by several processes, where there are enough of them to pay for it.

Processes are started anew, not forked, so it is the same on every system and safe beside threads.
Where none can be started, or one is killed, this process reads what is left: the outcome is the
same.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from kb.bulletinfile import read_file
from kb.kept import Kept
from kb.uncollected import uncollected

# Fewer files than this are read sooner than a process starts.
MANY = 2_000
_CHUNK = 250

_Found = list[Kept | None]


class FilesRead:
    """The files *names* below *folder*, being read from now on by *processes*, this one included.

    Other processes begin at once; this one joins in when the results are asked for.
    """

    def __init__(
        self, folder: Path, names: Sequence[str], families: Mapping[str, str], processes: int
    ) -> None:
        self._folder = str(folder)
        self._families = dict(families)
        self._chunks = [names[at : at + _CHUNK] for at in range(0, len(names), _CHUNK)]
        self._pool: ProcessPoolExecutor | None = None
        self._begun: list[Future[_Found]] = []
        if processes > 1 and len(names) >= MANY:
            self._begin(processes - 1)

    def _begin(self, others: int) -> None:
        try:
            self._pool = ProcessPoolExecutor(others, mp_context=get_context("spawn"))
            for chunk in self._chunks:
                self._begun.append(self._pool.submit(_read, self._folder, chunk, self._families))
        except (OSError, ImportError, NotImplementedError, BrokenExecutor):
            self._begun.clear()  # no process to be had: all is read here

    def results(self) -> Iterator[tuple[str, Kept | None]]:
        """Yield each file's name and what came of it, None where it could not be opened."""
        try:
            found = self._own()
            for at, chunk in enumerate(self._chunks):
                read = found[at] if at in found else self._others(at)
                yield from zip(chunk, read, strict=True)
        finally:
            if self._pool:
                self._pool.shutdown(cancel_futures=True)

    def _own(self) -> dict[int, _Found]:
        """Read from the end what no other process has begun with."""
        found: dict[int, _Found] = {}
        for at in reversed(range(len(self._chunks))):
            if not self._begun or self._begun[at].cancel():
                found[at] = _read(self._folder, self._chunks[at], self._families)
        return found

    def _others(self, at: int) -> _Found:
        try:
            return self._begun[at].result()
        except BrokenExecutor:
            return _read(self._folder, self._chunks[at], self._families)


def _read(folder: str, names: Sequence[str], families: Mapping[str, str]) -> _Found:
    with uncollected():
        return [_one(f"{folder}/{name}", name, families) for name in names]


def _one(path: str, name: str, families: Mapping[str, str]) -> Kept | None:
    try:
        with open(path, "rb", buffering=0) as file:
            data = file.read()
    except OSError:
        return None
    return read_file(data, name, families)
