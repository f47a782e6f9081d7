"""How well a bulletin fits: BM25 held to published figures, then codes, parts, products, quotes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.asking import Asked
from kb.entries import Entry
from kb.hits import Hit
from kb.matching import Matcher
from kb.ranking import Ranking
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.memory_index import MemoryIndex, index_of

TABLE = prepare({**load_words(), "rings": [["leak", "drip"], ["hum", "buzz"]]})
WORDING = Wording(TABLE)
WEIGHTS = WORDING.weights

# Five documents of a toy corpus, with the scores of the question "drain" that a BM25 written
# independently gives with k1 1.2, b 0.75, mean length 4.8 and idf ln(1 + (N - n + ½)/(n + ½));
# bm25s 0.3.16 ("lucene") gives the same divided by 2.2: 0.427058 and 0.511223. The formula is that
# of Robertson and Zaragoza, "The Probabilistic Relevance Framework: BM25 and Beyond", FnTIR 3(4),
# 2009, doi 10.1561/1500000019.
TOY = [
    "dryer no heat thermal fuse",
    "dryer drum noise bearing noise",
    "washer drain pump noise",
    "refrigerator no cool compressor",
    "washer no drain drain hose kink",
]
TOY_SCORES = {2: 0.939527, 4: 1.124690}


def toy_wording() -> Wording:
    """Return words with one field that weighs 1, b 0.75 and length 4.8, and no other gain."""
    fields = {
        name: {**each, "weight": 1, "b": 0.75, "length": 4.8}
        for name, each in TABLE["weights"]["fields"].items()
    }
    weights = {**TABLE["weights"], "k1": 1.2, "fields": fields, "line_bonus": 0}
    return Wording({**TABLE, "weights": weights})


def asked_of(text: str, wording: Wording, **more: Any) -> Asked:
    """Return a line of words alone."""
    return Asked(text=text, words=tuple(wording.words(text)), **more)


def rank(
    index: MemoryIndex,
    text: str,
    wording: Wording = WORDING,
    parts: Mapping[str, float] | None = None,
    **more: Any,
) -> list[Hit]:
    """Return the hits of *text* in *index*."""
    asked = asked_of(text, wording, **more)
    groups = Matcher(wording, index).groups(asked.words, asked.unfinished)
    return Ranking(index, wording).rank(asked, groups, parts or {})


def test_scores_are_those_of_published_bm25() -> None:
    wording = toy_wording()
    index = index_of(wording, [{"body": text} for text in TOY])
    exact = [
        replace(entry, terms={"drain": text.split().count("drain") / toy_norm(text)})
        for entry, text in zip(index.entries, TOY, strict=True)
        if "drain" in text
    ]
    others = [entry for entry in index.entries if "drain" not in entry.terms]
    scores = [hit.score for hit in rank(MemoryIndex([*exact, *others]), "drain", wording)]
    assert scores == pytest.approx([TOY_SCORES[4], TOY_SCORES[2]], abs=1e-6)


def toy_norm(text: str) -> float:
    """Return the length norm of a toy document."""
    return 1 - 0.75 + 0.75 * len(text.split()) / 4.8


def test_weights_in_levels_keep_scores_within_a_tenth_of_published_bm25() -> None:
    wording = toy_wording()
    index = index_of(wording, [{"body": text} for text in TOY])
    scores = {hit.document: hit.score for hit in rank(index, "drain", wording)}
    assert scores == pytest.approx(TOY_SCORES, rel=0.1)


def test_another_library_gives_the_same_up_to_its_constant() -> None:
    assert TOY_SCORES[2] / 2.2 == pytest.approx(0.427058, abs=1e-6)
    assert TOY_SCORES[4] / 2.2 == pytest.approx(0.511223, abs=1e-6)


@pytest.mark.parametrize(
    ("term", "holders"), [("drain", 2), ("nois", 2), ("not", 3), ("kink", 1), ("moon", 0)]
)
def test_idf_is_that_of_its_formula(term: str, holders: int) -> None:
    index = index_of(toy_wording(), [{"body": text} for text in TOY])
    expected = math.log(1 + (5 - holders + 0.5) / (holders + 0.5))
    assert Ranking(index, WORDING).idf(term) == pytest.approx(expected)


def test_a_word_in_most_bulletins_still_counts_a_little() -> None:
    """The other common formula, ln((N - n + ½)/(n + ½)), would be negative here."""
    index = index_of(WORDING, [{"title": "pump"}] * 9 + [{"title": "door"}])
    assert Ranking(index, WORDING).idf("pump") > 0


@given(st.integers(1, 6), st.integers(1, 6))
def test_the_rarer_of_two_words_tells_more(one: int, other: int) -> None:
    texts = [{"title": "pump"}] * one + [{"title": "door"}] * other
    ranking = Ranking(index_of(WORDING, texts), WORDING)
    assert (ranking.idf("pump") > ranking.idf("door")) == (one < other)


def test_a_word_counts_more_in_title_than_in_body() -> None:
    index = index_of(WORDING, [{"body": "pump"}, {"title": "pump"}, {"checks": "pump"}])
    assert rank(index, "pump")[0].document == 1


def test_own_word_before_ring_before_nothing() -> None:
    index = index_of(WORDING, [{"title": "buzz"}, {"title": "hum"}, {"title": "door"}])
    hits = rank(index, "hum")
    assert [hit.document for hit in hits] == [1, 0]
    assert hits[1].through[0][1].through == "ring"


def test_the_best_of_a_words_variants_counts_not_their_sum() -> None:
    both = index_of(WORDING, [{"title": "hum"}, {"title": "door"}])
    asked = asked_of("hum", WORDING)
    groups = Matcher(WORDING, both).groups(asked.words, False)
    assert len(groups[0].words[0].variants) == 2  # the word and its ring
    (hit,) = Ranking(both, WORDING).rank(asked, groups, {})
    only = [replace(groups[0], words=(replace(groups[0].words[0], variants=(v,)),))
            for v in groups[0].words[0].variants]  # fmt: skip
    alone = [Ranking(both, WORDING).rank(asked, [group], {})[0].score for group in only]
    assert hit.score == pytest.approx(max(alone))


def test_the_share_of_asked_words_found_counts() -> None:
    index = index_of(WORDING, [{"title": "pump hum"}, {"title": "pump"}, {"title": "seal"}])
    first, second = rank(index, "pump hum")
    assert first.document == 0
    assert first.share == pytest.approx(1.0)
    assert 0 < second.share < 1


def test_words_found_through_something_else_make_a_smaller_share() -> None:
    index = index_of(WORDING, [{"title": "hum"}, {"title": "buzz"}])
    own, ring = rank(index, "hum")
    assert own.share == pytest.approx(1.0)
    assert ring.share < 1


def test_one_line_that_holds_all_is_better_than_two_that_hold_half() -> None:
    index = index_of(
        WORDING,
        [
            {"title": "advice", "symptoms": "pump stops\nseal hums"},
            {"title": "advice", "symptoms": "pump hums\nseal stops"},
        ],
    )
    assert [hit.document for hit in rank(index, "pump hum")] == [1, 0]


def test_another_product_than_the_one_named_is_halved() -> None:
    index = index_of(
        WORDING,
        [{"title": "pump", "product": "washer"}, {"title": "pump", "product": "dishwasher"}],
    )
    washer, dishwasher = rank(index, "washer pump")
    assert (washer.document, dishwasher.document) == (0, 1)
    alone = {hit.document: hit.score for hit in rank(index, "pump")}
    assert alone[0] == alone[1]
    assert dishwasher.score == pytest.approx(alone[1] * WEIGHTS["product_penalty"])


def test_a_product_that_no_bulletin_is_about_halves_nothing() -> None:
    index = index_of(WORDING, [{"title": "pump", "product": "washer"}])
    assert rank(index, "dryer pump")[0].share == pytest.approx(1.0)


CODES = [{"title": "old pump hums"}, {"title": "door seal"}, {"title": "heater dead"}]


def test_a_code_in_front_before_one_in_the_body() -> None:
    index = index_of(WORDING, CODES, {1: {"E21": "body"}, 2: {"E21": "front"}})
    hits = rank(index, "", codes=("E-21",))
    assert [(hit.document, hit.exact, hit.named) for hit in hits] == [
        (2, True, True),
        (1, True, False),
    ]


@given(st.integers(0, 5))
def test_a_code_in_front_stands_above_any_words(rare: int) -> None:
    words = ["zeolite", "gasket", "sump", "rotor", "hinge", "rinse"][: rare + 1]
    texts = [{"title": " ".join(words), "symptoms": " ".join(words)}, {"title": "door seal"}]
    index = index_of(WORDING, [*texts, *[{"title": "filler"}] * 40], {1: {"E21": "front"}})
    assert rank(index, " ".join([*words, "at night"]), codes=("E21",))[0].document == 1


def test_the_same_code_in_more_bulletins_counts_alike() -> None:
    index = index_of(WORDING, CODES, {0: {"E21": "front"}, 1: {"E21": "front"}})
    one, other = rank(index, "", codes=("E21",))
    assert one.score == other.score == WEIGHTS["codes_front"]


def with_parts(index: MemoryIndex, parts: list[dict[str, float]]) -> MemoryIndex:
    """Return *index* with these part numbers by place."""
    pairs = zip(index.entries, parts, strict=True)
    made: list[Entry] = [replace(entry, parts=each) for entry, each in pairs]
    return MemoryIndex(made)


def test_a_part_itself_before_what_leads_to_it() -> None:
    index = with_parts(index_of(WORDING, CODES), [{"A2": 1.0}, {"A1": 1.0}, {}])
    hits = rank(index, "", parts={"A1": 1.0, "A2": 0.5})
    assert [(hit.document, hit.named) for hit in hits] == [(1, True), (0, False)]
    assert hits[1].score == WEIGHTS["part"] * 0.5
    assert hits[0].score >= WEIGHTS["part"]
    assert [hit.through[0][1].through for hit in hits] == ["part", "substitution"]


def test_a_part_to_keep_is_told_as_itself() -> None:
    index = with_parts(index_of(WORDING, CODES), [{"A1": 0.5}, {}, {}])
    (hit,) = rank(index, "", parts={"A1": 1.0})
    assert hit.through[0][1].through == "part"


def test_a_bulletin_with_a_part_and_its_successor_counts_once() -> None:
    index = with_parts(index_of(WORDING, CODES), [{"A2": 1.0, "A1": 0.8}, {}, {}])
    (hit,) = rank(index, "", parts={"A1": 1.0, "A2": 0.5})
    assert hit.score == pytest.approx(WEIGHTS["part"] * 0.8)


@pytest.mark.parametrize("typed", ["pump hums", "Pump hums", "PUMP HUMS!", "the pump hums"])
def test_a_title_typed_whole_is_exact(typed: str) -> None:
    index = index_of(
        WORDING, [{"title": "pump hums loudly", "symptoms": "pump hums"}, {"title": "pump hums"}]
    )
    hits = rank(index, typed)
    assert hits[0].document == 1
    assert hits[0].exact
    assert not hits[1].exact


def test_quoted_words_must_stand_in_this_order_within_a_line() -> None:
    texts = [
        {"title": "pump hums"},
        {"title": "hums pump"},
        {"title": "pump", "symptoms": "hums"},
        {"title": "pump humming"},
        {"body": "the old pump hums at night"},
    ]
    hits = rank(index_of(WORDING, texts), "pump hums", quotes=(("pump", "hums"),))
    assert {hit.document for hit in hits} == {0, 4}


def test_every_quote_must_hold() -> None:
    texts = [{"title": "pump hums"}, {"title": "pump hums", "symptoms": "door seal"}]
    quotes = (("pump", "hums"), ("door", "seal"))
    hits = rank(index_of(WORDING, texts), "pump hums door seal", quotes=quotes)
    assert [hit.document for hit in hits] == [1]


def test_a_quote_is_of_whole_words() -> None:
    hits = rank(index_of(WORDING, [{"title": "pumps"}]), "pump", quotes=(("pump",),))
    assert hits == []


def test_equal_scores_keep_the_order_of_the_index() -> None:
    index = index_of(WORDING, [{"title": "pump"}] * 5)
    assert [hit.document for hit in rank(index, "pump")] == [0, 1, 2, 3, 4]


VOCABULARY = ["pump", "hums", "door", "seal", "leak", "drip", "washer", "not"]
TEXT = st.lists(st.sampled_from(VOCABULARY), max_size=6).map(" ".join)


@given(st.lists(TEXT, min_size=1, max_size=6), TEXT)
def test_hits_are_sorted_and_their_shares_are_shares(texts: list[str], typed: str) -> None:
    index = index_of(WORDING, [{"title": text, "product": "washer"} for text in texts])
    hits = rank(index, typed)
    assert [-hit.score for hit in hits] == sorted(-hit.score for hit in hits)
    assert len({hit.document for hit in hits}) == len(hits)
    for hit in hits:
        assert 0 <= hit.share <= 1 + 1e-9
        assert hit.through


@given(st.lists(TEXT, min_size=1, max_size=5), TEXT)
def test_whatever_holds_an_asked_word_is_a_hit(texts: list[str], typed: str) -> None:
    index = index_of(WORDING, [{"title": text} for text in texts])
    wanted = set(WORDING.stems(typed))
    holders = {d for d, text in enumerate(texts) if wanted & set(WORDING.stems(text))}
    assert holders <= {hit.document for hit in rank(index, typed)}
