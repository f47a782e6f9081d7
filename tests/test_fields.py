"""Keys asked for by type: what fits is returned, what does not is told at its own line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.errors import DateError
from kb.faults import Faults
from kb.fields import (
    Fields,
    Unfit,
    count_range,
    day,
    days,
    known_keys,
    number,
    quantity,
    share,
    yes_no,
)
from kb.records import Count
from kb.yamlrepair import read_keys

KNOWN = known_keys("name", "colour", "minutes", "in-hand", "items", "boxes", needed=("name",))


def fields(text: str, place: str = "", is_open: bool = False) -> Fields:
    """Return the fields of a text whose keys begin on line 1."""
    faults = Faults("a.yaml")
    return Fields(read_keys(text, faults), faults, KNOWN, place, is_open)


def told(found: Fields) -> list[tuple[int, str, str]]:
    return [(p.line, p.rule, p.level) for p in found.faults.problems]


def words(found: Fields) -> tuple[str, str]:
    (problem,) = found.faults.problems
    return problem.message, problem.remedy


def test_known_keys_keep_their_order_and_tell_which_are_needed() -> None:
    assert list(KNOWN.items()) == [
        ("name", True),
        ("colour", False),
        ("minutes", False),
        ("in-hand", False),
        ("items", False),
        ("boxes", False),
    ]


def test_keys_are_there_or_not_and_know_their_lines() -> None:
    found = fields("\nname: a\n\nitems:\n  - b\n\n  - c\ncolour: [d]\n")
    assert "name" in found and "minutes" not in found
    assert (found.line, found.at("name"), found.at("items"), found.at("minutes")) == (2, 2, 4, 2)
    assert [found.item_line("items", at) for at in range(3)] == [5, 7, 4]
    assert (found.item_line("name", 0), found.item_line("colour", 0)) == (2, 8)


@pytest.mark.parametrize("key", ["x-a", "x-", "x-two words", "x-name"])
def test_keys_of_ones_own_are_left_alone(key: str) -> None:
    assert told(fields(f"name: a\n{key}: [1, {{a: b}}]\n")) == []


@pytest.mark.parametrize(
    ("key", "message", "remedy"),
    [
        ("nane", "there is no key “nane”", "did you mean “name”? Keys of your own begin with “x-”"),
        ("color", "there is no key “color”", "did you mean “colour”? Keys of your own begin"),
        ("in_hand", "there is no key “in_hand”", "did you mean “in-hand”?"),
        ("In-Hand", "there is no key “In-Hand”", "did you mean “in-hand”?"),
        ("weather", "there is no key “weather”", "the keys are name, colour, minutes, in-hand"),
        ("X-a", "there is no key “X-a”", "keys of your own begin with “x-”"),
    ],
)
def test_an_unknown_key_is_told_with_the_nearest_known_one(
    key: str, message: str, remedy: str
) -> None:
    found = fields(f"minutes: 5\n{key}: b\n")
    assert told(found) == [(2, "unknown-key", "error")]
    assert words(found)[0] == message and remedy in words(found)[1]


def test_the_place_of_an_unknown_key_is_named() -> None:
    assert words(fields("weather: b\n", "checks"))[0] == "there is no key “weather” in “checks”"


def test_a_mistyped_key_is_still_read_unless_the_right_one_is_there_too() -> None:
    assert fields("nane: a\n").text("name") == "a"
    both = fields("nane: a\nname: b\n")
    assert both.text("name") == "b" and told(both) == [(1, "unknown-key", "error")]
    assert not fields("nane: a\n").need("colour", "red")


@pytest.mark.parametrize(
    ("key", "level"),
    [("weather", "warning"), ("nane", "error"), ("colours", "error"), ("logo", "warning")],
)
def test_in_an_open_table_only_a_key_like_a_known_one_is_an_error(key: str, level: str) -> None:
    assert told(fields(f"name: a\n{key}: b\n", is_open=True)) == [(2, "unknown-key", level)]


def test_text_cut_off_at_a_comma_is_told_as_such() -> None:
    faults = Faults("a.yaml")
    pairs = read_keys("boxes: {name: hose, with a clip}\n", faults)
    (block, _), *_ = Fields(pairs, faults, KNOWN).blocks("boxes")
    inner = Fields(block, faults, KNOWN, "boxes")
    assert words(inner) == (
        "“with a clip” is cut off at a comma",
        "put the whole text, comma and all, in quotes",
    )


def test_a_colon_without_its_blank_is_told_as_such_in_brackets() -> None:
    faults = Faults("a.yaml")
    (block, _), *_ = Fields(read_keys("boxes: [{name:hose}]\n", faults), faults, KNOWN).blocks(
        "boxes"
    )
    inner = Fields(block, faults, KNOWN, "boxes")
    assert words(inner) == ("after “name:” a blank is missing", "write “name: …” with a blank")
    assert "name" in inner and inner.need("name", "hose")


@pytest.mark.parametrize(
    ("line", "level", "place", "expected"),
    [
        (None, "error", "", (2, "the key “name” is missing")),
        (9, "error", "checks", (9, "checks: the key “name” is missing")),
        (9, "warning", "", (9, "the key “name” is missing")),
    ],
)
def test_a_missing_key_is_told_with_an_example(
    line: int | None, level: Any, place: str, expected: tuple[int, str]
) -> None:
    found = fields("\ncolour: a\n", place)
    assert not found.need("name", "drain pump", line, level)
    assert told(found) == [(expected[0], "missing-key", level)]
    assert words(found) == (expected[1], "add a line such as “name: drain pump”")
    assert found.need("colour", "red")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("name: a", "a"),
        ("name: ' a b '", "a b"),
        ("name: >\n  a\n  b", "a b"),
        ("name: |\n  a\n  b", "a\nb"),
        ("colour: a", ""),
    ],
)
def test_a_text_is_trimmed(text: str, value: str) -> None:
    found = fields(text)
    assert found.text("name") == value and told(found) == []


def test_a_text_of_several_lines_where_one_is_asked_for() -> None:
    found = fields("name: |\n  a\n  b\n")
    assert found.text("name", one_line=True) == "a b"
    assert told(found) == [(1, "one-line", "error")]
    assert words(found) == ("“name” runs over several lines", "write it on one line")
    folded = fields("name: >\n  a\n  b\n")
    assert folded.text("name", one_line=True) == "a b" and told(folded) == []


@pytest.mark.parametrize(
    ("value", "remedy"),
    [
        ("[a, b]", "write one value, “name: …”, without brackets and dashes"),
        ("\n  - a", "write one value, “name: …”, without brackets and dashes"),
        ("{a: b}", "write plain text; where it holds a colon or brackets, put it in quotes"),
    ],
)
def test_a_list_or_keys_where_one_value_is_asked_for(value: str, remedy: str) -> None:
    found = fields(f"colour: x\nname: {value}\n")
    assert found.text("name") == "" and told(found) == [(2, "wrong-shape", "error")]
    assert words(found)[1] == remedy


@pytest.mark.parametrize("blank", ["", " ", " ''", ' "  "', " # later"])
def test_a_blank_value_is_an_error_where_it_is_needed_and_a_warning_elsewhere(blank: str) -> None:
    for key, level in (("name", "error"), ("colour", "warning")):
        found = fields(f"minutes: 1\n{key}:{blank}\n")
        assert found.text(key) == "" and told(found) == [(2, "empty", level)]
        assert words(found) == (
            f"“{key}” has no value",
            "fill it in, or remove the line where it is not needed",
        )


@pytest.mark.parametrize(
    ("value", "texts"),
    [
        (" a", ("a",)),
        (" [a, b]", ("a", "b")),
        (" [a, b,]", ("a", "b")),
        (" []", ()),
        (" ['a, b', \"c: d\"]", ("a, b", "c: d")),
        ("\n  - a\n  - ' b '", ("a", "b")),
        ("\n- a # first\n\n- b", ("a", "b")),
        (" [no, 010, 1e5]", ("no", "010", "1e5")),
        ("\n  - >\n    a\n    b", ("a b",)),
    ],
)
def test_a_list_is_read_in_every_form(value: str, texts: tuple[str, ...]) -> None:
    found = fields(f"items:{value}\n")
    assert found.texts("items") == texts and told(found) == []
    assert fields("name: a\n").texts("items") == ()


@pytest.mark.parametrize(
    ("value", "texts", "problems"),
    [
        (" [a, '']", ("a",), [(1, "empty", "error")]),
        ("\n  - a\n  -\n  - b", ("a", "b"), [(3, "empty", "error")]),
        ("\n  - a\n  - [b]\n  - c", ("a", "c"), [(3, "wrong-shape", "error")]),
        ("\n  - a\n  - b: c", ("a",), [(3, "wrong-shape", "error")]),
        (" {a: b}", (), [(1, "wrong-shape", "error")]),
        ("", (), [(1, "empty", "warning")]),
    ],
)
def test_an_item_that_is_no_text_is_told_at_its_own_line(
    value: str, texts: tuple[str, ...], problems: list[tuple[int, str, str]]
) -> None:
    found = fields(f"items:{value}\n")
    assert found.texts("items") == texts and told(found) == problems


def test_a_list_that_must_not_be_empty() -> None:
    found = fields("name: a\nitems: []\n")
    assert found.needed_texts("items") == () and told(found) == [(2, "empty", "error")]
    assert words(found) == ("the list “items” is empty", "name one at least")
    assert fields("items: [a]\n").needed_texts("items") == ("a",)
    absent = fields("name: a\n")
    assert absent.needed_texts("items") == () and told(absent) == []


def test_mappings_come_one_by_one_with_their_place_in_the_list() -> None:
    found = fields("boxes:\n  - {name: a}\n  - hose\n  - name: b\n")
    blocks = list(found.blocks("boxes", scalar="name"))
    assert [(keys.line, index) for keys, index in blocks] == [(2, 0), (3, 1), (4, 2)]
    names = [Fields(keys, found.faults, KNOWN).text("name") for keys, _ in blocks]
    assert names == ["a", "hose", "b"] and told(found) == []


@pytest.mark.parametrize("value", ["{name: a}", "\n  name: a", "[{name: a}]", "\n- name: a"])
def test_one_mapping_is_a_list_of_one(value: str) -> None:
    found = fields(f"boxes: {value}\n")
    assert len(list(found.blocks("boxes"))) == 1 and told(found) == []


@pytest.mark.parametrize(
    ("value", "line", "rule", "level"),
    [
        ("a", 1, "wrong-shape", "error"),
        ("", 1, "empty", "warning"),
        ("\n  - {name: a}\n  - b", 3, "wrong-shape", "error"),
        ("\n  - {name: a}\n  -\n", 3, "empty", "warning"),
        ("\n  - {name: a}\n  - [b]", 3, "wrong-shape", "error"),
        ("\n  - {name: a}\n  - name:b", 3, "syntax", "error"),
    ],
)
def test_what_is_no_mapping_is_told(value: str, line: int, rule: str, level: str) -> None:
    found = fields(f"boxes: {value}\n")
    assert all(keys.pairs for keys, _ in found.blocks("boxes"))
    assert told(found) == [(line, rule, level)]


def test_one_mapping_is_asked_for() -> None:
    found = fields("boxes: {name: a}\n")
    block = found.block("boxes")
    assert block is not None and list(block.pairs) == ["name"]
    assert found.block("items") is None and told(found) == []
    wrong = fields("name: a\nboxes: [{name: a}]\n")
    assert wrong.block("boxes") is None and told(wrong) == [(2, "wrong-shape", "error")]


def test_a_broken_value_is_told_once_and_by_nothing_that_asks_for_it() -> None:
    found = fields("name: 'a\nitems: [a\nboxes: {a\ncolour: b: c\n")
    assert found.faults.errors == 4
    assert (found.text("name"), found.texts("items"), list(found.blocks("boxes"))) == ("", (), [])
    assert found.block("boxes") is None and found.read("colour", days) is None
    assert found.need("name", "a") and found.faults.errors == 4


def test_a_value_is_read_by_its_reader_and_what_does_not_fit_is_told_at_its_line() -> None:
    found = fields("name: a\nminutes: 7.5\n")
    assert found.read("minutes", number) == 7.5 and found.read("items", number) is None
    wrong = fields("name: a\nminutes: many\n")
    assert wrong.read("minutes", number) is None and told(wrong) == [(2, "bad-value", "error")]
    assert words(wrong) == (
        "“minutes”: “many” is no number above 0",
        "write a plain number above 0, such as 15 or 2.5",
    )
    late = fields("name: a\n\nminutes: 2024-13\n")
    assert late.read("minutes", days) is None and told(late) == [(3, "bad-date", "error")]


@pytest.mark.parametrize("typed", ["in-hand", "In-Hand", "in hand", "INHAND", "'in-hand'"])
def test_a_word_is_chosen_whatever_its_case_and_hyphens(typed: str) -> None:
    found = fields(f"colour: {typed}\n")
    assert found.one_of("colour", ("red", "in-hand")) == "in-hand" and told(found) == []
    assert found.one_of("items", ("red",)) is None


def test_a_word_that_is_not_known_is_told_with_the_nearest_and_all() -> None:
    found = fields("name: a\ncolour: gren\n")
    assert found.one_of("colour", ("red", "green")) is None
    assert told(found) == [(2, "unknown-word", "error")]
    assert words(found) == (
        "“colour” does not know “gren”",
        "did you mean green? It takes one of red, green",
    )
    far = fields("colour: xyzzy\n")
    assert far.choose("colour", "xyzzy", ("red", "green"), 7) is None
    assert told(far) == [(7, "unknown-word", "error")]
    assert words(far)[1] == "It takes one of red, green"


Reader = Callable[[str], Any]


@pytest.mark.parametrize(
    ("reader", "text", "message", "remedy"),
    [
        (number, "1,5", "“1,5” is no number above 0", "write the decimals behind a point: 1.5"),
        (number, "0", "“0” is no number above 0", "write a plain number above 0, such as"),
        (number, "30 min", "“30 min” is no number above 0", "write a plain number above 0"),
        (share, "2", "“2” is no likelihood from 0 to 1", "write 0.5 (or 50 %) for one case in two"),
        (quantity, "0", "“0” is no whole number of 1 or more", "write how many, such as 2"),
        (yes_no, "ja", "“ja” is neither yes nor no", "write yes or no"),
        (day, "2024-03", "“2024-03” is no date", "write year-month-day, such as 2026-03-02"),
        (day, "2023-02-29", "there is no 2023-02-29", "months run to 12, days to 28 to 31"),
        (count_range, "..", "“..” is no range of whole numbers", "write 2, 2.., ..3 or 2..4"),
        (count_range, "4..2", "“4..2” ends before it begins", "write 2..4"),
    ],
)
def test_what_does_not_fit_says_why_and_what_to_write(
    reader: Reader, text: str, message: str, remedy: str
) -> None:
    with pytest.raises(Unfit) as trouble:
        reader(text)
    assert str(trouble.value) == message and remedy in trouble.value.remedy


@pytest.mark.parametrize(
    ("text", "value"),
    [("yes", True), ("true", True), ("on", True), ("no", False), ("false", False), ("off", False)],
)
def test_yes_and_no_have_three_words_each_in_any_case(text: str, value: bool) -> None:
    assert yes_no(text) is yes_no(text.upper()) is yes_no(text.title()) is value


def test_a_range_of_days_is_read_as_everywhere_else() -> None:
    assert days("2024-W10..2025-W22") == parse_days("2024-W10..2025-W22")
    with pytest.raises(DateError):
        days("soon")


@given(st.integers(1, 999_999_999), st.integers(0, 999_999_999), st.integers(0, 3))
def test_any_plain_number_is_read_with_leading_zeros_too(whole: int, part: int, zeros: int) -> None:
    typed = "0" * max(0, min(zeros, 9 - len(str(whole)))) + str(whole)
    assert number(typed) == whole
    assert number(f"{typed}.{part}") == pytest.approx(float(f"{whole}.{part}"))


@given(st.integers(0, 100))
def test_a_share_is_the_same_in_percent_and_as_a_fraction(percent: int) -> None:
    assert share(f"{percent} %") == share(f"{percent}%") == pytest.approx(percent / 100)
    assert share(f"{percent / 100:.2f}") == pytest.approx(percent / 100)
    with pytest.raises(Unfit):
        share(f"{percent + 101} %")


@given(st.integers(0, 9_999_999), st.integers(0, 9_999_999), st.sampled_from(["..", " .. ", ".. "]))
def test_a_range_of_numbers_holds_its_ends(one: int, other: int, dots: str) -> None:
    low, high = sorted((one, other))
    assert count_range(f"{low}{dots}{high}") == Count(low, high)
    assert count_range(f"{low}{dots}".strip()) == Count(low, None)
    assert count_range(f"{dots}{high}".strip()) == Count(None, high)
    assert count_range(str(low)) == Count(low, low)


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_every_day_is_read_as_written_by_iso_8601(which: date) -> None:
    assert day(which.isoformat()) == which
    assert days(which.isoformat()) == Days(which, which)
