"""Reading a typed line: units, codes, part and bulletin numbers in every order and typing."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.asking import Asked
from kb.desk import Desk


def read(desk: Desk, text: str, **given: str) -> Asked:
    """Return *text* as the desk understands it."""
    return desk.finder.find(text, **given).asked  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "typed",
    [
        "TD45A/3",
        "td45a3",
        "TD45A 3",
        "td-45-a/3",
        "Td45A.3",
        "td 45a 3",
        "TD45A digit 3",
        "td45a rev 3",
        "TD45A /3",
        "model TD45A3",
        "mod. td45a-3",
        "(TD45A/3)",
        "TD45A/3,",
    ],
)
def test_a_model_with_its_digit_in_any_typing(odd_desk: Desk, typed: str) -> None:
    asked = read(odd_desk, typed)
    assert (asked.model, asked.revision, asked.words) == ("TD45A", 3, ())


@pytest.mark.parametrize("typed", ["TD45A", "td45a", "td 45 a", "TD-45-A", "model no TD45A"])
def test_a_model_without_digit_has_none(odd_desk: Desk, typed: str) -> None:
    asked = read(odd_desk, typed)
    assert (asked.model, asked.revision) == ("TD45A", None)


@pytest.mark.parametrize(
    "typed",
    [
        "KP1400031",
        "kp1400031",
        "K P 14 00031",
        "kp-14-00031",
        "k.p.14.00031",
        "KP 1400031",
        "serial KP1400031",
        "s/n kp 14 00031",
        "Serial no. K P 1400031",
    ],
)
def test_a_serial_with_blanks_hyphens_and_dots(odd_desk: Desk, typed: str) -> None:
    found = odd_desk.finder.find(f"TD45A {typed}")
    assert found.unit is not None
    assert not found.unit.unreadable
    assert [(r.plant, r.sequence) for r in found.unit.readings] == [("K", 31)]
    assert found.asked.words == ()


@pytest.mark.parametrize(
    "order", list(permutations(["TD45A/3", "K P 14 00031", "E-21", "drain pump"]))
)
def test_the_pieces_of_a_line_may_stand_in_any_order(
    odd_desk: Desk, order: tuple[str, ...]
) -> None:
    asked = read(odd_desk, " ".join(order))
    assert (asked.model, asked.revision) == ("TD45A", 3)
    assert asked.serial.replace(" ", "") == "KP1400031"
    assert asked.codes == ("E21",)
    assert asked.words == ("drain", "pump")


@pytest.mark.parametrize(
    ("typed", "codes"),
    [
        ("E21", ("E21",)),
        ("e-21", ("E21",)),
        ("E 21", ("E21",)),
        ("e.21", ("E21",)),
        ("E2 1", ("E21",)),
        ("e twenty one", ("E21",)),
        ("E twenty-one", ("E21",)),
        ("err 21", ("E21", "F-21")),
        ("error 21", ("E21", "F-21")),
        ("fault code e21", ("E21",)),
        ("f21", ("F-21",)),
        ("F 21", ("F-21",)),
        ("F‑21", ("F-21",)),
        ("F–21", ("F-21",)),
        ("eff twenty one", ("F-21",)),
        ("E05", ("E05",)),
        ("EO5", ("E05",)),
        ("eo5", ("E05",)),
        ("E5", ("E05",)),
        ("e oh five", ("E05",)),
        ("e zero five", ("E05",)),
        ("SE", ("SE",)),
        ("se", ("SE",)),
        ("s.e.", ("SE",)),
        ("S-E", ("SE",)),
        ("S E", ("SE",)),
        ("shows SE", ("SE",)),
        ("E21 F21", ("E21", "F-21")),
        ("E21, e-21", ("E21",)),
        ("E21/F-21", ("E21", "F-21")),
    ],
)
def test_codes_as_people_type_and_say_them(
    odd_desk: Desk, typed: str, codes: tuple[str, ...]
) -> None:
    asked = read(odd_desk, typed)
    assert asked.codes == codes
    assert asked.unknown_codes == ()
    assert asked.words == ()


@pytest.mark.parametrize("typed", ["21", "5", "drain 21", "05", "wait 21 minutes", "2 1"])
def test_a_lone_figure_is_no_code(odd_desk: Desk, typed: str) -> None:
    assert read(odd_desk, typed).codes == ()


@pytest.mark.parametrize("typed", ["see the seal", "e", "s", "else", "use", "these doors"])
def test_words_that_hold_the_letters_of_a_code_are_words(odd_desk: Desk, typed: str) -> None:
    assert read(odd_desk, typed).codes == ()


@pytest.mark.parametrize("typed", ["E99", "f-99", "H 7", "e.88", "X1"])
def test_an_unknown_code_is_known_to_be_one_and_alone_finds_nothing(
    odd_desk: Desk, typed: str
) -> None:
    found = odd_desk.finder.find(typed)
    if " " not in typed:
        assert found.asked.unknown_codes == found.asked.codes != ()
        assert "knows the code" in found.note
    assert found.results == ()


def test_an_unknown_code_beside_words_leaves_the_words_to_be_found(odd_desk: Desk) -> None:
    found = odd_desk.finder.find("E99 filter mesh")
    assert found.asked.words == ("filter", "mesh")
    assert [r.card.number for r in found.results][:1] == ["SB-7.12"]


@pytest.mark.parametrize("typed", ["R-600a", "r600a", "R600A", "r600", "r60"])
def test_a_name_that_looks_like_a_code_and_stands_in_a_bulletin_is_a_word(
    odd_desk: Desk, typed: str
) -> None:
    asked = read(odd_desk, typed)
    assert asked.codes == ()
    assert asked.words == (typed.replace("-", "").lower(),)


def test_the_beginning_of_another_code_is_no_answer(odd_desk: Desk) -> None:
    assert odd_desk.finder.find("E2").results == ()


@pytest.mark.parametrize(
    "typed",
    [
        "HR-310-4126",
        "hr3104126",
        "HR 310 4126",
        "hr.310.4126",
        "Hr-310 4126",
        "part HR-310-4126",
        "part no. hr 310-4126",
        "p/n HR3104126",
        "310-4126",
        "3104126",
        "HR-310-4126.",
    ],
)
def test_part_numbers_in_any_typing(odd_desk: Desk, typed: str) -> None:
    asked = read(odd_desk, typed)
    assert asked.parts == ("HR-310-4126",)
    assert asked.words == ()


def test_a_kit_is_a_part_number_too(odd_desk: Desk) -> None:
    assert read(odd_desk, "hr 310 1223").parts == ("HR-310-1223",)


def test_two_part_numbers_stand_in_the_order_typed(odd_desk: Desk) -> None:
    asked = read(odd_desk, "HR-310-4126 or HR-310-1216")
    assert asked.parts == ("HR-310-4126", "HR-310-1216")


def test_words_about_parts_that_announce_no_number_stay_words(odd_desk: Desk) -> None:
    assert "kit" in read(odd_desk, "kit for the filter").words


@pytest.mark.parametrize(
    "typed", ["2026-014", "2026014", "2026.014", "2026 014", "2026‑014", "(2026-014)", "2026-014."]
)
def test_bulletin_numbers_in_any_typing(odd_desk: Desk, typed: str) -> None:
    asked = read(odd_desk, typed)
    assert (asked.numbers, asked.words) == (("2026-014",), ())


@pytest.mark.parametrize("typed", ["SB-7.12", "sb712", "SB 7 12", "sb-7-12", "Sb7.12"])
def test_bulletin_numbers_with_letters_and_dots(odd_desk: Desk, typed: str) -> None:
    assert read(odd_desk, typed).numbers == ("SB-7.12",)


@pytest.mark.parametrize(
    "serial", ["KP9900031", "123456789", "KPX400031", "K P 54 00031", "GP1400031", "KP140003"]
)
def test_an_unreadable_serial_beside_a_model_is_said_to_be_so(odd_desk: Desk, serial: str) -> None:
    found = odd_desk.finder.find(f"TD45A {serial}")
    assert found.unit is not None
    assert found.unit.readings == ()
    assert "K P 14 00031" in found.unit.unreadable  # what a sound one looks like
    assert found.as_json()["read_as"]["unreadable"] == found.unit.unreadable
    assert found.asked.serial.replace(" ", "") == serial.replace(" ", "")


def test_model_and_serial_given_apart_are_taken_as_given(odd_desk: Desk) -> None:
    asked = read(odd_desk, "shakes CW7A", model="TD45A/2", serial="KP1400031")
    assert (asked.model, asked.revision, asked.serial) == ("TD45A", 2, "KP1400031")


def test_a_serial_alone_is_understood_without_a_model(odd_desk: Desk) -> None:
    asked = read(odd_desk, "KP1400031")
    assert (asked.serial, asked.model, asked.words) == ("KP1400031", "", ())


def test_only_the_first_model_is_taken(odd_desk: Desk) -> None:
    assert read(odd_desk, "TD45A TD60A").model == "TD45A"


@pytest.mark.parametrize(
    ("typed", "quotes"),
    [
        ('"drain pump" hums', (("drain", "pump"),)),
        ("“drain pump” hums", (("drain", "pump"),)),
        ("„drain pump“", (("drain", "pump"),)),
        ('"drain pump', ()),
        ('""', ()),
        ('"pump" "door seal"', (("pump",), ("door", "seal"))),
        ('say "the"', ()),
    ],
)
def test_quoted_words_are_kept_together(
    odd_desk: Desk, typed: str, quotes: tuple[tuple[str, ...], ...]
) -> None:
    assert read(odd_desk, typed).quotes == quotes


@pytest.mark.parametrize(
    ("typed", "unfinished"),
    [("drain pu", True), ("drain pump ", False), ("drain.", False), ("E21", False), ("", False)],
)
def test_a_last_word_may_still_be_growing(odd_desk: Desk, typed: str, unfinished: bool) -> None:
    assert read(odd_desk, typed).unfinished is unfinished


def test_a_lone_stop_word_may_become_a_word_that_counts(odd_desk: Desk) -> None:
    assert read(odd_desk, "do").words == ("do",)
    assert read(odd_desk, "do ").words == ()
    assert read(odd_desk, "seal do").words == ("seal",)


def test_a_line_is_read_up_to_500_characters(odd_desk: Desk) -> None:
    asked = read(odd_desk, "x " * 249 + "pump seal")
    assert len(asked.text) == 500
    assert asked.words[-1] == "pu"


def test_read_as_tells_everything_that_was_understood(odd_desk: Desk) -> None:
    line = "td45a3 kp1400031 e-21 hr3104126 2026.014 wont drain E99"
    assert odd_desk.finder.find(line).as_json()["read_as"] == {
        "words": ["wont", "drain"],
        "model": "TD45A",
        "revision": 3,
        "serial": "kp1400031",
        "codes": ["E21", "E99"],
        "parts": ["HR-310-4126"],
        "bulletins": ["2026-014"],
        "unreadable": "",
    }


def test_read_as_says_null_where_there_is_no_unit(odd_desk: Desk) -> None:
    read_as = odd_desk.finder.find("hums").as_json()["read_as"]
    assert (read_as["model"], read_as["revision"], read_as["serial"]) == (None, None, None)


PIECES = ["TD45A", "3", "KP1400031", "E-21", "f21", "SE", "HR-310-4126", "2026-014", "won't"]
PIECES += ["drain", '"', "error", "serial", "21", "(", "E99", "R-600a", "the", "½"]


@settings(max_examples=150, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=9))
def test_nothing_typed_is_lost_and_nothing_is_made_up(odd_desk: Desk, pieces: list[str]) -> None:
    asked = read(odd_desk, " ".join(pieces))
    assert set(asked.codes) <= {"E21", "F-21", "SE", "E99", "E05"}
    assert set(asked.parts) <= {"HR-310-4126"}
    assert ("drain" in asked.words) == ("drain" in pieces)
    assert ("HR-310-4126" in asked.parts) == ("HR-310-4126" in pieces)
    assert ("2026-014" in asked.numbers) == ("2026-014" in pieces)
    if "TD45A" in pieces:
        assert asked.model == "TD45A"
    if "KP1400031" in pieces:
        assert asked.serial


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=80))
def test_any_line_is_read(odd_desk: Desk, text: str) -> None:
    asked = read(odd_desk, text)
    assert asked.text == text[:500]
    assert all(word and word == word.lower() for word in asked.words)
