"""Ranking for all documents at once agrees, to the last bit, with ranking them one by one."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb.asking import Asked
from kb.hits import Hit, best_of
from kb.matching import Matcher
from kb.ranking import Ranking
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.memory_index import MemoryIndex, index_of
from tests.slow_ranking import SlowRanking

RINGS = [["leak", "drip", "water on floor"], ["hum", "buzz"], ["does not drain", "stays full"]]
WORDING = Wording(prepare({**load_words(), "rings": RINGS}))
WORDS = [
    "leak", "leaks", "drip", "water", "floor", "on", "hum", "hums", "buzz", "drain", "draining",
    "not", "full", "stays", "pump", "pumps", "door", "seal", "washer", "dryer", "machine",
    "dr", "w",
]  # fmt: skip
LINE = st.lists(st.sampled_from(WORDS), max_size=6).map(" ".join)
TEXT = st.fixed_dictionaries(
    {"title": LINE, "symptoms": LINE, "body": LINE, "product": st.sampled_from(["", "washer"])}
)
CODES = st.dictionaries(
    st.integers(0, 90),
    st.dictionaries(st.sampled_from(["E21", "F5"]), st.sampled_from(["front", "body"])),
)
NUMBERS = {
    "codes": st.lists(st.sampled_from(["E21", "F-5", "X1"]), max_size=2, unique=True).map(tuple),
    "quotes": st.lists(LINE.map(WORDING.words).filter(bool).map(tuple), max_size=1).map(tuple),
    "unfinished": st.booleans(),
}


def told(hits: list[Hit]) -> list[tuple[Any, ...]]:
    """Return everything that is known of hits, in order, for comparing."""
    return [
        (h.document, h.score, h.weighed, h.found, h.share, h.exact, h.named, h.through)
        for h in hits
    ]


def both(
    index: MemoryIndex, typed: str, more: Mapping[str, Any]
) -> tuple[Ranking, list[Hit], Asked]:
    """Return the fast ranking, the hits of the slow one, and what was asked."""
    asked = Asked(text=typed, words=tuple(WORDING.words(typed)), **more)
    groups = Matcher(WORDING, index).groups(asked.words, asked.unfinished)
    return Ranking(index, WORDING), SlowRanking(index, WORDING).rank(asked, groups, {}), asked


@settings(max_examples=300, deadline=None)
@given(st.lists(TEXT, max_size=9), CODES, LINE, st.fixed_dictionaries(NUMBERS))
def test_the_same_hits_with_the_same_figures(
    texts: list[dict[str, str]], codes: Any, typed: str, more: dict[str, Any]
) -> None:
    index = index_of(WORDING, texts, codes)
    ranking, slow, asked = both(index, typed, more)
    groups = Matcher(WORDING, index).groups(asked.words, asked.unfinished)
    assert told(ranking.rank(asked, groups, {})) == told(slow)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(TEXT, min_size=1, max_size=3),
    st.integers(60, 100),
    CODES,
    LINE,
    st.fixed_dictionaries(NUMBERS),
    st.sampled_from([0.0, 0.4, 0.9]),
    st.integers(0, 5),
)
def test_of_many_hits_the_first_and_the_rest_are_those_of_the_whole_order(
    texts: list[dict[str, str]],
    many: int,
    codes: Any,
    typed: str,
    more: dict[str, Any],
    floor: float,
    most: int,
) -> None:
    index = index_of(WORDING, [texts[at % len(texts)] for at in range(many)], codes)
    ranking, slow, asked = both(index, typed, more)
    groups = Matcher(WORDING, index).groups(asked.words, asked.unfinished)
    fit = ranking.fit(asked, groups, {})
    assert told(fit.first) == told(slow[: len(fit.first)])
    left = [hit for hit in slow[len(fit.first) :] if hit.exact or hit.share >= floor]
    assert told(fit.rest(floor, most)) == told(left[:most])
    some = set(range(0, many, 3))
    assert told(fit.rest(within=some)) == told(
        [hit for hit in slow[len(fit.first) :] if hit.document in some]
    )


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.lists(TEXT, min_size=6, max_size=25),
    CODES,
    LINE,
    st.fixed_dictionaries(NUMBERS),
    st.integers(1, 4),
)
def test_what_is_left_out_early_could_not_have_been_among_the_first(
    monkeypatch: pytest.MonkeyPatch,
    texts: list[dict[str, str]],
    codes: Any,
    typed: str,
    more: dict[str, Any],
    few: int,
) -> None:
    monkeypatch.setattr("kb.ranking._CLOSER_LOOK", few)
    monkeypatch.setattr("tests.slow_ranking._CLOSER_LOOK", few)
    index = index_of(WORDING, texts, codes)
    ranking, slow, asked = both(index, typed, more)
    groups = Matcher(WORDING, index).groups(asked.words, asked.unfinished)
    fit = ranking.fit(asked, groups, {})
    assert told(fit.first) == told(slow[: len(fit.first)])
    every = set(range(0, len(texts), 2))
    some = [hit for hit in slow[len(fit.first) :] if hit.document in every]
    assert told(fit.rest(within=every)) == told(some)
    assert told(fit.rest()) == told(slow[len(fit.first) :])


def test_common_words_are_not_added_up_for_what_holds_nothing_else() -> None:
    texts = [{"title": "pump"}] * 100 + [{"title": "pump zeolite valve"}] * 60
    index = index_of(WORDING, texts)
    ranking, slow, asked = both(index, "pump zeolite", {})
    fit = ranking.fit(asked, Matcher(WORDING, index).groups(asked.words, False), {})
    assert not fit.whole
    assert set(fit.scores) == set(range(100, 160))
    assert told(fit.first + fit.rest()) == told(slow)


@given(st.dictionaries(st.integers(0, 50), st.sampled_from([0.5, 1.0, 2.0])), st.integers(0, 9))
def test_the_best_are_the_first_of_all_in_order(scores: dict[int, float], most: int) -> None:
    assert best_of(scores, most) == best_of(scores, None)[:most]
