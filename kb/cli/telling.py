"""How commands tell what is wrong in a house: coloured on a terminal, or in a form for programs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from kb.cli.shared import put
from kb.errors import Problem

FORMS = ("text", "json", "sarif", "github", "gitlab")

_TONES: dict[str, dict[str, Any]] = {
    "error": {"fg": "red"},
    "warning": {"fg": "yellow"},
    "remedy": {"dim": True},
    "sound": {"fg": "green"},
}


def errors_in(problems: list[Problem]) -> int:
    """Return how many of the problems are errors."""
    return sum(problem.level == "error" for problem in problems)


def as_text(problems: list[Problem]) -> str:
    """Return the problems as a person reads them, with the colours of a terminal."""
    from kb.proof.report import report

    return report(problems, lambda text, tone: click.style(text, **_TONES[tone])).rstrip("\n")


def tell(problems: list[Problem], form: str, folder: Path) -> None:
    """Print the problems of the house in *folder* in one of the `FORMS`."""
    if form == "text":
        return click.echo(as_text(problems))
    if form == "json":
        from kb.proof.report import as_json

        return put(as_json(problems))
    from kb.housefolder import top_of
    from kb.proof.annotations import github, gitlab

    below = "/".join(folder.resolve().relative_to(top_of(folder)).parts)
    if form == "github":
        return click.echo(github(problems, below))
    if form == "gitlab":
        return put(gitlab(problems, below))
    from kb.proof.sarif import as_sarif

    return put(as_sarif(problems, below))
