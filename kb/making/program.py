"""What the program itself looks like: another one may make other pages of the same house."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from functools import cache
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path

from kb.resources import folder

_SUFFIXES = (".py", ".html", ".xml", ".js", ".css", ".svg", ".png", ".json", ".txt")
_LIBRARIES = ("jinja2", "markdown_it", "pint", "segno", "brotli", "rjsmin")
_OUTPUT = ("public", "looks")  # what a checkout holds beside the browser's half


@cache
def program() -> str:
    """Return what the program's own files look like: names, sizes and times."""
    places = (Path(__file__).parent.parent, folder("templates"), folder("site"))
    looks = sorted(look for place in places for look in _looks(place))
    return sha256(repr((sys.version, _installed(), looks)).encode()).hexdigest()


def _installed() -> list[tuple[str, int]]:
    """Return when something was last installed beside the libraries that pages are made with."""
    specs = [spec for name in _LIBRARIES if (spec := find_spec(name)) and spec.origin]
    places = sorted({Path(str(spec.origin)).parent.parent for spec in specs})
    return [(str(place), place.stat().st_mtime_ns) for place in places]


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
