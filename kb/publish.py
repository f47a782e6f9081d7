"""Publishing on one screen: a house in, its pages in a folder out; they appear all at once."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any

from kb.errors import KbError
from kb.making.kept import Kept, load, save
from kb.output import Output, opened
from kb.output.listing import FOLDER, listed
from kb.records import House

Progress = Callable[[int, int], None]
KEPT = 1  # older editions that stay to go back to, where nothing else is said


@dataclass(frozen=True, slots=True)
class Published:
    """What a publish did: bulletins with a page, all pages, files written, left and removed."""

    bulletins: int
    pages: int
    written: int
    unchanged: int
    removed: int
    seconds: float

    def as_json(self) -> dict[str, Any]:
        """Return the figures as `kb publish --json` gives them."""
        return asdict(self)


def publish(
    house: House,
    today: date,
    out: Path,
    progress: Progress = lambda done, total: None,
    *,
    keep: int = KEPT,
    waiting: Callable[[], None] = lambda: None,
) -> Published:
    """Write the site of *house* into *out*: KbError, after which the site is as it was.

    *progress* is told how many files are made, and of about how many, as the last publish had.
    *keep* older editions stay to go back to. *waiting* is called where another publish into the
    same folder has to be waited for.
    """
    begun = time.perf_counter()
    from kb.making.building import Building  # loads much that going back has no need of

    refuse_mixing(house.folder, out)
    with opened(out, keep, waiting) as output:
        paths: list[str] = []
        written = 0
        building = Building(house, today, _before(output))
        for path, content in building.files(output.read):
            if content is not None:
                written += output.put(path, content)
            paths.append(path)
            progress(len(paths), len(output.ours))
        progress(len(paths), len(paths))
        removed = output.finish(paths)
        save(output.memory, output.out, building.made)
    return _figures(paths, written, removed, begun)


def _before(output: Output) -> Kept | None:
    """Return what is known of the edition in the output folder, if that is all still there."""
    return None if output.theirs.missing else load(output.memory, output.out)


def go_back(out: Path, waiting: Callable[[], None] = lambda: None) -> tuple[Published, str]:
    """Return *out* to the edition before, and tell when that was published (UTC): KbError."""
    begun = time.perf_counter()
    with opened(out, waiting=waiting) as output:
        kept = output.back()
    paths = {path for path in listed(output.out) if not path.startswith(FOLDER)}
    changed = {path for path in kept.paths if not path.startswith(FOLDER)}
    return _figures(paths, len(changed & paths), len(changed - paths), begun), kept.published


def _figures(paths: Collection[str], written: int, removed: int, begun: float) -> Published:
    return Published(
        bulletins=sum(_is_bulletin(path) for path in paths),
        pages=sum(path.endswith(".html") for path in paths),
        written=written,
        unchanged=len(paths) - written,
        removed=removed,
        seconds=round(time.perf_counter() - begun, 3),
    )


def _is_bulletin(path: str) -> bool:
    steps = PurePosixPath(path).parts
    return len(steps) == 3 and steps[0] == "bulletins" and steps[2] == "index.html"


def refuse_mixing(house: Path, out: Path) -> None:
    """Refuse an output folder that would mix the site with the house: KbError."""
    inner, outer = out.resolve(), house.resolve()
    if inner == outer or (outer in inner.parents and ".kb" not in inner.relative_to(outer).parts):
        raise KbError(
            f"{out} lies in the house: the site would be mixed with the bulletins",
            "publish beside the house, like --out site",
        )
    if inner in outer.parents:
        raise KbError(
            f"{out} holds the house: the site would be mixed with the bulletins",
            "publish into a folder of its own, like --out site",
        )
