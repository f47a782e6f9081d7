"""Why YAML was refused, in plain words: the line to change, what is wrong and what to write."""

from __future__ import annotations

import pytest

from kb.faults import Faults
from kb.yamlrepair import read_keys
from kb.yamltext import Refusal
from kb.yamlwords import Reason, explain, glued, no_blank, no_colon


def told(text: str) -> tuple[int, str, str]:
    faults = Faults("a.yaml")
    read_keys(text, faults)
    (problem,) = faults.problems
    assert (problem.rule, problem.level) == ("syntax", "error")
    return problem.line, problem.message, problem.remedy


@pytest.mark.parametrize(
    ("text", "line", "message", "remedy"),
    [
        (
            "a: 1\nb: it hums: frozen\n",
            2,
            "a colon inside a text needs quotes around the text",
            'put the whole text in quotes: "… : …"',
        ),
        (
            "a:\n  - b: c: d\n",
            2,
            "a colon inside a text needs quotes around the text",
            'put the whole text in quotes: "… : …"',
        ),
        (
            "a: 1\nb: 'it hums\nc: 2\n",
            2,
            "a quotation mark is opened and not closed",
            "close it at the end of the text; inside '…' write '' for an apostrophe",
        ),
        (
            'a: ["x, y]\nb: 1\n',
            1,
            "a quotation mark is opened and not closed",
            "close it at the end of the text; inside '…' write '' for an apostrophe",
        ),
        (
            "a:\n- 'won't drain'\nb: 1\n",
            2,
            "a quotation mark is opened and not closed",
            "close it at the end of the text; inside '…' write '' for an apostrophe",
        ),
        (
            "a: 1\nb: [x, y\nc: 2\n",
            2,
            "a bracket is opened and not closed",
            "close the list with ], or the keys with }; text with brackets stands in quotes",
        ),
        (
            "a: {b: 1\nc: 2\n",
            1,
            "a bracket is opened and not closed",
            "close the list with ], or the keys with }; text with brackets stands in quotes",
        ),
        (
            "a: [[x] y]\n",
            1,
            "a comma is missing in this list, or a sign in it needs quotes",
            "separate the items by commas and put text with signs in quotes",
        ),
        (
            "a: 1\nb: 'x' y\n",
            2,
            "text goes on behind the closing quotation mark",
            "put all of the text inside the quotes; inside '…' write '' for an apostrophe",
        ),
        (
            "a: [E21] drain\n",
            1,
            "text goes on behind the closing bracket",
            "remove what is too much, or put the whole text in quotes",
        ),
        (
            "a: [1]]\n",
            1,
            "text goes on behind the closing bracket",
            "remove what is too much, or put the whole text in quotes",
        ),
        (
            "a: 1\n\tb: 2\n",
            2,
            "this line is indented with a tab",
            "indent with blanks; set your editor to do so",
        ),
        (
            "a:\n  b: 1\n \t c: 2\n",
            3,
            "this line is indented with a tab",
            "indent with blanks; set your editor to do so",
        ),
        (
            "a: *45A\n",
            1,
            "a value cannot begin with * unless it stands in quotes",
            'put it in quotes, as in "*45A"; anchors, aliases and tags are not used here',
        ),
        (
            "a: 1\nb: &x y\n",
            2,
            "a value cannot begin with & unless it stands in quotes",
            'put it in quotes, as in "&45A"; anchors, aliases and tags are not used here',
        ),
        (
            "a: !important\n",
            1,
            "a value cannot begin with ! unless it stands in quotes",
            'put it in quotes, as in "!45A"; anchors, aliases and tags are not used here',
        ),
        *(
            (
                f"a: 1\nb: {value}\n",
                2,
                f"a value cannot begin with {value.strip('[')[0]} unless it stands in quotes",
                "put the whole text in quotes",
            )
            for value in ("*", "[*]", "[* , x]", "&", "@home", "`x`", "%50")
        ),
        (
            "a: - b\n",
            1,
            "a list item begins on the line of its key",
            "put each “- item” on a line of its own, or write [item, item]",
        ),
        (
            "a: 1\n- b\n",
            2,
            "a list item stands where none can stand: the key above has its value already",
            "put all values into the list, one “- item” a line",
        ),
        (
            'a: "C:\\dir"\n',
            1,
            'a backslash inside "…" has a meaning of its own',
            "write the text in '…', where a backslash is a backslash",
        ),
        (
            "a: 1\nb:2\n",
            2,
            "after “b:” a blank is missing",
            "write “b: …” with a blank",
        ),
        (
            "a:\n  - b:1\n    c: 2\n",
            2,
            "after “b:” a blank is missing",
            "write “b: …” with a blank",
        ),
        (
            "a: 1\nstray words\nb: 2\n",
            2,
            "“stray words” is neither a key with its value nor an item of a list",
            "write “key: value”, begin a list item with “- ”, or indent the rest of a longer text",
        ),
        (
            "a: 1\n  b: 2\n",
            2,
            "this line is indented further than the keys that it belongs to",
            "let the keys of one block begin in the same column",
        ),
        (
            "a:\n  b: 1\n    c: 2\n",
            3,
            "this line is indented further than the keys that it belongs to",
            "let the keys of one block begin in the same column",
        ),
        (
            "a:\n   b: 1\n  c: 2\n",
            3,
            "the indentation of this line fits none of the lines above",
            "let the keys of one block, and the dashes of one list, begin in the same column",
        ),
        (
            "a:\n  - b: 1\n   - c: 2\n     d: 3\n  - e: 4\n",
            3,
            "the indentation of this line fits none of the lines above",
            "let the keys of one block, and the dashes of one list, begin in the same column",
        ),
        (
            "a:\n  - b\n- c\n",
            3,
            "the indentation of this line fits none of the lines above",
            "let the keys of one block, and the dashes of one list, begin in the same column",
        ),
        (
            "a:\n  b: 1\n  - c\n",
            3,
            "a list item stands where none can stand: the key above has its value already",
            "put all values into the list, one “- item” a line",
        ),
        (
            "a:1\n",
            1,
            "after “a:” a blank is missing",
            "write “a: …” with a blank",
        ),
        (
            "a:\n - b: 1\n    c: 2\n  - d: 3\n    e: 4\n",
            2,
            "this dash stands in another column than the keys below it ask for",
            "let the dashes of one list begin in the same column, two before their keys",
        ),
        (
            " a: 1\nb: 2\n",
            1,
            "this line is indented, the keys after it are not",
            "let all the keys begin at the left margin",
        ),
        (
            "a: 1\n---\nb: 2\n",
            2,
            "a second block of keys begins here",
            "keep one block of keys in a file",
        ),
        (
            "a: " + "[" * 60 + "]" * 60 + "\n",
            1,
            "lists and keys are nested too deeply",
            "remove the surplus brackets or indentation: four levels are the most that is needed",
        ),
    ],
)
def test_each_slip_has_its_line_its_words_and_its_remedy(
    text: str, line: int, message: str, remedy: str
) -> None:
    assert told(text) == (line, message, remedy)


