"""The problems of one file, collected while it is read."""

from __future__ import annotations

from kb.errors import Level, Problem

_MOST = 200


class Faults:
    """Everything wrong in one file so far; *file* is its path below the house."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def add(self, line: int, rule: str, message: str, remedy: str, level: Level = "error") -> None:
        """Note one problem at a line of the file, counted from 1; a wrecked file is cut short."""
        if self.full:
            return
        self.problems.append(
            Problem(
                file=self.file, line=line, level=level, rule=rule, message=message, remedy=remedy
            )
        )

    @property
    def full(self) -> bool:
        """Tell whether no more is noted, so that no more need be looked for."""
        return len(self.problems) >= _MOST

    @property
    def errors(self) -> int:
        """How many errors there are, warnings not counted."""
        return sum(problem.level == "error" for problem in self.problems)


def quoted(text: str, most: int = 40) -> str:
    """Return *text* in quotation marks on one line, cut short where it is long."""
    flat = " ".join(text.split())
    return f"“{flat[: most - 1]}…”" if len(flat) > most else f"“{flat}”"
