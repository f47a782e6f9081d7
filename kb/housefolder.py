"""Where a house is: the folder named, or `bulletins` here or in a folder above."""

from __future__ import annotations

from pathlib import Path

from kb.errors import KbError

FOLDER = "bulletins"


def is_house(folder: Path) -> bool:
    """Tell whether *folder* holds a house: it has reference tables."""
    return (folder / "reference").is_dir()


def house_at(folder: Path) -> Path:
    """Return the house that is *folder*, or that lies in it; KbError where there is none."""
    for candidate in (folder, folder / FOLDER):
        if is_house(candidate):
            return candidate
    raise KbError(
        f"{folder} is no house: it has no folder reference/ with tables",
        "name the folder that holds reference/, or begin a house: kb start DIR",
    )


def nearest_house(start: Path) -> Path:
    """Return the house at *start* or the nearest above; KbError where there is none."""
    start = start.resolve()
    for folder in (start, *start.parents):
        for candidate in (folder / FOLDER, folder):
            if is_house(candidate):
                return candidate
    raise KbError(
        f"there is no folder {FOLDER}/ with bulletins here or above",
        "name another place with --house DIR, or begin a house: kb start DIR",
    )


def top_of(house: Path) -> Path:
    """Return the top of the git repository that holds the house, else the current folder.

    Where the house does not lie below the current folder either, it is the folder around it.
    """
    house = house.resolve()
    for folder in (house, *house.parents):
        if (folder / ".git").exists():
            return folder
    here = Path.cwd()
    return here if house.is_relative_to(here) else house.parent
