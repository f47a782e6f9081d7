"""Slips of the hand: what is one, and what is a thing of its own."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.proof.slips import look_alike, mistyped, one_slip

WORDS = st.text(string.ascii_lowercase, min_size=2, max_size=9)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("pmup", "pump"),  # swapped
        ("pum", "pump"),  # missing
        ("pumpp", "pump"),  # extra
        ("punp", "pump"),  # wrong
        ("pump", "pump"),
    ],
)
def test_one_slip_is_one_letter_missing_extra_wrong_or_swapped(typed: str, meant: str) -> None:
    assert one_slip(typed, meant)
    assert one_slip(meant, typed)


@pytest.mark.parametrize(
    ("a", "b"), [("pump", "mupp"), ("pump", "pu"), ("pump", "lamp"), ("", "ab")]
)
def test_two_slips_are_not_one(a: str, b: str) -> None:
    assert not one_slip(a, b)


def _restricted_distance(a: str, b: str) -> int:
    """Optimal string alignment distance by the textbook table: the slow, plain answer."""
    table = [[max(i, j) if not i * j else 0 for j in range(len(b) + 1)] for i in range(len(a) + 1)]
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            table[i][j] = min(
                table[i - 1][j] + 1,
                table[i][j - 1] + 1,
                table[i - 1][j - 1] + (a[i - 1] != b[j - 1]),
            )
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                table[i][j] = min(table[i][j], table[i - 2][j - 2] + 1)
    return table[-1][-1]


@given(WORDS, WORDS)
def test_one_slip_is_a_distance_of_at_most_one(a: str, b: str) -> None:
    assert one_slip(a, b) == (_restricted_distance(a, b) <= 1)


@given(WORDS, st.data())
def test_every_single_slip_is_known(word: str, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(word) - 1))
    letter = data.draw(st.sampled_from(string.ascii_lowercase))
    for slip in (word[:at] + word[at + 1 :], word[:at] + letter + word[at:]):
        assert one_slip(slip, word)
    swapped = word[:at] + word[at : at + 2][::-1] + word[at + 2 :]
    assert one_slip(swapped, word)


@pytest.mark.parametrize(
    ("typed", "known"),
    [
        ("drian pump", "drain pump"),
        ("drain pmup", "drain pump"),
        ("drain-pump", "drain pump"),
        ("drainpump", "drain pump"),
        ("circulaton pmup", "circulation pump"),
        ("themristor", "thermistor"),
        ("evaporater fan", "evaporator fan"),
        ("idrain pump", "drain pump"),
    ],
)
def test_a_mistyped_component_is_known_for_what_it_is(typed: str, known: str) -> None:
    wanted = typed != "idrain pump"  # a first letter too many makes another word: no blame
    assert mistyped(typed, known) is wanted


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("door seal", "door seals"),
        ("heater 2", "heater"),
        ("heater 1", "heater 2"),
        ("inlet valve", "outlet valve"),
        ("upper rack", "lower rack"),
        ("left hinge", "right hinge"),
        ("door switch", "foot switch"),
        ("fan", "pan"),
        ("drain pump", "drain pump cover"),
        ("main control", "mains filter"),
        ("float", "boat"),
    ],
)
def test_things_of_their_own_are_not_taken_for_slips(one: str, other: str) -> None:
    assert not mistyped(one, other)
    assert not mistyped(other, one)


@given(st.text(string.ascii_letters + " ", max_size=20))
def test_nothing_is_a_slip_of_itself(name: str) -> None:
    assert not mistyped(name, name)
    assert not mistyped(name, name.upper())


@pytest.mark.parametrize("code", ["E21", "e-21", "E 21", "E2l", "EZ1", "E2I"])
def test_codes_that_look_alike_have_one_form(code: str) -> None:
    assert look_alike(code) == look_alike("E21")


@pytest.mark.parametrize(("a", "b"), [("E21", "E12"), ("F05", "E05"), ("E2", "E22"), ("AH", "A4")])
def test_codes_that_differ_to_the_eye_have_two(a: str, b: str) -> None:
    assert look_alike(a) != look_alike(b)


# Names of a workshop's parts bin, as typed in haste, and the name that each of them means or not.
NAMES = [
    ("circulation pmup", "circulation pump", True),
    ("circluation pump", "circulation pump", True),
    ("ciruclaton pump", "circulation pump", True),
    ("circulation  pump", "circulation pump", False),
    ("Circulation Pump", "circulation pump", False),
    ("circulation-pump", "circulation pump", True),
    ("circulationpump", "circulation pump", True),
    ("circulation pumps", "circulation pump", False),
    ("circulation pump 2", "circulation pump", False),
    ("condenser fan", "condensate fan", False),
    ("condensor fan", "condenser fan", True),
    ("cndensor fan", "condenser fan", True),
    ("cndensro fan", "condenser fan", False),
    ("heat exchanger", "heat exchange", True),
    ("tmubelr", "tumbler", True),
    ("fitlre", "filter", False),
    ("tumblre brlt", "tumbler belt", True),
    ("evaporator", "evaporater", True),
    ("evaporator fan", "evaporator", False),
    ("thermostat", "thermistor", False),
    ("themrostat", "thermostat", True),
    ("door lock", "door look", True),
    ("door lokc", "door lock", True),
    ("odor lock", "door lock", True),
    ("door seal", "door sealing", False),
    ("inlet vavle", "inlet valve", True),
    ("intel valve", "inlet valve", False),
    ("outlet valve", "inlet valve", False),
    ("igniter", "ignitor", True),
    ("gas vlave", "gas valve", True),
    ("gsa valve", "gas valve", False),
    ("lid", "lip", False),
    ("belt", "bolt", True),
    ("hose", "nose", False),
    ("heater 1", "heater 2", False),
    ("heater1", "heater 1", True),
    ("10 A fuse", "16 A fuse", False),
    ("fuse", "fuses", False),
    ("main contorl", "main control", True),
    ("mian control", "main control", True),
    ("user control", "main control", False),
    ("left hinge", "left hinges", False),
    ("left hnige", "left hinge", True),
    ("turbidity snesor", "turbidity sensor", True),
    ("humidity sensor", "turbidity sensor", False),
    ("spray arm", "spray rams", False),
    ("spray amr", "spray arm", False),
    ("", "spray arm", False),
]


@pytest.mark.parametrize(("typed", "known", "slip"), NAMES)
def test_names_typed_in_haste(typed: str, known: str, slip: bool) -> None:
    assert mistyped(typed, known) is slip


@given(WORDS, WORDS)
def test_one_slip_is_the_same_from_either_side(a: str, b: str) -> None:
    assert one_slip(a, b) == one_slip(b, a)


@pytest.mark.parametrize(
    ("digit", "letters"), [("0", "Oo Q"), ("1", "Il"), ("5", "Ss"), ("2", "Zz"), ("8", "B")]
)
def test_letters_that_pass_for_a_digit_on_a_display(digit: str, letters: str) -> None:
    for letter in letters.replace(" ", ""):
        assert look_alike(f"E{letter}") == look_alike(f"E{digit}") == f"E{digit}"


@pytest.mark.parametrize("letter", "ACDEFGHJKMNPRTUVWXY")
def test_other_letters_are_no_digits(letter: str) -> None:
    assert look_alike(f"{letter}3") == f"{letter}3"
    assert look_alike(look_alike(f"{letter}B")) == look_alike(f"{letter}B")


@given(WORDS, WORDS)
def test_a_long_word_may_hold_two_slips_and_no_third(a: str, b: str) -> None:
    typed, known = f"abcdefg{a}", f"abcdefg{b}"
    plural = typed.removesuffix("s") == known.removesuffix("s")
    assert mistyped(typed, known) == (0 < _restricted_distance(a, b) <= 2 and not plural)
