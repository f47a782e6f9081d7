"""Problems as they are printed: each with its place and remedy, counted at the end; or as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict
from textwrap import wrap
from typing import Literal

from kb.errors import Problem

Tone = Literal["error", "warning", "remedy", "sound"]
Style = Callable[[str, Tone], str]

WIDTH = 80
SCREEN = 24
_UNBROKEN = "\x1f"  # stands for a blank at which no line is broken; no text of a house has it


def plain(text: str, tone: Tone) -> str:
    """Return *text* as it is: the style of a terminal without colours."""
    return text


def report(
    problems: Sequence[Problem], style: Style = plain, width: int = WIDTH, screen: int = SCREEN
) -> str:
    """Return the whole report, in lines of at most *width* where words allow it.

    Where the list is longer than a *screen* of lines, a summary that fits one screen comes last,
    so that it is what stands before the reader's eyes.
    """
    lines = list(listing(problems, style, width))
    closing = style(count_line(problems), "sound" if not problems else worst(problems))
    if len(lines) + 1 > screen:
        lines += ["", *summary(problems, style, width, screen - 2)]
    return "\n".join([*lines, closing]) + "\n"


def listing(problems: Iterable[Problem], style: Style = plain, width: int = WIDTH) -> Iterable[str]:
    """Yield the lines of every problem, errors first, each in order of file and line."""
    for problem in sorted(problems, key=lambda p: (p.level, p.file, p.line, p.rule)):
        place = f"{problem.file}:{problem.line}:".replace(" ", _UNBROKEN)
        mark = "" if problem.level == "error" else "warning: "
        # The place stays in one piece, however long: editors and terminals make it a link.
        first, *more = wrap(
            f"{place} {mark}{problem.message}",
            width,
            break_long_words=False,
            break_on_hyphens=False,
        )
        yield style(first.replace(_UNBROKEN, " "), problem.level)
        yield from (style(f"  {line}", problem.level) for line in _hung(more, width))
        if problem.remedy:
            for line in wrap(problem.remedy, width - 4, break_long_words=False):
                yield style(f"    {line}", "remedy")


def _hung(lines: Sequence[str], width: int) -> list[str]:
    return wrap(" ".join(lines), width - 2, break_long_words=False, break_on_hyphens=False)


def summary(
    problems: Sequence[Problem], style: Style = plain, width: int = WIDTH, most: int = SCREEN - 2
) -> list[str]:
    """Return at most *most* lines: how often each rule is broken, and where first.

    Errors stand before warnings, and the most frequent first; what has no room is counted.
    """
    counts = Counter((p.level, p.rule) for p in problems)
    first: dict[tuple[str, str], Problem] = {}
    for problem in sorted(problems, key=lambda p: (p.file, p.line)):
        first.setdefault((problem.level, problem.rule), problem)
    ranked = sorted(counts, key=lambda key: (key[0], -counts[key], key[1]))
    room = len(ranked) if len(ranked) <= most else most - 1
    lines = [_summary_line(first[key], counts[key], style, width) for key in ranked[:room]]
    left = sum(counts[key] for key in ranked[room:])
    return [*lines, f"{left:>6}  of other kinds"] if left else lines


def _summary_line(first: Problem, count: int, style: Style, width: int) -> str:
    text = f"{count:>6}  {first.level:<8}{first.rule:<22} first {first.file}:{first.line}"
    return style(text if len(text) <= width else text[: width - 1] + "…", first.level)


def worst(problems: Iterable[Problem]) -> Tone:
    """Return ``error`` if there is one among *problems*, else ``warning``."""
    return "error" if any(p.level == "error" for p in problems) else "warning"


def count_line(problems: Iterable[Problem]) -> str:
    """Return the closing line: ``2 errors and 1 warning in 2 files.``"""
    found = list(problems)
    if not found:
        return "Nothing is wrong."
    levels = Counter(p.level for p in found)
    errors, warnings = levels["error"], levels["warning"]
    told = [_counted(errors, "error"), _counted(warnings, "warning")]
    files = _counted(len({p.file for p in found}), "file")
    return f"{' and '.join(filter(None, told))} in {files}."


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}" if count else ""


def as_json(problems: Iterable[Problem]) -> Mapping[str, list[Mapping[str, object]]]:
    """Return the problems as the object that ``kb proof --json`` prints."""
    keys = ("file", "line", "level", "rule", "message", "remedy")
    found = [asdict(problem) for problem in problems]
    return {"problems": [{key: problem[key] for key in keys} for problem in found]}
