"""Rating plates: model, revision and serial as people type them."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import parse_days
from kb.errors import NotFound
from kb.units import family_of, make_unit, split_model
from tests.shared_cases import load, tables

MODELS = ["TD45A", "TD45B", "TD60A", "TD4", "CW-9.D", "MR30", "MR30F", "ND100"]
HOUSE = tables(load("applies.json")["house"])
TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("typed", "model", "revision"),
    [
        ("TD45A", "TD45A", None),
        ("td45a", "TD45A", None),
        (" TD-45 A ", "TD45A", None),
        ("TD45A3", "TD45A", 3),
        ("TD45A/3", "TD45A", 3),
        ("td45a / 12", "TD45A", 12),
        ("TD45A-3", "TD45A", 3),
        ("TD45A.0", "TD45A", 0),
        ("TD4", "TD4", None),
        ("TD45", "TD4", 5),
        ("MR30F2", "MR30F", 2),
        ("MR302", "MR30", 2),
        ("ND100", "ND100", None),
        ("ND1001", "ND100", 1),
        ("cw9d", "CW-9.D", None),
        ("CW9D4", "CW-9.D", 4),
        ("ＴＤ４５Ａ", "TD45A", None),
    ],
)
def test_a_model_is_split_from_its_revision(typed: str, model: str, revision: int | None) -> None:
    assert split_model(typed, MODELS) == (model, revision)


@pytest.mark.parametrize(
    ("typed", "remedy"),
    [
        ("TD45C", "did you mean TD45"),
        ("TD45AX", "did you mean TD45A?"),
        ("TD60", "did you mean TD60A?"),
        ("TD60B7", "did you mean TD60A?"),
        ("CW9E", "did you mean CW-9.D?"),
        ("TD45A//3", "did you mean TD45A?"),
        ("TD45A/", "did you mean TD45A?"),
        ("QQQQ", "rating plate"),
        ("", "rating plate"),
        ("7", "rating plate"),
    ],
)
def test_an_unknown_model_names_the_nearest(typed: str, remedy: str) -> None:
    with pytest.raises(NotFound) as refused:
        split_model(typed, MODELS)
    assert remedy in refused.value.remedy


@given(st.sampled_from(MODELS), st.integers(0, 99), st.sampled_from(["", "/", " / ", "-", " "]))
def test_a_revision_behind_a_model_is_read_or_the_whole_is_a_model(
    model: str, revision: int, joint: str
) -> None:
    found, read = split_model(f"{model}{joint}{revision}", MODELS)
    # TD4 and 5 is written like the start of another model, but no model of that name is known.
    assert (found, read) == (model, revision)


def test_a_unit_knows_family_revision_and_readings() -> None:
    unit = make_unit(HOUSE, "td45b2", " k p 14 00031", TODAY)
    assert (unit.model, unit.family.name, unit.revision) == ("TD45B", "Tarn", 2)
    assert [reading.built for reading in unit.readings] == [parse_days("2022-W14")]
    assert (unit.serial, unit.unreadable) == ("k p 14 00031", "")


@pytest.mark.parametrize("serial", [None, "", "  ", " - "])
def test_a_unit_without_serial_has_no_reading_and_no_complaint(serial: str | None) -> None:
    unit = make_unit(HOUSE, "TD45A", serial, TODAY)
    assert (unit.readings, unit.unreadable, unit.serial) == ((), "", "")


def test_an_unreadable_serial_is_kept_and_said_to_be_so() -> None:
    unit = make_unit(HOUSE, "TD45A", "KP57 00031", TODAY)
    assert unit.readings == ()
    assert unit.serial == "KP57 00031"
    assert "the third and fourth place are the week; 57 is none" in unit.unreadable
    assert "a sound one looks like" in unit.unreadable


def test_an_unknown_model_stops_before_the_serial() -> None:
    with pytest.raises(NotFound, match="no model TX1 is known"):
        make_unit(HOUSE, "TX1", "KP5700031", TODAY)


def test_a_model_of_no_family_is_not_found() -> None:
    assert family_of(HOUSE, "TD60A").name == "Tarn"
    with pytest.raises(NotFound):
        family_of(HOUSE, "TD99")


# ---- Models that begin with one another, digits and slashes ----------------------------------

CLOSE = ["TD4", "TD45", "TD45A", "TD45A1", "SD7", "SD70", "MR/3", "X1"]


@pytest.mark.parametrize(
    ("typed", "model", "revision"),
    [
        ("TD4", "TD4", None),
        ("TD45", "TD45", None),  # a model of its own, not TD4 and 5
        ("TD453", "TD45", 3),
        ("TD46", "TD4", 6),
        ("TD45A", "TD45A", None),
        ("TD45A1", "TD45A1", None),
        ("TD45A/1", "TD45A", 1),  # the slash tells a revision from a model
        ("TD45A2", "TD45A", 2),
        ("TD45A12", "TD45A1", 2),  # the longest name that is known
        ("TD45A/12", "TD45A", 12),
        ("SD70", "SD70", None),
        ("SD7/0", "SD7", 0),
        ("SD7-0", "SD70", None),
        ("SD700", "SD70", 0),
        ("SD7010", "SD70", 10),
        ("MR/3", "MR/3", None),
        ("MR/3/2", "MR/3", 2),
        ("MR/32", "MR/3", 2),
        ("X10", "X1", 0),
        ("X1/00", "X1", 0),
    ],
)
def test_of_models_that_begin_alike_the_longest_that_fits_is_meant(
    typed: str, model: str, revision: int | None
) -> None:
    assert split_model(typed, CLOSE) == (model, revision)
    assert split_model(typed.lower(), reversed(CLOSE)) == (model, revision)


@pytest.mark.parametrize("typed", ["TD45A123", "X1/", "X1//2", "X1/a", "/3", "X"])
def test_what_is_no_revision_is_no_model(typed: str) -> None:
    with pytest.raises(NotFound) as refused:
        split_model(typed, ["TD45A", "X1"])
    assert refused.value.message == f"no model {typed} is known"
    assert refused.value.remedy


def test_no_model_at_all_is_said_in_other_words() -> None:
    with pytest.raises(NotFound, match="no model is given"):
        split_model(" - ", CLOSE)
    with pytest.raises(NotFound, match="no model TD45A is known"):
        split_model("TD45A", [])
