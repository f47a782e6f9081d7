"""Where keys end and the body begins, and what is said where that is not clear."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.faults import Faults
from kb.frontmatter import Front, FrontLines, has_front, split
from kb.yamltext import LinePaths, Text

Told = list[tuple[int, str, str]]


def front(text: str) -> tuple[Front | None, Told]:
    faults = Faults("a.md")
    return split(text, faults), [(p.line, p.rule, p.level) for p in faults.problems]


def sound(text: str) -> tuple[dict[str, str], str, int]:
    found, problems = front(text)
    assert found is not None and not problems, problems
    keys = {}
    for name, pair in found.keys.pairs.items():
        assert isinstance(pair.value, Text)
        keys[name] = pair.value.text
    return keys, found.body, found.body_line


def said(text: str) -> tuple[str, str]:
    faults = Faults("a.md")
    split(text, faults)
    return faults.problems[0].message, faults.problems[0].remedy


@pytest.mark.parametrize("opens", ["---", "--- ", "---\t", "---   "])
@pytest.mark.parametrize("closes", ["---", "--- ", "---\t"])
def test_blanks_behind_a_fence_do_not_matter(opens: str, closes: str) -> None:
    assert has_front(f"{opens}\na: b\n")
    assert sound(f"{opens}\na: b\n{closes}\nText\n") == ({"a": "b"}, "Text\n", 4)


@pytest.mark.parametrize(
    "text", ["", "\n---\n", " ---\n", "----\n", "--\n", "# Title\n", "—\n", "---a\n", "- --\n"]
)
def test_only_three_hyphens_at_the_very_start_open_the_keys(text: str) -> None:
    assert not has_front(text)
    assert front(text)[0] is None


@pytest.mark.parametrize(
    ("text", "body", "line"),
    [
        ("---\na: b\n---", "", 4),
        ("---\na: b\n---\n", "", 4),
        ("---\na: b\n---\n\n", "\n", 4),
        ("---\na: b\n---\n\nText", "\nText", 4),
        ("---\na: b\n\n# more\nc: d\n---\nText\n", "Text\n", 7),
        ("---\na: b\n---\n---\n", "---\n", 4),
        ("---\na: b\n---\nText\n\n---\n\nMore\n", "Text\n\n---\n\nMore\n", 4),
        ("---\na: b\n---\nTitle\n---\nText\n", "Title\n---\nText\n", 4),
        ("---\na: b\n---\n```\n---\nnumber: 1\n---\n```\n", "```\n---\nnumber: 1\n---\n```\n", 4),
        ("---\na: b\n---\n~~~\n---\n~~~\n", "~~~\n---\n~~~\n", 4),
        ("---\na: b\n---\n| x |\n|---|\n| 1 |\n", "| x |\n|---|\n| 1 |\n", 4),
        ("---\na: b\n---\n\t---\n", "\t---\n", 4),
        ("---\na: b\n---\n  \n", "  \n", 4),
        ("---\na: b\n---\n...\n", "...\n", 4),
    ],
)
def test_all_behind_the_second_fence_is_body(text: str, body: str, line: int) -> None:
    found, problems = front(text)
    assert found is not None and not problems
    assert (found.body, found.body_line) == (body, line)


def test_no_keys_between_the_fences_is_no_matter_of_form() -> None:
    assert sound("---\n---\nText\n") == ({}, "Text\n", 3)
    assert sound("---\n\n---\nText\n") == ({}, "Text\n", 4)
    assert sound("---\n# later\n---\n") == ({}, "", 4)


@pytest.mark.parametrize("inside", ["----", " ---", "---x", "--- x", "a---"])
def test_a_line_that_only_resembles_the_fence_does_not_close(inside: str) -> None:
    found, _ = front(f"---\na: |\n  {inside}\n---\nText\n")
    assert found is not None and found.body == "Text\n"


@pytest.mark.parametrize(
    ("text", "says", "remedy"),
    [
        ("\n---\na: b\n---\n", "does not begin at the very start", "delete the blanks"),
        ("  ---\na: b\n---\n", "does not begin at the very start", "delete the blanks"),
        ("—\na: b\n---\n", "the first line is “—”, not three hyphens", "editor"),
        ("----\na: b\n---\n", "the first line is “----”, not three hyphens", "write “---”"),
        ("***\na: b\n***\n", "the first line is “***”", "write “---”"),
        ("+++\na: b\n+++\n", "the first line is “+++”", "write “---”"),
        ("a: b\n---\n", "are not opened by a line of “---”", "before the first key"),
        ("\n\na: b\n", "are not opened by a line of “---”", "before the first key"),
        ("number:2026\n", "are not opened by a line of “---”", "before the first key"),
        ("# Title\n", "has no front matter", "kb draft"),
        ("", "has no front matter", "kb draft"),
        ("   \n\n", "has no front matter", "kb draft"),
        ("\n" * 60 + "a: b\n", "has no front matter", "kb draft"),
    ],
)
def test_without_keys_it_is_said_what_stands_at_the_start(
    text: str, says: str, remedy: str
) -> None:
    found, problems = front(text)
    assert found is None and problems == [(1, "front-matter", "error")]
    message, what_to_do = said(text)
    assert says in message and remedy in what_to_do


@pytest.mark.parametrize(
    ("text", "says", "keys", "body", "line"),
    [
        ("---\na: b\nc: d\n", "no line of “---” ends it", ["a", "c"], "", 5),
        ("---\na: b\n\nThe pump hums.\n", "no line of “---”", ["a"], "The pump hums.\n", 4),
        ("---\na: b\n--\nText.\n", "line 3 is “--”", ["a"], "Text.\n", 4),
        ("---\na: b\n ---\nText.\n", "line 3 is “---”", ["a"], "Text.\n", 4),
        ("---\na: b\n***\nText.\n", "line 3 is “***”", ["a"], "Text.\n", 4),
        ("---\na: b\n—\nText.\n", "line 3 is “—”", ["a"], "Text.\n", 4),
        ("---\na: b\n----\nText.\n", "line 3 is “----”", ["a"], "Text.\n", 4),
        ("---\na: b\n\nText: more.\n\n--\n", "line 6 is “--”", ["a", "Text"], "", 7),
        ("---\na: b\n\n## Cause\n", "no line of “---”", ["a"], "## Cause\n", 4),
        ("---\na: b\n\n1. Pull it.\n", "no line of “---”", ["a"], "1. Pull it.\n", 4),
        ("---\na: b\n\n> Quote\n", "no line of “---”", ["a"], "> Quote\n", 4),
        ("---\na: b\n\n::: danger\n", "no line of “---”", ["a"], "::: danger\n", 4),
        ("---\na: b\n\n![x](y.svg)\n", "no line of “---”", ["a"], "![x](y.svg)\n", 4),
        ("---\na: b\n\nIt hums.\n\n---\n\nMore.\n", "ends it", ["a"], "It hums.\n\n---\n", 4),
    ],
)
def test_a_missing_second_fence_is_told_once_and_the_keys_are_read(
    text: str, says: str, keys: list[str], body: str, line: int
) -> None:
    found, problems = front(text)
    assert problems == [(1, "front-matter", "error")]
    assert says in said(text)[0]
    assert "behind the last key" in said(text)[1]
    assert found is not None and list(found.keys.pairs) == keys
    assert found.body.startswith(body) and found.body_line == line


def test_slips_in_the_keys_count_from_the_start_of_the_file() -> None:
    found, problems = front("---\na: b: c\nd: e\n---\n")
    assert problems == [(2, "syntax", "error")]
    assert found is not None and found.keys.pairs["d"].line == 3


@pytest.mark.parametrize(
    ("line", "warned"),
    [
        ("title: Pump #2", True),
        ("title: pump, see #2 of 4", True),
        ("- pump #2", True),
        ("title: Pump # 2", False),
        ("title: Pump #two", False),
        ("title: 'Pump #2'", False),
        ("title: Pump#2", False),
        ("title: [a, b] #2", False),
        ("title: # 2", False),
    ],
)
def test_text_behind_a_number_sign_that_is_lost_is_warned_of_at_its_line(
    line: str, warned: bool
) -> None:
    head = f"a: b\ntools:\n{line}" if line.startswith("-") else f"a: b\nc: d\n{line}"
    _, problems = front(f"---\n{head}\n---\n")
    assert problems == ([(4, "cut-off", "warning")] if warned else [])


BODY = st.text(alphabet="ab -#\n`~|:>*.", max_size=60)


@given(BODY)
def test_any_body_comes_back_as_typed(body: str) -> None:
    assert sound(f"---\na: b\n---\n{body}") == ({"a": "b"}, body, 4)


@given(st.lists(st.sampled_from(["", "# note", "  # note"]), max_size=5), BODY)
def test_the_body_starts_where_it_starts(lines: list[str], body: str) -> None:
    head = "".join(f"{line}\n" for line in lines)
    text = f"---\n{head}a: b\n---\n{body}"
    _, found, line = sound(text)
    assert text.split("\n", line - 1)[-1] == found == body


ODD = (
    "number: 2026-014",
    "number 2026-014",
    "title: a: b",
    "title: 'a",
    "title: *a",
    "codes: [E21, E22",
    "codes: [E21, E22]",
    "checks:",
    "  - cause: one",
    "    test: two",
    "  - [three]",
    "\tminutes: 5",
    "parts: {number: a, quantity: 2}",
    "x-own: yes",
    "kind:repair",
    "",
    "Text of a body.",
    "# Head",
    "---",
)


@given(st.lists(st.sampled_from(ODD), max_size=12))
def test_the_lines_read_once_more_are_those_of_the_keys(lines: list[str]) -> None:
    found = split("\n".join(["---", *lines]), Faults("a.md"))
    assert found is not None
    assert dict(FrontLines(found.head)) == dict(LinePaths(found.keys))
    assert dict(pickle.loads(pickle.dumps(FrontLines(found.head)))) == dict(LinePaths(found.keys))
