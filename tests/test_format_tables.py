"""What the format promises about serial schemes, parts and checks, sentence by sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

import pytest

from kb.catalogue import Order, order
from kb.checks import best_order, expected_minutes
from kb.dates import parse_days
from kb.records import Check, Example, Family, Reading, Scheme, SchemeUse
from kb.serials import SerialError, prove, read_serial, uses_of
from tests.partrows import catalogue

TODAY = date(2026, 11, 25)
HOLLIN = Scheme(
    name="hollin",
    layout="PYWWNNNNN",
    plants={"K": "Kirkholm works", "L": "Langrigg works"},
    year_letters="ABCDEFHJKLMNPRSTUVWX",
    year_first=2010,
    used=parse_days("2010.."),
    examples=(
        Example(serial="K P 14 00031", plant="K", built=parse_days("2022-W14"), sequence=31),
    ),
)


def _read(text: str, scheme: Scheme, today: date = TODAY) -> list[Reading]:
    return list(read_serial(text, [(scheme, scheme.used)], today))


# ---- Serial schemes -------------------------------------------------------------------------


def test_the_example_of_the_format_reads_as_it_says() -> None:
    assert prove(HOLLIN, TODAY) == []
    (found,) = _read("K P 14 00031", HOLLIN)
    assert (found.plant, found.built, found.sequence) == ("K", parse_days("2022-W14"), 31)


@pytest.mark.parametrize(
    "typed",
    ["KP1400031", "kp1400031", "k-p-14-00031", " K P 14 00031 ", "K.P.14.00031", "Kp14‑00031"],
)
def test_blanks_hyphens_and_case_never_matter_in_a_serial(typed: str) -> None:
    assert _read(typed, HOLLIN) == _read("K P 14 00031", HOLLIN)


def test_twenty_letters_make_a_cycle_of_twenty_years() -> None:
    assert len(HOLLIN.year_letters) == 20
    assert [r.built for r in _read("KA2000001", HOLLIN)] == [parse_days("2010-W20")]
    later = _read("KA2000001", HOLLIN, date(2031, 1, 1))
    assert [r.built for r in later] == [parse_days("2010-W20"), parse_days("2030-W20")]


@pytest.mark.parametrize(
    ("week", "typed", "built"),
    [
        ("iso", "K F 01 00001", "2014-12-29..2015-01-04"),
        ("jan-1", "K F 01 00001", "2015-01-01..2015-01-07"),  # week 1 starts on 1 January
        ("jan-1", "K F 02 00001", "2015-01-08..2015-01-14"),  # each seven days
        ("jan-1", "K F 52 00001", "2015-12-24..2015-12-31"),  # the last one longer
        ("jan-1", "K H 52 00001", "2016-12-23..2016-12-31"),  # by two days in a leap year
        ("iso", "K F 53 00001", "2015-W53"),
    ],
)
def test_weeks_are_counted_as_the_scheme_says(
    week: Literal["iso", "jan-1"], typed: str, built: str
) -> None:
    (found,) = _read(typed, replace(HOLLIN, week=week))
    assert found.built == parse_days(built)


@pytest.mark.parametrize(
    ("layout", "typed", "found"),
    [
        ("YYYY MM DD N", "2024 02 29 1", ["2024-02-29"]),
        ("YYYY JJJ N", "2024 366 1", ["2024-12-31"]),
        ("YYYY WW N", "2020 53 1", ["2020-W53"]),
        ("YYYY MM N", "2024 02 1", ["2024-02"]),
        ("YYYY N", "2024 1", ["2024"]),
        ("YY N", "24 1", ["2024"]),  # fewer digits = more possible years
        ("Y N", "4 1", ["2004", "2014", "2024"]),
        ("Y X N", "4 ? 1", ["2004", "2014", "2024"]),
    ],
)
def test_places_of_every_kind_are_read(layout: str, typed: str, found: list[str]) -> None:
    made = Scheme(name="made", layout=layout.replace(" ", ""), used=parse_days("2000.."))
    assert [reading.built for reading in _read(typed, made)] == [parse_days(d) for d in found]


def test_month_letters_stand_for_the_months_in_order() -> None:
    letters = "123456789OND"
    made = Scheme(name="m", layout="YYYYMN", month_letters=letters, used=parse_days("2000.."))
    for number, letter in enumerate(letters, start=1):
        (found,) = _read(f"2021{letter}1", made)
        assert found.built == parse_days(f"2021-{number:02}")


def _family(produced: str, *uses: tuple[str, str]) -> Family:
    return Family(
        name="Tarn",
        product="dishwasher",
        models=("TD45A",),
        produced=parse_days(produced),
        schemes=tuple(SchemeUse(name, parse_days(used)) for name, used in uses),
    )


@pytest.mark.parametrize(
    ("used", "produced", "use", "today", "built"),
    [
        ("2010..", "2016-09..", "..", TODAY, "2022-04-04..2022-04-10"),
        ("2022-04-06..", "2016-09..", "..", TODAY, "2022-04-06..2022-04-10"),  # the scheme's used
        ("2010..", "..2022-04-06", "..", TODAY, "2022-04-04..2022-04-06"),  # the family's produced
        ("2010..", "2016-09..", "2022-04-09..", TODAY, "2022-04-09..2022-04-10"),  # its own period
        ("2010..", "2016-09..", "..", date(2022, 4, 5), "2022-04-04..2022-04-05"),  # today
    ],
)
def test_a_readings_dates_are_cut_to_scheme_family_and_today(
    used: str, produced: str, use: str, today: date, built: str
) -> None:
    scheme = replace(HOLLIN, used=parse_days(used))
    uses = uses_of(_family(produced, ("hollin", use)), {"hollin": scheme})
    (found,) = read_serial("KP1400031", uses, today)
    assert found.built == parse_days(built)
    assert found.code_days == parse_days("2022-W14")


@pytest.mark.parametrize(
    ("produced", "today", "told"),
    [
        ("2023..", TODAY, "2022-W14, outside the production of this model (2023 or later)"),
        ("..2021", TODAY, "2022-W14, outside the production of this model (2010 to 2021)"),
        ("2016..", date(2022, 4, 3), "2022-W14, after today"),
    ],
)
def test_where_no_day_is_left_there_is_no_such_reading(
    produced: str, today: date, told: str
) -> None:
    uses = uses_of(_family(produced, ("hollin", "..")), {"hollin": HOLLIN})
    with pytest.raises(SerialError, match="a unit with this serial would have been built in") as no:
        read_serial("KP1400031", uses, today)
    assert told in str(no.value)


def test_schemes_of_a_family_hold_each_in_its_own_period() -> None:
    old = Scheme(name="old", layout="YYYYMMDDN")
    uses = uses_of(
        _family("2012..", ("old", "..2018"), ("hollin", "2019..")), {"old": old, "hollin": HOLLIN}
    )
    assert [reading.scheme for reading in read_serial("201512311", uses, TODAY)] == ["old"]
    assert [reading.scheme for reading in read_serial("KL1400001", uses, TODAY)] == ["hollin"]
    for text in ("201912311", "KE1400001"):
        with pytest.raises(SerialError, match="outside the production"):
            read_serial(text, uses, TODAY)


# ---- Parts ----------------------------------------------------------------------------------


def _order(*rows: str, kits: tuple[str, ...] = (), model: str | None = None) -> Order:
    return order(catalogue(rows, kits), rows[0].partition(",")[0], model)


def _numbers(found: Order) -> list[str]:
    return [line.number for line in found.order]


@pytest.mark.parametrize("status", ["current", "running-out", "pending", "gone"])
def test_replaced_by_is_followed_whatever_is_left_of_the_old_one(status: str) -> None:
    found = _order(f"A,{status},B,same", "B,current")
    assert _numbers(found) == ([] if status == "pending" else ["B"])


@pytest.mark.parametrize("status", ["current", "running-out"])
def test_a_pending_successor_is_named_but_not_ordered(status: str) -> None:
    found = _order(f"A,{status},B,same,,2027-W10", "B,pending")
    assert _numbers(found) == ["A"]
    assert [(each.number, each.since) for each in found.coming] == [("B", "2027-W10")]
    assert found.chain == ()


def test_a_kit_that_is_gone_without_successor_dissolves_into_its_contents() -> None:
    rows = ("K,gone", "A,current", "B,current", "K2,current")
    kits = ("K,A,2", "K,B,1")
    assert {n.number: n.quantity for n in _order(*rows, kits=kits).order} == {"A": 2, "B": 1}
    replaced = ("K,gone,K2,same", *rows[1:])
    assert _numbers(_order(*replaced, kits=kits)) == ["K2"]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("A,pending", "A cannot be ordered yet"),
        ("A,pending,,,,2027-W10", "A cannot be ordered yet (from 2027-W10)"),
        ("A,pending,B,same", "A cannot be ordered yet; B is to replace it"),
        ("A,gone", "A is gone and nothing takes its place"),
    ],
)
def test_a_number_pending_itself_or_gone_gives_an_empty_order_and_says_why(
    row: str, why: str
) -> None:
    found = _order(row, "B,current")
    assert (found.order, found.notes, found.interchange) == ((), (why,), "none")


def test_several_successors_limited_to_models_are_alternatives() -> None:
    rows = ("A,gone,B,same,TD45*", "A,gone,C,forward,TD60*", "B,current", "C,current")
    both = _order(*rows)
    assert [(line.number, line.models) for line in both.order] == [
        ("B", ("TD45*",)),
        ("C", ("TD60*",)),
    ]
    assert both.choose
    one = _order(*rows, model="TD60A")
    assert (_numbers(one), one.choose, one.interchange) == (["C"], False, "forward")


@pytest.mark.parametrize(
    ("relations", "interchange"),
    [
        (("same",), "both"),
        (("same", "same"), "both"),
        (("forward",), "forward"),
        (("same", "forward"), "forward"),
        (("forward", "same"), "forward"),
        (("kit",), "forward"),
        (("same", "kit"), "forward"),
        ((), "none"),
    ],
)
def test_interchange_tells_how_what_is_ordered_stands_to_what_was_asked(
    relations: tuple[str, ...], interchange: str
) -> None:
    rows = [f"N{at},gone,N{at + 1},{relation}" for at, relation in enumerate(relations)]
    found = _order(*rows, f"N{len(relations)},current")
    assert found.interchange == interchange
    assert [step.relation for step in found.chain] == list(relations)


def test_a_changed_row_keeps_its_number_and_does_not_interchange() -> None:
    found = _order("A,current,A,changed,,2024-W10,the new one has a white cap")
    assert (_numbers(found), found.interchange) == (["A"], "none")
    assert found.notes == ("A: the new one has a white cap",)


@pytest.mark.parametrize("typed", ["HR-310-1118", "hr 310 1118", "HR.310.1118", "hr3101118"])
def test_numbers_compare_without_blanks_hyphens_dots_and_case(typed: str) -> None:
    found = order(catalogue(["HR 310-1118,current"]), typed)
    assert (found.asked, _numbers(found)) == (typed, ["HR 310-1118"])


# ---- Checks ---------------------------------------------------------------------------------

CONNECTOR = Check(cause="connector not fully home on the pump", likelihood=0.5, minutes=5)
CONTROL = Check(cause="main control fault", likelihood=0.05, minutes=10, last=True)
JAM = Check(cause="pump jammed", likelihood=0.4, minutes=20)


def test_the_page_orders_by_likelihood_per_minute_highest_first() -> None:
    assert best_order([JAM, CONNECTOR]) == (1, 0)


def test_a_check_marked_last_comes_after_all_others() -> None:
    dear = Check(cause="sump cracked", likelihood=0.001, minutes=60)
    assert best_order([CONTROL, dear, CONNECTOR]) == (2, 1, 0)


def test_before_holds_a_check_behind_another() -> None:
    held = replace(CONNECTOR, before=("pump jammed",))
    assert best_order([held, JAM]) == (1, 0)


def test_each_orders_expected_minutes_are_stated() -> None:
    # 0.5 and 0.4 of 0.9: 5 minutes for the first, 25 for the second; the other way 20 and 25.
    checks = [CONNECTOR, JAM]
    assert expected_minutes(checks, (0, 1)) == pytest.approx((0.5 * 5 + 0.4 * 25) / 0.9)
    assert expected_minutes(checks, (1, 0)) == pytest.approx((0.4 * 20 + 0.5 * 25) / 0.9)
