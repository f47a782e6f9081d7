"""What the format promises about where a bulletin applies, sentence by sentence."""

from __future__ import annotations

from datetime import date
from itertools import product
from typing import Any

import pytest

from kb.applies import answer
from kb.judge import verdict
from kb.kleene import every, opposite, some
from kb.records import Answer, Verdict
from kb.units import make_unit
from tests.shared_cases import block, tables

HOUSE = tables(
    {
        "schemes": {
            "hollin": {
                "layout": "P Y WW NNNNN",
                "plants": {"K": "Kirkholm works", "L": "Langrigg works"},
                "year_letters": "ABCDEFHJKLMNPRSTUVWX",
                "year_first": 2010,
                "used": "2010..",
            },
            "short": {"layout": "P Y MM NN", "plants": {"K": "Kirkholm works"}, "used": "2010.."},
            "old": {"layout": "YYYY DD MM P N", "plants": {"S": "Stainby works"}},
        },
        "families": {
            "Tarn": {
                "models": ["TD45A", "TD45B", "TD60A"],
                "produced": "2016-09..",
                "schemes": {"hollin": ""},
            },
            "Scree": {"models": ["SD7V"], "produced": "2012..", "schemes": {"short": ""}},
            "Moraine": {
                "models": ["MR30F"],
                "produced": "2012..",
                "schemes": {"old": "..2018", "hollin": "2019.."},
            },
        },
    }
)
TODAY = date(2026, 11, 25)
WEEK_14 = "K P 14 00031"  # plant K, week 14 of 2022: 4 to 10 April


def _answer(*entries: dict[str, Any], plate: str = "TD45A", serial: str = "") -> Answer:
    unit = make_unit(HOUSE, plate, serial, TODAY)
    return answer(tuple(map(block, entries)), unit, HOUSE, TODAY)


def _applies(*entries: dict[str, Any], plate: str = "TD45A", serial: str = "") -> Verdict:
    return _answer(*entries, plate=plate, serial=serial).applies


# ---- "Inside a block every key given must hold" ---------------------------------------------

ALL_KEYS: dict[str, Any] = {
    "family": ["Tarn"],
    "models": ["TD45?"],
    "revision": "2..4",
    "built": "2022-W10..2022-W30",
    "plant": ["K"],
    "serials": ["KP1400001..KP1499999"],
}
MISSED: dict[str, Any] = {
    "family": ["Scree"],
    "models": ["TD60*"],
    "revision": "4..",
    "built": "2023",
    "plant": ["L"],
    "serials": ["KP1500001..KP1599999"],
}


def test_a_block_whose_every_key_holds_is_yes() -> None:
    assert _applies(ALL_KEYS, plate="TD45A/3", serial=WEEK_14) == "yes"


@pytest.mark.parametrize("key", ALL_KEYS)
def test_one_key_that_does_not_hold_makes_the_block_no(key: str) -> None:
    where = {**ALL_KEYS, key: MISSED[key]}
    assert _applies(where, plate="TD45A/3", serial=WEEK_14) == "no"


@pytest.mark.parametrize("key", ALL_KEYS)
def test_a_key_that_is_not_given_asks_for_nothing(key: str) -> None:
    where = {name: value for name, value in ALL_KEYS.items() if name != key}
    assert _applies(where, plate="TD45A/3", serial=WEEK_14) == "yes"


@pytest.mark.parametrize("key", ALL_KEYS)
def test_each_key_is_reached_by_an_exception(key: str) -> None:
    where = {"family": ["Tarn"], "except": [{key: ALL_KEYS[key]}]}
    assert _applies(where, plate="TD45A/3", serial=WEEK_14) == "no"
    where = {"family": ["Tarn"], "except": [{key: MISSED[key]}]}
    assert _applies(where, plate="TD45A/3", serial=WEEK_14) == "yes"


# ---- "several blocks are alternatives", "any one of which is enough" -------------------------


@pytest.mark.parametrize("place", range(3))
def test_any_one_block_is_enough_wherever_it_stands(place: int) -> None:
    where: list[dict[str, Any]] = [{"family": ["Scree"]}, {"built": "2010"}, {"plant": ["L"]}]
    assert _applies(*where, serial=WEEK_14) == "no"
    where[place] = {"built": "2022"}
    assert _applies(*where, serial=WEEK_14) == "yes"


def test_an_exception_of_one_block_takes_nothing_from_another() -> None:
    but_k = {"family": ["Tarn"], "except": [{"plant": ["K"]}]}
    assert _applies(but_k, serial=WEEK_14) == "no"
    assert _applies(but_k, {"built": "2022"}, serial=WEEK_14) == "yes"


def test_an_exception_is_a_block_of_its_own_and_takes_all_of_its_keys() -> None:
    where = {"family": ["Tarn"], "except": [{"plant": ["K"], "built": "2023"}]}
    assert _applies(where, serial=WEEK_14) == "yes"
    where = {"family": ["Tarn"], "except": [{"plant": ["K"]}, {"built": "2023"}]}
    assert _applies(where, serial=WEEK_14) == "no"


