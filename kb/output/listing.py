"""The list of the files that are ours in an output folder: what is not on it is somebody else's.

``.kb-site/`` in the folder holds a text file for each folder at the top of the site, and ``-.txt``
for the files that lie there: one path a line, in order. Paths alone, so that a list changes where
pages come and go and not where they change.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path

from kb.errors import KbError

FOLDER = ".kb-site/"
FORMER = "kb-site.json"  # the list as versions before 0.3 wrote it
TOP = "-"
_DOUBTFUL = ("\\", "\0", "..", "\n/", "\n\n")


def listed(out: Path) -> set[str]:
    """Return the paths below *out* that an earlier publish wrote, the lists' own among them.

    KbError for a list that cannot be trusted.
    """
    folder = out / FOLDER
    try:
        lists = [each for each in sorted(folder.iterdir()) if each.suffix == ".txt"]
    except (FileNotFoundError, NotADirectoryError):
        return _former(out)
    ours = {FOLDER + each.name for each in lists}
    for each in lists:
        ours.update(_lines(each))
    return ours


def lists(paths: Iterable[str]) -> Iterator[tuple[str, bytes]]:
    """Yield the files that list *paths*, in order: their own paths and contents."""
    found: dict[str, list[str]] = {}
    for path in sorted(paths):
        found.setdefault(top_of(path), []).append(path)
    for top in sorted(found):
        yield list_of(top), "".join(f"{path}\n" for path in found[top]).encode()


def list_of(top: str) -> str:
    """Return the path of the list of a folder at the top of the site, "-" for the top itself."""
    return f"{FOLDER}{top}.txt"


def top_of(path: str) -> str:
    """Return the folder at the top of the site that *path* is listed with, "-" for the top."""
    top, slash, _ = path.partition("/")
    return top if slash else TOP


def is_page(path: str) -> bool:
    """Tell whether a path among ours is none of the lists."""
    return path != FORMER and not path.startswith(FOLDER)


def _lines(path: Path) -> list[str]:
    try:
        text = path.read_text(encoding="utf-8")
        lines = text.split("\n")[:-1]
        if not lines or not (_all_stay_inside(text) or all(map(stays_inside, lines))):
            raise ValueError("it is no list of files below this folder")
    except (OSError, ValueError) as error:
        raise _untrusted(path, error) from error
    return lines


def _former(out: Path) -> set[str]:
    path = out / FORMER
    try:
        files = json.loads(path.read_text(encoding="utf-8"))["files"]
        if not isinstance(files, dict) or not all(map(stays_inside, files)):
            raise ValueError("it is no list of files below this folder")
    except (FileNotFoundError, NotADirectoryError):
        return set()
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise _untrusted(path, error) from error
    return {*files, FORMER}


def _untrusted(path: Path, error: Exception) -> KbError:
    return KbError(
        f"{path} cannot be read: {error}",
        "this list tells our files from others'; empty the folder and publish again",
    )


def _all_stay_inside(text: str) -> bool:
    """Tell whether every line surely names a place below the folder; a few more lines may do so."""
    return text[0] not in "/\n" and not any(each in text for each in _DOUBTFUL)


def stays_inside(path: str) -> bool:
    """Tell whether *path* names a place below the folder that it is seen from."""
    if not path or path[0] == "/" or any(character in path for character in "\\\n\0"):
        return False
    return ".." not in path or ".." not in path.split("/")
