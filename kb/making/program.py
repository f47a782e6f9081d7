"""What the program itself looks like: another one may make other pages of the same house."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from hashlib import sha256
from pathlib import Path

from kb.resources import folder

_SUFFIXES = (".py", ".html", ".xml", ".js", ".css", ".svg", ".png", ".json", ".txt")
_OUTPUT = ("public", "looks")  # what a checkout holds beside the browser's half


@cache
def program() -> str:
    """Return what the program's own files look like: names, sizes and times."""
    places = (Path(__file__).parent.parent, folder("templates"), folder("site"))
    looks = sorted(look for place in places for look in _looks(place))
    return sha256(repr(looks).encode()).hexdigest()


def _looks(place: Path) -> Iterator[tuple[str, int, int]]:
    with os.scandir(place) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                if entry.name not in _OUTPUT and not entry.name.startswith("."):
                    yield from _looks(Path(entry.path))
            elif entry.name.endswith(_SUFFIXES):
                with suppress(OSError):
                    look = entry.stat()
                    yield entry.path, look.st_size, look.st_mtime_ns