# ---- The keys -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "value", "plate", "found"),
    [
        ("family", ["Tarn"], "TD45A", "yes"),
        ("family", ["Scree", "Tarn"], "TD45A", "yes"),
        ("family", ["Scree"], "TD45A", "no"),
        ("models", ["TD*"], "TD45A", "yes"),
        ("models", ["TD45?"], "TD45B", "yes"),
        ("models", ["TD45?"], "TD60A", "no"),
        ("models", ["TD60A", "TD45B"], "TD45B", "yes"),
        ("models", ["TD45A"], "TD45A/3", "yes"),  # patterns are without the revision
        ("models", ["TD45A?"], "TD45A/3", "no"),
        ("models", ["td-45 a"], "TD45A", "yes"),
        ("revision", "2", "TD45A/2", "yes"),
        ("revision", "2", "TD45A/3", "no"),
        ("revision", "2..", "TD45A/12", "yes"),
        ("revision", "2..", "TD45A/1", "no"),
        ("revision", "..3", "TD45A/0", "yes"),
        ("revision", "..3", "TD45A/4", "no"),
        ("revision", "2..4", "TD45A/4", "yes"),
        ("revision", "2..4", "TD45A/1", "no"),
    ],
)
def test_family_models_and_revision(key: str, value: Any, plate: str, found: Verdict) -> None:
    assert _applies({key: value}, plate=plate) == found


def test_models_not_given_are_all_of_the_family() -> None:
    for model in HOUSE.families["Tarn"].models:
        assert _applies({"family": ["Tarn"]}, plate=model) == "yes"
    assert _applies({"family": ["Tarn"]}, plate="SD7V") == "no"


@pytest.mark.parametrize(
    ("built", "found"),
    [
        ("2022", "yes"),  # a lone date is that whole day, week, month or year
        ("2022-04", "yes"),
        ("2022-W14", "yes"),
        ("2022-04-04", "maybe"),
        ("2022-04-04..2022-04-10", "yes"),  # both ends included
        ("2022-04-05..2022-04-10", "maybe"),
        ("2022-04-04..2022-04-09", "maybe"),
        ("2022-04-10..", "maybe"),
        ("..2022-04-04", "maybe"),
        ("2022-04-11..", "no"),
        ("..2022-04-03", "no"),
        ("2022-W14..2022-W15", "yes"),
        ("2022-W13..2022-W14", "yes"),
        ("2022-W15..", "no"),
        ("..2022-W13", "no"),
        ("2021..2022-03", "no"),
        ("2021..2022-04", "yes"),
        ("2022-W14..2023", "yes"),
    ],
)
def test_a_built_range_includes_both_ends_in_every_form(built: str, found: Verdict) -> None:
    assert _applies({"built": built}, serial=WEEK_14) == found


@pytest.mark.parametrize(
    ("serials", "found"),
    [
        ("KP1400031", "yes"),
        ("k p 14-00031", "yes"),
        ("KP1400031..KP1400031", "yes"),
        ("KP1400031..KP2200100", "yes"),
        ("KP0100001..KP1400031", "yes"),
        ("KP1400032..KP2200100", "no"),
        ("KP0100001..KP1400030", "no"),
        ("KN5200001..KR0100001", "yes"),  # in order of date: N, P, R are 2021, 2022, 2023
        ("KP1399999..KP1500000", "yes"),  # date first, then sequence
        ("LP0100001..LP5299999", "no"),  # another plant
        ("LP0100001..KP5299999", "no"),  # ends of two plants
        ("KP2200100..KP0100001", "no"),  # out of order
        ("20220404S1..20220410S9", "no"),  # another scheme
    ],
)
def test_serial_ranges_are_in_order_of_date_then_sequence(serials: str, found: Verdict) -> None:
    assert _applies({"serials": [serials]}, serial=WEEK_14) == found


def test_serials_that_no_scheme_in_use_reads_hold_for_no_unit() -> None:
    # Moraine's own ranges count under the scheme that reads them, and under no other.
    where = {"serials": ["20150401S1..20150430S9"]}
    assert _applies(where, plate="MR30F", serial="20151804S5") == "no"
    where = {"serials": ["20150104S1..20153004S9"]}
    assert _applies(where, plate="MR30F", serial="20151804S5") == "yes"
    assert _applies(where, plate="MR30F", serial="KL1400005") == "no"


# ---- "No serial given, or one that cannot be read" -------------------------------------------


