"""What a command costs: seconds, processor seconds and memory, all its children included."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parent.parent.parent
_EVERY = 0.03  # seconds between two looks at the memory, at the least
_SHARE = 20  # and so many times as long as a look takes


@dataclass(frozen=True)
class Cost:
    """Seconds by the clock, seconds of processors, and the most megabytes held at one time."""

    wall: float
    cpu: float
    memory: float

    def __add__(self, other: Cost) -> Cost:
        """Return what both cost, one after the other."""
        return Cost(self.wall + other.wall, self.cpu + other.cpu, max(self.memory, other.memory))


def best(costs: Sequence[Cost]) -> Cost:
    """Return the least of each figure: what else runs on the machine only ever adds."""
    return Cost(*(min(figure) for figure in _figures(costs)))


def middle(costs: Sequence[Cost]) -> Cost:
    """Return the median of each figure."""
    return Cost(*(median(figure) for figure in _figures(costs)))


def _figures(costs: Sequence[Cost]) -> Iterator[tuple[float, ...]]:
    return zip(*((cost.wall, cost.cpu, cost.memory) for cost in costs), strict=True)


def cost_of(
    command: Sequence[str | Path],
    folder: Path | None = None,
    environment: Mapping[str, str] | None = None,
    within: Sequence[int] = (0,),
) -> Cost:
    """Run *command* to its end, which must be with one of the exit codes *within*."""
    begun = time.perf_counter()
    with subprocess.Popen(
        [str(word) for word in command],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        most = _watched(process.pid)
        assert process.stderr
        said = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        wall = time.perf_counter() - begun
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode not in within:
        sys.exit(f"{' '.join(map(str, command))}\nended with {process.returncode}: {said[-2000:]}")
    return Cost(wall, used.ru_utime + used.ru_stime, max(most(), _most_of_one(used.ru_maxrss)))


def _most_of_one(told: int) -> float:
    """Return the memory that one process had at the most, where the system's figure tells that.

    Linux passes what the parent had on to a child that is started: only more than that is its own.
    """
    own = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return told / 1024 if told > own else 0.0


def _watched(pid: int) -> Callable[[], float]:
    """Watch the memory of a process and all below it; return what tells the most seen, in MB."""
    seen = [0.0]
    ended = threading.Event()

    def watch() -> None:
        pause = _EVERY
        while not ended.wait(pause):
            begun = time.perf_counter()
            seen.append(sum(map(_megabytes, _family(pid))))
            pause = max(_EVERY, _SHARE * (time.perf_counter() - begun))

    thread = threading.Thread(target=watch, daemon=True)
    thread.start()

    def most() -> float:
        ended.set()
        thread.join()
        return max(seen)

    return most


def _family(pid: int) -> Iterator[int]:
    yield pid
    with suppress(OSError):
        for children in Path(f"/proc/{pid}/task").glob("*/children"):
            for child in children.read_text().split():
                yield from _family(int(child))


def _megabytes(pid: int) -> float:
    """Return the memory of a process, what it shares with others by its share alone."""
    with suppress(OSError):
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                return int(line.split()[1]) / 1024
    return 0.0


class Program:
    """A copy of the program, compiled, that no edit in the checkout disturbs while it is timed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        shutil.rmtree(folder, ignore_errors=True)
        spared = shutil.ignore_patterns("__pycache__", "public", "looks", ".public.kb")
        for name in ("kb", "templates", "site"):
            shutil.copytree(ROOT / name, folder / name, ignore=spared)
        kept = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
        self._environment = {**kept, "PYTHONPATH": str(folder), "KB_TODAY": "2026-11-25"}
        subprocess.run(
            [sys.executable, "-m", "compileall", "-q", str(folder / "kb")],
            env=self._environment,
            check=True,
        )

    def kb(self, *words: str | Path, code: str = "", within: Sequence[int] = (0,)) -> Cost:
        """Run `kb` with these words; *code* is Python to run before."""
        start = f"{code}\nfrom kb.cli import main\nmain()"
        return cost_of(
            [sys.executable, "-c", start, *words], self.folder, self._environment, within
        )

    def python(self, code: str, *words: str | Path) -> str:
        """Run *code* with the copy and return what it prints."""
        run = subprocess.run(
            [sys.executable, "-c", code, *map(str, words)],
            env=self._environment,
            cwd=self.folder,
            check=True,
            stdout=subprocess.PIPE,
            text=True,
        )
        return run.stdout
