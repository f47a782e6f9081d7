"""What a rule is: a name, a level, a message, a remedy, and a function that finds the places."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from kb.errors import Level, Problem
from kb.pickled import pickled_by_values
from kb.records import Bulletin

if TYPE_CHECKING:
    from kb.proof.look import Look


# What a rule may look at besides the fields of bulletins: the reference tables, which files there
# are, and what is in those that are neither bulletins nor tables.
TABLES = "tables"
FILES = "files"
DISK = "disk"

ANYTHING = frozenset({*(field.name for field in fields(Bulletin)), TABLES, FILES, DISK})


def these(*names: str) -> frozenset[str]:
    """Return what a rule looks at: the names of fields, or `TABLES`, `FILES` and `DISK`."""
    unknown = set(names) - ANYTHING
    if unknown:
        raise ValueError(f"nothing to look at: {', '.join(sorted(unknown))}")
    return frozenset(names)


NOTHING = these()
BODY = these("body", "body_line")
# What tells which bulletins are in force.
STANDING = these("number", "issued", "status", "supersedes")


@pickled_by_values
@dataclass(frozen=True, slots=True)
class Found:
    """A place where a rule is broken, with the words that fill its message and remedy.

    *path* is the place in the front matter where the line is that of a path.
    """

    file: str
    line: int
    says: Mapping[str, str]
    path: str = ""


Finder = Callable[["Look"], Iterable[Found]]
Asked = Callable[["Look", Bulletin], Iterable[Found]]


@dataclass(frozen=True, slots=True)
class Each:
    """A finder that asks *find* about every bulletin in turn, or only about the *sound* ones."""

    find: Asked
    sound: bool

    def __call__(self, look: Look) -> Iterator[Found]:
        """Yield what is found in all the bulletins."""
        for bulletin in look.house.bulletins if self.sound else look.bulletins:
            yield from self.find(look, bulletin)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the proof.

    *message* and *remedy* are filled from what *find* says about each place (``{name}``), and so is
    a *name*. *over* is what the rule looks at all over the house: while that stays the same, and of
    a bulletin what *own* names, what was found in the bulletin stays too. A line that is found by
    its path need not be named. `tests/test_proof_looks.py` sees that nothing else is looked at.
    """

    name: str
    level: Level
    message: str
    remedy: str
    find: Finder
    own: frozenset[str] = ANYTHING
    over: frozenset[str] = ANYTHING

    def problems(self, look: Look) -> Iterator[Problem]:
        """Yield a problem for every place in the house where the rule is broken."""
        return map(self.problem, self.find(look))

    def problem(self, found: Found) -> Problem:
        """Return what is told of a place that *find* found."""
        return Problem(
            file=found.file,
            line=found.line,
            level=self.level,
            rule=self.name.format_map(found.says),
            message=self.message.format_map(found.says),
            remedy=self.remedy.format_map(found.says),
        )


def at(bulletin: Bulletin, path: str, /, **says: object) -> Found:
    """Return a place in the front matter of *bulletin*."""
    said = {key: str(value) for key, value in says.items()}
    return Found(bulletin.file, bulletin.line(path), said, path)


def on(file: str, line: int, /, **says: object) -> Found:
    """Return a place by file and line."""
    return Found(file, line, {key: str(value) for key, value in says.items()})


def each(find: Asked) -> Each:
    """Return a finder that asks *find* about every bulletin in turn, unsound ones too."""
    return Each(find, sound=False)


def each_sound(find: Asked) -> Each:
    """Return a finder that asks *find* about every bulletin that was read without an error.

    For rules about what is missing: in an unsound bulletin it may only have been misread.
    """
    return Each(find, sound=True)


def listed(names: Iterable[str], most: int = 4) -> str:
    """Return names as they are read out: ``A, B and C``; a long list is cut with a count."""
    every = list(names)
    if len(every) > most:
        return ", ".join(every[:most]) + f" and {len(every) - most} more"
    return " and ".join(filter(None, [", ".join(every[:-1]), *every[-1:]]))


def meant(near: str | None) -> str:
    """Return the opening of a remedy that proposes *near*, or nothing where there is none."""
    return f"did you mean {near}? If not, " if near else ""
