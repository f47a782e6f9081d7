from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from kb import store
from kb.applies import answer, due
from kb.errors import NotFound
from kb.house import read_house
from kb.lookup import Lookup
from kb.plate import RANK, read_plate, reading_json
from kb.records import House
from kb.scope import models_of
from kb.standing import in_force
from kb.units import make_unit
from tests.deskhouse import HOUSE, bulletin, write_house

TODAY = date(2026, 11, 25)
UNITS = [
    ("TD45A3", "K P 14 00031"),
    ("TD45A", ""),
    ("TD45A3", "L R 02 00001"),
    ("TD60B", "zz"),
    ("CW7A", "K E 20 00001"),
    ("TD45A5", "K N 20 00001"),
]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    return read_house(write_house(tmp_path_factory.mktemp("plate") / "bulletins"))


@pytest.fixture(scope="module")
def lookup(house: House, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lookup]:
    path = tmp_path_factory.mktemp("db") / "kb.sqlite"
    store.write(path, house, {})
    found = Lookup(path)
    yield found
    found.close()


@pytest.mark.parametrize(("model", "serial"), UNITS)
def test_the_answer_from_the_store_is_the_answer_from_the_house(
    lookup: Lookup, house: House, model: str, serial: str
) -> None:
    plate = read_plate(lookup, model, serial, TODAY)
    unit = make_unit(house, model, serial, TODAY)
    expected = {
        b.number: (answer(b.where, unit, house, TODAY), due(b.age, unit, TODAY) if b.age else None)
        for b in in_force(house.bulletins)
        if unit.model in models_of(b.where, house.families)
    }
    assert {line.card.number: (line.answer, line.due) for line in plate.lines} == expected


@pytest.mark.parametrize(("model", "serial"), UNITS)
def test_yes_stands_before_maybe_before_no_and_safety_first_in_each(
    lookup: Lookup, model: str, serial: str
) -> None:
    lines = read_plate(lookup, model, serial, TODAY).lines
    keys = [(RANK[line.answer.applies], line.card.kind != "safety") for line in lines]
    assert keys == sorted(keys)


def test_the_newest_stands_first_among_equals(tmp_path: Path) -> None:
    days = {"A": "2019-05-01", "B": "2025-05-01", "C": "2022-05-01"}
    files = {f"{n}.md": bulletin(n, f"issued: {day}") for n, day in days.items()}
    tables = {name: text for name, text in HOUSE.items() if name.startswith("reference")}
    store.write(tmp_path / "x.sqlite", read_house(write_house(tmp_path / "b", tables | files)), {})
    lookup = Lookup(tmp_path / "x.sqlite")
    lines = read_plate(lookup, "TD45A", "", TODAY).lines
    assert [line.card.number for line in lines] == ["B", "C", "A"]
    lookup.close()


def test_the_json_leaves_out_what_does_not_apply_unless_everything_is_wanted(
    lookup: Lookup,
) -> None:
    plate = read_plate(lookup, "TD45A3", "K P 14 00031", TODAY)
    shown = {b["applies"] for b in plate.as_json()["bulletins"]}
    assert shown == {"yes"}
    assert len(plate.as_json(everything=True)["bulletins"]) == len(plate.lines)


@pytest.mark.parametrize(
    ("today", "expected"),
    [
        # Built 4 to 10 April 2022; the advice falls due at five years.
        (date(2027, 4, 3), "no"),
        (date(2027, 4, 4), "maybe"),
        (date(2027, 4, 9), "maybe"),
        (date(2027, 4, 10), "yes"),
    ],
)
def test_advice_falls_due_when_the_last_possible_day_is_old_enough(
    lookup: Lookup, today: date, expected: str
) -> None:
    plate = read_plate(lookup, "TD45A3", "K P 14 00031", today)
    aged = [b for b in plate.as_json()["bulletins"] if "due" in b]
    assert [(b["due"], b["advice"]) for b in aged] == [(expected, "Renew the inlet hose")]


def test_a_bulletin_without_advice_has_no_due(lookup: Lookup) -> None:
    plate = read_plate(lookup, "TD45A3", "K P 14 00031", TODAY)
    assert all("due" not in b for b in plate.as_json()["bulletins"] if b["number"] != "2024-006")


def test_a_serial_with_two_meanings_gives_two_readings(tmp_path: Path) -> None:
    # A cycle of 20 letters: A is 2010 and 2030; with a scheme of two letters E is met often.
    serials = HOUSE["reference/serials.yaml"].replace("ABCDEFHJKLMNPRSTUVWX", "ABCDEFGH")
    serials = serials.partition("  examples:")[0]
    files = {**HOUSE, "reference/serials.yaml": serials}
    store.write(tmp_path / "x.sqlite", read_house(write_house(tmp_path / "b", files)), {})
    lookup = Lookup(tmp_path / "x.sqlite")
    readings = read_plate(lookup, "TD45A3", "K A 14 00031", TODAY).as_json()["readings"]
    # Letters in a cycle of eight from 2010: A is 2010, 2018 and 2026; Tarn began in 2016.
    assert [r["built"]["from"][:4] for r in readings] == ["2018", "2026"]
    assert {r["plant"] for r in readings} == {"K"}
    lookup.close()


def test_a_reading_is_shown_with_days_as_iso_text(lookup: Lookup) -> None:
    reading = read_plate(lookup, "TD45A", "KP1400031", TODAY).unit.readings[0]
    assert reading_json(reading) == {
        "scheme": "hollin",
        "plant": "K",
        "built": {"from": "2022-04-04", "to": "2022-04-10"},
        "sequence": 31,
    }


@pytest.mark.parametrize("model", ["", "nosuch", "TD", "TD45A1234"])
def test_an_unknown_model_is_not_found(lookup: Lookup, model: str) -> None:
    with pytest.raises(NotFound) as told:
        read_plate(lookup, model, "", TODAY)
    assert told.value.remedy
