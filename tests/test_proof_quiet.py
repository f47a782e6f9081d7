"""A body taken to be quiet without being read has, when read, no notes and no pictures."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb import markup
from kb.proof.quiet import is_quiet

LINES = (
    "Take the cover off.",
    "::: warning",
    "::: danger Live parts",
    ":::",
    ":::notice",
    "::: Caution",
    "::: note",
    "::::",
    "text ::: warning",
    "  ::: warning",
    "- ::: warning",
    "> ::: caution",
    "> quoted",
    "- item",
    "  more of it",
    "1. step",
    "    indented",
    "\tindented",
    "| a | b |",
    "|---|---|",
    "| {5 kg} | {6 kg | x} |",
    "Torque {12 N m}, then {5/16 in}.",
    "Wrong {12 foo} and {5,5 mm}.",
    "Open { 5 kg",
    "{5",
    "kg}",
    "{{5 kg}}",
    "{see below}",
    "{max 35 ft}",
    "{}",
    "# Head",
    "Head",
    "---",
    "```",
    "~~~",
    "![](pump.svg)",
    "![pump](http://elsewhere.example/a.png)",
    "[here](javascript:alert)",
    "[here]: javascript:alert",
    "<javascript:alert>",
    r"\{12 foo}",
    "",
    "",
    "",
)


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from(LINES), max_size=10).map("\n".join))
def test_a_quiet_body_has_no_notes_and_no_pictures(text: str) -> None:
    if is_quiet(text):
        body = markup.read(text)
        assert (body.notes, body.pictures) == ((), ())


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Take the cover off.\n\n- one\n- two {12 N m}\n",
        "::: warning\nHot.\n:::\n\n::: danger Live parts\nOff first.\n:::\n",
        "Two {max 35 ft} and {see below}.",
    ],
)
def test_plainly_sound_bodies_are_quiet(text: str) -> None:
    assert is_quiet(text)


@pytest.mark.parametrize(
    "text",
    [
        "{12 foo}",
        "::: warning\nHot.",
        "::: note\nHot.\n:::",
        ":::",
        "![](pump.svg)",
        "[here](javascript:alert)",
        "::: warning\n::: danger\n:::\n:::",
    ],
)
def test_what_may_be_noted_is_not_quiet(text: str) -> None:
    assert not is_quiet(text)
