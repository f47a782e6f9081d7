"""Bodies: Markdown to HTML held to golden cases, plain text, and notes with their lines."""

from __future__ import annotations

import re
import string
import time
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from kb.folding import fold
from kb.markup import ALERT, html, read
from kb.outlines import Placed
from tests.well_formed import problems_of

KNOWN = {
    "E21": "codes/E21/",
    "E24": "codes/E24/",
    "2026014": "bulletins/2026-014/",
    "HR3104126": "parts/HR-310-4126/",
}
CASES = Path(__file__).parent / "cases" / "markup.md"


def known(number: str) -> str | None:
    return KNOWN.get(fold(number))


def nothing(number: str) -> None:
    return None


def shown(typed: str, units: str = "metric") -> str:
    """Return what a body says when shown, without its marks."""
    return re.sub(r"<[^>]*>", "", html(read(typed), known, units))


def golden() -> list[tuple[str, str, str]]:
    blocks = re.findall(
        r"^([^\n]+)\n\.\n(.*?)\n\.\n(.*?)\n\.$", CASES.read_text("utf-8"), re.M | re.S
    )
    return [(title, typed, shown) for title, typed, shown in blocks]


@pytest.mark.parametrize(
    ("typed", "shown"), [pytest.param(t, s, id=title) for title, t, s in golden()]
)
def test_a_body_is_shown_as_the_golden_case_says(typed: str, shown: str) -> None:
    assert html(read(typed), known).replace(ALERT, "(!)").rstrip("\n") == shown


def test_every_golden_case_is_read() -> None:
    assert len(golden()) == CASES.read_text("utf-8").count("\n.\n") // 3


@pytest.mark.parametrize(("_title", "typed", "_shown"), golden())
def test_the_html_of_every_case_is_well_formed(_title: str, typed: str, _shown: str) -> None:
    assert problems_of(html(read(typed), known)) == []


# Signal words: ANSI Z535.4-2007 section 4.14 as quoted by safetylabel.com (danger, warning and
# caution are about injury and carry the safety-alert symbol) and by electromark.com (notice is
# not about injury and has no symbol).
SIGNALS = [("danger", True), ("warning", True), ("caution", True), ("notice", False)]


@pytest.mark.parametrize(("word", "symbol"), SIGNALS)
def test_the_safety_alert_symbol_stands_before_words_about_injury_only(
    word: str, symbol: bool
) -> None:
    shown = html(read(f"::: {word}\nText\n:::"), nothing)
    assert (ALERT in shown) is symbol
    assert f"{word.upper()}</p>" in shown


def test_there_are_exactly_four_signal_words() -> None:
    for word in ("attention", "hazard", "note", "tip", "info", "important", "dangers"):
        assert [n.rule for n in read(f"::: {word}\nText\n:::").notes] == ["panel-unknown"]


NOTES = [
    ("::: danger\nGas.", 1, "panel-unclosed", "':::'"),
    ("Text.\n\n::: warning\nOne.\n\n::: caution\nTwo.\n:::", 3, "panel-unclosed", "alone"),
    ("- a\n\n  ::: warning\n  inside\n\nout", 3, "panel-unclosed", "alone"),
    ("::: dangre\nGas.\n:::", 1, "panel-unknown", "did you mean 'danger'?"),
    ("::: note\nGas.\n:::", 1, "panel-unknown", "did you mean 'notice'?"),
    ("Text.\n\n:::\n", 3, "panel-stray", "open the panel"),
    ("One\ntwo\n![](a.svg)", 3, "picture-alt", "what it shows"),
    ("![ ](a.svg)", 1, "picture-alt", "what it shows"),
    ("\n![pump](http://example.com/a.svg)", 2, "picture-remote", "own folder"),
    ("![pump](//example.com/a.svg)", 1, "picture-remote", "own folder"),
    ("![pump](data:image/png;base64,AAAA)", 1, "picture-remote", "own folder"),
    ("![pump](../a.svg)", 1, "picture-outside", "own folder"),
    ("![pump](/a.svg)", 1, "picture-outside", "own folder"),
    ("![pump](%2e%2e/a.svg)", 1, "picture-outside", "own folder"),
    ("a\n[x](javascript:alert(1))", 2, "link-scheme", "https"),
    ("a\\\nb\n<vbscript:x>", 3, "link-scheme", "https"),
    ("[x]\n\n[x]: data:text/html,x", 1, "link-scheme", "https"),
    ("| a |\n|---|\n| b |\n| [x](ftp://x) |", 4, "link-scheme", "https"),
    ("First.\n\nTorque {12 blorps}.", 3, "quantity", ""),
    ("{1,5 N m}", 1, "quantity", "point"),
]


