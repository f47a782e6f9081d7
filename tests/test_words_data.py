"""What the data file of search words promises to desk and phone.

The words themselves are common practice, no source: general knowledge of the appliance trade in
Britain and America. Word forms are held to Snowball's English stemmer (snowballstem.org).
"""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path
from typing import Any, cast

import pytest
from snowballstemmer import stemmer

FILE = Path(__file__).parent.parent / "kb" / "data" / "words.json"
TEXT = FILE.read_text(encoding="utf-8")
WORDS: dict[str, Any] = json.loads(TEXT)
RINGS: list[list[str]] = WORDS["rings"]
STEM = stemmer("english")
FOLDED = re.compile(r"[a-z0-9]+( [a-z0-9]+)*")
TYPED = re.compile(r"[a-z0-9'/#&]+( [a-z0-9'/#&]+)*")

# Names of makers and their trade marks that have become household words: none may stand here.
TRADE_MARKS = """aga aeg allen aquastop baumatic beko bendix bosch calgon candy electrolux finish
frigidaire goodwrench hoover hotpoint indesit jetdry jubilee kenmore klixon lg maytag megger miele
neff samsung siemens smeg tefal thermador torx velcro whirlpool zanussi"""


def stems(phrase: str) -> tuple[str, ...]:
    """Return the word forms that a phrase is compared by: stop words left out, unless all are."""
    words = [word for word in phrase.split() if word not in WORDS["stop"]] or phrase.split()
    return tuple(STEM.stemWords(words))


def rings_of(word: str) -> list[list[str]]:
    """Return the rings that hold *word*."""
    return [ring for ring in RINGS if word in ring]


def are_together(one: str, other: str) -> bool:
    """Tell whether some ring holds both."""
    return any(other in ring for ring in rings_of(one))


def every_word() -> set[str]:
    """Return each single word that stands anywhere in the lists people type from."""
    lists = [*RINGS, WORDS["stop"], WORDS["generic"], WORDS["elsewhere"], list(WORDS["near"])]
    phrases = [phrase for words in lists for phrase in words]
    phrases += [name for names in WORDS["products"].values() for name in names]
    return {word for phrase in phrases for word in phrase.split()}


@pytest.mark.parametrize(
    ("key", "least"),
    [
        ("rings", 320),
        ("spelled", 250),
        ("forms", 60),
        ("near", 900),
        ("elsewhere", 150),
        ("products", 9),
        ("not_words", 25),
        ("stop", 40),
        ("generic", 5),
    ],
)
def test_each_list_is_long_enough_to_be_of_use(key: str, least: int) -> None:
    assert len(WORDS[key]) >= least


def test_there_are_about_three_thousand_common_words() -> None:
    assert len(WORDS["common"].split()) >= 2500


def test_every_key_is_one_that_search_reads() -> None:
    assert list(WORDS) == [
        "weights", "thresholds", "rings", "forms", "spelled", "not_words", "stop", "products",
        "generic", "elsewhere", "code_words", "part_words", "unit_words", "near", "common",
    ]  # fmt: skip


def test_no_key_stands_twice_where_the_second_would_hide_the_first() -> None:
    def unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        twice = [key for key, count in Counter(key for key, _ in pairs).items() if count > 1]
        assert twice == []
        return dict(pairs)

    assert json.loads(TEXT, object_pairs_hook=unique) == WORDS


def test_a_ring_stands_on_a_line_of_its_own() -> None:
    lines = {line.strip().rstrip(",") for line in TEXT.splitlines()}
    assert [ring for ring in RINGS if json.dumps(ring) not in lines] == []


def test_lines_are_short_enough_to_compare_two_versions() -> None:
    long = [line[:40] for line in TEXT.splitlines() if len(line) > 900 and '"common"' not in line]
    assert long == []


def test_the_file_is_small_enough_to_send_to_a_phone() -> None:
    assert len(TEXT.encode()) < 200_000


# Rings


@pytest.mark.parametrize("ring", RINGS, ids=lambda ring: ring[0])
def test_a_ring_is_tight_and_in_folded_form(ring: list[str]) -> None:
    assert 2 <= len(ring) <= 14
    assert [member for member in ring if not FOLDED.fullmatch(member)] == []
    assert [member for member in ring if len(member.split()) > 7] == []


@pytest.mark.parametrize("ring", RINGS, ids=lambda ring: ring[0])
def test_no_two_members_of_a_ring_are_forms_of_the_same_word(ring: list[str]) -> None:
    counts = Counter(stems(member) for member in ring)
    assert [form for form, count in counts.items() if count > 1] == []


