"""A packed van on the screen: 80 columns, whatever stands in it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from kb import shownvisit
from kb.dates import Days
from kb.jobs import Job
from kb.lookup import Card
from kb.packing import Candidate, Missing, Part
from kb.plate import Line
from kb.records import Age, Answer, Family, Unit, Verdict
from kb.visit import Named, Visit

FAMILY = Family(
    name="Tarn",
    product="dishwasher",
    models=("TD45A",),
    produced=Days(date(2016, 1, 1)),
    schemes=(),
)
LONG = "a name that goes on and on and on for as long as anyone cares to read it, and then more"


def plain(text: str, **style: Any) -> str:
    return text


def named(
    number: str,
    kind: str = "repair",
    applies: Verdict = "yes",
    weight: float = 1.0,
    settle: str = "",
) -> Named:
    card = Card(
        number=number,
        title=f"{LONG} {number}",
        kind=kind,
        status="in-force",
        issued="2026-01-01",
        superseded_by="",
        where=(),
        age=Age(8, "Renew it."),
    )
    line = Line(card, Answer(applies, "why", settle), "maybe")
    return Named(line, weight > 0, Candidate(Job(number=number), weight))


def a_part(likelihood: float, number: str = "HR-1") -> Part:
    return Part(number, 2, LONG, "running-out", likelihood, True, True, ("2026-001", "2026-002"))


def a_visit(**given: Any) -> Visit:
    values: dict[str, Any] = {
        "asked": "hums",
        "unit": Unit(model="TD45A", family=FAMILY),
        "named": (named("2026-001"),),
        "parts": (),
        "missing": (),
        "keep": (),
        "covered": 1.0,
        "minutes": 0.0,
        "tools": (),
        "consumables": (),
        "hazards": (),
        **given,
    }
    return Visit(**values)


@pytest.mark.parametrize(
    ("likelihood", "shown"),
    [
        (1.0, "  100 %  2 x HR-1"),
        (0.9999999, "  100 %  2 x HR-1"),
        (0.998, "  >99 %  2 x HR-1"),
        (0.5, "   50 %  2 x HR-1"),
        (0.05, "    5 %  2 x HR-1"),
        (0.004, "   <1 %  2 x HR-1"),
    ],
)
def test_what_is_possible_is_never_0_and_what_is_unsure_never_100(
    likelihood: float, shown: str
) -> None:
    assert shown in shownvisit.visit(a_visit(parts=(a_part(likelihood),)), plain)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "No parts are needed."),
        ({"covered": 0.0}, "0 % of the causes in 1 bulletin can be put right with this."),
        ({"minutes": 41.6}, "Reckon with 42 min of work."),
        ({"hazards": ("heavy",)}, "Take a second person: something heavy is lifted."),
        ({"hazards": ("gas",)}, "Local codes win;"),
        ({"tools": ("jug", "lamp")}, "Tools\n  - jug\n  - lamp"),
        ({"consumables": ("grease",)}, "Consumables\n  - grease"),
        ({"keep": (("HR-9", "2026-001"),)}, "Leave in\n  - HR-9  (2026-001)"),
        (
            {"missing": (Missing("HR-8", "2026-001", "it is gone"),)},
            "Not packed\n  - HR-8: it is gone (2026-001)",
        ),
        ({"named": (named("2026-001", "safety"),)}, "  2026-001  SAFETY  applies  100 %"),
        (
            {"named": (named("2026-001", applies="maybe", settle="the serial"),)},
            "      to settle it: the serial",
        ),
        ({}, "      may be due: Renew it."),
        ({"named": (), "note": "no bulletin answers this"}, "Nothing found: no bulletin answers"),
    ],
)
def test_each_thing_to_know_has_its_words(given: dict[str, Any], said: str) -> None:
    assert said in shownvisit.visit(a_visit(**given), plain)


@pytest.mark.parametrize("hazards", [(), ("sharp-edges",), ("moving-parts", "chemicals")])
def test_no_second_person_and_no_licence_where_nothing_asks_for_them(
    hazards: tuple[str, ...],
) -> None:
    text = shownvisit.visit(a_visit(hazards=hazards), plain)
    assert "second person" not in text
    assert "licensed" not in text


def test_every_line_fits_80_columns() -> None:
    full = a_visit(
        named=tuple(named(f"2026-00{at}", settle=LONG, weight=at) for at in range(3)),
        parts=(a_part(0.5), a_part(0.1, "HR-22222222222222")),
        missing=(Missing("HR-8", "2026-001", LONG),),
        tools=(LONG, "jug"),
        consumables=(LONG,),
        hazards=("electricity", "gas", "heavy"),
        minutes=120.0,
        covered=0.333,
    )
    assert max(map(len, shownvisit.visit(full, plain).splitlines())) <= 80


def test_what_hurts_stands_before_what_to_pack() -> None:
    text = shownvisit.visit(a_visit(hazards=("gas",), parts=(a_part(0.5),)), plain)
    assert text.index("What can hurt you") < text.index("DANGER") < text.index("Pack")


def test_an_empty_answer_has_every_key_of_the_contract() -> None:
    answer = shownvisit.nothing_packed("hums")
    assert answer.pop("asked") == "hums"
    assert not any(answer.values())
    assert set(answer) < set(a_visit().as_json())
