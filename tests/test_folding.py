"""Typed text made comparable, and errors that carry their remedy."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import DateError, KbError, NotFound, Problem
from kb.folding import fold, fold_name, nearest


@pytest.mark.parametrize(
    ("typed", "folded"),
    [
        ("HR-310-1118", "HR3101118"),
        (" hr 310 1118 ", "HR3101118"),
        ("HR.310.1118", "HR3101118"),
        ("HR‑310‐1118–x—y−z", "HR3101118XYZ"),
        ("k p\t14\u00a000031", "KP1400031"),
        ("ＴＤ４５Ａ", "TD45A"),
        ("TD45A/3", "TD45A/3"),
        ("2026-014", "2026014"),
        ("--- . ", ""),
        ("", ""),
    ],
)
def test_blanks_hyphens_dots_and_case_never_matter(typed: str, folded: str) -> None:
    assert fold(typed) == folded


@given(st.text(alphabet="aB1-. –/ßé", max_size=12))
def test_folding_twice_changes_nothing(text: str) -> None:
    assert fold(fold(text)) == fold(text)
    assert fold_name(fold_name(text)) == fold_name(text)
    assert fold(text.upper()) == fold(text)


@pytest.mark.parametrize(
    ("typed", "folded"),
    [("  Drain   pump ", "drain pump"), ("DRAIN\nPUMP", "drain pump"), ("Tarn", "tarn"), ("", "")],
)
def test_names_keep_their_words_apart(typed: str, folded: str) -> None:
    assert fold_name(typed) == folded


@pytest.mark.parametrize(
    ("word", "near"),
    [
        ("famly", "family"),
        ("BULIT", "built"),
        ("serial", "serials"),
        ("plants", "plant"),
        ("family", "family"),
        ("zzz", None),
        ("", None),
    ],
)
def test_the_nearest_known_name_is_as_it_is_written(word: str, near: str | None) -> None:
    assert nearest(word, ["family", "built", "serials", "plant"]) == near
    assert nearest(word, []) is None


def test_a_stricter_bound_finds_less() -> None:
    assert nearest("bilt", ["built"], cutoff=0.95) is None
    assert nearest("bilt", ["built"], cutoff=0.5) == "built"


def test_problems_are_sorted_by_file_then_line() -> None:
    def at(file: str, line: int) -> Problem:
        return Problem(file=file, line=line, level="error", rule="r", message="m", remedy="d")

    given_ = [at("b.md", 1), at("a.md", 9), at("a.md", 2)]
    assert [(each.file, each.line) for each in sorted(given_)] == [
        ("a.md", 2),
        ("a.md", 9),
        ("b.md", 1),
    ]


@pytest.mark.parametrize("kind", [KbError, NotFound, DateError])
def test_every_error_says_what_is_wrong_and_carries_a_remedy(kind: type[KbError]) -> None:
    trouble = kind("no model X is known", "check the rating plate")
    assert str(trouble) == trouble.message == "no model X is known"
    assert trouble.remedy == "check the rating plate"
    assert kind("short").remedy == ""
    assert isinstance(trouble, KbError)
