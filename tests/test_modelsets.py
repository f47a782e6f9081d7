"""Sets of models: patterns met, taken away, and held against every model of a small world."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.modelsets import Models, fits

# Every model of one to three letters A and B, and the patterns of up to three signs.
WORLD = ["".join(signs) for length in (1, 2, 3) for signs in product("AB", repeat=length)]
PATTERNS = ["".join(signs) for length in (1, 2, 3) for signs in product("AB*?", repeat=length)]
_SOME = st.lists(st.sampled_from(PATTERNS), min_size=1, max_size=3, unique=True).map(tuple)


def _held(models: Models | None) -> set[str]:
    if models is None:
        return set()
    return {
        model
        for model in WORLD
        if (not models.only or fits(models.only, model)) and not fits(models.but, model)
    }


def _named(patterns: tuple[str, ...]) -> set[str]:
    return {model for model in WORLD if fits(patterns, model)}


@pytest.mark.parametrize(
    ("patterns", "model", "found"),
    [
        ((), "TD45A", False),
        (("TD45*",), "TD45A", True),
        (("TD60*", "TD45?"), "TD45A", True),
        (("TD60*", "TD45"), "TD45A", False),
        (("td-45 a",), "TD45A", True),
    ],
)
def test_a_model_fits_where_any_pattern_does(
    patterns: tuple[str, ...], model: str, found: bool
) -> None:
    assert fits(patterns, model) is found


def test_without_patterns_nothing_is_cut() -> None:
    assert Models(("TD45*",)).within(()) == Models(("TD45*",))
    assert Models().within(()) == Models()
    assert Models().without(()) == Models()


@given(_SOME)
@settings(max_examples=60, deadline=None)
def test_all_models_within_patterns_are_those_that_fit(patterns: tuple[str, ...]) -> None:
    assert _held(Models().within(patterns)) == _named(patterns)


@given(_SOME)
@settings(max_examples=60, deadline=None)
def test_all_models_without_patterns_are_those_that_do_not_fit(patterns: tuple[str, ...]) -> None:
    assert _held(Models().without(patterns)) == set(WORLD) - _named(patterns)


@given(_SOME, _SOME)
@settings(max_examples=80, deadline=None)
def test_taking_away_leaves_exactly_the_rest(only: tuple[str, ...], but: tuple[str, ...]) -> None:
    rest = Models(only).without(but)
    assert _held(rest) == _named(only) - _named(but)


@given(_SOME, _SOME)
@settings(max_examples=80, deadline=None)
def test_meeting_loses_no_model_and_adds_none_of_others(
    one: tuple[str, ...], other: tuple[str, ...]
) -> None:
    met = _held(Models(one).within(other))
    assert _named(one) & _named(other) <= met <= _named(other)


@given(_SOME, _SOME, _SOME)
@settings(max_examples=60, deadline=None)
def test_what_was_taken_away_stays_away(
    one: tuple[str, ...], but: tuple[str, ...], other: tuple[str, ...]
) -> None:
    rest = Models(one).without(but)
    again = rest.within(other) if rest else None
    assert not _held(again) & _named(but)


@pytest.mark.parametrize(
    ("one", "other", "kept"),
    [
        (("TD*",), ("TD45A", "TD60A", "SD7V"), ("TD45A", "TD60A")),
        (("TD45A", "TD45A"), ("TD45*",), ("TD45A",)),
        (("*",), ("TD45*",), ("TD45*",)),
        (("TD??A",), ("TD45*",), ("TD45*",)),  # neither holds the other: the second is taken
        (("TD45A",), ("SD7V",), None),
        (("A*",), ("*B",), ("*B",)),
        (("A?",), ("A",), None),
    ],
)
def test_of_two_patterns_the_narrower_is_kept(
    one: tuple[str, ...], other: tuple[str, ...], kept: tuple[str, ...] | None
) -> None:
    found = Models(one).within(other)
    assert (found.only if found else None) == kept
