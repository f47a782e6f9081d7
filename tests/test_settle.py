"""The words of an answer: ranges, lists, reasons and what would settle a maybe."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from kb.applies import answer
from kb.records import Block, Count, SerialRange
from kb.settle import listed, show_count, show_serials
from kb.units import make_unit
from tests.shared_cases import block, load, tables

HOUSE = tables(load("applies.json")["house"])
NOW = date(2026, 11, 25)


def _settle(*entries: dict[str, Any], plate: str = "TD45A", serial: str = "") -> str:
    unit = make_unit(HOUSE, plate, serial, NOW)
    return answer(tuple(map(block, entries)), unit, HOUSE, NOW).settle


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (Count(3, None), "3 or higher"),
        (Count(None, 2), "up to 2"),
        (Count(2, 4), "2 to 4"),
        (Count(2, 2), "2"),
        (Count(0, 0), "0"),
        (Count(), "any"),
    ],
)
def test_revisions_in_words(count: Count, words: str) -> None:
    assert show_count(count) == words


@pytest.mark.parametrize(
    ("words", "shown"),
    [([], ""), (["a"], "a"), (["a", "b"], "a or b"), (["a", "b", "c"], "a, b or c")],
)
def test_lists_in_words(words: list[str], shown: str) -> None:
    assert listed(words) == shown


def test_serials_are_shown_as_typed() -> None:
    ranges = (SerialRange("K P 14 1", "K P 14 9"), SerialRange("X", "X"))
    assert show_serials(Block(serials=ranges)) == "K P 14 1 to K P 14 9 or X"


def test_all_that_a_serial_would_tell_is_asked_for_at_once() -> None:
    wanted = {"family": ["Tarn"], "built": "2022", "plant": ["K"], "revision": "2"}
    assert _settle(wanted) == (
        "the digit behind the model number: 2; and the serial: built 2022, plant K"
    )


def test_only_what_is_missing_is_asked_for() -> None:
    wanted = {"family": ["Tarn"], "built": "2022", "plant": ["K"], "revision": "2"}
    assert _settle(wanted, plate="TD45A/2") == "the serial: built 2022, plant K"
    assert _settle(wanted, serial="KP1400031") == "the digit behind the model number: 2"


def test_an_alternative_that_is_ruled_out_is_not_asked_for() -> None:
    assert _settle({"family": ["Tarn"], "built": "2010"}, {"built": "2022"}) == (
        "the serial: built 2022"
    )


def test_equal_wants_of_two_alternatives_are_told_once() -> None:
    same = {"family": ["Tarn"], "revision": "3.."}
    assert _settle(same, same) == "the digit behind the model number: 3 or higher"


def test_an_exception_with_two_unknowns_takes_both_to_be_excepted() -> None:
    wanted = {"family": ["Tarn"], "except": [{"plant": ["L"], "built": "2022"}]}
    assert _settle(wanted) == "the serial: not built 2022 together with plant L"


def test_an_exception_of_an_exception_is_told_without_a_double_no() -> None:
    inner = {"models": ["TD*"], "except": [{"plant": ["L"]}]}
    assert _settle({"family": ["Tarn"], "except": [inner]}) == "the serial: plant L"


def test_each_reading_that_is_open_is_settled_by_itself() -> None:
    told = _settle({"built": "2023-02-14.."}, plate="MR30F", serial="S07300412")
    assert told == (
        "which of these the serial means: built 2013-02-12 to 2013-02-18, plant S (no) or "
        "built 2023-02-12 to 2023-02-18, plant S (maybe); "
        "if built 2023-02-12 to 2023-02-18, plant S: "
        "the exact day of production: built 2023-02-14 or later"
    )


@pytest.mark.parametrize(
    ("entry", "plate", "serial", "why"),
    [
        ({"family": ["Tarn"]}, "TD45A", "", "all of Tarn is named"),
        ({}, "TD45A", "", "it is for every model"),
        ({"built": "2016.."}, "TD45A", "", "every TD45A was built 2016-09-01 to 2026-11-25"),
        ({"plant": ["K", "L"]}, "TD45A", "", "plant K or L"),
        ({"revision": "2"}, "TD45A/2", "", "revision 2"),
        ({"revision": "2.."}, "TD45A/2", "", "revision 2, inside 2 or higher"),
        ({"revision": "3.."}, "TD45A/2", "", "revision 2, not 3 or higher"),
        ({"built": "2022-W14"}, "TD45A", "KP1400031", "built 2022-W14"),
        ({"built": "2022-W20..2022-W30"}, "TD45A", "KP1400031", "before 2022-W20"),
        ({"family": ["Scree", "Cairn"]}, "TD45A", "", "it is for Scree or Cairn, not for Tarn"),
        (
            {"except": [{"built": "2022"}]},
            "TD45A",
            "",
            "an exception may hold: the build date is not known, and only 2022 counts",
        ),
    ],
)
def test_reasons(entry: dict[str, Any], plate: str, serial: str, why: str) -> None:
    unit = make_unit(HOUSE, plate, serial, NOW)
    assert why in answer((block(entry),), unit, HOUSE, NOW).why
