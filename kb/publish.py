"""Publishing on one screen: a house in, its pages in a folder out, and only what changed is written.

The folder keeps a list of what was written (``kb-site.json``). Files that are not on it are somebody
else's: they are never overwritten and never removed.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any

from kb.errors import KbError
from kb.records import House

LIST = "kb-site.json"
Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Published:
    """What a publish did: bulletins and pages in the site, files written, left and removed."""

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
    house: House, today: date, out: Path, progress: Progress = lambda done, total: None
) -> Published:
    """Write the site of *house* into *out*.

    Everything is rendered into a folder aside first; a failure there leaves the site as it was.
    """
    begun = time.perf_counter()
    out.mkdir(parents=True, exist_ok=True)
    before = _listed(out)
    stage = Path(tempfile.mkdtemp(prefix=".kb-stage-", dir=out))
    try:
        after = _render(house, today, stage, progress)
        _refuse_foreign(out, before, after)
        changed = [path for path in sorted(after) if _differs(stage / path, out / path)]
        _move(stage, out, changed)
        gone = sorted(set(before) - set(after))
        _remove(out, gone)
        _note(stage, out, after)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    pages = sum(path.endswith(".html") for path in after)
    from kb.standing import in_force

    return Published(
        bulletins=len(in_force(house.bulletins)),
        pages=pages,
        written=len(changed),
        unchanged=len(after) - len(changed),
        removed=len(gone),
        seconds=round(time.perf_counter() - begun, 3),
    )


def _listed(out: Path) -> Mapping[str, str]:
    """Return what an earlier publish wrote: paths with their digests."""
    try:
        listed: Mapping[str, str] = json.loads((out / LIST).read_text(encoding="utf-8"))["files"]
    except FileNotFoundError:
        return {}
    except (OSError, ValueError, KeyError) as error:
        raise KbError(
            f"{out / LIST} cannot be read: {error}",
            "this list tells our files from others'; delete the folder and publish again",
        ) from error
    return listed


def _render(house: House, today: date, stage: Path, progress: Progress) -> dict[str, str]:
    """Write every file of the site below *stage* and return paths with digests."""
    after: dict[str, str] = {}
    for done, (path, content) in enumerate(_files(house, today), 1):
        target = stage / path
        if not target.resolve().is_relative_to(stage.resolve()):
            raise KbError(f"a page would leave the output folder: {path}", "rename what it shows")
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        after[path] = hashlib.sha256(content).hexdigest()
        progress(done, 0)
    return after


def _files(house: House, today: date) -> Iterator[tuple[str, bytes]]:
    from kb.pages import all_pages, assets
    from kb.render import Renderer

    renderer = Renderer()
    for page in all_pages(house, today):
        yield page.path, renderer.text(page).encode()
    for asset in assets(house):
        yield asset.path, asset.content


def _refuse_foreign(out: Path, before: Mapping[str, str], after: Mapping[str, str]) -> None:
    foreign = [path for path in sorted(after) if path not in before and (out / path).exists()]
    if foreign:
        raise KbError(
            f"{out / foreign[0]} was not written by kb and would be overwritten",
            "move it away, or publish into another folder with --out",
        )


def _differs(new: Path, old: Path) -> bool:
    try:
        return new.read_bytes() != old.read_bytes()
    except OSError:
        return True


def _move(stage: Path, out: Path, paths: list[str]) -> None:
    for path in paths:
        target = out / path
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(stage / path, target)


def _remove(out: Path, paths: list[str]) -> None:
    """Remove files of ours that the site no longer has, and folders left empty by it."""
    for path in paths:
        (out / path).unlink(missing_ok=True)
        for folder in (out / path).parents:
            if folder == out:
                break
            try:
                folder.rmdir()
            except OSError:
                break


def _note(stage: Path, out: Path, after: Mapping[str, str]) -> None:
    text = json.dumps({"files": dict(sorted(after.items()))}, indent=0)
    (stage / LIST).write_text(text + "\n", encoding="utf-8")
    os.replace(stage / LIST, out / LIST)
