"""Keys out of YAML text, sound or not: a slip costs the key that it stands in, not the others."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from kb.faults import Faults
from kb.yamltext import Broken, Keys, Pair, Refusal, Text, compose, too_many
from kb.yamlwords import Reason, explain, glued, no_blank, no_colon

_KEY = re.compile(r"""(\w[\w.-]*(?:[ ]\w[\w.-]*){0,3}|"[^"]*"|'[^']*')\s*:(?:[ \t]|$)""")
_WORD = re.compile(r"[\w-]+")
_INNER_KEY = re.compile(r"\s+(?:-\s+)?([A-Za-z][\w-]*)\s*:(?:\s|$)")

# What may begin a line at the left margin and yet go on with the key above.
_OPENS = ("", " ", "\t", "#", "-", "]", "}", '"', "'")


def read_keys(text: str, faults: Faults, first_line: int = 1) -> Keys:
    """Return the keys of a whole YAML text; all that is wrong with it goes to *faults*."""
    keys = sound_keys(text, faults, first_line)
    return salvage(text, faults, first_line) if keys is None else keys


def sound_keys(text: str, faults: Faults, first_line: int) -> Keys | None:
    """Return the keys where the parser takes the whole text, else None with nothing reported."""
    if too_many(text):
        faults.add(first_line, "too-large", "there are too many values in one block", "split it")
        return Keys({}, first_line)
    before = len(faults.problems)
    try:
        node = compose(text, faults, first_line)
    except Refusal:
        del faults.problems[before:]
        return None
    if node is None:
        return Keys({}, first_line)
    if isinstance(node, Keys):
        return node
    if node == Text("", node.line):  # a line of hyphens and nothing behind it
        return Keys({}, first_line)
    line = text.lstrip().split("\n", 1)[0]
    if glued(line):
        return None
    _report(no_colon(0, line), faults, node.line)
    return Keys({}, node.line)


def salvage(text: str, faults: Faults, first_line: int) -> Keys:
    """Return the keys that can be read out of broken text, each read by itself."""
    lines = text.split("\n")
    before = len(faults.problems)
    pairs: dict[str, Pair] = {}
    for start, end in _pieces(lines):
        for name, pair in _piece(lines[start:end], faults, first_line + start).items():
            _keep(name, pair, pairs, faults)
    if len(faults.problems) == before:
        _whole(text, lines, faults, first_line)
    return Keys(pairs, first_line)


def _whole(text: str, lines: Sequence[str], faults: Faults, first: int) -> None:
    """Say why the whole is refused where each key by itself is not."""
    try:
        compose(text, Faults(faults.file), first)
    except Refusal as refusal:
        _report(explain(refusal, lines), faults, first)


def is_key(line: str) -> bool:
    """Tell whether a key stands at the left margin of *line*."""
    return bool(_KEY.match(line)) or (glued(line) and line[:1].isalpha())


def _keep(name: str, pair: Pair, pairs: dict[str, Pair], faults: Faults) -> None:
    there = pairs.get(name)
    hidden = isinstance(pair.value, Broken) and pair.value.hidden
    if there is None or (isinstance(there.value, Broken) and there.value.hidden):
        pairs[name] = pair
    elif not hidden:
        faults.add(
            pair.line,
            "duplicate-key",
            f"the key “{name}” is given twice; the first is in line {there.line}",
            "keep one of the two, and put several values into one list",
        )


def _pieces(lines: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Yield the stretches of lines that belong to one top-level key each."""
    starts = [at for at, line in enumerate(lines) if is_key(line)]
    if not starts or starts[0] > 0:
        starts.insert(0, 0)
    yield from zip(starts, [*starts[1:], len(lines)], strict=True)


def _piece(lines: Sequence[str], faults: Faults, first: int) -> dict[str, Pair]:
    lines = list(lines)
    if glued(lines[0]) and not _KEY.match(lines[0]):
        _report(no_blank(0, lines[0]), faults, first)
        lines[0] = lines[0].replace(":", ": ", 1)
    indented = next((at for at, line in enumerate(lines) if line.strip()), None)
    if indented is not None and lines[indented][:1] == " " and not _KEY.match(lines[0]):
        return _margin(lines, indented, faults, first)
    before = len(faults.problems)
    try:
        node = compose("\n".join(lines), faults, first)
    except Refusal as refusal:
        del faults.problems[before:]
        return _refused(refusal, lines, faults, first)
    if node is None:
        return {}
    if isinstance(node, Keys):
        return node.pairs
    at = node.line - first
    _report(no_colon(at, lines[at]), faults, first)
    word = _WORD.match(lines[at])
    return {word[0]: Pair(node.line, Broken(node.line, True))} if word else {}


def _margin(lines: list[str], at: int, faults: Faults, first: int) -> dict[str, Pair]:
    """Read a first key that is indented although the keys after it are not."""
    message = "this line is indented, the keys after it are not"
    _report(Reason(at, message, "let all the keys begin at the left margin"), faults, first)
    return {name: Pair(at + first, Broken(at + first, True)) for name in _names(lines)}


def _refused(refusal: Refusal, lines: list[str], faults: Faults, first: int) -> dict[str, Pair]:
    stray = _stray(lines)
    if stray:
        named = {}
        for at in stray:
            _report(no_colon(at, lines[at]), faults, first)
            word = _WORD.match(lines[at])
            if word:
                named[word[0]] = Pair(at + first, Broken(at + first, True))
            lines[at] = ""
        return named | _piece(lines, faults, first)
    _report(explain(refusal, lines), faults, first)
    found = _KEY.match(lines[0])
    pairs = {name: Pair(first, Broken(first, True)) for name in _names(lines)}
    if found:
        pairs[found[1].strip("\"'")] = Pair(first, Broken(first))
    return pairs


def _names(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        found = _INNER_KEY.match(line)
        if found:
            yield found[1]


def _stray(lines: Sequence[str]) -> list[int]:
    """Return the lines at the left margin, outside of brackets, that are no part of YAML."""
    found, depth = [], 0
    for at, line in enumerate(lines):
        if at and depth <= 0 and line[:1] not in _OPENS:
            found.append(at)
        depth += line.count("[") + line.count("{") - line.count("]") - line.count("}")
    return found


def _report(reason: Reason, faults: Faults, first: int) -> None:
    faults.add(first + reason.line, "syntax", reason.message, reason.remedy)