def test_no_two_rings_hold_the_same_words() -> None:
    counts = Counter(frozenset(ring) for ring in RINGS)
    assert [sorted(ring) for ring, count in counts.items() if count > 1] == []


def test_no_word_alone_is_in_so_many_rings_that_it_means_nothing() -> None:
    counts = Counter(member for ring in RINGS for member in ring)
    assert {word: count for word, count in counts.items() if count > 4} == {}


@pytest.mark.parametrize(
    "word", ["no", "not", "on", "off", "stop", "up", "down", "it", "the", "go", "do", "set", "get"]
)
def test_a_word_that_says_nothing_alone_is_in_no_ring(word: str) -> None:
    assert rings_of(word) == []


def test_a_phrase_keeps_at_least_two_words_when_stop_words_go() -> None:
    thin = [m for ring in RINGS for m in ring if " " in m and len(stems(m)) < 2]
    assert thin == []


def test_negations_in_rings_are_all_written_not_or_no() -> None:
    others = {word for word in WORDS["not_words"] if " " not in word} - {"not", "no", "never"}
    found = [m for ring in RINGS for m in ring if others & set(m.split())]
    assert found == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("tap", "faucet"),
        ("fridge", "refrigerator"),
        ("hob", "cooktop"),
        ("washing machine", "washer"),
        ("tumble dryer", "dryer"),
        ("mould", "mold"),
        ("odour", "odor"),
        ("earth", "ground"),
        ("spanner", "wrench"),
        ("torch", "flashlight"),
        ("plinth", "toe kick"),
        ("gasket", "bellows"),
        ("pcb", "control board"),
        ("thermistor", "ntc"),
        ("shocks", "dampers"),
        ("transit bolts", "shipping bolts"),
        ("rcd", "gfci"),
        ("lid switch", "door lock"),
        ("broil", "grill"),
        ("igniter", "glow bar"),
        ("lpg", "propane"),
        ("not drain", "not pump out"),
        ("hum", "buzz"),
        ("conks out", "quits"),
        ("cutlery", "silverware"),
        ("worktop", "countertop"),
    ],
)
def test_words_that_mean_the_same_to_the_trade_are_together(one: str, other: str) -> None:
    assert are_together(one, other)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("hum", "click"),
        ("hum", "squeal"),
        ("grind", "rattle"),
        ("gurgle", "hiss"),
        ("not drain", "not fill"),
        ("not open", "not close"),
        ("not heat", "overheat"),
        ("too wet", "too dry"),
        ("not cold", "freezes food"),
        ("drain pump", "circulation pump"),
        ("inlet hose", "drain hose"),
        ("inlet valve", "drain pump"),
        ("dishwasher", "washer"),
        ("dryer", "washer"),
        ("evaporator fan", "condenser fan"),
        ("thermistor", "thermostat"),
        ("natural gas", "propane"),
        ("lint filter", "grease filter"),
        ("hot", "cold"),
        ("turn on", "turn off"),
        ("connect", "disconnect"),
        ("tighten", "loosen"),
        ("left", "right"),
        ("overfill", "no water"),
    ],
)
def test_unlike_things_are_kept_apart(one: str, other: str) -> None:
    assert not are_together(one, other)


# Spelling, forms, negation, stop words


def test_a_misspelling_is_never_its_own_correction() -> None:
    assert [wrong for wrong, right in WORDS["spelled"].items() if wrong == right] == []


def test_a_correction_is_not_itself_a_misspelling() -> None:
    chained = [wrong for wrong, right in WORDS["spelled"].items() if right in WORDS["spelled"]]
    assert chained == []


def test_a_misspelling_is_one_word_as_lines_are_read_word_by_word() -> None:
    assert [word for word in WORDS["spelled"] if " " in word] == []


def test_misspellings_are_as_typed_without_capitals_or_marks() -> None:
    assert [word for word in WORDS["spelled"] if not TYPED.fullmatch(word)] == []


def test_no_ring_is_written_in_misspelled_words() -> None:
    bad = {word for ring in RINGS for m in ring for word in m.split()} & set(WORDS["spelled"])
    assert bad == set()


def test_a_common_english_word_is_not_taken_for_a_misspelling() -> None:
    assert set(WORDS["common"].split()) & set(WORDS["spelled"]) == set()


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("seel", "seal"),
        ("bering", "bearing"),
        ("thermastat", "thermostat"),
        ("compresser", "compressor"),
        ("guage", "gauge"),
        ("refridgerator", "refrigerator"),
        ("exaust", "exhaust"),
        ("vibrats", "vibrates"),
        ("leeking", "leaking"),
        ("noice", "noise"),
    ],
)
def test_what_thumbs_type_is_read_as_meant(wrong: str, right: str) -> None:
    assert WORDS["spelled"][wrong] == right