@pytest.mark.parametrize(("typed", "line", "rule", "remedy"), NOTES)
def test_what_is_wrong_is_noted_with_its_line_and_remedy(
    typed: str, line: int, rule: str, remedy: str
) -> None:
    (note,) = read(typed).notes
    assert (note.line, note.rule) == (line, rule)
    assert remedy in note.remedy
    assert note.message


@pytest.mark.parametrize(
    "typed",
    [
        "::: danger\nGas.\n:::",
        ":::warning\nGas.\n:::",
        "::: caution :::\nGas.\n:::",
        ":::: notice\nGas.\n::::",
        "![pump](2026-014/a.svg)",
        "[x](https://example.com) [y](mailto:a@example.com) [z](other.md) [f](#checks)",
        "{12 N m} and {see the chart}",
        "    ::: danger",
        "```\n::: danger\n```",
        "",
    ],
)
def test_a_sound_body_has_no_notes(typed: str) -> None:
    assert read(typed).notes == ()


def test_lines_count_from_the_line_on_which_the_body_starts() -> None:
    (note,) = read("One.\n\n![](a.svg)", first_line=14).notes
    assert note.line == 16


def test_a_picture_beside_the_bulletins_folder_is_in_the_house_where_the_folder_is_known() -> None:
    assert read("![x](../shared/a.svg)", folder="2026").notes == ()
    assert [n.rule for n in read("![x](../../a.svg)", folder="2026").notes] == ["picture-outside"]


def test_notes_stand_in_order_of_lines() -> None:
    notes = read("![](a.svg)\n\n::: dangre\n[x](data:x)\n:::\n\n:::").notes
    assert [n.line for n in notes] == sorted(n.line for n in notes)
    assert len(notes) == 4


def test_pictures_are_listed_with_address_words_and_line() -> None:
    body = read("Text.\n\n![pump *below*](2026-014/a.svg)\n\n![b](b.png)", 10)
    assert body.pictures == (("2026-014/a.svg", "pump below", 12), ("b.png", "b", 14))
    assert body.files == ("2026-014/a.svg", "b.png")


# Plain text


TEXTS = [
    ("# Head\n\nOne\ntwo *three*.", "Head\nOne two three."),
    ("| a | b |\n|---|---|\n| E21 | `x` |", "a | b\nE21 | x"),
    ("::: warning\nMains.\n:::", "WARNING\nMains."),
    ("::: caution Hot water\n- Let it cool.\n:::", "CAUTION Hot water\nLet it cool."),
    ("```\none\n\ntwo\n```", "one\ntwo"),
    ("![pump from below](a.svg)", "pump from below"),
    ("Torque {12 N m}", "Torque 12 N m"),
    ("<b>bold</b> &amp; more", "<b>bold</b> & more"),
    ("[words](https://example.com)", "words"),
    ("- one\n- two\n\n> three", "one\ntwo\nthree"),
    ("", ""),
]


@pytest.mark.parametrize(("typed", "text"), TEXTS)
def test_the_plain_text_has_a_line_for_each_block(typed: str, text: str) -> None:
    assert read(typed).text == text


