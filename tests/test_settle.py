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


# ---- Every condition, known and not known, in the words that a technician reads ---------------

K14 = "KP1400031"


def _told(*entries: dict[str, Any], plate: str = "TD45A", serial: str = "") -> tuple[str, str, str]:
    unit = make_unit(HOUSE, plate, serial, NOW)
    found = answer(tuple(map(block, entries)), unit, HOUSE, NOW)
    return found.applies, found.why, found.settle


ALWAYS_BUILT = "every TD45A was built 2016-09-01 to 2026-11-25"


@pytest.mark.parametrize(
    ("built", "found", "why", "settle"),
    [
        ("2022", "maybe", "the build date is not known, and only 2022 counts", "built 2022"),
        ("2022-03", "maybe", "the build date is not known, and only 2022-03 counts", "2022-03"),
        ("2018..", "maybe", "only 2018 or later counts", "the serial: built 2018 or later"),
        ("..2018", "maybe", "only up to 2018 counts", "the serial: built up to 2018"),
        ("2010", "no", f"{ALWAYS_BUILT}, after 2010", ""),
        ("..2016-08", "no", f"{ALWAYS_BUILT}, after 2016-08", ""),
        ("2027..", "no", f"{ALWAYS_BUILT}, before 2027", ""),
        ("2016..", "yes", f"{ALWAYS_BUILT}, inside 2016 or later", ""),
        ("..2026", "yes", f"{ALWAYS_BUILT}, inside the range up to 2026", ""),
        ("2016..2026", "yes", f"{ALWAYS_BUILT}, inside 2016 to 2026", ""),
    ],
)
def test_built_in_words_without_a_serial(built: str, found: str, why: str, settle: str) -> None:
    told = _told({"built": built})
    assert told[0] == found
    assert why in told[1]
    assert settle in told[2]


@pytest.mark.parametrize(
    ("built", "told"),
    [
        ("2022", ("yes", "built 2022-W14, inside 2022", "")),
        ("2022-W14", ("yes", "built 2022-W14", "")),
        ("2018..", ("yes", "built 2022-W14, inside 2018 or later", "")),
        ("..2024-W13", ("yes", "built 2022-W14, inside the range up to 2024-W13", "")),
        ("2022-03..2022-05", ("yes", "built 2022-W14, inside 2022-03 to 2022-05", "")),
        ("2023", ("no", "built 2022-W14, before 2023", "")),
        ("2021", ("no", "built 2022-W14, after 2021", "")),
        ("..2022-W13", ("no", "built 2022-W14, after 2022-W13", "")),
        (
            "2022-04-06..",
            (
                "maybe",
                "built 2022-W14, only partly inside 2022-04-06 or later",
                "the exact day of production: built 2022-04-06 or later",
            ),
        ),
        (
            "..2022-04-06",
            (
                "maybe",
                "built 2022-W14, only partly inside the range up to 2022-04-06",
                "the exact day of production: built up to 2022-04-06",
            ),
        ),
    ],
)
def test_built_in_words_with_a_serial(built: str, told: tuple[str, str, str]) -> None:
    assert _told({"built": built}, serial=K14) == told


@pytest.mark.parametrize(
    ("built", "weekly"),
    [
        # 1 April 2024 was a Monday, 31 March 2024 a Sunday: ends that could be called by month.
        ("2024-W14..", "before 2024-W14"),
        ("2024-04..", "before 2024-W14"),
        ("2018..", "inside 2018 or later"),  # the year is plain enough
        ("..2018-W39", "after 2018-W39"),
    ],
)
def test_where_serials_tell_the_week_ends_are_called_by_week(built: str, weekly: str) -> None:
    assert weekly in _told({"built": built}, serial=K14)[1]


def test_where_serials_tell_the_day_ends_are_called_by_month() -> None:
    told = _told({"built": "2020-06.."}, plate="MR30F", serial="18045K0117")
    assert told[1] == "built 2018-02-14, before 2020-06"
    told = _told({"built": "..2018-04"}, plate="MR30F", serial="18045K0117")
    assert told[1] == "built 2018-02-14, inside the range up to 2018-04"


@pytest.mark.parametrize(
    ("plants", "serial", "told"),
    [
        (["K"], "", ("maybe", "the plant is not known, and only K counts", "the serial: plant K")),
        (
            ["K", "S"],
            "",
            ("maybe", "the plant is not known, and only K or S counts", "the serial: plant K or S"),
        ),
        (["K", "L"], "", ("yes", "plant K or L", "")),
        (["S"], "", ("no", "plant K or L, not S", "")),
        (["K"], K14, ("yes", "plant K", "")),
        (["K", "L"], K14, ("yes", "plant K", "")),
        (["L", "S"], K14, ("no", "plant K, not L or S", "")),
    ],
)
def test_the_plant_in_words(plants: list[str], serial: str, told: tuple[str, str, str]) -> None:
    assert _told({"plant": plants}, serial=serial) == told


