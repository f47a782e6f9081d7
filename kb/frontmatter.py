"""A file's text taken apart: keys between two fences of ``---``, and the body after them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from kb.faults import Faults
from kb.yamlrepair import is_key, read_keys, salvage, sound_keys
from kb.yamltext import Keys, LinePaths

FENCE = "---"
_FIRST = 2  # the line on which the keys begin

_FENCE_LIKE = re.compile(r"\s*[-\u2010-\u2015_*=+~]{1,}\s*")
_WORD_KEY = re.compile(r"""["']?[\w.-]+["']?[ \t]*:""")
_NUMBER_SIGN = re.compile(r"""\s*(?:-\s+)?[\w-]+:?\s+[^"'\[{>|#][^#"']*\s#\d""")
_PROSE = re.compile(r"[^\W\d_]|[*!>`:]|#{2,6} |\d+\. ")


class Front(NamedTuple):
    """The keys of a file, the text they were read from, its body, and where the body starts."""

    keys: Keys
    head: str
    body: str
    body_line: int


class FrontLines(LinePaths):
    """The lines of the keys in the *head* of a file, which is read for them once more.

    Only what is wrong needs its line: to keep all keys of all files for it would fill the memory.
    """

    __slots__ = ("_head",)

    def __init__(self, head: str) -> None:
        super().__init__(Keys({}, _FIRST))
        self._head = head

    def __reduce__(self) -> tuple[type[FrontLines], tuple[str]]:
        return FrontLines, (self._head,)

    def _keys_read(self) -> Keys:
        return read_keys(self._head, Faults(""), _FIRST)


def has_front(text: str) -> bool:
    """Tell whether *text* begins with a fence."""
    return text.split("\n", 1)[0].rstrip() == FENCE


def split(text: str, faults: Faults) -> Front | None:
    """Return front matter and body of a file's text, or None where no front matter begins."""
    if not has_front(text):
        _no_front(text, faults)
        return None
    rest = text.partition("\n")[2]
    if rest.startswith(FENCE):
        end, close = 0, _line_end(rest, 0)
        if rest[:close].rstrip() != FENCE:
            end, close = _closing(rest)
    else:
        end, close = _closing(rest)
    if end < 0:
        return _unclosed(rest, faults)
    head = rest[:end]
    before = len(faults.problems)
    keys = sound_keys(head, faults, _FIRST)
    # A rule of hyphens further down in a body closes nothing: the keys have run into the text.
    if (keys is None or _wordy(keys)) and _prose(head.split("\n")):
        del faults.problems[before:]
        return _unclosed(rest, faults)
    if keys is None:
        keys = salvage(head, faults, _FIRST)
    if " #" in head:
        _comments(head, faults)
    return Front(keys, head, rest[close + 1 :], head.count("\n") + 3)


def _comments(head: str, faults: Faults) -> None:
    """Warn of text such as “pump #2”: YAML takes the rest of the line for a comment."""
    for at, line in enumerate(head.split("\n")):
        if _NUMBER_SIGN.match(line):
            faults.add(
                at + 2,
                "cut-off",
                "the text from “#” on is taken for a comment and left out",
                "put the whole text in quotes, or leave a blank behind “#” for a comment",
                level="warning",
            )


def _wordy(keys: Keys) -> bool:
    return any(" " in name for name in keys.pairs)


def _closing(rest: str) -> tuple[int, int]:
    """Return where the closing fence begins and ends, or -1 twice where there is none."""
    at = rest.find("\n---")
    while at >= 0:
        end = _line_end(rest, at + 1)
        if rest[at + 1 : end].rstrip() == FENCE:
            return at + 1, end
        at = rest.find("\n---", end - 1)
    return -1, -1


def _line_end(text: str, start: int) -> int:
    end = text.find("\n", start)
    return len(text) if end < 0 else end


def _no_front(text: str, faults: Faults) -> None:
    lines = text.split("\n", 40)[:40]
    at = next((number for number, line in enumerate(lines) if line.strip()), 0)
    if lines[at].strip() == FENCE:
        message = "the front matter does not begin at the very start of the file"
        remedy = "delete the blanks and empty lines before the first “---”"
    elif _FENCE_LIKE.fullmatch(lines[0]):
        message = f"the first line is “{lines[0].strip()}”, not three hyphens"
        remedy = "write “---”, and see that the editor does not turn hyphens into dashes"
    elif is_key(lines[at]):
        message = "the keys at the start are not opened by a line of “---”"
        remedy = "put “---” on a line of its own before the first key"
    else:
        message = "the file has no front matter"
        remedy = "begin with “---”, the keys, and “---” (`kb draft` writes them for you)"
    faults.add(1, "front-matter", message, remedy)


def _unclosed(rest: str, faults: Faults) -> Front:
    """Read the keys up to the line where the body seems to begin."""
    lines = rest.split("\n")
    near = next(
        (at for at, line in enumerate(lines) if line.strip() and _FENCE_LIKE.fullmatch(line)), None
    )
    end = _prose(lines) or len(lines)
    if near is not None and near < end:
        end = near
        place = f"line {near + 2} is “{lines[near].strip()}”, not three hyphens at the margin"
    else:
        place = "no line of “---” ends it"
    faults.add(
        1,
        "front-matter",
        f"the front matter is not closed: {place}",
        "put “---” on a line of its own behind the last key",
    )
    head = "\n".join(lines[:end])
    keys = sound_keys(head, faults, _FIRST)
    if keys is None:
        keys = salvage(head, faults, _FIRST)
    start = min(end + (near == end), len(lines))
    return Front(keys, head, "\n".join(lines[start:]), start + 2)


def _prose(lines: Sequence[str]) -> int:
    """Return the first line behind an empty one that reads like text of a body, or 0."""
    for at in range(1, len(lines)):
        if not lines[at - 1].strip() and _PROSE.match(lines[at]) and not _WORD_KEY.match(lines[at]):
            return at
    return 0
