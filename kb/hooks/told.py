"""How hooks speak: the lines that come back to whoever commits or pushes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kb.errors import KbError, Problem
from kb.shown import counted

if TYPE_CHECKING:
    from kb.hooks.verdict import Verdict

WIDTH = 80
REMOTE_WIDTH = 72  # git puts "remote: " before each line that a server says
_OLD_SHOWN = 5

NO_HOUSE = "No bulletins here (no folder reference/ with tables): nothing was proofed."
OTHER_PUBLISH = "Another publish into this folder is running: waiting for it."
NOTHING_TO_PUBLISH = "No bulletins here (no folder reference/ with tables): nothing was published."


def problem_lines(verdict: Verdict, width: int) -> Iterator[str]:
    """Yield what the change brings, errors first and counted, and what stood there before."""
    from kb.proof.report import count_line, listing  # all the rules come with it

    yield from listing(verdict.new, width=width)
    if verdict.new:
        yield count_line(verdict.new)
    errors = [problem for problem in verdict.old if problem.level == "error"]
    warnings = len(verdict.old) - len(errors)
    if errors:
        yield from _stood(errors, width)
    if warnings:
        yield f"{counted(warnings, 'warning')} of before: `kb proof` lists them."


def _stood(errors: Sequence[Problem], width: int) -> Iterator[str]:
    from kb.proof.report import listing

    yield f"Stood there before, no reason to refuse: {counted(len(errors), 'error')}."
    yield from listing(errors[:_OLD_SHOWN], width=width)
    if len(errors) > _OLD_SHOWN:
        yield f"… and {len(errors) - _OLD_SHOWN} more: `kb proof` lists them."


def commit_closing(verdict: Verdict) -> Iterable[str]:
    """Return the last words on a commit."""
    if verdict.refused:
        return (
            "Nothing was committed. Mend the lines above, `git add` the files, commit again.",
            "To commit all the same: git commit --no-verify",
        )
    return () if verdict.new or verdict.old else ("Proofed: nothing is wrong.",)


def push_closing(verdict: Verdict, branch: str) -> Iterable[str]:
    """Return the last words on a push to *branch*."""
    if verdict.refused:
        return (
            f"The push is not accepted; {branch} is as it was.",
            "Mend the lines above, commit, and push again.",
        )
    return () if verdict.new or verdict.old else ("Proofed: nothing is wrong.",)


def unpublished(branch: str, out: Path) -> str:
    """Return the word that what came to *branch* is not on the site."""
    return f"{branch} is accepted but not published; {out} is as it was"


def trouble(what: str, error: Exception) -> str:
    """Return the word on trouble: *what* is not done and why, with the remedy if there is one."""
    remedy = error.remedy if isinstance(error, KbError) else ""
    return f"{what}: {error}\n    {remedy}".rstrip()


def published(branch: str, out: Path, done: Mapping[str, Any]) -> str:
    """Return the word that *branch* is published, from its figures as JSON has them."""
    return (
        f"{branch} is published: {counted(done['bulletins'], 'bulletin')}, "
        f"{counted(done['written'] + done['removed'], 'file')} changed.\n{out}"
    )