@pytest.mark.parametrize(
    ("line", "is_glued"),
    [
        ("a:b", True),
        ("  a:b", True),
        ("- a:b", True),
        ("  - a-b:1", True),
        ("a:'b'", True),
        ("a:[b]", True),
        ("a: b", False),
        ("a:", False),
        ("a:\tb", False),
        ("https://x.example", False),
        ("12:30", False),
        ("two words:x", False),
        ("", False),
    ],
)
def test_a_colon_without_its_blank_is_seen(line: str, is_glued: bool) -> None:
    assert glued(line) is is_glued


def test_what_a_missing_blank_and_a_missing_colon_are_called() -> None:
    assert no_blank(3, "  - built:2024") == Reason(
        3, "after “built:” a blank is missing", "write “built: …” with a blank"
    )
    assert no_colon(4, "x" * 60).message == (
        "“" + "x" * 39 + "…” is neither a key with its value nor an item of a list"
    )


@pytest.mark.parametrize("lines", [["a b c"], ["", "a b c"], ["a", "b", "c"]])
def test_a_refusal_without_words_of_its_own_still_has_a_remedy(lines: list[str]) -> None:
    reason = explain(Refusal("something new", 99, 0, 0), lines)
    assert reason == Reason(
        len(lines) - 1,
        "this line cannot be read",
        "write it as “key: value”; where the text holds signs, put the whole text in quotes",
    )


def test_a_tab_above_the_place_of_the_refusal_is_blamed_first() -> None:
    lines = ["a:", "\tb: 1", "  c: d: e"]
    assert explain(Refusal("mapping values are not allowed", 2, 6, 0), lines).line == 1
    assert explain(Refusal("mapping values are not allowed", 0, 1, 0), lines).line == 0


def test_a_line_of_blanks_and_a_tab_alone_is_not_blamed() -> None:
    assert explain(Refusal("something new", 2, 0, 0), ["a: 1", "\t", "b"]).line == 2
