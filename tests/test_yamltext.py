"""YAML as nodes: every scalar as typed, every key and item with its line, nothing clever."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from kb.faults import Faults
from kb.yamltext import Keys, LinePaths, Node, Pair, Refusal, Rows, Text, compose, too_many


def node(text: str, first_line: int = 1) -> Node | None:
    faults = Faults("a.yaml")
    found = compose(text, faults, first_line)
    assert not faults.problems
    return found


def keys(text: str, first_line: int = 1) -> Keys:
    found = node(text, first_line)
    assert isinstance(found, Keys)
    return found


def plain(found: Node | None) -> Any:
    """Return nodes as plain lists, dicts and texts."""
    if isinstance(found, Rows):
        return [plain(item) for item in found.items]
    if isinstance(found, Keys):
        return {name: plain(pair.value) for name, pair in found.pairs.items()}
    return found.text if isinstance(found, Text) else found


def reported(text: str) -> tuple[Any, list[tuple[int, str]]]:
    faults = Faults("a.yaml")
    found = compose(text, faults, 1)
    return plain(found), [(problem.line, problem.rule) for problem in faults.problems]


@pytest.mark.parametrize("text", ["", "\n", "# a comment\n", "  \n\n", "---\n# x\n..."])
def test_nothing_is_no_node_or_an_empty_text(text: str) -> None:
    found = node(text)
    assert found is None or (isinstance(found, Text) and found.text == "")


@pytest.mark.parametrize(
    "typed",
    ["no", "Yes", "on", "null", "~", "2024-10", "2024-03-04", "0123", "1e5", "0x1F", "12:30", "1."],
)
def test_no_text_is_taken_for_anything_else(typed: str) -> None:
    assert keys(f"a: {typed}\n").pairs["a"].value == Text(typed, 1)
    assert plain(node(f"a: [{typed}, {typed}]\n")) == {"a": [typed, typed]}
    assert plain(node(f"{typed}: x\n")) == {typed: "x"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: b # c", "b"),
        ("a: b#c", "b#c"),
        ("a: 'b # c'", "b # c"),
        ("a: 'it''s'", "it's"),
        ('a: "5/16\\" nut"', '5/16" nut'),
        ('a: "\\u2014"', "\u2014"),
        ("a: b\n  c\n  d", "b c d"),
        ("a: >\n  b\n  c\n", "b c\n"),
        ("a: >-\n  b\n  c\n", "b c"),
        ("a: |\n  b\n  c\n", "b\nc\n"),
        ("a: |-\n  b\n\n  c\n", "b\n\nc"),
        ("a: |2\n    b\n", "  b\n"),
        ("a:\n  b", "b"),
        ("a:", ""),
        ("a: ''", ""),
        ("a: https://x.example/y?z=1#top", "https://x.example/y?z=1#top"),
        ("a: Gr\u00fc\u00dfe \U0001f600", "Gr\u00fc\u00dfe \U0001f600"),
        ("a: b*c", "b*c"),
        ("a: b & c", "b & c"),
        ("a: stop!", "stop!"),
        ("'a': b", "b"),
        ("a : b", "b"),
        ("? a\n: b", "b"),
    ],
)
def test_each_way_to_write_a_text_is_read(text: str, value: str) -> None:
    assert plain(node(text)) == {"a": value}


def test_every_key_and_item_knows_its_line() -> None:
    found = keys("# first\na: 1\nb:\n  - 2\n\n  - {c: 3,\n     d: [4,\n  5]}\n", 10)
    assert found.line == 11
    assert found.pairs["a"] == Pair(11, Text("1", 11))
    rows = found.pairs["b"].value
    assert found.pairs["b"].line == 12 and isinstance(rows, Rows) and rows.line == 13
    first, second = rows.items
    assert first == Text("2", 13)
    assert isinstance(second, Keys) and second.line == 15
    assert second.pairs["c"] == Pair(15, Text("3", 15))
    assert second.pairs["d"] == Pair(16, Rows([Text("4", 16), Text("5", 17)], 16))


def test_a_blank_value_has_the_line_of_its_key() -> None:
    found = keys("a:\nb: 1\nc:\n", 5)
    assert [pair.line for pair in found.pairs.values()] == [5, 6, 7]
    assert found.pairs["a"].value == Text("", 5)


@pytest.mark.parametrize("sign", ["\u0085", "\u2028", "\u2029", "\f", "\ufeff"])
def test_signs_that_are_line_ends_to_yaml_alone_start_no_line(sign: str) -> None:
    assert keys(f"a: b{sign}c\nd: e\n").pairs == {
        "a": Pair(1, Text("b c", 1)),
        "d": Pair(2, Text("e", 2)),
    }


def test_a_key_given_twice_is_told_at_the_second_and_the_first_one_counts() -> None:
    assert reported("a: 1\nb: 2\na: 3\n") == ({"a": "1", "b": "2"}, [(3, "duplicate-key")])
    assert reported("x:\n  a: 1\n  a: 2\n") == ({"x": {"a": "1"}}, [(3, "duplicate-key")])
    faults = Faults("a.yaml")
    compose("a: 1\na: 3\n", faults, 20)
    assert faults.problems[0].message == "the key “a” is given twice; the first is in line 20"
    assert faults.problems[0].remedy == "keep one of the two, and put several values into one list"


def test_brackets_where_a_key_should_be_are_told() -> None:
    assert reported("a: 1\n[b, c]: 2\n") == ({"a": "1"}, [(2, "syntax")])
    assert reported("{b: c}: 2\na: 1\n") == ({"a": "1"}, [(1, "syntax")])


@pytest.mark.parametrize(
    ("text", "line", "column", "sign"),
    [
        ("a: &b c", 0, 3, "&"),
        ("a: 1\nb: *c", 1, 3, "*"),
        ("a: 1\n\nb: !c d", 2, 3, "!"),
        ("a: !!str d", 0, 3, "!"),
        ("a: ! d", 0, 3, "!"),
        ("a: [b, *c]", 0, 7, "*"),
        ("a: [*c]", 0, 4, "*"),
        ("a: {b: &c d}", 0, 7, "&"),
        ("- &b", 0, 2, "&"),
        ("&a b: c", 0, 0, "&"),
    ],
)
def test_anchors_aliases_and_tags_are_refused_at_their_place(
    text: str, line: int, column: int, sign: str
) -> None:
    with pytest.raises(Refusal) as refusal:
        compose(text, Faults("a"), 1)
    found = refusal.value
    assert found.problem == f"special {sign}"
    assert (found.line, found.column) == (line, column)


@pytest.mark.parametrize(
    "text", ["a: 'x &b'", 'a: "*c"', "a: x *c d", "a: |\n  *c &d !e\n", "# &a *b\na: 1", "a: b !c"]
)
def test_the_same_signs_inside_a_text_are_text(text: str) -> None:
    assert isinstance(node(text), Keys)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: b: c", 0),
        ("a: 1\nb: [1, 2]]", 1),
        ("a: 1\n b: 2", 1),
        ("a: 'x", 0),
        ("a: 1\n\tb: 2", 1),
        ("a: @b", 0),
        ("a: 1\n---\nb: 2", 1),
        ("a: 1\n}", 1),
    ],
)
def test_what_is_no_yaml_is_refused_at_its_line(text: str, line: int) -> None:
    with pytest.raises(Refusal) as refusal:
        compose(text, Faults("a"), 1)
    assert refusal.value.line == line and refusal.value.start <= max(line, 0)
    assert refusal.value.problem


@pytest.mark.parametrize("levels", [1, 10, 21])
def test_nesting_that_anyone_types_is_taken(levels: int) -> None:
    assert isinstance(node("[" * levels + "]" * levels), Rows)


@pytest.mark.parametrize("text", ["[" * 22 + "]" * 22, "- " * 22 + "a", "{a: " * 23 + "}" * 23])
def test_nesting_beyond_that_is_refused(text: str) -> None:
    with pytest.raises(Refusal, match="nesting depth"):
        compose(text, Faults("a"), 1)


def test_values_are_counted_without_parsing() -> None:
    assert not too_many("a: " + "x" * 1_000_000)
    assert not too_many("- a\n" * 60_000)
    assert too_many("- a\n" * 80_000)
    assert too_many("a: [" + "b," * 150_001)
    assert not too_many("a: [" + "b," * 74_000 + " " * 10_000)


def test_paths_lead_to_lines() -> None:
    paths = LinePaths(keys("a: 1\nb:\n  - c: 2\n  - d\nf:\n  g:\n    - [h]\n", 2))
    assert dict(paths) == {
        "a": 2,
        "b": 3,
        "b[0]": 4,
        "b[0].c": 4,
        "b[1]": 5,
        "f": 6,
        "f.g": 7,
        "f.g[0]": 8,
        "f.g[0][0]": 8,
    }
    assert len(paths) == 9 and paths["f.g"] == 7
    with pytest.raises(KeyError):
        paths["b[2]"]


NAME = st.text(alphabet="abcdefgh", min_size=1, max_size=4)
TEXT = st.text(st.characters(codec="utf-8", blacklist_categories=["Cc", "Cs"]), max_size=12)
TREE = st.recursive(
    TEXT.filter(lambda text: not set(text) & {"\u2028", "\u2029", "\ufeff", "\ufffe", "\uffff"}),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAME, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(NAME, TREE, min_size=1), st.booleans())
def test_what_a_yaml_writer_writes_is_what_is_read(tree: Mapping[str, Any], flow: bool) -> None:
    """Held against the writer of PyYAML, with every text in double quotes (YAML 1.1)."""
    text = yaml.safe_dump(tree, default_flow_style=flow, default_style='"', allow_unicode=True)
    assert plain(node(text)) == tree


@given(st.dictionaries(NAME, st.lists(NAME, max_size=3) | NAME, min_size=1))
def test_lines_are_those_where_the_names_stand(tree: Mapping[str, Any]) -> None:
    text = yaml.safe_dump(tree, default_flow_style=False)
    lines = text.split("\n")
    for path, line in LinePaths(keys(text)).items():
        if "[" in path:
            assert lines[line - 1].startswith("- ")
        else:
            assert lines[line - 1].startswith(f"{path}:") or f"'{path}'" in lines[line - 1]
