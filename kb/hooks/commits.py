"""Before a commit: what is staged is proofed, and an error that the commit brings refuses it."""

from __future__ import annotations

import os
import re
from collections.abc import Callable
from datetime import date

from kb.hooks import told
from kb.hooks.exports import house_in
from kb.hooks.repository import Repository
from kb.hooks.settings import settings_of
from kb.hooks.verdict import judge

Say = Callable[[str], None]

# While git merges, it names what it merges in the environment before it writes MERGE_HEAD.
_MERGED = re.compile(r"GITHEAD_([0-9a-f]{40}|[0-9a-f]{64})")


def before_commit(repository: Repository, day: date, say: Say) -> bool:
    """Proof the staged state against its parents; return whether it may be committed."""
    # The index that git names in the environment: with `git commit -a` or with paths, it is one
    # made for this commit alone.
    staged = repository.text("write-tree")
    parents = [tree for each in _parents(repository) if (tree := _tree(repository, each))]
    named = settings_of(repository).house
    verdict = judge(repository, parents, staged, day, named)
    if verdict is None:
        if house_in(repository, staged, named) is None:
            say(told.NO_HOUSE)
        return True
    for line in (*told.problem_lines(verdict, told.WIDTH), *told.commit_closing(verdict)):
        say(line)
    return not verdict.refused


def _parents(repository: Repository) -> list[str]:
    named = (_MERGED.fullmatch(key) for key in os.environ)
    merged = [found[1] for found in named if found]
    try:
        written = (repository.folder / "MERGE_HEAD").read_text(encoding="ascii").split()
    except OSError:
        written = []
    return ["HEAD", *dict.fromkeys([*written, *merged])]


def _tree(repository: Repository, commit: str) -> str:
    return repository.ask("rev-parse", "-q", "--verify", f"{commit}^{{tree}}")