@pytest.mark.parametrize(
    ("form", "base"),
    [("spun", "spin"), ("froze", "freeze"), ("broken", "break"), ("burnt", "burn"), ("won", "")],
)
def test_irregular_forms_lead_to_the_word_and_others_are_left_alone(form: str, base: str) -> None:
    assert WORDS["forms"].get(form, "") == base


def test_a_form_leads_to_its_word_in_one_step() -> None:
    assert [form for form, base in WORDS["forms"].items() if base in WORDS["forms"]] == []


@pytest.mark.parametrize(
    "word", ["won't", "wont", "doesn't", "doesnt", "never", "no", "can't", "cannot", "isn't",
             "without", "fails to", "refuses to", "unable to", "not"]
)  # fmt: skip
def test_ways_to_say_not_are_known(word: str) -> None:
    assert word in WORDS["not_words"]


@pytest.mark.parametrize("word", ["not", "no", "on", "off", "up", "down", "out", "too", "after"])
def test_words_that_turn_the_meaning_are_never_stop_words(word: str) -> None:
    assert word not in WORDS["stop"]


def test_no_negation_is_a_stop_word() -> None:
    assert set(WORDS["stop"]) & set(WORDS["not_words"]) == set()


# Products and other things


def test_generic_words_name_no_product() -> None:
    named = {name for names in WORDS["products"].values() for name in names}
    assert named & set(WORDS["generic"]) == set()


@pytest.mark.parametrize(
    ("inside", "whole"),
    [("freezer", "refrigerator"), ("hob", "range"), ("oven", "range"), ("washer dryer", "dryer")],
)
def test_a_word_for_part_of_an_appliance_also_names_the_whole(inside: str, whole: str) -> None:
    assert inside in WORDS["products"][whole]


@pytest.mark.parametrize("product", list(WORDS["products"]))
def test_a_product_is_named_by_its_own_word(product: str) -> None:
    names = WORDS["products"][product]
    assert product.replace("-", " ") in names
    assert len(set(names)) == len(names)


def test_what_the_house_may_make_is_not_listed_as_made_elsewhere() -> None:
    named = {name for names in WORDS["products"].values() for name in names}
    assert set(WORDS["elsewhere"]) & (named | set(WORDS["generic"])) == set()


def test_what_is_made_elsewhere_is_not_a_part_or_a_symptom() -> None:
    members = {stems(member) for ring in RINGS for member in ring}
    assert [thing for thing in WORDS["elsewhere"] if stems(thing) in members] == []


@pytest.mark.parametrize(
    "thing", ["coffee machine", "television", "kettle", "toaster", "vacuum cleaner", "lawn mower",
              "boiler", "air conditioner", "printer", "phone", "car"]
)  # fmt: skip
def test_things_of_other_trades_are_known(thing: str) -> None:
    assert thing in WORDS["elsewhere"]


# Codes, parts, units


def test_digits_spelled_out_cover_nought_to_twenty() -> None:
    assert set(map(str, range(21))) <= set(WORDS["code_words"]["digits"].values())


def test_a_digit_word_means_a_number() -> None:
    assert all(value.isdigit() for value in WORDS["code_words"]["digits"].values())


def test_spoken_letters_cover_the_alphabet() -> None:
    assert set(WORDS["code_words"]["letters"].values()) == set("abcdefghijklmnopqrstuvwxyz")


def test_look_alikes_go_both_ways() -> None:
    pairs = WORDS["code_words"]["look_alikes"]
    one_way = [(a, b) for a, others in pairs.items() for b in others if a not in pairs.get(b, [])]
    assert one_way == []


@pytest.mark.parametrize(("one", "other"), [("o", "0"), ("i", "1"), ("l", "1"), ("s", "5")])
def test_the_usual_look_alikes_are_known(one: str, other: str) -> None:
    assert other in WORDS["code_words"]["look_alikes"][one]


@pytest.mark.parametrize("word", ["error", "err", "fault", "code", "fault code", "displays"])
def test_words_that_announce_a_code_are_known(word: str) -> None:
    assert word in WORDS["code_words"]["words"]


@pytest.mark.parametrize("word", ["part", "p/n", "pn", "spare", "no", "number"])
def test_words_that_announce_a_part_number_are_known(word: str) -> None:
    assert word in WORDS["part_words"]