FIRST = [
    ("One *two*.\n\nThree.", "One two."),
    ("# Head\n\nAfter it.", "After it."),
    ("::: danger\nGas.\n:::\n\nAfter it.", "After it."),
    ("- list\n\nAfter it.", "After it."),
    ("> said\n\nAfter it.", "After it."),
    ("![alone](a.svg)\n\nAfter it.", "After it."),
    ("| a |\n|---|\n| b |\n\nAfter it.", "After it."),
    ("- only\n- a list", ""),
    ("", ""),
]


@pytest.mark.parametrize(("typed", "first"), FIRST)
def test_the_first_paragraph_is_the_first_that_stands_alone(typed: str, first: str) -> None:
    assert read(typed).first_paragraph == first


# Showing


def test_a_picture_is_shown_at_its_size_where_it_is_published() -> None:
    shown = html(read("![pump](a.svg)"), nothing, place=lambda name: Placed("b.svg", 320, 200))
    assert '<img src="b.svg" alt="pump" width="320" height="200">' in shown


def test_a_picture_that_is_not_published_is_named_in_words() -> None:
    assert "[pump]" in html(read("![pump](a.svg)"), nothing, place=lambda name: None)


def test_a_link_to_a_file_that_is_not_published_is_plain_words() -> None:
    assert "<a" not in html(read("[chart](a.exe)"), nothing, place=lambda name: None)
    shown = html(read("[chart](a.pdf)"), nothing, place=lambda name: Placed("b.pdf"))
    assert '<a href="b.pdf">chart</a>' in shown


def test_the_first_unit_system_is_the_houses() -> None:
    # NIST SP 811 (2008) App. B.9: 1 lbf in = 0.1129848 N m, so 12 N m is 106 lbf in.
    assert "12 N·m (106 lbf·in)" in shown("{12 N m}", "metric")
    assert "106 lbf·in (12 N·m)" in shown("{12 N m}", "us")


def test_showing_a_body_twice_gives_the_same() -> None:
    body = read("# E21\n\n[x](javascript:1) ![p](../a.svg) {12 N m}\n\n|a|\n|-:|\n|b|")
    assert html(body, known) == html(body, known)


@given(st.text(sorted({*string.printable, "é", "²"} - {*"{:"}), max_size=60))
def test_text_without_any_mark_is_read_as_the_library_reads_it(text: str) -> None:
    """The reference is markdown-it-py itself, with CommonMark and our two rules more."""
    library = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    library.validateLink = lambda url: True  # type: ignore[method-assign]
    mine, theirs = (
        [
            (child.type, child.content, child.level)
            for token in tokens
            for child in token.children or []
        ]
        for tokens in (read(text).tokens, library.parse(text))
    )
    assert mine == theirs


@given(st.text(max_size=300))
def test_nothing_that_is_typed_makes_reading_or_showing_fail(typed: str) -> None:
    body = read(typed)
    shown = html(body, known)
    assert "<script" not in shown
    assert problems_of(shown) == []


PIECES = st.sampled_from(
    [
        "::: danger",
        ":::",
        "\n",
        "\n\n",
        "- ",
        "> ",
        "    ",
        "| a |\n|---|\n",
        "`",
        "```\n",
        "**",
        "[x](",
        ")",
        "javascript:alert(1)",
        "<script>",
        "{12 N m}",
        "![",
        "](a.svg)",
        "E21",
        "&lt;",
    ]
)


@given(st.lists(PIECES, max_size=25).map("".join))
def test_any_mixture_of_marks_gives_balanced_html_without_script(typed: str) -> None:
    shown = html(read(typed), known)
    assert problems_of(shown) == []
    assert not re.search(r"<script|href=\"\s*(javascript|data|vbscript)|\son\w+=", shown, re.I)


@pytest.mark.parametrize(
    "typed",
    [
        ">" * 5000 + " deep",
        "[" * 5000,
        "![" * 3000,
        "*a " * 4000,
        "{1 " * 4000,
        "E-21-" * 3000,
        "\n".join(["::: danger"] * 300),
    ],
)
def test_hostile_input_is_read_and_shown_within_two_seconds(typed: str) -> None:
    begun = time.process_time()
    html(read(typed), known)
    assert time.process_time() - begun < 2