@pytest.mark.parametrize("serial", ["", "14 20 0001"])
def test_a_plant_that_no_serial_tells_is_asked_for_by_itself(serial: str) -> None:
    assert _told({"plant": ["K"]}, plate="SD7V", serial=serial) == (
        "maybe",
        "the plant is not known, and only K counts",
        "the plant of production: plant K",
    )


RANGE = "KP1400001..KP1499999"


@pytest.mark.parametrize(
    ("serials", "serial", "told"),
    [
        (
            [RANGE],
            "",
            (
                "maybe",
                "the serial is not known and could be among KP1400001 to KP1499999",
                "the serial: KP1400001 to KP1499999",
            ),
        ),
        ([K14], "", ("maybe", f"the serial is not known and could be {K14}", f"the serial: {K14}")),
        (["KA0100001"], "", ("no", "the serial is not known and cannot be KA0100001", "")),
        ([RANGE], K14, ("yes", "the serial is among KP1400001 to KP1499999", "")),
        ([K14], K14, ("yes", f"the serial is {K14}", "")),
        (["KP1400032"], K14, ("no", "the serial is not KP1400032", "")),
        (
            ["LP1400001..LP1499999", "KR0100001"],
            K14,
            ("no", "the serial is not among LP1400001 to LP1499999 or KR0100001", ""),
        ),
    ],
)
def test_serials_in_words(serials: list[str], serial: str, told: tuple[str, str, str]) -> None:
    assert _told({"serials": serials}, serial=serial) == told


@pytest.mark.parametrize(
    ("revision", "plate", "told"),
    [
        (
            "2..",
            "TD45A",
            (
                "maybe",
                "the revision is not known, and only 2 or higher counts",
                "the digit behind the model number: 2 or higher",
            ),
        ),
        (
            "..2",
            "TD45A",
            (
                "maybe",
                "the revision is not known, and only up to 2 counts",
                "the digit behind the model number: up to 2",
            ),
        ),
        ("0..", "TD45A", ("yes", "any revision will do", "")),
        ("..", "TD45A/2", ("yes", "any revision will do", "")),
        ("2", "TD45A/2", ("yes", "revision 2", "")),
        ("2..", "TD45A/5", ("yes", "revision 5, inside 2 or higher", "")),
        ("..2", "TD45A/0", ("yes", "revision 0, inside the range up to 2", "")),
        ("1..3", "TD45A/3", ("yes", "revision 3, inside 1 to 3", "")),
        ("1..3", "TD45A/4", ("no", "revision 4, not 1 to 3", "")),
        ("..2", "TD45A/4", ("no", "revision 4, not up to 2", "")),
    ],
)
def test_the_revision_in_words(revision: str, plate: str, told: tuple[str, str, str]) -> None:
    assert _told({"revision": revision}, plate=plate) == told


@pytest.mark.parametrize(
    ("entry", "told"),
    [
        ({}, ("yes", "it is for every model", "")),
        ({"family": ["Tarn"]}, ("yes", "all of Tarn is named", "")),
        ({"models": ["TD*"]}, ("yes", "TD45A is named", "")),
        ({"family": ["Tarn"], "models": ["TD45A"]}, ("yes", "TD45A is named", "")),
        ({"family": ["Scree"]}, ("no", "it is for Scree, not for Tarn", "")),
        ({"models": ["TD6*", "SD7V"]}, ("no", "it is for TD6* or SD7V, not for TD45A", "")),
        (
            {"family": ["Scree"], "models": ["TD45A"]},
            ("no", "it is for Scree, not for Tarn", ""),
        ),
    ],
)
def test_family_and_models_in_words(entry: dict[str, Any], told: tuple[str, str, str]) -> None:
    assert _told(entry) == told


# ---- Combinations ---------------------------------------------------------------------------

ALL: dict[str, Any] = {
    "models": ["TD45*"],
    "revision": "2..",
    "built": "2022",
    "plant": ["K"],
    "serials": [RANGE],
}


def test_a_yes_tells_all_that_holds_the_date_first() -> None:
    assert _told(ALL, plate="TD45A/3", serial=K14) == (
        "yes",
        "built 2022-W14, inside 2022; plant K; the serial is among KP1400001 to KP1499999; "
        "revision 3, inside 2 or higher; TD45A is named",
        "",
    )


def test_a_maybe_tells_all_that_is_missing_and_no_more() -> None:
    assert _told(ALL) == (
        "maybe",
        "the build date is not known, and only 2022 counts; the plant is not known, and only K "
        "counts; the serial is not known and could be among KP1400001 to KP1499999; the revision "
        "is not known, and only 2 or higher counts",
        "the digit behind the model number: 2 or higher; and the serial: built 2022, plant K, "
        "KP1400001 to KP1499999",
    )
    assert _told(ALL, serial=K14)[1] == "the revision is not known, and only 2 or higher counts"