@pytest.mark.parametrize("serial", ["", "KP5700031", "nonsense", "KP14"])
@pytest.mark.parametrize(
    ("where", "found"),
    [
        ({"built": "2016-09.."}, "yes"),  # any day of the production up to today
        ({"built": "2016-09-01..2026-11-25"}, "yes"),
        ({"built": "2016-09-02.."}, "maybe"),
        ({"built": "..2026-11-24"}, "maybe"),
        ({"built": "2026-11-26.."}, "no"),
        ({"built": "..2016-08"}, "no"),
        ({"plant": ["K", "L"]}, "yes"),  # of any plant
        ({"plant": ["K"]}, "maybe"),
        ({"plant": ["S"]}, "no"),
    ],
)
def test_without_a_readable_serial_any_plant_and_day_of_production_counts(
    serial: str, where: dict[str, Any], found: Verdict
) -> None:
    assert _applies(where, serial=serial) == found


def test_an_unreadable_serial_is_said_to_be_so_with_what_a_sound_one_looks_like() -> None:
    unit = make_unit(HOUSE, "TD45A", "KP5700031", TODAY)
    assert unit.unreadable == (
        "serial KP5700031: the third and fourth place are the week; 57 is none; "
        "a sound one looks like K B 11 00031: plant, year, week, number"
    )


# ---- "one of three, never two" --------------------------------------------------------------


@pytest.mark.parametrize(
    ("missing", "where", "plate", "serial"),
    [
        ("no serial", {"built": "2022"}, "TD45A", ""),
        ("no revision digit", {"revision": "2.."}, "TD45A", WEEK_14),
        ("a serial that fits two decades", {"built": "..2019"}, "SD7V", "K 4 03 17"),
        ("a week that straddles the end", {"built": "..2022-04-06"}, "TD45A", WEEK_14),
    ],
)
def test_a_fact_that_is_missing_or_too_coarse_is_a_maybe_that_says_what_would_settle_it(
    missing: str, where: dict[str, Any], plate: str, serial: str
) -> None:
    found = _answer(where, plate=plate, serial=serial)
    assert (found.applies, bool(found.settle)) == ("maybe", True), missing


@pytest.mark.parametrize(
    ("built", "found"), [("2010..", "yes"), ("2014..2015", "maybe"), ("2016..2019", "no")]
)
def test_over_two_decades_all_yes_is_yes_all_no_is_no_else_maybe(
    built: str, found: Verdict
) -> None:
    unit = make_unit(HOUSE, "SD7V", "K 4 03 17", TODAY)
    assert [r.built.first for r in unit.readings] == [date(2014, 3, 1), date(2024, 3, 1)]
    assert _applies({"built": built}, plate="SD7V", serial="K 4 03 17") == found


# ---- "Conditions combine by Kleene's three-valued logic" -------------------------------------

# S. C. Kleene, Introduction to Metamathematics (1952), section 64, strong tables (from memory).
# For the unit of WEEK_14 without a revision digit:
FIRST: dict[Verdict, dict[str, Any]] = {
    "yes": {"built": "2022"},
    "no": {"built": "2010"},
    "maybe": {"built": "2022-04-06.."},
}
SECOND: dict[Verdict, dict[str, Any]] = {
    "yes": {"revision": ".."},
    "no": {"models": ["SD*"]},
    "maybe": {"revision": "3.."},
}
RANK: dict[Verdict, int] = {"no": 0, "maybe": 1, "yes": 2}
BY_RANK: tuple[Verdict, ...] = ("no", "maybe", "yes")
PAIRS = list(product(BY_RANK, BY_RANK))


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_keys_of_a_block_combine_by_and(one: Verdict, other: Verdict) -> None:
    wanted = BY_RANK[min(RANK[one], RANK[other])]
    assert _applies({**FIRST[one], **SECOND[other]}, serial=WEEK_14) == wanted
    assert every([one, other]) == wanted


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_blocks_combine_by_or(one: Verdict, other: Verdict) -> None:
    wanted = BY_RANK[max(RANK[one], RANK[other])]
    assert _applies(FIRST[one], SECOND[other], serial=WEEK_14) == wanted
    assert some([one, other]) == wanted


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_exceptions_combine_by_and_not(one: Verdict, other: Verdict) -> None:
    wanted = BY_RANK[min(RANK[one], 2 - RANK[other])]
    assert _applies({**FIRST[one], "except": [SECOND[other]]}, serial=WEEK_14) == wanted
    assert every([one, opposite(other)]) == wanted


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_several_exceptions_take_away_by_or(one: Verdict, other: Verdict) -> None:
    wanted = BY_RANK[2 - max(RANK[one], RANK[other])]
    where = {"family": ["Tarn"], "except": [FIRST[one], SECOND[other]]}
    assert _applies(where, serial=WEEK_14) == wanted


@pytest.mark.parametrize(("one", "other"), PAIRS)
def test_a_maybe_says_what_would_settle_it_and_nothing_else_does(
    one: Verdict, other: Verdict
) -> None:
    for where in ({**FIRST[one], **SECOND[other]}, {**FIRST[one], "except": [SECOND[other]]}):
        found = _answer(where, serial=WEEK_14)
        assert bool(found.settle) == (found.applies == "maybe")
        assert found.why


def test_yes_and_no_are_words_of_the_record() -> None:
    assert (verdict(True), verdict(False)) == ("yes", "no")
