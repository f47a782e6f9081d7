"""Beginning a house of one's own: commented reference tables and one sample bulletin."""

from __future__ import annotations

from pathlib import Path

from kb.errors import KbError
from kb.housefolder import FOLDER
from kb.resources import data


def start(folder: Path) -> list[Path]:
    """Write a new house into ``folder/bulletins`` and return the files written.

    A folder that is called ``bulletins`` is taken as the house itself. KbError where anything is
    there already (hidden files such as ``.git`` apart): nothing is overwritten.
    """
    house = folder if folder.name == FOLDER else folder / FOLDER
    if folder.is_dir() and any(not path.name.startswith(".") for path in folder.iterdir()):
        raise KbError(
            f"{folder} is not empty, and a new house overwrites nothing",
            f"name a folder that is new or empty; its {FOLDER}/ can be moved wherever it belongs",
        )
    source = data("start")
    written: list[Path] = []
    for file in sorted(path for path in source.rglob("*") if path.is_file()):
        target = house / file.relative_to(source)
        target.parent.mkdir(parents=True, exist_ok=True)
        with open(target, "xb") as copy:
            copy.write(file.read_bytes())
        written.append(target)
    return written
