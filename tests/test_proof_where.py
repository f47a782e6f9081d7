"""Rules on where a bulletin applies."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.errors import Problem
from kb.records import Block, SchemeUse, SerialRange
from tests.proof_house import broken, bulletin, family, house, part, said


@pytest.mark.parametrize(
    ("typed", "near"), [("Tran", "Tarn"), ("Carn", "Cairn"), ("CAIRNS", "Cairn"), ("tarm", "Tarn")]
)
def test_an_unknown_family_is_told_with_the_one_meant(typed: str, near: str) -> None:
    (problem,) = broken(house(bulletin(where=(Block(families=(typed,)),))), "family-unknown")
    assert problem.message == f"there is no family '{typed}'"
    assert problem.remedy.startswith(f"did you mean {near}? ")


@pytest.mark.parametrize("typed", ["Tarn", "tarn", "TARN", " Tarn "])
def test_a_family_is_known_whatever_its_case(typed: str) -> None:
    assert said(house(bulletin(where=(Block(families=(typed,)),))), "family-unknown") == []


@pytest.mark.parametrize(
    "pattern", ["TD45A", "td-45a", "TD*", "TD45?", "*A", "CW8B", "T D 4 5 A", "*"]
)
def test_a_pattern_that_means_a_model_is_sound(pattern: str) -> None:
    assert said(house(bulletin(where=(Block(models=(pattern,)),))), "model-unknown") == []


@pytest.mark.parametrize(
    ("pattern", "remedy"),
    [
        ("TD54A", "did you mean TD45A?"),
        ("TD45A3", "write TD45A here and the last digit under 'revision'"),
        ("ZZ*", "add the model to its family"),
    ],
)
def test_a_pattern_that_means_no_model_is_told(pattern: str, remedy: str) -> None:
    (problem,) = broken(house(bulletin(where=(Block(models=(pattern,)),))), "model-unknown")
    assert problem.remedy.startswith(remedy)


def test_exceptions_are_looked_at_as_well() -> None:
    block = Block(families=("Tarn",), but_not=(Block(families=("Trn",)), Block(models=("TX",))))
    one = bulletin(where=(block,), lines={"family": 6, "except": 8, "except[1].models": 9})
    assert [(p.line, p.rule) for p in broken(house(one), "family-unknown")] == [
        (8, "family-unknown")
    ]
    assert [p.line for p in broken(house(one), "model-unknown")] == [9]


def test_each_block_is_told_on_its_own_line() -> None:
    blocks = (Block(families=("Tarn",)), Block(families=("Cairn", "Trn")))
    lines = {
        "applies": 6,
        "applies[0].family": 7,
        "applies[1].family": 8,
        "applies[1].family[1]": 9,
    }
    assert [
        p.line for p in broken(house(bulletin(where=blocks, lines=lines)), "family-unknown")
    ] == [9]


def test_a_model_of_another_family_is_told_by_its_owner() -> None:
    blocks = (Block(families=("Tarn",), models=("CW7A", "TD*")),)
    assert said(house(bulletin(where=blocks)), "model-other-family") == [
        "'CW7A' is a model of Cairn, not of Tarn"
    ]


def test_an_exception_takes_models_from_the_family_around_it() -> None:
    block = Block(families=("Tarn",), but_not=(Block(models=("CW7A",)),))
    assert len(said(house(bulletin(where=(block,))), "model-other-family")) == 1


@pytest.mark.parametrize(
    ("built", "rule"),
    [
        ("2015", "built-outside"),
        ("..2016-08", "built-outside"),
        ("2016-01..2017", "built-partly-outside"),
        ("2016-09..2017", None),
        ("..2017", None),
        ("2030..", None),
        ("2028-W01..2028-W20", None),
    ],
)
def test_a_range_is_held_against_the_production_of_tarn(built: str, rule: str | None) -> None:
    one = house(bulletin(where=(Block(families=("Tarn",), built=parse_days(built)),)))
    for name in ("built-outside", "built-partly-outside"):
        assert bool(said(one, name)) == (name == rule)


@pytest.mark.parametrize(
    ("built", "rule"),
    [("2025..", "built-outside"), ("2024..2024-07", "built-partly-outside"), ("2024..", None)],
)
def test_a_range_is_held_against_the_end_of_cairn(built: str, rule: str | None) -> None:
    one = house(bulletin(where=(Block(models=("CW7A",), built=parse_days(built)),)))
    for name in ("built-outside", "built-partly-outside"):
        assert bool(said(one, name)) == (name == rule)


def test_a_range_need_only_fit_one_of_several_families() -> None:
    block = Block(families=("Tarn", "Cairn"), built=parse_days("2014-03..2026"))
    one = house(bulletin(where=(block,)))
    assert said(one, "built-outside") == said(one, "built-partly-outside") == []


DAYS = st.dates(date(2010, 1, 1), date(2030, 12, 31))


@given(DAYS, DAYS)
def test_wholly_outside_is_told_just_where_no_day_is_shared(a: date, b: date) -> None:
    built = Days(min(a, b), max(a, b))
    one = house(bulletin(where=(Block(families=("Cairn",), built=built),)))
    shared = max(a, b) >= date(2014, 3, 1) and min(a, b) <= date(2024, 6, 30)
    # Six days beyond either end may be the rest of a week that is partly inside.
    inside = min(a, b) >= date(2014, 2, 23) and max(a, b) <= date(2024, 7, 6)
    assert bool(said(one, "built-outside")) == (not shared)
    assert bool(said(one, "built-partly-outside")) == (shared and not inside)


@pytest.mark.parametrize(("plant", "wrong"), [("K", False), ("l", False), ("S", True), ("", True)])
def test_a_plant_is_one_of_the_family_s_schemes(plant: str, wrong: bool) -> None:
    one = house(bulletin(where=(Block(families=("Tarn",), plants=(plant,)),)))
    assert bool(said(one, "plant-unknown")) is wrong


def test_the_plants_are_named_in_the_remedy() -> None:
    one = house(bulletin(where=(Block(families=("Tarn",), plants=("S",)),)))
    assert "K (Kirkholm works) and L (Langrigg works)" in broken(one, "plant-unknown")[0].remedy


@pytest.mark.parametrize(
    ("first", "last", "rule"),
    [
        ("KP1400031", "KP1400040", None),
        ("KP1400031", "KP1400031", None),
        ("kp-14-00031", "K R 02 00001", None),
        ("KP1400040", "KP1400031", "serials-reversed"),
        ("KR0100001", "KP1400031", "serials-reversed"),
        ("KP1400031", "LP1400040", "serials-two-plants"),
        ("KP1400031", "KP6000001", "serial-unreadable"),
        ("KP14", "KP1400040", "serial-unreadable"),
        ("ZP1400031", "ZP1400031", "serial-unreadable"),
    ],
)
def test_a_range_of_serials_is_read_whole(first: str, last: str, rule: str | None) -> None:
    one = house(bulletin(where=(Block(families=("Tarn",), serials=(SerialRange(first, last),)),)))
    for name in ("serials-reversed", "serials-two-plants", "serial-unreadable"):
        assert bool(said(one, name)) == (name == rule)
    assert said(one, "applies-to-none") == []


def test_conditions_that_exclude_one_another_leave_no_unit() -> None:
    built, away = parse_days("2020"), Block(built=parse_days("2019..2021"))
    block = Block(families=("Tarn",), built=built, but_not=(away,))
    one = house(bulletin(where=(block,)))
    assert said(one, "applies-to-none") == ["the bulletin applies to no unit at all"]


def test_one_empty_block_of_several_is_told_by_itself() -> None:
    away = Block(families=("Tarn",), but_not=(Block(families=("Tarn",)),))
    one = house(bulletin(where=(Block(families=("Cairn",)), away)))
    assert said(one, "applies-to-none") == []
    assert len(said(one, "block-for-none")) == 1


def test_an_unknown_family_is_not_blamed_twice() -> None:
    one = house(bulletin(where=(Block(families=("Nowhere",)),)))
    assert said(one, "applies-to-none") == []


@pytest.mark.parametrize(("models", "wrong"), [(("TD45*",), False), (("TD45X",), True)])
def test_models_in_the_parts_table_are_known(models: tuple[str, ...], wrong: bool) -> None:
    assert bool(said(house(parts=[part("HR-2", models=models)]), "part-model-unknown")) is wrong


def test_a_model_that_is_another_with_a_digit_is_told() -> None:
    scree = family("Scree", "2015..", "SD8", "SD82", "SD8H")
    one = house(families={"Scree": scree})
    assert said(one, "model-collides") == ["'SD82' can also be read as SD8 with revision 2"]


@pytest.mark.parametrize("file", ["reference/families.yaml", "reference/serials.yaml"])
def test_serials_are_not_blamed_while_their_tables_are_broken(file: str) -> None:
    given_one = bulletin(where=(Block(families=("Tarn",), serials=(SerialRange("ZZ", "ZZ"),)),))
    met = Problem(file=file, line=3, level="error", rule="syntax", message="m", remedy="r")
    assert len(said(house(given_one), "serial-unreadable")) == 1
    assert said(house(given_one, problems=(met,)), "serial-unreadable") == []


def test_a_plant_is_not_blamed_while_one_of_the_family_s_schemes_is_unknown() -> None:
    tarn = family("Tarn", "2016-09..", "TD45A")
    old = replace(tarn, schemes=(*tarn.schemes, SchemeUse("older")))
    one = house(bulletin(where=(Block(families=("Tarn",), plants=("S",)),)), families={"Tarn": old})
    assert said(one, "plant-unknown") == []


def test_a_model_is_not_held_against_families_of_which_one_is_unknown() -> None:
    blocks = (Block(families=("Cairn", "Tran"), models=("TD45A",)),)
    assert said(house(bulletin(where=blocks)), "model-other-family") == []


@pytest.mark.parametrize(
    ("built", "told"),
    [
        ("2014-02-23..2020", False),
        ("2014-02-22..2020", True),
        ("2020..2024-07-06", False),
        ("2020..2024-07-07", True),
    ],
)
def test_the_rest_of_a_week_may_lie_outside_production(built: str, told: bool) -> None:
    one = house(bulletin(where=(Block(families=("Cairn",), built=parse_days(built)),)))
    assert bool(said(one, "built-partly-outside")) is told


@pytest.mark.parametrize(("year", "wrong"), [("S", False), ("W", False), ("X", True)])
def test_serials_are_announced_two_years_ahead_at_most(year: str, wrong: bool) -> None:
    # Of the letters of the house S is 2025, W is 2028 and X is 2029; today is in 2026.
    serial = f"K{year}0100001"
    one = bulletin(where=(Block(families=("Tarn",), serials=(SerialRange(serial, serial),)),))
    assert bool(said(house(one), "serial-unreadable")) is wrong


@pytest.mark.parametrize(("plants", "told"), [(("K",), 1), (("S",), 0)])
def test_an_empty_block_is_not_told_where_one_of_its_conditions_is_blamed(
    plants: tuple[str, ...], told: int
) -> None:
    away = Block(families=("Tarn",), plants=plants, but_not=(Block(families=("Tarn",)),))
    one = house(bulletin(where=(Block(families=("Cairn",)), away)))
    assert len(said(one, "block-for-none")) == told


def test_a_model_of_a_family_that_could_not_be_read_is_not_blamed_on_the_parts(
    tmp_path: Path,
) -> None:
    path = tmp_path / "reference" / "families.yaml"
    path.parent.mkdir()
    path.write_text("Scree:\n  models: [SD8H]\n", "utf-8")
    file = "reference/families.yaml"
    met = Problem(file=file, line=1, level="error", rule="missing", message="m", remedy="r")
    rows = [part("HR-2", models=("SD8H",)), part("HR-3", models=("SD9H",))]
    one = replace(house(parts=rows, files=(file,), problems=(met,)), folder=tmp_path)
    assert said(one, "part-model-unknown") == ["no model is meant by 'SD9H'"]
