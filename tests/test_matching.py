"""What an asked word can match, through what, and how much that counts."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.matching import Group, Matcher, Variant
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.memory_index import MemoryIndex, index_of

WORDS = {
    **load_words(),
    "rings": [["leak", "drip"], ["water on the floor", "leak"], ["door seal", "gasket"]],
    "near": {"banger": {"noise": 0.4}},
    "spelled": {"gaskit": "gasket"},
    "forms": {},
}
WORDING = Wording(prepare(WORDS))
INDEX = index_of(
    WORDING,
    [
        {"title": "Drain pump leaks", "product": "dishwasher"},
        {"title": "Gasket torn", "symptoms": "thermostat clicks", "product": "washer"},
        {"title": "Fridge does not cool", "body": "the thermistor, the condenser, noise"},
        {"title": "Dishwasher door", "body": "R-600a and the sump"},
    ],
)
WEIGHTS = WORDING.weights


def groups(*words: str, unfinished: bool = False) -> list[Group]:
    """Return what *words* can match."""
    return Matcher(WORDING, INDEX).groups(words, unfinished)


def variants(word: str, unfinished: bool = False) -> dict[str, Variant]:
    """Return what one word can match, by term."""
    (group,) = groups(word, unfinished=unfinished)
    return {variant.term: variant for variant in group.words[0].variants}


def test_a_word_counts_fully_and_its_ring_less() -> None:
    found = variants("leaking")
    assert (found["leak"].factor, found["leak"].through) == (WEIGHTS["own"], "own")
    assert (found["~0"].factor, found["~0"].through) == (WEIGHTS["ring"], "ring")


def test_a_word_of_a_ring_that_no_bulletin_has_matches_through_the_ring_alone() -> None:
    found = variants("drip")
    assert found.keys() == {"~0"}


def test_only_what_some_bulletin_holds_is_a_variant() -> None:
    for word in ("leak", "drip", "gaskit", "thermo", "banger", "drian"):
        for variant in variants(word, unfinished=True).values():
            assert INDEX.frequency(variant.term) > 0


def test_a_near_word_counts_by_its_own_weight() -> None:
    assert variants("banger")["nois"] == Variant("nois", 0.4, "near", "nois")


def test_a_slip_matches_less_than_the_word_and_says_so() -> None:
    found = variants("thermostst")
    assert found["thermostat"].through == "spelling"
    assert found["thermostat"].shown == "thermostat"
    assert found["thermostat"].factor < WEIGHTS["spelling"]


def test_a_slip_leads_to_the_ring_of_the_word_meant_too() -> None:
    found = variants("leal")
    assert found["leak"].through == found["~0"].through == "spelling"
    assert found["~0"].factor < found["leak"].factor


def test_a_word_that_is_known_is_never_taken_for_a_slip() -> None:
    assert {v.through for v in variants("pump").values()} == {"own"}


@pytest.mark.parametrize("word", ["pmp", "f22", "r600b", "dor"])
def test_short_words_and_names_with_figures_are_never_taken_for_slips(word: str) -> None:
    assert all(v.through != "spelling" for v in variants(word).values())


def test_an_everyday_word_is_hardly_a_slip() -> None:
    assert "poor" in WORDING.common
    everyday, slip = variants("poor"), variants("doot")
    assert "door" in slip
    assert everyday.get("door", Variant("", 0.0, "")).factor < slip["door"].factor


def test_a_word_written_by_ear_is_found() -> None:
    assert variants("kondenzer")["condens"].through == "spelling"


def test_a_growing_word_matches_all_that_begin_with_it() -> None:
    found = variants("therm", unfinished=True)
    assert {"thermostat", "thermistor"} <= found.keys()
    assert {v.through for v in found.values()} == {"start"}


def test_the_more_of_a_word_is_typed_the_more_it_counts() -> None:
    factors = [
        variants("thermistor"[:n], unfinished=True)["thermistor"].factor for n in range(2, 11)
    ]
    assert factors == sorted(factors)
    assert factors[-1] == WEIGHTS["own"]


def test_one_letter_begins_too_much_to_match_by() -> None:
    assert variants("t", unfinished=True) == {}


def test_one_growing_letter_need_not_be_found() -> None:
    *_, last = groups("pump", "l", unfinished=True)
    assert last.words[0].light
    *_, finished = groups("pump", "l")
    assert not finished.words[0].light


def test_a_finished_known_word_does_not_grow() -> None:
    assert variants("cool").keys() == {"cool"}


def test_a_finished_unknown_word_is_taken_for_a_beginning() -> None:
    assert variants("thermi")["thermistor"].through == "start"


def test_only_the_last_word_grows() -> None:
    first, last = groups("pump", "do", unfinished=True)
    assert {v.through for v in first.words[0].variants} == {"own"}
    assert {v.term for v in last.words[0].variants} == {"door"}


def test_a_half_typed_stop_word_is_no_slip() -> None:
    assert all(v.through == "start" for v in variants("does", unfinished=True).values())


def test_phrases_of_a_ring_count_as_one_group() -> None:
    (group,) = groups("water", "on", "floor")
    assert [word.text for word in group.words] == ["water", "on", "floor"]
    assert group.phrase == (Variant("~1", WEIGHTS["ring"], "ring"),)


def test_words_in_another_order_are_no_phrase() -> None:
    assert [len(group.words) for group in groups("floor", "on", "water")] == [1, 1, 1]


def test_two_words_that_the_house_writes_as_one_stand_for_it() -> None:
    (group,) = groups("dish", "washer")
    assert group.phrase[0] == Variant("dishwash", 1.0, "joined", "dishwasher")


def test_a_name_typed_apart_is_joined() -> None:
    (group,) = groups("r", "600a")
    assert group.phrase[0].shown == "r600a"


def test_two_figures_are_not_joined() -> None:
    assert [len(group.words) for group in groups("600", "1")] == [1, 1]


def test_one_word_that_the_house_writes_as_two_matches_each() -> None:
    found = variants("drainpump")
    assert {found["drain"].through, found["pump"].through} == {"split"}


def test_products_and_any_machine_are_light() -> None:
    for word in ("dishwasher", "washer", "machine", "appliance"):
        (group,) = groups(word)
        assert group.words[0].light, word
    assert not groups("pump")[0].words[0].light


def test_forty_words_are_read_at_most() -> None:
    assert sum(len(group.words) for group in groups(*["pump"] * 90)) == 40


def test_an_empty_house_matches_nothing() -> None:
    matcher = Matcher(WORDING, MemoryIndex())
    (group,) = matcher.groups(["pump"], True)
    assert group.words[0].variants == ()


TYPED = st.text(st.characters(codec="utf-8", categories=["L", "N"]), min_size=1, max_size=14)


@settings(deadline=None, max_examples=200)
@given(st.lists(TYPED, max_size=6), st.booleans())
def test_each_word_stands_in_exactly_one_group_in_order(words: list[str], unfinished: bool) -> None:
    lowered = [word.lower() for word in words]
    found = groups(*lowered, unfinished=unfinished)
    assert [word.text for group in found for word in group.words] == lowered
    for group in found:
        for variant in [*group.phrase, *(v for word in group.words for v in word.variants)]:
            assert 0 < variant.factor <= 1
