"""What a change brings: the problems that are new with it, apart from those that stood before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kb.errors import Problem
from kb.hooks.exports import house_in, subtree
from kb.hooks.proofs import Noted, brought, prove
from kb.hooks.repository import Repository


@dataclass(frozen=True, slots=True)
class Verdict:
    """The problems after a change, under paths from the top of the repository."""

    new: tuple[Problem, ...] = ()
    old: tuple[Problem, ...] = ()

    @property
    def refused(self) -> bool:
        """Tell whether the change brings an error."""
        return any(problem.level == "error" for problem in self.new)


def judge(
    repository: Repository, before: Sequence[str], after: str, day: date, named: str = ""
) -> Verdict | None:
    """Return what the change from the trees *before* to the tree *after* brings.

    What any of *before* has is not new: a merge does not answer for what its parents hold. None
    where there is no house to judge, or where the change leaves it as it was.
    """
    house = house_in(repository, after, named)
    former = {tree: house_in(repository, tree, named) for tree in before}
    if house is None:
        gone = next((path for path in former.values() if path is not None), None)
        return None if gone is None else Verdict(new=(_house_gone(gone),))
    now = subtree(repository, after, house)
    known = {tree: path for tree, path in former.items() if path is not None}
    if any(
        path == house and subtree(repository, tree, path) == now for tree, path in known.items()
    ):
        return None
    return _compare(repository, known, after, house, day)


def _compare(
    repository: Repository, known: Mapping[str, str], after: str, house: str, day: date
) -> Verdict:
    found = prove(repository, after, house, day)
    new = list(found)
    for tree, path in known.items():
        if new:
            renamed = _renamed(repository, (tree, path), (after, house))
            new = brought(prove(repository, tree, path, day), new, renamed)
    fresh = {id(each) for each in new}
    return Verdict(
        new=placed(new, house),
        old=placed([each for each in found if id(each) not in fresh], house),
    )


def placed(found: Sequence[Noted], house: str) -> tuple[Problem, ...]:
    """Return problems under paths from the top of the repository."""
    head = f"{house}/" if house else ""
    return tuple(replace(each.problem, file=head + each.problem.file) for each in found)


def _renamed(
    repository: Repository, before: tuple[str, str], after: tuple[str, str]
) -> dict[str, str]:
    """Return the former name of each renamed file, both as paths below their house."""
    trees = [subtree(repository, tree, house) for tree, house in (before, after)]
    words = ("diff-tree", "-r", "-z", "-M", "--diff-filter=R", "--name-status", *trees)
    fields = repository.text(*words).split("\0")
    return dict(zip(fields[2::3], fields[1::3], strict=False))


def _house_gone(house: str) -> Problem:
    return Problem(
        file=f"{house}/reference" if house else "reference",
        line=1,
        level="error",
        rule="house-gone",
        message="the reference tables are taken away, and with them the whole house",
        remedy="keep the folder reference/; to give up the checks as well: kb hooks --remove",
    )