@pytest.mark.parametrize(
    ("missed", "why"),
    [
        ({"models": ["TD60*"]}, "it is for TD60*, not for TD45A"),
        ({"revision": "4.."}, "revision 3, not 4 or higher"),
        ({"built": "2023"}, "built 2022-W14, before 2023"),
        ({"plant": ["L"]}, "plant K, not L"),
        ({"serials": ["KP1400099"]}, "the serial is not KP1400099"),
    ],
)
def test_a_no_tells_the_one_condition_that_fails(missed: dict[str, Any], why: str) -> None:
    assert _told({**ALL, **missed}, plate="TD45A/3", serial=K14) == ("no", why, "")


def test_of_alternatives_the_nearest_miss_is_told_and_of_equal_ones_the_first() -> None:
    far, near = {"family": ["Scree"]}, {"family": ["Tarn"], "plant": ["L"]}
    assert _told(far, near, serial=K14)[1] == "plant K, not L"
    assert _told(near, far, serial=K14)[1] == "plant K, not L"
    assert _told({"family": ["Scree"]}, {"family": ["Moraine"]})[1].startswith("it is for Scree")


@pytest.mark.parametrize(
    ("excepted", "serial", "told"),
    [
        ({"models": ["TD45*"]}, "", ("no", "excepted: TD45A is named", "")),
        ({"built": "2022"}, K14, ("no", "excepted: built 2022-W14, inside 2022", "")),
        (
            {"built": "2022", "plant": ["K"]},
            K14,
            ("no", "excepted: built 2022-W14, inside 2022; plant K", ""),
        ),
        ({"serials": [K14]}, K14, ("no", f"excepted: the serial is {K14}", "")),
        (
            {"built": "2022"},
            "",
            (
                "maybe",
                "an exception may hold: the build date is not known, and only 2022 counts",
                "the serial: not built 2022",
            ),
        ),
        (
            {"plant": ["K"], "revision": "3.."},
            K14,
            (
                "maybe",
                "an exception may hold: the revision is not known, and only 3 or higher counts",
                "the digit behind the model number: not 3 or higher",
            ),
        ),
        (
            {"plant": ["K"], "except": [{"revision": "3.."}]},
            K14,
            (
                "maybe",
                "an exception may hold: an exception to that may hold: the revision is not known, "
                "and only 3 or higher counts",
                "the digit behind the model number: 3 or higher",
            ),
        ),
    ],
)
def test_exceptions_in_words(
    excepted: dict[str, Any], serial: str, told: tuple[str, str, str]
) -> None:
    assert _told({"family": ["Tarn"], "except": [excepted]}, serial=serial) == told


def test_of_several_readings_each_is_told_without_saying_its_days_twice() -> None:
    old = "built 2013-02-12 to 2013-02-18, plant S"
    new = "built 2023-02-12 to 2023-02-18, plant S"
    assert _told({"built": "2020-06.."}, plate="MR30F", serial="S07300412") == (
        "maybe",
        f"if {old}: no, before 2020-06; if {new}: yes, inside 2020-06 or later",
        f"which of these the serial means: {old} (no) or {new} (yes)",
    )


def test_readings_that_agree_are_told_side_by_side() -> None:
    found, why, settle = _told({"built": "2012.."}, plate="MR30F", serial="S07300412")
    assert (found, settle) == ("yes", "")
    assert why == (
        "built 2013-02-12 to 2013-02-18, inside 2012 or later; "
        "or built 2023-02-12 to 2023-02-18, inside 2012 or later"
    )


def test_serials_of_several_years_in_the_bulletin_are_said_to_be_so() -> None:
    found, why, settle = _told(
        {"serials": ["S01300001..S52300100"]}, plate="MR30F", serial="S07300412"
    )
    assert found == "maybe"
    assert "maybe, the serial may be among S01300001 to S52300100, which can mean several" in why
    assert "the years meant by the serials in the bulletin: S01300001 to S52300100" in settle


def test_no_block_names_no_unit() -> None:
    assert _told() == ("no", "it names no unit", "")


@pytest.mark.parametrize("serial", ["", K14, "nonsense"])
@pytest.mark.parametrize("plate", ["TD45A", "TD45A/3"])
@pytest.mark.parametrize("depth", range(3))
def test_no_answer_is_without_reason_nor_has_stray_words(
    serial: str, plate: str, depth: int
) -> None:
    keys = [{key: ALL[key]} for key in ALL]
    for one in keys:
        for other in keys:
            entry: dict[str, Any] = {**one, "except": [other]}
            for _ in range(depth):
                entry = {**other, "except": [entry]}
            found, why, settle = _told(entry, plate=plate, serial=serial)
            for text in (why, settle):
                assert "None" not in text and "  " not in text
                assert "not not" not in text and "up to or" not in text
                assert not text.startswith((";", ",", " ")) and not text.endswith((";", ",", ":"))
            assert why
            assert bool(settle) == (found == "maybe")


def test_an_exception_that_is_ruled_out_is_not_asked_for() -> None:
    where = {"family": ["Tarn"], "except": [{"built": "2010"}, {"revision": "3.."}]}
    assert _settle(where, serial=K14) == "the digit behind the model number: not 3 or higher"
