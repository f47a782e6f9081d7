"""What a rule is: a name, a level, a message, a remedy, and a function that finds the places."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kb.errors import Level, Problem
from kb.records import Bulletin

if TYPE_CHECKING:
    from kb.proof.look import Look


@dataclass(frozen=True, slots=True)
class Found:
    """A place where a rule is broken, with the words that fill its message and remedy."""

    file: str
    line: int
    says: Mapping[str, str]


Finder = Callable[["Look"], Iterable[Found]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule of the proof.

    *message* and *remedy* are filled from what *find* says about each place (``{name}``).
    """

    name: str
    level: Level
    message: str
    remedy: str
    find: Finder

    def problems(self, look: Look) -> Iterator[Problem]:
        """Yield a problem for every place in the house where the rule is broken."""
        for found in self.find(look):
            yield Problem(
                file=found.file,
                line=found.line,
                level=self.level,
                rule=self.name,
                message=self.message.format_map(found.says),
                remedy=self.remedy.format_map(found.says),
            )


def at(bulletin: Bulletin, path: str, /, **says: object) -> Found:
    """Return a place in the front matter of *bulletin*."""
    return on(bulletin.file, bulletin.line(path), **says)


def on(file: str, line: int, /, **says: object) -> Found:
    """Return a place by file and line."""
    return Found(file, line, {key: str(value) for key, value in says.items()})


def each(find: Callable[[Look, Bulletin], Iterable[Found]]) -> Finder:
    """Return a finder that asks *find* about every bulletin in turn, unsound ones too."""

    def finder(look: Look) -> Iterator[Found]:
        for bulletin in look.bulletins:
            yield from find(look, bulletin)

    return finder


def each_sound(find: Callable[[Look, Bulletin], Iterable[Found]]) -> Finder:
    """Return a finder that asks *find* about every bulletin that was read without an error.

    For rules about what is missing: in an unsound bulletin it may only have been misread.
    """

    def finder(look: Look) -> Iterator[Found]:
        for bulletin in look.house.bulletins:
            yield from find(look, bulletin)

    return finder


def listed(names: Iterable[str], most: int = 4) -> str:
    """Return names as they are read out: ``A, B and C``; a long list is cut with a count."""
    every = list(names)
    if len(every) > most:
        return ", ".join(every[:most]) + f" and {len(every) - most} more"
    return " and ".join(filter(None, [", ".join(every[:-1]), *every[-1:]]))


def meant(near: str | None) -> str:
    """Return the opening of a remedy that proposes *near*, or nothing where there is none."""
    return f"did you mean {near}? If not, " if near else ""
