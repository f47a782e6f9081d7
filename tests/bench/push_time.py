"""From push to page: python tests/bench/push_time.py [HOUSE] [--rounds N]

Sets up a bare repository with `kb hooks --out`, a clone of it with HOUSE (the demo house unless
told), and a web server on the folder. Then, round by round: a sentence is added to a bulletin,
committed, pushed, and its page fetched again and again until the sentence stands there; a bulletin
with a wrong date is committed past the hooks and pushed, which is refused. Prints seconds, by the
clock, and processor seconds of all that ran for it.
"""

from __future__ import annotations

import argparse
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from statistics import median
from threading import Thread

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from kb.house import read_house
from kb.standing import in_force
from tests.bench.costs_of import ROOT
from tests.gityard import Yard

_LONGEST = 600.0  # seconds
_PAUSE = 0.01


class Quiet(SimpleHTTPRequestHandler):
    """Serves files without a word."""

    def log_message(self, *said: object) -> None:
        """Say nothing."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve *folder* and yield the address."""
    with ThreadingHTTPServer(("127.0.0.1", 0), partial(Quiet, directory=str(folder))) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}/"
        server.shutdown()


class Push:
    """A server that publishes, a clone, and one bulletin that is edited there."""

    def __init__(self, root: Path, house: Path) -> None:
        self.www = root / "www"
        self._yard = Yard(root)
        self._yard.env.pop("PYTHONDONTWRITEBYTECODE", None)  # byte code is there once installed
        self._server, self._clerk = root / "server.git", root / "clerk"
        self._yard.did(root, "init", "-q", str(self._clerk))
        shutil.copytree(
            house, self._clerk / "bulletins", ignore=shutil.ignore_patterns(".kb", "draft*")
        )
        self._yard.commit(self._clerk, "The house")
        self._yard.did(root, "clone", "-q", "--bare", str(self._clerk), str(self._server))
        self._yard.did(self._clerk, "remote", "add", "origin", str(self._server))
        self._yard.hooks(self._server, "--out", str(self.www))
        self._yard.hooks(self._clerk)
        found = in_force(read_house(self._clerk / "bulletins").bulletins)
        self._bulletin = next(b for b in found if "\nbuilt: 20" in self._text(b.file))
        self.page = f"bulletins/{self._bulletin.number}/index.html"

    def _text(self, file: str) -> str:
        return (self._clerk / "bulletins" / file).read_text("utf-8")

    def _edit(self, text: str, *how: str) -> None:
        self._yard.put(self._clerk, {self._bulletin.file: text})
        told = self._yard.commit(self._clerk, "An edit", *how)
        assert told.status == 0, told.said

    def commit(self, said: str) -> float:
        """Add a sentence, commit, and return how long that took."""
        begun = time.perf_counter()
        self._edit(f"{self._text(self._bulletin.file)}\n{said}\n")
        return time.perf_counter() - begun

    def until_served(self, address: str, said: str) -> tuple[float, float]:
        """Push; return the seconds until the page has what was said, and until git was done."""
        begun = time.perf_counter()
        words = ["git", "push", "-q", "origin", "HEAD"]
        with subprocess.Popen(
            words, cwd=self._clerk, env=self._yard.env, stderr=subprocess.DEVNULL
        ) as push:
            seen = self._seen(f"{address}{self.page}", said, begun)
            assert push.wait() == 0
        return seen, time.perf_counter() - begun

    def _seen(self, page: str, said: str, begun: float) -> float:
        while time.perf_counter() - begun < _LONGEST:
            with suppress(OSError), urllib.request.urlopen(page) as answer:
                if said in answer.read().decode():
                    return time.perf_counter() - begun
            time.sleep(_PAUSE)
        sys.exit(f"{page} has not changed within {_LONGEST:.0f} s")

    def until_refused(self) -> float:
        """Push what is wrong; return the seconds until it is refused, and undo the commit."""
        text = self._text(self._bulletin.file)
        self._edit(re.sub(r"(?m)^built: .*$", "built: 2024-W54..", text), "--no-verify")
        begun = time.perf_counter()
        told = self._yard.git(self._clerk, "push", "-q", "origin", "HEAD")
        took = time.perf_counter() - begun
        assert told.status == 1, told.said
        assert "52 weeks" in told.err, told.said
        self._yard.did(self._clerk, "reset", "-q", "--hard", "HEAD~1")
        return took


def processor() -> float:
    """Return the processor seconds of all children so far."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def show(name: str, taken: Sequence[tuple[float, float]]) -> None:
    """Print least and median of wall and processor seconds."""
    (wall, cpu) = zip(*taken, strict=True)
    print(f"{name:22}{min(wall):9.2f}{median(wall):9.2f}{min(cpu):9.2f}{median(cpu):9.2f}")


def main(arguments: Sequence[str] | None = None) -> None:
    """Set up, push, print."""
    reader = argparse.ArgumentParser(description="From push to page.")
    reader.add_argument("house", type=Path, nargs="?", default=ROOT / "bulletins")
    reader.add_argument("--rounds", type=int, default=5)
    options = reader.parse_args(arguments)
    taken: dict[str, list[tuple[float, float]]] = {}
    with tempfile.TemporaryDirectory() as name:
        push = Push(Path(name), options.house)
        with served(push.www) as address:
            for turn in range(1, options.rounds + 1):
                for what, costs in _round(push, address, f"Seen {turn} times in all."):
                    taken.setdefault(what, []).append(costs)
    print(f"{'seconds':22}{'wall':>9}{'median':>9}{'CPU':>9}{'median':>9}")
    for what, costs_of_all in taken.items():
        show(what, costs_of_all)


def _round(push: Push, address: str, said: str) -> Iterator[tuple[str, tuple[float, float]]]:
    before = processor()
    yield "commit", (push.commit(said), processor() - before)
    before = processor()
    seen, returned = push.until_served(address, said)
    cpu = processor() - before
    yield "push until served", (seen, cpu)
    yield "push until it returns", (returned, cpu)
    before = processor()
    yield "push until refused", (push.until_refused(), processor() - before)


if __name__ == "__main__":
    main()
