"""The proof of a tree, made once and kept, and what one proof has that another has not.

A proof depends on the house's tree, on the day and on the rules; under these three it is kept in
the repository's ``kb/proofs``, so that the same content is never proofed twice.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from kb import __version__
from kb.errors import Problem
from kb.hooks.exports import export, subtree
from kb.hooks.repository import Repository

if TYPE_CHECKING:
    from kb.records import House

_KEPT = 40  # proofs; one of a large, faulty house takes some 100 kB


@dataclass(frozen=True, slots=True)
class Noted:
    """A problem, and the text of the line at which it stands."""

    problem: Problem
    text: str


def prove(repository: Repository, tree: str, house: str, day: date) -> tuple[Noted, ...]:
    """Return every problem of the house in *tree*, from an earlier proof where there is one."""
    kept = place_of(repository, tree, house, day)
    found = _kept(kept)
    if found is None:
        from kb.house import read_again
        from kb.kept import KeptHouse
        from kb.processors import processors

        with tempfile.TemporaryDirectory(prefix="kb-proof-") as aside:
            folder = export(repository, tree, house, Path(aside))
            read, _ = read_again(folder, KeptHouse(), processors())
            found = _proofed(kept, read, day)
    return found


def place_of(repository: Repository, tree: str, house: str, day: date) -> Path:
    """Return where the proof of the house in *tree* is kept, once it is made."""
    name = f"{subtree(repository, tree, house)}-{day.isoformat()}-{_rules()}.json"
    return repository.home / "proofs" / name


def prove_read(kept: Path, house: House, day: date) -> tuple[Noted, ...]:
    """Return every problem of *house* as it was read, whose proof is kept at *kept* once made.

    A proof that does not tell of all that was met in reading is of another house: it is made anew.
    """
    found = _kept(kept)
    if found is None or not {each.problem for each in found}.issuperset(house.problems):
        found = _proofed(kept, house, day)
    return found


def _proofed(kept: Path, house: House, day: date) -> tuple[Noted, ...]:
    from kb.proof import run

    lines: dict[str, list[str]] = {}
    found = tuple(Noted(each, _line(house.folder, each, lines)) for each in run(house, day))
    _keep(kept, found)
    return found


def _line(folder: Path, problem: Problem, lines: dict[str, list[str]]) -> str:
    if problem.file not in lines:
        try:
            text = (folder / problem.file).read_text(encoding="utf-8", errors="replace")
        except OSError:  # it is about a file that is not there
            text = ""
        lines[problem.file] = text.split("\n")
    found = lines[problem.file][problem.line - 1 : problem.line]
    return found[0].strip()[:200] if found else ""


def _rules() -> str:
    """Return a mark that changes with the program: its version, and when it was last changed."""
    package = Path(__file__).parent.parent
    newest = max(
        entry.stat().st_mtime_ns
        for folder in (package, package / "proof", package / "data")
        for entry in os.scandir(folder)
        if entry.is_file()
    )
    return f"{__version__}-{newest:x}"


def _kept(path: Path) -> tuple[Noted, ...] | None:
    try:
        rows = json.loads(path.read_bytes())
        return tuple(Noted(Problem(**row["problem"]), str(row["text"])) for row in rows)
    except (OSError, ValueError, TypeError, KeyError):
        return None


def _keep(path: Path, found: Iterable[Noted]) -> None:
    """Keep a proof, if there is room and leave to; a proof that is not kept is made again."""
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", dir=path.parent, prefix=".new-", delete=False, encoding="utf-8"
        ) as file:
            json.dump([asdict(each) for each in found], file)
        Path(file.name).replace(path)
        _thin(path.parent)


def _thin(folder: Path) -> None:
    every = sorted(folder.iterdir(), key=lambda path: path.stat().st_mtime, reverse=True)
    for old in every[_KEPT:]:
        old.unlink(missing_ok=True)


Sign = Callable[[Noted], object]


def brought(
    before: Sequence[Noted], after: Sequence[Noted], renamed: Mapping[str, str]
) -> list[Noted]:
    """Return the problems of *after* that did not stand in *before*.

    Lines move, so a problem is known by its file, rule and words; failing that by its file, rule
    and the text of its line, since its words may tell of something elsewhere. *renamed* gives the
    former name of a file that got a new one.
    """

    def by_words(each: Noted) -> object:
        problem = each.problem
        return _former(problem.file, renamed), problem.level, problem.rule, problem.message

    def by_text(each: Noted) -> object:
        problem = each.problem
        return _former(problem.file, renamed), problem.level, problem.rule, each.text

    left_before, left_after = _unmatched(before, after, by_words)
    return _unmatched(left_before, left_after, by_text)[1]


def _former(file: str, renamed: Mapping[str, str]) -> str:
    return renamed.get(file, file)


def _unmatched(
    before: Sequence[Noted], after: Sequence[Noted], sign: Sign
) -> tuple[list[Noted], list[Noted]]:
    """Return what is left of both once each has met its like in the other."""
    pairs = Counter(map(sign, before)) & Counter(map(sign, after))
    return _left(before, sign, pairs), _left(after, sign, pairs)


def _left(every: Sequence[Noted], sign: Sign, pairs: Mapping[object, int]) -> list[Noted]:
    open_pairs = Counter(pairs)
    left: list[Noted] = []
    for each in every:
        if open_pairs[sign(each)] > 0:
            open_pairs[sign(each)] -= 1
        else:
            left.append(each)
    return left
