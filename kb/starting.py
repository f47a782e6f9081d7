"""Beginning a house of one's own: commented reference tables and one sample bulletin."""

from __future__ import annotations

from pathlib import Path

from kb.errors import KbError
from kb.housefolder import FOLDER
from kb.resources import data


def start(folder: Path) -> list[Path]:
    """Write a new house into ``folder/bulletins`` and return the files written.

    KbError where a house is there already: nothing is overwritten.
    """
    house = folder / FOLDER
    if house.exists() and any(house.iterdir()):
        raise KbError(f"{house} is there already and not empty", "name another folder")
    source = data("start")
    written: list[Path] = []
    for file in sorted(path for path in source.rglob("*") if path.is_file()):
        target = house / file.relative_to(source)
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(file.read_bytes())
        written.append(target)
    return written
