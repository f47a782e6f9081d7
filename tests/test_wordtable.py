"""The prepared table of words: what it holds, and that JSON keeps what it says."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import pytest
from snowballstemmer.english_stemmer import EnglishStemmer

from kb.records import HouseWords
from kb.wording import Wording
from kb.wordtable import load_words, prepare, stem_list

BUILT_IN = load_words()

SMALL: Mapping[str, Any] = {
    "weights": {"k1": 1.2},
    "thresholds": {"line": 500},
    "stop": ["the", "on"],
    "code_words": {"words": ["error"]},
    "part_words": ["part"],
    "unit_words": {"serial": ["serial"]},
    "not_words": ["won't", "never", "does not"],
    "forms": {"leapt": "leap"},
    "spelled": {"gaskit": "gasket", "doorseal": "door seal"},
    "rings": [["leaks", "water on the floor"], ["gasket", "seal"], ["water", "the"]],
    "near": {"puddles": {"leaking": 0.4}},
    "generic": ["machines"],
    "products": {"washer": ["washing machine", "washers"]},
    "elsewhere": ["coffee machine"],
    "common": "about thing things",
}


def small(house: HouseWords | None = None) -> dict[str, Any]:
    """Return the table of the small set of words."""
    return prepare(SMALL, house)


def test_weights_and_lists_are_passed_on_as_they_are() -> None:
    for key in ("weights", "thresholds", "stop", "code_words", "part_words", "unit_words"):
        assert small()[key] == SMALL[key]


def test_ring_phrases_become_word_forms_under_their_first_form() -> None:
    phrases = small()["phrases"]
    assert phrases["leak"] == "leak=0"
    assert phrases["gasket"] == "gasket=1"


def test_under_one_first_form_the_longest_phrase_stands_first() -> None:
    assert small()["phrases"]["water"] == "water floor=0|water=2"


def test_a_phrase_of_stop_words_alone_is_dropped() -> None:
    assert all(part[0] != "=" for each in small()["phrases"].values() for part in each.split("|"))
    assert "the" not in small()["phrases"]


def test_rings_of_the_house_come_after_the_built_in_ones() -> None:
    table = small(HouseWords(same=(("weep", "leak"),)))
    assert table["phrases"]["weep"] == "weep=3"
    assert table["phrases"]["leak"] == "leak=0,3"


def test_the_house_has_the_last_word_on_spelling() -> None:
    table = small(HouseWords(spelled={"gaskit": "gadget", "seel": "seal"}))
    assert table["spelled"]["gaskit"] == "gadget"
    assert Wording(table).stem("seel") == "seal"
    assert Wording(small()).stem("gaskit") == "gasket"


def test_not_words_are_single_words_without_apostrophes_and_phrases_apart() -> None:
    assert small()["not_words"] == ["never", "wont"]
    assert small()["not_phrases"] == ["does not"]


def test_near_words_products_and_common_words_are_kept_as_word_forms() -> None:
    table = small()
    assert table["near"] == {"puddl": "leak 0.4"}
    assert Wording(table).near("puddl") == [("leak", 0.4)]
    assert Wording(table).near("leak") == []
    assert table["generic"] == ["machin"]
    assert {"wash machin|washer", "washer|washer"} <= set(table["products"].split("\n"))
    assert table["elsewhere"] == "coffe machin|coffee machine"
    assert table["common"] == "about thing"


def test_a_house_without_words_of_its_own_changes_nothing() -> None:
    assert prepare(SMALL, HouseWords()) == prepare(SMALL)


def test_preparing_twice_gives_the_same_table() -> None:
    assert json.dumps(prepare(BUILT_IN)) == json.dumps(prepare(BUILT_IN))


@pytest.mark.parametrize(
    "said",
    ["water all over the floor", "won't drain", "hums but does not pump", "gaskit torn", "E-21"],
)
def test_the_table_says_the_same_after_a_trip_through_json(said: str) -> None:
    table = prepare(BUILT_IN)
    here, there = Wording(table), Wording(json.loads(json.dumps(table)))
    assert here.stems(said) == there.stems(said)
    assert here.phrases(here.stems(said)) == there.phrases(there.stems(said))


def test_word_forms_known_beforehand_are_those_that_would_be_found() -> None:
    """The table's word forms stand in for the stemmer: they must be what it gives."""
    table = prepare(BUILT_IN)
    words = table["stems"].split()
    assert len(words) > 2000
    bare = Wording({**table, "stems": ""})
    assert [bare.stem(word) for word in words[::2]] == words[1::2]


def test_a_list_of_stems_leaves_out_what_is_no_single_word() -> None:
    stems = {"leaks": "leak", "white goods": "white good", "": "x", "air": "air"}
    assert stem_list(stems) == "air air leaks leak"


def test_every_ring_word_is_found_in_its_ring() -> None:
    wording = Wording(prepare(BUILT_IN))
    for number, ring in enumerate(BUILT_IN["rings"]):
        for phrase in ring:
            stems = wording.stems(phrase)
            whole = [p for p in wording.phrases(stems) if p.end - p.start == len(stems)]
            assert not stems or any(number in p.rings for p in whole), phrase


def test_common_words_are_stems_of_the_list() -> None:
    stemmer = EnglishStemmer()
    table = prepare(BUILT_IN)
    common = set(table["common"].split())
    plain_words = set(BUILT_IN["common"].split()) - table["spelled"].keys()
    kept = {w for w in plain_words if w not in table["not_words"]}
    assert {stemmer.stemWord(word) for word in kept} <= common
