"""How problems are reported: a problem names its place and its remedy; an error ends a command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from kb.pickled import pickled_by_values

Level = Literal["error", "warning"]


@pickled_by_values
@dataclass(frozen=True, slots=True, order=True, kw_only=True)
class Problem:
    """One thing that is wrong in a house.

    ``file`` is a path below the house with forward slashes, ``line`` counts from 1 (1 too where a
    whole file is meant), ``rule`` is the rule's short name, ``remedy`` says what to do about it.
    """

    file: str
    line: int
    level: Level
    rule: str
    message: str
    remedy: str


class KbError(Exception):
    """A command cannot go on; the text is shown to the user as it is, with the remedy behind it."""

    def __init__(self, message: str, remedy: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.remedy = remedy


class NotFound(KbError):
    """What was asked for does not exist in the house: an unknown model, part number or bulletin."""


class DateError(KbError):
    """A date or range of dates that cannot be read."""
