"""Who holds a term: arrays that answer as the plain table that they were made from."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from kb.holders import Holders, holders

FOUND = st.dictionaries(st.integers(0, 200), st.sampled_from([0.5, 1.0, 2.25]))


@given(FOUND, st.integers(0, 200))
def test_holders_are_the_table_that_they_were_made_from(
    found: dict[int, float], document: int
) -> None:
    held = holders(found)
    assert held == found
    assert list(held) == sorted(found)
    assert dict(held.weighed()) == found
    assert held.get(document) == found.get(document)
    assert (document in held) == (document in found)


@given(FOUND, st.sets(st.integers(0, 200)))
def test_what_weights_are_worth_is_told_of_all_or_of_some(
    found: dict[int, float], some: set[int]
) -> None:
    held = holders(found)
    assert held.worth(lambda weight: weight * 3) == {doc: w * 3 for doc, w in found.items()}
    few = {doc: w * 3 for doc, w in found.items() if doc in some}
    assert held.worth(lambda weight: weight * 3, some) == few


def test_nobody_holds_an_unknown_term() -> None:
    assert Holders() == {}
    assert Holders().worth(lambda weight: weight, {1, 2}) == {}
