"""Publishing on one screen: a house in, its pages in a folder out; only what changed is written.

The folder keeps a list of what was written (``kb-site.json``). Files that are not on it belong to
somebody else: they are never overwritten and never removed.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path, PurePosixPath
from typing import Any

from kb.errors import KbError
from kb.records import House

LIST = "kb-site.json"
Progress = Callable[[int, int], None]


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
    house: House, today: date, out: Path, progress: Progress = lambda done, total: None
) -> Published:
    """Write the site of *house* into *out*.

    Everything is rendered into a folder aside first; a failure there leaves the site as it was.
    *progress* is told how many files are made, and of about how many, as the last publish had.
    """
    begun = time.perf_counter()
    refuse_mixing(house.folder, out)
    before = _listed(out)
    stage = _stage(out)
    try:
        after = _render(house, today, stage, lambda done: progress(done, len(before)))
        progress(len(after), len(after))
        changed = [path for path in sorted(after) if _differs(stage / path, out / path)]
        _refuse_foreign(out, before, changed)
        gone = sorted(before.keys() - after.keys())
        # Listed before they are moved: whatever stops this, the next publish knows its own.
        if after.keys() - before.keys():
            _note(stage, out, {**before, **after})
        _move(stage, out, changed)
        _remove(out, gone)
        _note(stage, out, after)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return Published(
        bulletins=sum(_is_bulletin(path) for path in after),
        pages=sum(path.endswith(".html") for path in after),
        written=len(changed),
        unchanged=len(after) - len(changed),
        removed=len(gone),
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


def _stage(out: Path) -> Path:
    try:
        out.mkdir(parents=True, exist_ok=True)
        return Path(tempfile.mkdtemp(prefix=".kb-stage-", dir=out))
    except OSError as error:
        raise KbError(
            f"{out} cannot be written to: {error.strerror or error}",
            "name a folder that you may write to with --out",
        ) from error


def _listed(out: Path) -> Mapping[str, str]:
    """Return what an earlier publish wrote: paths with their digests."""
    try:
        listed = json.loads((out / LIST).read_text(encoding="utf-8"))["files"]
        if not isinstance(listed, dict) or not all(map(_stays_inside, listed)):
            raise ValueError("it is no list of files below this folder")
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise KbError(
            f"{out / LIST} cannot be read: {error}",
            "this list tells our files from others'; empty the folder and publish again",
        ) from error
    return {path: str(digest) for path, digest in listed.items()}


def _stays_inside(path: str) -> bool:
    steps = PurePosixPath(path)
    return bool(path) and not steps.is_absolute() and ".." not in steps.parts and "\\" not in path


def _render(
    house: House, today: date, stage: Path, progress: Callable[[int], None]
) -> dict[str, str]:
    """Write every file of the site below *stage* and return paths with digests."""
    after: dict[str, str] = {}
    for done, (path, content) in enumerate(_files(house, today, stage), 1):
        if not _stays_inside(path):
            raise KbError(f"a page would leave the output folder: {path}", "rename what it shows")
        target = stage / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
        after[path] = hashlib.sha256(content).hexdigest()
        progress(done)
    return after


def _files(house: House, today: date, stage: Path) -> Iterator[tuple[str, bytes]]:
    """Yield every file of the site; those before lie in *stage* when the next one is asked for."""
    from kb import phone
    from kb.pages import Desk, all_pages, assets
    from kb.phone.carriage import packed
    from kb.render import Renderer

    renderer = Renderer()
    desk = Desk(house, today)
    written = phone.write(house, today, desk.body)
    paths: list[str] = []
    for page in all_pages(house, today, desk, written.start.path):
        paths.append(page.path)
        yield page.path, renderer.text(page).encode("utf-8", "replace")
    for asset in assets(house):
        paths.append(asset.path)
        yield asset
    for piece in written.pieces():
        yield piece.path, piece.content
    yield from packed(desk, written, paths, stage)


def _refuse_foreign(out: Path, before: Mapping[str, str], changed: Iterable[str]) -> None:
    """Refuse to touch what is not ours: a file in the way of a page, or of a page's folder."""
    looked_at: set[Path] = {out}
    for path in changed:
        target = out / path
        in_the_way = target if path not in before and os.path.lexists(target) else None
        for folder in target.parents:
            if folder in looked_at:
                break
            looked_at.add(folder)
            if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
                in_the_way = folder
        if in_the_way:
            raise KbError(
                f"{in_the_way} was not written by kb and stands in the way of a page",
                "move it away, or publish into another folder with --out",
            )


def _differs(new: Path, old: Path) -> bool:
    try:
        return old.is_symlink() or new.read_bytes() != old.read_bytes()
    except OSError:
        return True


def _move(stage: Path, out: Path, paths: Iterable[str]) -> None:
    for path in paths:
        target = out / path
        target.parent.mkdir(parents=True, exist_ok=True)
        (stage / path).replace(target)


def _remove(out: Path, paths: Iterable[str]) -> None:
    """Remove files of ours that the site no longer has, and folders left empty by it."""
    for path in paths:
        target = out / path
        if target.is_dir() or any(folder.is_symlink() for folder in _folders(out, target)):
            continue  # somebody put a folder of theirs in its place
        target.unlink(missing_ok=True)
        for folder in _folders(out, target):
            try:
                folder.rmdir()
            except OSError:
                break


def _folders(out: Path, target: Path) -> Iterator[Path]:
    for folder in target.parents:
        if folder == out:
            return
        yield folder


def _note(stage: Path, out: Path, files: Mapping[str, str]) -> None:
    text = json.dumps({"files": dict(sorted(files.items()))}, indent=0) + "\n"
    (stage / LIST).write_text(text, encoding="utf-8")
    if _differs(stage / LIST, out / LIST):
        (stage / LIST).replace(out / LIST)
