"""Why a parser stopped, in plain words, at the line that a person has to change."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

from kb.faults import quoted
from kb.yamltext import Refusal


class Reason(NamedTuple):
    """What is wrong at a line (counted from 0 within the lines given) and what to do."""

    line: int
    message: str
    remedy: str


GLUED = re.compile(r"(\s*(?:-\s+)?[A-Za-z][\w-]*):(?=[^ \t/])")
_KEY_ONLY = re.compile(r"\s*(?:-\s+)*[\w.-]+\s*")
_VALUE = re.compile(r"\s*(?:-\s+)*(?:[\w.-]+:\s+)?(.*)")
_WITH_VALUE = re.compile(r"\s*[\w.-]+:\s+[^\s#]")
_TAB = re.compile(r" *\t")
_IN_QUOTES = "put the whole text in quotes"


def explain(refusal: Refusal, lines: Sequence[str]) -> Reason:
    """Return the reason for *refusal*, which the parser gave for *lines*."""
    last = min(refusal.line, len(lines) - 1)
    for at, line in enumerate(lines[: last + 1]):
        if _TAB.match(line) and line.strip():
            return _tab(at)
    for words, reason in _REASONS:
        if words in refusal.problem:
            found = reason(refusal, lines, last)
            if found:
                return found
    return Reason(
        last,
        "this line cannot be read",
        f"write it as “key: value”; where the text holds signs, {_IN_QUOTES}",
    )


def glued(line: str) -> bool:
    """Tell whether *line* begins with a key whose colon has no blank behind it."""
    return bool(GLUED.match(line))


def no_blank(at: int, line: str) -> Reason:
    """Return the reason for a key with no blank behind its colon."""
    key = line.split(":", 1)[0].strip(" -")
    return Reason(at, f"after “{key}:” a blank is missing", f"write “{key}: …” with a blank")


def no_colon(at: int, line: str) -> Reason:
    """Return the reason for a line that has no colon."""
    return Reason(
        at,
        f"{quoted(line)} is neither a key with its value nor an item of a list",
        "write “key: value”, begin a list item with “- ”, or indent the rest of a longer text",
    )


def _tab(at: int) -> Reason:
    return Reason(
        at, "this line is indented with a tab", "indent with blanks; set your editor to do so"
    )


def _special(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    sign = refusal.problem[-1]
    return Reason(
        last,
        f"a value cannot begin with {sign} unless it stands in quotes",
        f'put it in quotes, as in "{sign}45A"; anchors, aliases and tags are not used here',
    )


def _depth(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    return Reason(
        next((at for at, line in enumerate(lines) if line.strip()), last),
        "lists and keys are nested too deeply",
        "remove the surplus brackets or indentation: four levels are the most that is needed",
    )


def _quote(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    return _unclosed_quote(_odd_quote(lines, last, refusal.start))


def _unclosed_quote(at: int) -> Reason:
    return Reason(
        at,
        "a quotation mark is opened and not closed",
        "close it at the end of the text; inside '…' write '' for an apostrophe",
    )


def _odd_quote(lines: Sequence[str], last: int, otherwise: int) -> int:
    for at in range(last + 1):
        if _is_odd(lines[at]):
            return at
    return min(otherwise, last)


def _is_odd(line: str) -> bool:
    found = _VALUE.match(line)
    value = found[1] if found else ""
    sign = value[:1]
    if sign in ("'", '"'):
        return value.replace('\\"', "").count(sign) % 2 == 1
    return bool(re.search(r"[\[{,:]\s*\"", line)) and line.replace('\\"', "").count('"') % 2 == 1


def _colon(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    line = lines[last]
    if not _KEY_ONLY.fullmatch(line[: refusal.column]):
        return Reason(
            last,
            "a colon inside a text needs quotes around the text",
            f'{_IN_QUOTES}: "… : …"',
        )
    above = next((at for at in range(last - 1, -1, -1) if lines[at].strip()), None)
    if above is not None:
        if glued(lines[above]):
            return no_blank(above, lines[above])
        # Text without a colon that stands where a key or an item should; deeper it is more text.
        opens = lines[above].lstrip().startswith("-") or not lines[above].startswith(" ")
        if ":" not in lines[above] and opens:
            return no_colon(above, lines[above])
    dash = _dash_out_of_line(lines, last)
    return dash or Reason(
        last,
        "this line is indented further than the keys that it belongs to",
        "let the keys of one block begin in the same column",
    )


def _dash_out_of_line(lines: Sequence[str], at: int) -> Reason | None:
    """Return the reason where not line *at* but the dash above it stands in the wrong column.

    That is so where another dash, or the key after it, stands as line *at* would have it.
    """
    if not at or not lines[at - 1].lstrip().startswith("- "):
        return None
    column = _column(lines[at])
    dashes = [_column(line) for line in lines if line.lstrip().startswith("- ")]
    after = next((line for line in lines[at + 1 :] if line.strip()), "")
    goes_on = bool(after) and _column(after) == column and not after.lstrip().startswith("-")
    if column - 2 in dashes or goes_on:
        return Reason(
            at - 1,
            "this dash stands in another column than the keys below it ask for",
            "let the dashes of one list begin in the same column, two before their keys",
        )
    return None


def _column(line: str) -> int:
    return len(line) - len(line.lstrip())


def _simple_key(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    at = min(refusal.start, last)
    return no_blank(at, lines[at]) if glued(lines[at]) else no_colon(at, lines[at])


def _bracket(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    start = min(refusal.start, last)
    for at in range(start, last + 1):
        if _is_odd(lines[at]):
            return _unclosed_quote(at)
    if not _balanced(lines[start : last + 1]):
        return Reason(
            start,
            "a bracket is opened and not closed",
            "close the list with ], or the keys with }; text with brackets stands in quotes",
        )
    return Reason(
        last,
        "a comma is missing in this list, or a sign in it needs quotes",
        "separate the items by commas and put text with signs in quotes",
    )


def _balanced(lines: Sequence[str]) -> bool:
    text = "".join(lines)
    return text.count("[") <= text.count("]") and text.count("{") <= text.count("}")


def _left_over(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    for at in range(last + 1):
        if _is_odd(lines[at]):
            return _unclosed_quote(at)
    before = lines[last][: refusal.column].rstrip()
    if before.strip(" -") and before[-1:] in "'\"":
        return Reason(
            last,
            "text goes on behind the closing quotation mark",
            "put all of the text inside the quotes; inside '…' write '' for an apostrophe",
        )
    if before.strip(" -") or lines[last][refusal.column : refusal.column + 1] in "]},":
        return Reason(
            last,
            "text goes on behind the closing bracket",
            f"remove what is too much, or {_IN_QUOTES}",
        )
    if _is_item_behind_value(lines, last):
        return _stray_item(last)
    dash = _dash_out_of_line(lines, last)
    return dash or Reason(
        last,
        "the indentation of this line fits none of the lines above",
        "let the keys of one block, and the dashes of one list, begin in the same column",
    )


def _dash(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    before = lines[last][: refusal.column]
    if before.strip():
        return Reason(
            last,
            "a list item begins on the line of its key",
            "put each “- item” on a line of its own, or write [item, item]",
        )
    return _stray_item(last)


def _is_item_behind_value(lines: Sequence[str], at: int) -> bool:
    """Tell whether line *at* is a list item right below a key of that column with a value."""
    above = lines[at - 1] if at else ""
    same_column = _column(above) == _column(lines[at])
    return same_column and lines[at].lstrip().startswith("- ") and bool(_WITH_VALUE.match(above))


def _stray_item(at: int) -> Reason:
    return Reason(
        at,
        "a list item stands where none can stand: the key above has its value already",
        "put all values into the list, one “- item” a line",
    )


def _backslash(refusal: Refusal, lines: Sequence[str], last: int) -> Reason:
    return Reason(
        last,
        'a backslash inside "…" has a meaning of its own',
        "write the text in '…', where a backslash is a backslash",
    )


def _alias(refusal: Refusal, lines: Sequence[str], last: int) -> Reason | None:
    sign = lines[last][max(refusal.column - 1, 0) : refusal.column]
    return _quoted_sign(last, sign) if sign else None


def _quoted_sign(at: int, sign: str) -> Reason:
    return Reason(at, f"a value cannot begin with {sign} unless it stands in quotes", _IN_QUOTES)


def _sign(refusal: Refusal, lines: Sequence[str], last: int) -> Reason | None:
    sign = lines[last][refusal.column : refusal.column + 1]
    if sign == "\t":
        return _tab(last)
    if not sign:
        return None
    return _quoted_sign(last, sign)


def _document(refusal: Refusal, lines: Sequence[str], last: int) -> Reason | None:
    marks = [at for at in range(last + 1) if lines[at].startswith(("---", "..."))]
    if marks:
        return Reason(
            marks[-1], "a second block of keys begins here", "keep one block of keys in a file"
        )
    return Reason(
        last,
        "the indentation of this line differs from that of the lines above",
        "let all the keys begin at the left margin",
    )


_Explainer = Callable[[Refusal, Sequence[str], int], Reason | None]
# The first entry whose words the parser used, and whose function knows a reason, gives it.
_REASONS: tuple[tuple[str, _Explainer], ...] = (
    ("special", _special),
    ("scanning an a", _alias),
    ("nesting depth", _depth),
    ("escape character", _backslash),
    ("quoted scalar", _quote),
    ("mapping values are not allowed", _colon),
    ("could not find expected ':'", _simple_key),
    ("flow sequence", _bracket),
    ("flow mapping", _bracket),
    ("sequence entries are not allowed", _dash),
    ("cannot start any token", _sign),
    ("block scalar", _sign),
    ("node content", _sign),
    ("document", _document),
    ("block collection", _left_over),
    ("block mapping", _left_over),
)
