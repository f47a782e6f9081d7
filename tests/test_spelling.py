"""Slips of the finger and words written by ear, held to a slow and obvious way of counting."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.spelling import distance, slips, sound

SHORT = st.text(alphabet="abcd", max_size=7)
ANY = st.text(max_size=8)


def slow_distance(one: str, other: str) -> int:
    """Return the optimal string alignment distance by its definition, letter by letter."""

    @cache
    def apart(i: int, j: int) -> int:
        if not i or not j:
            return i + j
        best = min(
            apart(i - 1, j) + 1,
            apart(i, j - 1) + 1,
            apart(i - 1, j - 1) + (one[i - 1] != other[j - 1]),
        )
        if i > 1 and j > 1 and one[i - 1] == other[j - 2] and one[i - 2] == other[j - 1]:
            best = min(best, apart(i - 2, j - 2) + 1)
        return best

    return apart(len(one), len(other))


# kitten/sitting and saturday/sunday are the usual textbook pairs for edit distance; CA/ABC is the
# usual one that tells optimal string alignment (3) from the unrestricted distance (2). From memory.
@pytest.mark.parametrize(
    ("one", "other", "edits"),
    [
        ("kitten", "sitting", 3),
        ("saturday", "sunday", 3),
        ("ca", "abc", 3),
        ("drian", "drain", 1),
        ("gaskt", "gasket", 1),
        ("gaskket", "gasket", 1),
        ("pimp", "pump", 1),
        ("", "", 0),
        ("", "ab", 2),
        ("same", "same", 0),
    ],
)
def test_edits_between_two_words(one: str, other: str, edits: int) -> None:
    assert distance(one, other, 9) == edits
    assert slow_distance(one, other) == edits


@given(SHORT, SHORT)
def test_distance_is_that_of_its_definition(one: str, other: str) -> None:
    assert distance(one, other, 20) == slow_distance(one, other)


@given(ANY, ANY, st.integers(0, 3))
def test_distance_gives_up_one_beyond_the_most(one: str, other: str, most: int) -> None:
    assert distance(one, other, most) == min(slow_distance(one, other), most + 1)


@given(ANY, ANY)
def test_distance_is_the_same_both_ways(one: str, other: str) -> None:
    assert distance(one, other, 20) == distance(other, one, 20)


@given(ANY, st.lists(ANY, max_size=12), st.integers(1, 2))
def test_slips_are_all_known_words_near_enough_the_nearest_first(
    word: str, known: list[str], most: int
) -> None:
    near = [(slow_distance(word, other), other) for other in known]
    assert slips(word, known, most) == sorted(each for each in near if each[0] <= most)


@given(st.text(alphabet="abcdefgh", min_size=4, max_size=9), st.data())
def test_any_one_slip_finds_the_word_again(word: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(word) - 1))
    letter = data.draw(st.sampled_from("abcdefgh"))
    kind = data.draw(st.sampled_from(["insert", "drop", "change", "swap"]))
    typed = {
        "insert": word[:at] + letter + word[at:],
        "drop": word[:at] + word[at + 1 :],
        "change": word[:at] + letter + word[at + 1 :],
        "swap": word[:at] + word[at : at + 2][::-1] + word[at + 2 :],
    }[kind]
    assert word in [known for _, known in slips(typed, ["other", word, "words"], 1)]


@pytest.mark.parametrize(
    ("heard", "meant"),
    [
        ("seezed", "seized"),
        ("nock", "knock"),
        ("noking", "knocking"),
        ("rench", "wrench"),
        ("fuze", "fuse"),
        ("skreech", "screech"),
        ("thermistur", "thermistor"),
        ("consentrator", "concentrator"),
        ("valv", "valve"),
        ("leek", "leak"),
        ("breik", "break"),
        ("wether", "whether"),
        ("tite", "tight"),
        ("pharenheit", "farenheit"),
        ("presure", "pressure"),
        ("mashine", "machine"),
    ],
)
def test_words_written_by_ear_sound_like_what_was_meant(heard: str, meant: str) -> None:
    assert sound(heard) == sound(meant)


@pytest.mark.parametrize(
    ("one", "other"),
    [("pump", "lamp"), ("door", "motor"), ("drain", "drum"), ("fan", "van"), ("heat", "heater")],
)
def test_different_words_sound_different(one: str, other: str) -> None:
    assert sound(one) != sound(other)


@given(st.text(alphabet="aeioubdfklmnprv", min_size=1, max_size=12), st.data())
def test_a_doubled_consonant_sounds_like_a_single_one(word: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(word) - 1))
    silent = at < 2 and word[:2] == "kn"  # doubled, its first letter would no longer be silent
    if word[at] not in "aeiou" and not silent:
        assert sound(word[:at] + word[at] + word[at:]) == sound(word)


@given(ANY)
def test_anything_has_a_sound(word: str) -> None:
    assert isinstance(sound(word), str)