@pytest.mark.parametrize(
    ("sort", "word"), [("model", "mod"), ("serial", "s/n"), ("serial", "sn"), ("revision", "rev")]
)
def test_words_that_announce_a_unit_are_known(sort: str, word: str) -> None:
    assert word in WORDS["unit_words"][sort]


# The bridge from everyday words


def test_no_bridge_starts_at_a_word_that_a_ring_already_holds() -> None:
    members = {member for ring in RINGS for member in ring}
    assert set(WORDS["near"]) & members == set()


def test_no_bridge_starts_at_a_form_of_a_word_that_a_ring_already_holds() -> None:
    alone = {STEM.stemWord(member) for ring in RINGS for member in ring if " " not in member}
    assert [word for word in WORDS["near"] if STEM.stemWord(word) in alone] == []


def test_a_bridge_starts_at_one_word_and_no_other_has_the_same_form() -> None:
    counts = Counter(STEM.stemWord(word) for word in WORDS["near"])
    assert [word for word in WORDS["near"] if " " in word] == []
    assert [form for form, count in counts.items() if count > 1] == []


def test_bridges_are_few_and_light() -> None:
    heavy = {
        word: targets
        for word, targets in WORDS["near"].items()
        if not 1 <= len(targets) <= 4 or not all(0.2 <= w <= 0.4 for w in targets.values())
    }
    assert heavy == {}


def test_a_bridge_leads_elsewhere_and_to_single_words() -> None:
    bad = [
        (word, target)
        for word, targets in WORDS["near"].items()
        for target in targets
        if stems(word) == stems(target) or not re.fullmatch(r"[a-z0-9]+", target)
    ]
    assert bad == []


def test_a_bridge_ends_at_words_of_the_trade() -> None:
    trade = {stem for ring in RINGS for member in ring for stem in STEM.stemWords(member.split())}
    ends = {target for targets in WORDS["near"].values() for target in targets}
    assert sorted(end for end in ends if STEM.stemWord(end) not in trade) == []


@pytest.mark.parametrize(
    ("word", "target"), [("pong", "smell"), ("crumbs", "dirt"), ("lettuce", "freeze")]
)
def test_owners_words_reach_the_trade(word: str, target: str) -> None:
    near = {STEM.stemWord(key): targets for key, targets in WORDS["near"].items()}
    assert target in near[STEM.stemWord(word)]


# Weights


def test_fields_are_weighed_as_the_words_in_them_tell() -> None:
    weight = {name: field["weight"] for name, field in WORDS["weights"]["fields"].items()}
    assert weight["title"] == weight["symptoms"] > weight["component"] > weight["product"]
    assert weight["product"] > weight["body"] == weight["checks"] == weight["parts"] == 1


def test_each_field_has_a_share_of_length_and_a_usual_length() -> None:
    for field in WORDS["weights"]["fields"].values():
        assert 0 <= field["b"] <= 1
        assert field["length"] >= 1


def test_a_word_itself_outweighs_every_way_round() -> None:
    weights = WORDS["weights"]
    ways = [weights[way] for way in ("ring", "generic", "spelling", "english", "sound", "wordnet")]
    assert weights["own"] > max([*ways, weights["prefix"]])
    assert weights["spelling"] > weights["english"] > weights["wordnet"]


def test_bridges_weigh_less_than_rings() -> None:
    most = max(max(targets.values()) for targets in WORDS["near"].values())
    assert cast(float, WORDS["weights"]["ring"]) > most


def test_how_a_bulletin_names_a_part_counts_most_where_it_is_to_be_ordered() -> None:
    at = WORDS["weights"]["part_at"]
    assert at["parts"] > max(at["checks"], at["said"], at["keep"])
    assert at["kind"] >= 1


@pytest.mark.parametrize("name", ["nothing_share", "least_share", "fits_well"])
def test_shares_below_which_nothing_fits_are_shares(name: str) -> None:
    assert 0 < WORDS["thresholds"][name] < 1


def test_spelling_is_stricter_for_short_words() -> None:
    steps = WORDS["thresholds"]["distance"]
    assert [(step["letters"], step["at_most"]) for step in steps] == [(4, 1), (8, 2)]


def test_a_line_of_five_hundred_letters_at_most_is_read() -> None:
    assert WORDS["thresholds"]["line"] == 500


# Names


@pytest.mark.parametrize("name", TRADE_MARKS.split())
def test_no_maker_or_trade_mark_is_named(name: str) -> None:
    listed = every_word() | set(WORDS["spelled"]) | set(WORDS["spelled"].values())
    allowed = {"finish", "candy"}  # plain English before they were trade marks
    assert name in allowed or name not in listed
