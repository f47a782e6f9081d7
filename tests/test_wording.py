"""Words as the search compares them, held to published word forms and word boundaries."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from snowballstemmer.english_stemmer import EnglishStemmer
from uniseg.wordbreak import words as uax29_words

from kb.wording import NOT, Phrase, Wording, plain, raw_tokens
from tests.search_house import builtin_wording

WORDING = builtin_wording()

# A sample of the published English vocabulary of the Snowball project (snowball-data,
# english/voc.txt and output.txt, BSD-3), each pair run through snowballstemmer 3.1.1, which has no
# mismatch in the whole list of 42,649. Older editions stem the first eight otherwise.
SNOWBALL = """
added add, adding add, internal internal, interval interval, lateral lateral, organic organic,
paste paste, universal universal, emergency emergenc, spinning spin, spins spin, spin spin,
consign consign, consigned consign, consigning consign, consignment consign, consist consist,
consisted consist, consistency consist, consistent consist, consistently consist,
consisting consist, consists consist, consolation consol, consolations consol,
consolatory consolatori, console consol, consoled consol, consoles consol,
consolidate consolid, consolidated consolid, consolidating consolid, consoling consol,
conspicuous conspicu, conspicuously conspicu, conspiracy conspiraci, conspirator conspir,
conspirators conspir, conspire conspir, constable constabl, constables constabl,
constance constanc, constancy constanc, constant constant, knack knack, knave knave,
knaves knave, kneaded knead, kneading knead, knee knee, kneel kneel, kneeled kneel,
kneeling kneel, kneels kneel, knees knee, knew knew, knick knick, knife knife, knight knight,
knightly knight, knights knight, knit knit, knitted knit, knitting knit, knives knive, knob knob,
knobs knob, knock knock, knocked knock, knocker knocker, knockers knocker, knocking knock,
knocks knock, knot knot, knots knot, leaks leak, leaking leak, leakage leakag, drains drain,
drained drain, draining drain, hissing hiss, hisses hiss, rusty rusti, dries dri, dryer dryer,
washes wash, heating heat, heater heater, noisy noisi, noises nois, running run, stopped stop
"""
PAIRS = [tuple(pair.split()) for pair in SNOWBALL.replace("\n", " ").split(",")]


@pytest.mark.parametrize(("word", "form"), PAIRS)
def test_word_forms_are_those_of_the_published_vocabulary(word: str, form: str) -> None:
    assert EnglishStemmer().stemWord(word) == form
    if word not in WORDING.data["spelled"]:  # which holds irregular forms too: knew is know
        assert WORDING.stem(word) == form


def test_the_sample_of_word_forms_is_long_enough_to_mean_something() -> None:
    assert len(set(PAIRS)) >= 60


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("spinning", "spin"),
        ("leaks", "leaking"),
        ("won't", "cannot"),
        ("knives", "knife"),
        ("broken", "breaks"),
        ("burnt", "burning"),
        ("customer's", "customers"),
        ("machine’s", "machine"),
    ],
)
def test_forms_of_one_word_are_one_word(one: str, other: str) -> None:
    assert WORDING.stem(plain(one).replace("’", "'")) == WORDING.stem(other)


@pytest.mark.parametrize(
    "written", ["f21", "e05", "r600a", "3104126", "td45as", "sb712s", "h1ing", "1/2in"]
)
def test_what_has_a_digit_is_never_stemmed(written: str) -> None:
    assert WORDING.stem(written) == written


# UAX #29 (Unicode text segmentation) by uniseg: [F,-,21], [R,-,600a], [3.5], [can't], [SN:ABC123],
# [N·m], [A,/,C], [1,/,2,-,in]. Where ours differs, it does so on purpose: a code, a part number or
# a refrigerant stays one word, so that F-21 is never taken for 21 and A/C never vanishes.
@pytest.mark.parametrize(
    ("written", "ours"),
    [
        ("F-21", ["f21"]),
        ("R-600a", ["r600a"]),
        ("A/C", ["ac"]),
        ("a.c.", ["ac"]),
        ("d.c. supply", ["dc", "supply"]),
        ("1/2-in", ["1/2in"]),
        ("1/2-inch hose", ["1/2inch", "inch", "hose"]),
        ("HR-310-4126", ["hr3104126"]),
        ("TD45A/3", ["td45a/3"]),
        ("3.5", ["35"]),
        ("SN:ABC123", ["sn", "abc123"]),
        ("can't", ["can't"]),
        ("can’t", ["can't"]),
        ("on/off", ["on", "off"]),
        ("self-clean", ["self", "clean"]),
        ("freeze-up, thaw.", ["freeze", "up", "thaw"]),
        ("3½", ["3", "1/2"]),
        ("2⅝ in", ["2", "5/8", "in"]),
        ("60 ℃", ["60", "c"]),
        ("café", ["cafe"]),
        ("Größe", ["grosse"]),
        ("(hums)", ["hums"]),
        ("under_score", ["under", "score"]),
        ("🔥 hot 🔥", ["hot"]),
        ("", []),
        (" - / . ' ", []),
    ],
)
def test_where_words_begin_and_end(written: str, ours: list[str]) -> None:
    assert list(raw_tokens(plain(written))) == ours


WORDS = st.lists(st.text(alphabet="abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=9), max_size=8)


@given(WORDS, st.sampled_from([" ", ", ", "; ", " (", "! ", "\n", " … "]))
def test_plain_words_break_where_unicode_says(written: list[str], between: str) -> None:
    text = between.join(written)
    theirs = [word for word in uax29_words(text) if word[0].isalnum()]
    assert list(raw_tokens(plain(text))) == theirs


@given(st.text(max_size=60))
def test_any_text_gives_words_without_white_space_or_capitals(text: str) -> None:
    for word in raw_tokens(plain(text)):
        assert word
        assert word.split() == [word]
        assert word == word.casefold()


# Unicode's normalisation forms, by unicodedata (Python's copy of the Unicode Character Database).
@pytest.mark.parametrize(
    ("written", "normal"),
    [
        ("\u2103", "°c"),  # degree Celsius sign
        ("\u00b5F", "\u03bcf"),  # micro sign becomes mu
        ("m\u00b2", "m2"),
        ("\u2126", "\u03c9"),  # ohm sign becomes omega
        ("\u00c5", "a"),  # Å without its ring
        ("\u33a1", "m2"),
        ("a\u00a0b", "a b"),
        ("ﬁlter", "filter"),
        ("3\u00bd", "3 1/2"),  # NFKC alone would make 31/2 of three and a half
        ("1\u2044\u0034", "1/4"),
    ],
)
def test_signs_are_levelled_as_unicode_does(written: str, normal: str) -> None:
    assert plain(written) == normal


def test_three_and_a_half_is_not_thirty_one_halves() -> None:
    assert unicodedata.normalize("NFKC", "3\u00bd") == "31\u20442"  # the hazard
    assert list(raw_tokens(plain("3\u00bd"))) == list(raw_tokens(plain("3 1/2")))


@given(st.text(max_size=40))
def test_levelling_twice_changes_nothing_more(text: str) -> None:
    assert plain(plain(text)) == plain(text)


@given(st.text(alphabet=st.characters(min_codepoint=32, max_codepoint=126), max_size=60))
def test_capitals_never_matter(text: str) -> None:
    assert WORDING.stems(text.upper()) == WORDING.stems(text.lower())


@pytest.mark.parametrize(
    "said",
    [
        "won't drain",
        "wont drain",
        "does not drain",
        "doesn't drain",
        "cannot drain",
        "never drains",
        "no drain",
        "fails to drain",
    ],
)
def test_every_way_to_say_not_is_one_word_and_is_kept(said: str) -> None:
    assert WORDING.stems(said) == [NOT, "drain"]


def test_words_that_count_for_nothing_are_left_out() -> None:
    assert WORDING.words("the customer says that it is at the door") == ["door"]
    assert WORDING.is_stop("the")
    assert not WORDING.is_stop("door")


def test_a_slip_that_is_known_beforehand_is_put_right() -> None:
    for wrong, right in WORDING.data["spelled"].items():
        if " " not in right and wrong not in WORDING.data["not_words"]:
            bare = right.removesuffix("'s").replace("'", "")
            assert WORDING.stem(wrong) in {EnglishStemmer().stemWord(bare), NOT}, wrong


def test_two_words_written_as_one_are_parted() -> None:
    parted = {w: r for w, r in WORDING.data["spelled"].items() if " " in r}
    assert parted
    for wrong, right in parted.items():
        assert WORDING.words(wrong) == WORDING.words(right)


def small_wording(**more: object) -> Wording:
    """Return a wording with no words but those given."""
    table: dict[str, object] = {
        "weights": {},
        "thresholds": {},
        "near": {},
        "stems": "",
        "stop": ["the"],
        "not_words": ["not"],
        "not_phrases": [],
        "spelled": {},
        "phrases": {
            "water": "water on floor=0|water=1,2",
            "floor": "floor=3",
        },
        "products": "washer|washer\nwasher dryer|washer-dryer\ndryer|dryer",
        "elsewhere": "iron|iron\nsteam iron|steam iron\ngrill pan|grill pan",
    }
    return Wording({**table, **more})


def test_phrases_are_found_with_their_rings_overlaps_included() -> None:
    found = small_wording().phrases(["the", "water", "on", "floor"])
    assert found == [Phrase(1, 4, (0,)), Phrase(1, 2, (1, 2)), Phrase(3, 4, (3,))]


def test_a_phrase_cut_short_is_none() -> None:
    assert small_wording().phrases(["water", "on"]) == [Phrase(0, 1, (1, 2))]


@pytest.mark.parametrize(
    ("stems", "products"),
    [
        (["washer"], {"washer"}),
        (["washer", "dryer"], {"washer-dryer"}),
        (["dryer", "washer"], {"dryer", "washer"}),
        (["dishwasher"], set()),
        ([], set()),
    ],
)
def test_the_longest_product_name_counts_and_hides_those_within(
    stems: list[str], products: set[str]
) -> None:
    assert small_wording().products(stems) == products


@pytest.mark.parametrize(
    ("stems", "thing"),
    [
        (["steam", "iron"], "steam iron"),
        (["iron"], "iron"),
        (["pan", "grill"], ""),
        (["environ"], ""),
        ([], ""),
    ],
)
def test_things_made_elsewhere_are_known_as_whole_phrases(stems: list[str], thing: str) -> None:
    assert small_wording().elsewhere(stems) == thing


def test_no_phrase_of_not_words_means_that_none_is_looked_for() -> None:
    assert small_wording().words("does not drain") == ["does", "not", "drain"]
    longer = small_wording(not_phrases=["does not", "does not want to"])
    assert longer.words("does not want to drain") == ["not", "drain"]
