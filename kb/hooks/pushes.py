"""Before a push is accepted: the pushed commit of the published branch is proofed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from kb.hooks import told
from kb.hooks.exports import house_in
from kb.hooks.repository import HEADS, Repository
from kb.hooks.settings import Settings, published_branch, settings_of
from kb.hooks.verdict import judge

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Update:
    """One line that git gives a hook: a name and the commits that it leads to, before and after."""

    old: str
    new: str
    name: str

    @property
    def deletes(self) -> bool:
        """Tell whether the name is taken away."""
        return not self.new.strip("0")

    @property
    def creates(self) -> bool:
        """Tell whether the name is new."""
        return not self.old.strip("0")


def read_updates(lines: Iterable[str]) -> Iterator[Update]:
    """Yield what git tells a hook on standard input."""
    for line in lines:
        old, _, rest = line.rstrip("\n").partition(" ")
        new, _, name = rest.partition(" ")
        if name:
            yield Update(old, new, name)


def before_push(repository: Repository, updates: Iterable[Update], day: date, say: Say) -> bool:
    """Proof what is pushed to the published branch; return whether the push may be accepted."""
    every = list(updates)
    settings = settings_of(repository)
    pushed = [each.name for each in every if each.name.startswith(HEADS) and not each.deletes]
    branch = published_branch(repository, settings, pushed)
    for update in every:
        if update.name == branch:
            return _may_come_in(repository, settings, update, day, say)
    if pushed and branch not in repository.branches():
        say(_not_the_published(branch))
    return True


def _not_the_published(branch: str) -> str:
    name = branch.removeprefix(HEADS)
    return (
        f"Nothing of this is published: the published branch is {name}, which does not exist.\n"
        "Push that one, or have the server told another: git config kb.branch NAME"
    )


def _may_come_in(
    repository: Repository, settings: Settings, update: Update, day: date, say: Say
) -> bool:
    name = update.name.removeprefix(HEADS)
    if update.deletes:
        say(f"{name} was the published branch; the site stays as it was published last.")
        return True
    before = [] if update.creates else [f"{update.old}^{{tree}}"]
    after = f"{update.new}^{{tree}}"
    verdict = judge(repository, before, after, day, settings.house)
    if verdict is None:
        if house_in(repository, after, settings.house) is None:
            say(told.NO_HOUSE)
        return True
    lines = told.problem_lines(verdict, told.REMOTE_WIDTH)
    for line in (*lines, *told.push_closing(verdict, name)):
        say(line)
    return not verdict.refused
