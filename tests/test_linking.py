"""Numbers in running text: where one starts, where it ends, and what is left alone."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.folding import fold
from kb.linking import linked

KNOWN = {"E21", "E24", "F01", "2026014", "HR3104126", "OE"}


def known(number: str) -> str | None:
    return f"to/{fold(number)}" if fold(number) in KNOWN else None


def found(text: str) -> list[str]:
    return [piece for piece, href in linked(text, known) if href]


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("E21", ["E21"]),
        ("e21", ["e21"]),
        ("E-21", ["E-21"]),
        ("E 21", ["E 21"]),
        ("E\u00a021", ["E\u00a021"]),
        ("E‑21 with a hyphen that does not break", ["E‑21"]),
        ("E–21", ["E–21"]),
        ("(E21)", ["E21"]),
        ("E21/E24", ["E21", "E24"]),
        ("E21, E24; F-01.", ["E21", "E24", "F-01"]),
        ("E21-E24", ["E21", "E24"]),
        ("E21.", ["E21"]),
        ("2026-014", ["2026-014"]),
        ("2026.014", ["2026.014"]),
        ("2026014", ["2026014"]),
        ("HR-310-4126", ["HR-310-4126"]),
        ("HR 310 4126", ["HR 310 4126"]),
        ("hr3104126", ["hr3104126"]),
        ("OE", ["OE"]),
        ("E 21 and E 24", ["E 21", "E 24"]),
        ("non-E21", ["E21"]),
        ("E21-like", ["E21"]),
    ],
)
def test_a_number_is_found_however_it_is_typed(text: str, numbers: list[str]) -> None:
    assert found(text) == numbers


@pytest.mark.parametrize(
    "text",
    [
        "E211",
        "XE21",
        "1E21",
        "E21A",
        "E-21-5",
        "5-E21",
        "12026-014",
        "2026-0145",
        "HR-310-4126-1",
        "_E21",
        "E21_",
        "E21@example.com",
        "desk@E21",
        "https://example.com/E21",
        "an e 21",
        "E  21",
        "E\n21",
        "E. 21",
        "",
        "…",
    ],
)
def test_what_only_looks_like_a_number_is_left_alone(text: str) -> None:
    assert found(text) == []


def test_the_longest_number_wins() -> None:
    def either(number: str) -> str | None:
        return {"2026": "year", "2026014": "bulletin"}.get(fold(number))

    assert list(linked("2026-014", either)) == [("2026-014", "bulletin")]


@given(st.text(alphabet="E214-. OHR3/_@xé\n", max_size=40))
def test_the_pieces_put_together_are_the_text(text: str) -> None:
    pieces = list(linked(text, known))
    assert "".join(piece for piece, _ in pieces) == text
    assert all(piece for piece, _ in pieces)


@given(st.text(max_size=60))
def test_without_known_numbers_nothing_is_cut(text: str) -> None:
    assert [piece for piece, _ in linked(text, lambda number: None)] == ([text] if text else [])


@given(st.lists(st.sampled_from([*"AbE1.- —²→_@(", "E-21", "E24", "OE", "2026 014", "a drain"])))
def test_a_hint_hides_no_number(pieces: list[str]) -> None:
    text = "".join(pieces)
    hint = re.compile("[0-9²→]|OE")
    assert list(linked(text, known, hint)) == list(linked(text, known))
