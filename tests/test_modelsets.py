"""Patterns that limit a row of parts.csv to models."""

from __future__ import annotations

from fnmatch import fnmatchcase

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.modelsets import Models, fits


@pytest.mark.parametrize(
    ("patterns", "model", "found"),
    [
        ((), "TD45A", False),
        (("TD45*",), "TD45A", True),
        (("TD60*", "TD45?"), "TD45A", True),
        (("TD60*", "TD45"), "TD45A", False),
        (("td-45 a",), "TD45A", True),
        (("*",), "", True),
    ],
)
def test_a_model_fits_where_any_pattern_does(
    patterns: tuple[str, ...], model: str, found: bool
) -> None:
    assert fits(patterns, model) is found


@given(
    st.lists(st.text(alphabet="AB1*?", max_size=4), max_size=3),
    st.text(alphabet="AB1", max_size=4),
)
def test_patterns_fit_as_those_of_file_names_do(patterns: list[str], model: str) -> None:
    assert fits(patterns, model) == any(fnmatchcase(model, pattern) for pattern in patterns)


@given(
    st.lists(st.text(alphabet="AaB1-", max_size=4), max_size=8, unique=True),
    st.text(alphabet="AB1*?", max_size=4),
)
def test_the_models_of_a_pattern_are_those_it_fits(names: list[str], pattern: str) -> None:
    assert Models(names).of(pattern) == {name for name in names if fits([pattern], name)}
