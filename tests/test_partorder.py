from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from kb import store
from kb.catalogue import Catalogue, order
from kb.errors import NotFound
from kb.house import read_house
from kb.lookup import Lookup
from kb.partorder import order_for
from tests.deskhouse import HOUSE, bulletin, write_house

TODAY = date(2026, 11, 25)
PARTS = """\
number,name,component,status,replaced_by,relation,models,since,note
A-1,Pump one,drain pump,gone,A-2,same,,2019,
A-2,Pump two,drain pump,running-out,A-3,forward,,2021-W05,Longer screws
A-3,Pump three,drain pump,pending,,,,2027-01,
B-1,Seal,door seal,gone,B-45,forward,TD45?,,
B-1,Seal,door seal,gone,B-60,forward,TD60?,,
B-45,Seal 45,door seal,current,,,,,
B-60,Seal 60,door seal,current,,,,,
C-1,Valve,valve,gone,,,,,
D-1,Knob,knob,pending,,,,2027,
K-1,Kit,drain pump,gone,,,,,
L-1,Screw,drain pump,current,,,,,
"""
KITS = "kit,number,quantity\nK-1,A-1,1\nK-1,L-1,4\n"
BULLETINS = {
    "a.md": bulletin("N-1", "parts:\n  - {number: A-1}\nbuilt: ..2020"),
    "b.md": bulletin("N-2", "parts:\n  - {number: a2}\nmodels: [TD60?]"),
    "c.md": bulletin("N-3", "keep: [A-2]\nfamily: Cairn"),
    "d.md": bulletin("N-4", "status: withdrawn\nparts:\n  - {number: A-2}"),
    "e.md": bulletin("N-5", "parts:\n  - {number: B-60}"),
}
Ask = Callable[..., dict[str, Any]]


@pytest.fixture(scope="module")
def ask(tmp_path_factory: pytest.TempPathFactory) -> Ask:
    folder = tmp_path_factory.mktemp("orders")
    tables = {name: text for name, text in HOUSE.items() if name.startswith("reference")}
    files = {**tables, **BULLETINS, "reference/parts.csv": PARTS, "reference/kits.csv": KITS}
    house = read_house(write_house(folder / "bulletins", files))
    assert len(house.bulletins) == len(BULLETINS)
    store.write(folder / "x.sqlite", house, {})
    lookup = Lookup(folder / "x.sqlite")
    models = [model for family in house.families.values() for model in family.models]
    every = Catalogue(house.parts, house.kits, models)

    def asked(number: str, model: str = "", serial: str = "") -> dict[str, Any]:
        answer = order_for(lookup, number, model, serial, TODAY)
        # The rows that the store hands out lead to the same order as all rows of the house.
        if not model:
            whole = order(every, number).as_json()
            for key in ("order", "choose", "chain", "interchange", "coming"):
                assert answer[key] == whole[key]
        return answer

    return asked


def ordered(answer: dict[str, Any]) -> list[tuple[str, int]]:
    return [(line["number"], line["quantity"]) for line in answer["order"]]


def test_the_last_number_that_can_be_ordered_is_named_and_what_is_coming(ask: Ask) -> None:
    answer = ask("a 1")
    assert ordered(answer) == [("A-2", 1)]
    assert answer["order"][0]["status"] == "running-out"
    assert [(s["from"], s["to"], s["since"]) for s in answer["chain"]] == [("A-1", "A-2", "2019")]
    assert answer["interchange"] == "both"
    assert [c["number"] for c in answer["coming"]] == ["A-3"]


def test_several_successors_are_a_choice_until_the_model_is_known(ask: Ask) -> None:
    answer = ask("B-1")
    assert answer["choose"]
    assert {line["number"]: line["models"] for line in answer["order"]} == {
        "B-45": ["TD45A", "TD45B"],
        "B-60": ["TD60A", "TD60B"],
    }
    for model, number in (("TD45A", "B-45"), ("TD60B2", "B-60"), ("td-60.b", "B-60")):
        one = ask("B-1", model)
        assert ordered(one) == [(number, 1)]
        assert not one["choose"]


def test_a_kit_that_is_gone_dissolves_into_what_it_held(ask: Ask) -> None:
    assert ordered(ask("K-1")) == [("A-2", 1), ("L-1", 4)]


@pytest.mark.parametrize("number", ["C-1", "D-1"])
def test_nothing_to_order_says_why(ask: Ask, number: str) -> None:
    answer = ask(number)
    assert answer["order"] == []
    assert answer["notes"]
    assert answer["interchange"] == "none"


def test_bulletins_are_named_that_speak_of_the_old_the_new_and_the_steps_between(
    ask: Ask,
) -> None:
    assert ask("A-1")["bulletins"] == ["N-1", "N-2", "N-3"]
    assert ask("C-1")["bulletins"] == []
    assert ask("B-1")["bulletins"] == ["N-5"]


@pytest.mark.parametrize(
    ("model", "serial", "bulletins"),
    [
        ("TD45A", "", ["N-1"]),
        ("TD60A", "", ["N-1", "N-2"]),
        ("CW7A", "", ["N-3"]),
        ("TD45A", "K P 14 00031", []),  # built 2022, and N-1 ends with 2020
        ("TD45A", "K M 14 00031", ["N-1"]),  # M is 2020
        ("", "K P 14 00031", ["N-2", "N-3"]),  # any model, but built in 2022
        ("", "K M 14 00031", ["N-1", "N-2", "N-3"]),
        ("", "KE1400031", ["N-3"]),  # E is 2014: before the first Tarn
        ("", "  ", ["N-1", "N-2", "N-3"]),
    ],
)
def test_with_model_or_serial_only_bulletins_that_can_concern_the_unit_are_named(
    ask: Ask, model: str, serial: str, bulletins: list[str]
) -> None:
    answer = ask("A-1", model, serial)
    assert answer["bulletins"] == bulletins
    assert not [note for note in answer["notes"] if "serial" in note]


@pytest.mark.parametrize(("model", "serial"), [("", "zz9"), ("TD45A", "zz9")])
def test_a_serial_that_cannot_be_read_is_left_aside_and_said_to_be(
    ask: Ask, model: str, serial: str
) -> None:
    bare, answer = ask("A-1", model), ask("A-1", model, serial)
    assert answer["bulletins"] == bare["bulletins"]
    assert answer["notes"][:-1] == bare["notes"]
    assert "serial" in answer["notes"][-1]


def test_unknown_numbers_are_answered_with_the_nearest(ask: Ask) -> None:
    with pytest.raises(NotFound) as told:
        ask("B-46")
    assert "B-45" in told.value.remedy
    with pytest.raises(NotFound) as told:
        ask("qqqqqqqq")
    assert told.value.remedy


def test_an_unknown_model_is_told_before_anything_else(ask: Ask) -> None:
    with pytest.raises(NotFound, match="model"):
        ask("qqqqqqqq", "nosuch")
