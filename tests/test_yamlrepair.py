"""Keys out of broken YAML: a slip costs its own key, at its own line, and no other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.faults import Faults
from kb.yamlrepair import is_key, read_keys, salvage, sound_keys
from kb.yamltext import Broken, Keys, Rows, Text

Told = list[tuple[int, str]]


def read(text: str, first_line: int = 1) -> tuple[Keys, Told]:
    faults = Faults("a.yaml")
    keys = read_keys(text, faults, first_line)
    return keys, [(problem.line, problem.rule) for problem in faults.problems]


def state(keys: Keys) -> dict[str, str]:
    """Return what became of each key: its text, or whether it is broken or hidden."""
    found = {}
    for name, pair in keys.pairs.items():
        value = pair.value
        if isinstance(value, Broken):
            found[name] = "hidden" if value.hidden else "broken"
        else:
            found[name] = value.text if isinstance(value, Text) else type(value).__name__
    return found


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# none yet\n", "---\n", "---\n...\n", "{}", "--- {}"]
)
def test_a_table_without_keys_is_sound_and_empty(text: str) -> None:
    keys, problems = read(text)
    assert keys.pairs == {} and problems == []


@pytest.mark.parametrize("text", ["just words", "- a\n- b\n", "[a, b]", "null", "'a: b'"])
def test_a_table_that_is_no_set_of_keys_is_told(text: str) -> None:
    keys, problems = read("\n" + text, 4)
    assert keys.pairs == {} and problems == [(5, "syntax")]


@pytest.mark.parametrize(
    "line",
    ["a: b", "a:", "a : b", '"a b": c', "'a': c", "two words: x", "a-b.c: x", "a:b", "\u00e4: b"],
)
def test_a_key_at_the_margin_is_known(line: str) -> None:
    assert is_key(line)


@pytest.mark.parametrize(
    "line", [" a: b", "- a: b", "a", "# a: b", "", "five words are too many: x", "1:2", "[a]: b"]
)
def test_other_lines_are_no_keys(line: str) -> None:
    assert not is_key(line)


def test_sound_text_is_taken_whole_and_broken_text_is_left_to_salvage() -> None:
    faults = Faults("a.yaml")
    assert sound_keys("a: 1\n", faults, 1) == Keys({"a": read("a: 1\n")[0].pairs["a"]}, 1)
    assert sound_keys("a: 1\na: 2\nb: c: d\n", faults, 1) is None
    assert faults.problems == []


def test_too_many_values_are_told_without_being_read() -> None:
    keys, problems = read("a:\n" + "- b\n" * 200_000, 7)
    assert keys == Keys({}, 7) and problems == [(7, "too-large")]


@pytest.mark.parametrize(
    ("text", "states", "told"),
    [
        ("a: 1\nb: 2: 3\nc: 4\n", {"a": "1", "b": "broken", "c": "4"}, [(2, "syntax")]),
        ("a: 'x\nb: 2\n", {"a": "broken", "b": "2"}, [(1, "syntax")]),
        ("a: [1, 2\nb: 2\n", {"a": "broken", "b": "2"}, [(1, "syntax")]),
        ("a: {x: 1\nb: 2\n", {"a": "broken", "b": "2"}, [(1, "syntax")]),
        ("a:1\nb: 2\n", {"a": "1", "b": "2"}, [(1, "syntax")]),
        ("a:x:y\nb: 2\n", {"a": "x:y", "b": "2"}, [(1, "syntax")]),
        ("a 1\nb: 2\n", {"a": "hidden", "b": "2"}, [(1, "syntax")]),
        ("a: 1\nstray words\nb: 2\n", {"a": "1", "stray": "hidden", "b": "2"}, [(2, "syntax")]),
        ("a: 1\n  b: 2\nc: 3\n", {"a": "broken", "b": "hidden", "c": "3"}, [(2, "syntax")]),
        ("  a: 1\nb: 2\n", {"a": "hidden", "b": "2"}, [(1, "syntax")]),
        ("\n a: 1\n c: 2\nb: 2\n", {"a": "hidden", "c": "hidden", "b": "2"}, [(2, "syntax")]),
        ("a: 1\n\tb: 2\nc: 3\n", {"a": "broken", "b": "hidden", "c": "3"}, [(2, "syntax")]),
        ("a: *\nb: 2\n", {"a": "broken", "b": "2"}, [(1, "syntax")]),
        ("a: *c\nb: &d 2\n", {"a": "broken", "b": "broken"}, [(1, "syntax"), (2, "syntax")]),
        ("a: - b\nc: 1\n", {"a": "broken", "c": "1"}, [(1, "syntax")]),
        ("a: 1\n- b\nc: 1\n", {"a": "broken", "c": "1"}, [(2, "syntax")]),
        ("a: [1]]\nb: 1\n", {"a": "broken", "b": "1"}, [(1, "syntax")]),
        ("a: 'b' c\nd: 1\n", {"a": "broken", "d": "1"}, [(1, "syntax")]),
        ("a: 1\nb: 2: 3\na: 4\n", {"a": "1", "b": "broken"}, [(2, "syntax"), (3, "duplicate-key")]),
        ("a: 1\n---\nb: 2\n", {"a": "broken", "b": "2"}, [(2, "syntax")]),
    ],
)
def test_one_slip_costs_one_key(text: str, states: dict[str, str], told: Told) -> None:
    keys, problems = read(text)
    assert state(keys) == states and problems == told
    later, shifted = read(text, 11)
    assert shifted == [(line + 10, rule) for line, rule in told]
    assert [pair.line for pair in later.pairs.values()] == [
        pair.line + 10 for pair in keys.pairs.values()
    ]


def test_a_key_that_was_only_hidden_gives_way_to_one_that_is_read() -> None:
    keys, problems = read("b: 1\n  a: x\na: 2\nc: d: e\n")
    assert state(keys) == {"b": "broken", "a": "2", "c": "broken"}
    assert problems == [(2, "syntax"), (4, "syntax")]


def test_lists_and_keys_around_a_slip_keep_their_lines() -> None:
    keys, problems = read("a:\n  - 1\n  - 2\nb: c: d\ne:\n  f: 1\n")
    rows, inner = keys.pairs["a"].value, keys.pairs["e"].value
    assert isinstance(rows, Rows) and [item.line for item in rows.items] == [2, 3]
    assert isinstance(inner, Keys) and inner.pairs["f"].line == 6
    assert problems == [(4, "syntax")]


def test_every_slip_of_a_text_is_told_at_once() -> None:
    text = "a: b: c\nd: 1\ne: 'f\ng: 2\nh:3\ni: [1\nj: 4\n"
    keys, problems = read(text)
    assert problems == [(1, "syntax"), (3, "syntax"), (5, "syntax"), (6, "syntax")]
    assert state(keys) == {
        "a": "broken",
        "d": "1",
        "e": "broken",
        "g": "2",
        "h": "3",
        "i": "broken",
        "j": "4",
    }


def test_salvage_of_sound_keys_gives_what_the_parser_gives() -> None:
    text = "a: 1\nb:\n  - c\n  - d: e\nf: >\n  g\n  h\n"
    faults = Faults("a.yaml")
    assert salvage(text, faults, 3).pairs == read(text, 3)[0].pairs
    assert not faults.problems


LINES = st.sampled_from(
    ["k%d: text", "k%d: [a, b]", "k%d:\n  - a\n  - b", "k%d: {a: b}", "k%d: 'q'", "k%d: |-\n  t"]
)
SLIPS = st.sampled_from(
    ["s: x: y", "s: 'x", "s: [x", "s:x", "s: *x", "s: - x", "s: 'x' y", "s: [x]]", "s: @x"]
)


@given(st.lists(LINES, max_size=5), SLIPS, st.lists(LINES, max_size=5))
def test_wherever_a_slip_stands_the_keys_around_it_are_read(
    before: list[str], slip: str, after: list[str]
) -> None:
    above = "".join(line % at + "\n" for at, line in enumerate(before))
    below = "".join(line % (at + 50) + "\n" for at, line in enumerate(after))
    keys, problems = read(f"{above}{slip}\n{below}")
    assert problems == [(above.count("\n") + 1, "syntax")]
    whole, _ = read(f"{above}s: sound\n{below}")
    del whole.pairs["s"], keys.pairs["s"]
    assert keys.pairs == whole.pairs
