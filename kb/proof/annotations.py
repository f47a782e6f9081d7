"""Problems as hosted git shows them on their lines: workflow commands, and Code Quality reports.

Paths are from the top of the repository, which is where the host looks for them. *folder* is the
house's own path from there (``bulletins``, or nothing where the house is the repository).
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from kb.errors import Level, Problem
from kb.proof.report import count_line

# A step shows so many annotations of each level; what comes after them is in the log alone.
SHOWN = 10

_SEVERITY: Mapping[Level, str] = {"error": "critical", "warning": "minor"}
_LINE_NAMED = re.compile(r"\b(lines?) \d+")


def path_of(problem: Problem, folder: str) -> str:
    """Return the path of the problem's file from the top of the repository."""
    return f"{folder}/{problem.file}" if folder else problem.file


def errors_first(problems: Iterable[Problem]) -> list[Problem]:
    """Return problems as they are worth showing where only the first ones are shown."""
    return sorted(problems, key=lambda p: (p.level, p.file, p.line, p.rule, p.message))


def github(problems: Iterable[Problem], folder: str) -> str:
    """Return a workflow command for each problem, errors first, and a closing count.

    Where not all of one level are shown, the count is a command too, so that it stands beside them.
    """
    found = errors_first(problems)
    levels = Counter(problem.level for problem in found)
    closing = count_line(found)
    if any(count > SHOWN for count in levels.values()):
        closing = f"::notice::{_data(f'{closing} The first {SHOWN} of each level are shown.')}"
    return "\n".join([*(_command(problem, folder) for problem in found), closing])


def _command(problem: Problem, folder: str) -> str:
    path, title = _property(path_of(problem, folder)), _property(problem.rule)
    words = _data("\n".join(filter(None, (problem.message, problem.remedy))))
    return f"::{problem.level} file={path},line={problem.line},title={title}::{words}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def gitlab(problems: Iterable[Problem], folder: str) -> list[Mapping[str, object]]:
    """Return the problems as the entries of a Code Quality report."""
    found = errors_first(problems)
    return [
        {
            "description": "; ".join(filter(None, (problem.message, problem.remedy))),
            "check_name": problem.rule,
            "fingerprint": mark,
            "severity": _SEVERITY[problem.level],
            "location": {"path": path_of(problem, folder), "lines": {"begin": problem.line}},
        }
        for problem, mark in zip(found, fingerprints(found, folder), strict=True)
    ]


def fingerprints(problems: Sequence[Problem], folder: str) -> Iterator[str]:
    """Yield what each problem is known by from run to run: no two have the same.

    Lines play no part, not even those that a message names, so a problem is still the same one
    when text above it comes or goes. What is wrong several times over in a file is counted.
    """
    met: Counter[str] = Counter()
    for problem in problems:
        words = _LINE_NAMED.sub(r"\1", problem.message)
        what = "\0".join((path_of(problem, folder), problem.level, problem.rule, words))
        met[what] += 1
        whole = f"{what}\0{met[what]}".encode("utf-8", "surrogatepass")
        yield hashlib.sha256(whole).hexdigest()
