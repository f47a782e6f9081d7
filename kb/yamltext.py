"""YAML as it is used here: every scalar is text, every key and item knows its line.

The only importer of yaml. Sound text costs one pass of the parser. Text that the parser refuses is
taken apart at its top-level keys and read key by key (``kb.yamlrepair``), so that one slip neither
hides the next nor the keys around it. Anchors, aliases and tags are refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

import yaml

from kb.faults import Faults, quoted

try:
    from yaml._yaml import CParser as _Parser
except ImportError:  # a platform without libyaml: the same, slower

    class _Parser(  # type: ignore[no-redef]
        yaml.reader.Reader, yaml.scanner.Scanner, yaml.parser.Parser, yaml.composer.Composer
    ):
        def __init__(self, text: str) -> None:
            yaml.reader.Reader.__init__(self, text)
            yaml.scanner.Scanner.__init__(self)
            yaml.parser.Parser.__init__(self)
            yaml.composer.Composer.__init__(self)


class Text(NamedTuple):
    """A scalar as typed; empty where a key stands without a value."""

    text: str
    line: int


class Rows(NamedTuple):
    """A list; *line* is that of its first item."""

    items: list[Node]
    line: int


class Keys(NamedTuple):
    """A mapping; *line* is that of its first key."""

    pairs: dict[str, Pair]
    line: int


class Broken(NamedTuple):
    """A value that could not be read and has been reported: nothing more is said about it.

    *hidden*: the key may be one that belongs deeper; all that is known is that it is not missing.
    """

    line: int
    hidden: bool = False


Node = Text | Rows | Keys | Broken


class Pair(NamedTuple):
    """The value of a key, and the line where the key stands."""

    line: int
    value: Node


class Refusal(Exception):
    """What the parser stopped at: the place, and *start* of what it was reading.

    Lines and columns count from 0 within the text read.
    """

    def __init__(self, problem: str, line: int, column: int, start: int) -> None:
        super().__init__(problem)
        self.problem = problem
        self.line = line
        self.column = column
        self.start = start


# More nesting and more values than anyone types; beyond them memory and time run away.
_DEEPEST = 20
_MOST_VALUES = 150_000

# A value that begins with one of these is an anchor, an alias or a tag to YAML.
_SPECIAL = re.compile(r"(?:^|[\s\[{,])(?:[&*][^\s,\]}]|!)", re.MULTILINE)

# Signs that YAML refuses or that would start a line for it, though not in an editor.
_NOT_YAML = re.compile(
    "[^\t\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)


class _TextParser(_Parser):
    """The parser with every scalar left as text, so without the cost of finding its type."""

    # Called for every node: a method of C that takes anything and gives an empty text.
    descend_resolver = ascend_resolver = resolve = "".format


def compose(text: str, faults: Faults, first_line: int) -> Node | None:
    """Return *text* as nodes, or None where it is empty; raises `Refusal` where it is no YAML.

    Duplicate keys and keys that are no words are reported to *faults*; lines count from
    *first_line*.
    """
    if not text.isascii() or "\f" in text:
        text = _NOT_YAML.sub(" ", text)
    if ("&" in text or "*" in text or "!" in text) and _SPECIAL.search(text):
        _refuse_special(text)
    root = _parse(text)
    return None if root is None else _node(root, faults, first_line, 0)


def too_many(text: str) -> bool:
    """Tell whether *text* may hold more values than is sound, without parsing it."""
    if len(text) < _MOST_VALUES:
        return False
    return sum(map(text.count, (",", "\n", "[", "{", "- ", ": ", "? "))) > _MOST_VALUES


def _parse(text: str) -> Any:
    parser = None
    try:
        parser = _TextParser(text)
        return parser.get_single_node()
    except yaml.MarkedYAMLError as trouble:
        raise _refusal(trouble) from None
    except yaml.YAMLError as trouble:
        raise Refusal(str(trouble), 0, 0, 0) from None
    except RecursionError:
        raise Refusal("exceeded maximum nesting depth", 0, 0, 0) from None
    finally:
        if parser is not None:
            parser.dispose()


def _refusal(trouble: yaml.MarkedYAMLError) -> Refusal:
    mark, start = trouble.problem_mark, trouble.context_mark
    mark = mark or start
    line, column = (mark.line, mark.column) if mark else (0, 0)
    words = f"{trouble.context or ''} | {trouble.problem or ''}"
    return Refusal(words, line, column, start.line if start else line)


def _refuse_special(text: str) -> None:
    try:
        parser = _TextParser(text)
        while event := parser.get_event():
            sign = _sign(event)
            if sign:
                mark: Any = event.start_mark
                raise Refusal(f"special {sign}", mark.line, mark.column, mark.line)
    except yaml.YAMLError:
        return  # the parser proper will stop at the same place and say why


def _sign(event: Any) -> str:
    if isinstance(event, yaml.AliasEvent):
        return "*"
    if getattr(event, "anchor", None):
        return "&"
    return "!" if getattr(event, "tag", None) else ""


def _node(node: Any, faults: Faults, first: int, depth: int) -> Node:
    line = node.start_mark.line + first
    if node.id == "scalar":
        return Text(node.value, line)
    if depth > _DEEPEST:
        raise Refusal("exceeded maximum nesting depth", line - first, 0, line - first)
    if node.id == "sequence":
        # Scalars are by far the most of all nodes: they are spared the call.
        return Rows(
            [
                Text(item.value, item.start_mark.line + first)
                if item.id == "scalar"
                else _node(item, faults, first, depth + 1)
                for item in node.value
            ],
            line,
        )
    pairs: dict[str, Pair] = {}
    for key, inner in node.value:
        at = key.start_mark.line + first
        name = key.value
        if key.id != "scalar" or name in pairs:
            _odd_key(key, pairs, faults, at)
        elif inner.id == "scalar":
            pairs[name] = Pair(at, Text(inner.value, inner.start_mark.line + first))
        else:
            pairs[name] = Pair(at, _node(inner, faults, first, depth + 1))
    return Keys(pairs, line)


def _odd_key(key: Any, pairs: Mapping[str, Pair], faults: Faults, line: int) -> None:
    if key.id != "scalar":
        faults.add(
            line,
            "syntax",
            "brackets stand here where the name of a key should",
            "if the brackets belong to the text, put the whole text in quotes",
        )
        return
    first = pairs[key.value].line
    faults.add(
        line,
        "duplicate-key",
        f"the key {quoted(key.value)} is given twice; the first is in line {first}",
        "keep one of the two, and put several values into one list",
    )


class LinePaths(Mapping[str, int]):
    """The line of every key and list item by its path, such as ``checks[0].cause``.

    Worked out when first asked for: only what is wrong needs its line.
    """

    __slots__ = ("_keys", "_lines")

    def __init__(self, keys: Keys) -> None:
        self._keys = keys
        self._lines: dict[str, int] | None = None

    def _all(self) -> dict[str, int]:
        if self._lines is None:
            self._lines = dict(_paths(self._keys_read(), ""))
        return self._lines

    def _keys_read(self) -> Keys:
        return self._keys

    def __getitem__(self, path: str) -> int:
        return self._all()[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._all())

    def __len__(self) -> int:
        return len(self._all())


def _paths(node: Node, path: str) -> Iterator[tuple[str, int]]:
    if isinstance(node, Keys):
        head = f"{path}." if path else ""
        for name, pair in node.pairs.items():
            yield head + name, pair.line
            if not isinstance(pair.value, Text):
                yield from _paths(pair.value, head + name)
    elif isinstance(node, Rows):
        for index, item in enumerate(node.items):
            here = f"{path}[{index}]"
            yield here, item.line
            if not isinstance(item, Text):
                yield from _paths(item, here)
