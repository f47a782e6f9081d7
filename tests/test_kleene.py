"""Three-valued logic: Kleene's strong tables, whole."""

from __future__ import annotations

from itertools import product

import pytest

from kb.kleene import agreed, every, opposite, some
from kb.records import Verdict

RANK: dict[Verdict, int] = {"no": 0, "maybe": 1, "yes": 2}
ALL: list[Verdict] = ["no", "maybe", "yes"]

# S. C. Kleene, Introduction to Metamathematics, 1952, section 64, the strong tables (from memory).
AND = {
    ("yes", "yes"): "yes",
    ("yes", "maybe"): "maybe",
    ("yes", "no"): "no",
    ("maybe", "maybe"): "maybe",
    ("maybe", "no"): "no",
    ("no", "no"): "no",
}
OR = {
    ("yes", "yes"): "yes",
    ("yes", "maybe"): "yes",
    ("yes", "no"): "yes",
    ("maybe", "maybe"): "maybe",
    ("maybe", "no"): "maybe",
    ("no", "no"): "no",
}


@pytest.mark.parametrize(("a", "b"), list(product(ALL, ALL)))
def test_and_or_are_the_strong_tables(a: Verdict, b: Verdict) -> None:
    pair = (a, b) if (a, b) in AND else (b, a)
    assert every([a, b]) == AND[pair]
    assert some([a, b]) == OR[pair]


@pytest.mark.parametrize("verdicts", list(product(ALL, repeat=3)))
def test_over_many_they_are_the_least_and_the_greatest(verdicts: tuple[Verdict, ...]) -> None:
    assert RANK[every(verdicts)] == min(RANK[v] for v in verdicts)
    assert RANK[some(verdicts)] == max(RANK[v] for v in verdicts)


@pytest.mark.parametrize("verdicts", list(product(ALL, repeat=2)))
def test_de_morgan(verdicts: tuple[Verdict, ...]) -> None:
    assert opposite(every(verdicts)) == some(opposite(v) for v in verdicts)


def test_nothing_asked_holds_and_nothing_offered_does_not() -> None:
    assert every([]) == "yes"
    assert some([]) == "no"


@pytest.mark.parametrize(
    ("verdicts", "found"),
    [
        (["yes"], "yes"),
        (["no", "no"], "no"),
        (["yes", "yes", "yes"], "yes"),
        (["yes", "no"], "maybe"),
        (["yes", "maybe"], "maybe"),
        (["no", "maybe"], "maybe"),
        (["maybe"], "maybe"),
    ],
)
def test_readings_must_agree(verdicts: list[Verdict], found: Verdict) -> None:
    assert agreed(verdicts) == found
