"""The scripts say the same words when publishing has taken their blanks and comments out.

The minifier (rjsmin) does not know a template literal within a template literal: what stands in
the inner one loses its blanks. So there is none.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rjsmin import jsmin

ROOT = Path(__file__).resolve().parent.parent
SOURCES = sorted((ROOT / "site").glob("*/*.js")) + sorted((ROOT / "site").glob("*.js"))
# From a backtick to an expression in the same literal, and in that another backtick.
NESTED = re.compile(r"`(?:[^`\\]|\\.)*?\$\{[^}`]*`", re.S)
COMMENT = re.compile(r"^\s*/\*.*?\*/|(?:^|\s)// [^\n]*", re.M | re.S)
TEXT = re.compile(r'"(?:[^"\\\n]|\\.)*"|`(?:[^`\\]|\\.)*`')


def code_of(path: Path) -> str:
    """Return a script without its comments, in which backticks may stand unpaired."""
    return COMMENT.sub("", path.read_text(encoding="utf-8"))


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_no_template_stands_within_a_template(path: Path) -> None:
    assert NESTED.findall(code_of(path)) == []


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.name)
def test_every_text_of_a_script_survives_the_minifier(path: Path) -> None:
    published = str(jsmin(path.read_text(encoding="utf-8")))
    assert [text for text in TEXT.findall(code_of(path)) if text not in published] == []


@pytest.mark.parametrize(
    ("code", "nested"),
    [
        ("a(`x ${b ? ` on ${b}` : 0}`)", True),
        ("a(`${b}` + `${c} d`)", False),
        ("a(`x ${f({b: 1})} y`, `${c}`)", False),
        ("`a \\` ${b}`; c(`d`)", False),
    ],
)
def test_a_template_within_a_template_is_told_from_one_beside_it(code: str, nested: bool) -> None:
    assert bool(NESTED.search(code)) is nested


def test_the_minifier_does_take_blanks_out_of_an_inner_template() -> None:
    """If it no longer does, the rule above can go."""
    assert "` on ${b}`" not in str(jsmin("x(`a ${b ? ` on ${b}` : 0}`);"))
