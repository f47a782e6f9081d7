"""What is packed for a visit: exact on a small house, whole on the demo house."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from kb.desk import Desk
from kb.folding import fold
from kb.records import HAZARDS
from kb.visit import Visit, visit
from tests.triphouse import HOUSE, TODAY, UNIT, Told, run, write_house

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "bulletins"
KEYS = [
    "asked",
    "model",
    "serial",
    "bulletins",
    "parts",
    "covered",
    "tools",
    "consumables",
    "hazards",
    "minutes",
]
PART_KEYS = ["number", "quantity", "name", "status", "likelihood", "in-hand", "for"]


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = write_house(tmp_path_factory.mktemp("trip") / "bulletins")
    assert run("find", "pump", "--house", folder).status == 0
    return folder


def asked(house: Path, words: str, *unit: str) -> dict[str, Any]:
    return run("visit", words, "--json", "--house", house, *(unit or UNIT)).json


def by_number(answer: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {part["number"]: part for part in answer["parts"]}


# The contract


def test_the_answer_has_the_keys_of_the_contract_first_and_in_order(house: Path) -> None:
    answer = asked(house, "hums")
    assert list(answer)[: len(KEYS)] == KEYS
    for part in answer["parts"]:
        assert [key for key in part if key in PART_KEYS] == PART_KEYS


@pytest.mark.parametrize(
    "words",
    [
        ("hums", *UNIT),
        ("hums", "--model", "td45a", "--serial", "kp1400031"),
        ("td45a3 kp1400031 hums",),
        ("hums", "E-21", "--model", "TD45A3", "--serial", "KP1400031"),
    ],
)
def test_the_unit_may_stand_in_the_words_or_beside_them(house: Path, words: tuple[str]) -> None:
    answer = run("visit", *words, "--json", "--house", house).json
    assert answer["model"] == "TD45A"
    assert fold(answer["serial"]) == "KP1400031"
    assert answer["bulletins"] == ["2024-001", "2026-004"]


# A pump that hums, worked by hand


def test_parts_stand_under_the_numbers_to_order_with_their_likelihoods(house: Path) -> None:
    found = by_number(asked(house, "hums"))
    assert {number: part["likelihood"] for number, part in found.items()} == {
        "HR-310-7620": 1.0,  # the recall applies to this unit
        "HR-310-4126": 0.3,  # asked for as HR-310-4120, which is gone
        "HR-310-4144": 0.1,
    }
    assert found["HR-310-4126"] == {
        "number": "HR-310-4126",
        "quantity": 1,
        "name": "Drain pump, sealed rotor",
        "status": "running-out",
        "likelihood": 0.3,
        "in-hand": True,
        "all": False,
        "for": ["2024-001"],
    }


def test_everything_listed_is_put_right_and_labour_adds_the_recall(house: Path) -> None:
    answer = asked(house, "hums")
    assert answer["covered"] == 1.0
    assert answer["minutes"] == 42.0  # 30 as the bulletin tells, 12 for the recall


def test_tools_and_consumables_are_united_and_hazards_stand_in_their_order(house: Path) -> None:
    answer = asked(house, "hums")
    assert answer["tools"] == ["star driver T20", "Jug", "crimping tool"]
    assert answer["consumables"] == ["silicone grease"]
    assert answer["hazards"] == ["electricity", "hot-water"]


def test_what_is_to_be_left_in_is_told_and_not_packed(house: Path) -> None:
    answer = asked(house, "hums")
    assert answer["keep"] == [{"number": "HR-310-7318", "for": ["2024-001"]}]
    assert "HR-310-7318" not in by_number(answer)


# A door that falls, a kit, and what is normal


def test_a_cause_whose_part_is_gone_is_not_covered(house: Path) -> None:
    answer = asked(house, "falls open", "--model", "TD60B")
    assert answer["covered"] == 0.75  # 0.6 of 0.8
    assert answer["missing"][0] == {
        "number": "HR-310-6321",
        "for": ["2024-002"],
        "why": "HR-310-6321 is gone and nothing takes its place",
    }
    springs = by_number(answer)["HR-310-6320"]
    assert (springs["quantity"], springs["likelihood"], springs["all"]) == (2, 0.6, True)


def test_labour_without_a_word_on_it_is_that_of_finding_the_cause(house: Path) -> None:
    # Spring 0.6 at 4 min first, cord 0.2 at 8 min after it: (0.6 x 4 + 0.2 x 12) / 0.8
    assert asked(house, "falls open", "--model", "TD60B")["minutes"] == 6.0


def test_two_parts_of_one_kit_are_one_kit(house: Path) -> None:
    answer = asked(house, "gritty glasses", "--model", "TD60B")
    (part,) = answer["parts"]
    assert (part["number"], part["quantity"], part["likelihood"]) == ("HR-310-1223", 1, 1.0)


def test_what_is_normal_needs_nothing_and_is_covered(house: Path) -> None:
    answer = asked(house, "water in the sump", "--model", "TD60B")
    assert "2026-006" in answer["bulletins"]
    assert "2026-006" not in {number for part in answer["parts"] for number in part["for"]}
    assert answer["covered"] == 1.0


@pytest.mark.parametrize("words", ["hums but does not drain", "wanders", "connector washers"])
def test_drafts_withdrawn_and_superseded_bulletins_pack_nothing(house: Path, words: str) -> None:
    answer = asked(house, words, "--model", "TD45A")
    assert not {"2026-010", "2026-009", "2023-008"} & set(answer["bulletins"])


def test_a_bulletin_may_be_named_by_its_number(house: Path) -> None:
    answer = asked(house, "2024-002", "--model", "TD60B")
    assert answer["bulletins"][0] == "2024-002"
    assert by_number(answer)["HR-310-6320"]["likelihood"] == 0.6


def test_a_superseded_number_leads_to_its_successor(house: Path) -> None:
    answer = asked(house, "2023-008", "--model", "CW8A")
    assert answer["bulletins"] == ["2026-007"]


# Safety, whatever the complaint


def test_a_recall_that_applies_is_packed_whatever_the_complaint(house: Path) -> None:
    answer = asked(house, "gritty glasses")
    assert answer["bulletins"] == ["2025-003", "2026-004"]
    assert answer["safety"] == ["2026-004"]
    recall = by_number(answer)["HR-310-7620"]
    assert (recall["likelihood"], recall["in-hand"], recall["for"]) == (1.0, True, ["2026-004"])


def test_a_recall_that_does_not_apply_is_not_named(house: Path) -> None:
    answer = asked(house, "hums", "--model", "TD45A", "--serial", "L P 14 00031")
    assert "2026-004" not in answer["bulletins"]
    assert "HR-310-7620" not in by_number(answer)


def test_without_a_serial_a_recall_is_named_and_its_parts_wait_for_the_serial(house: Path) -> None:
    answer = asked(house, "hums", "--model", "TD45A")
    assert "2026-004" in answer["bulletins"]
    assert "HR-310-7620" not in by_number(answer)
    assert {
        "number": "HR-310-7620",
        "for": ["2026-004"],
        "why": "not sure to be due on this unit: give the serial",
    } in answer["missing"]
    assert "crimping tool" in answer["tools"]


def test_a_recall_that_stays_open_although_the_serial_was_read_counts_half(
    tmp_path: Path,
) -> None:
    text = HOUSE["2026/2026-004.md"].replace("plant: K", "revision: 2..")
    folder = write_house(tmp_path / "bulletins", {**HOUSE, "2026/2026-004.md": text})
    found = by_number(asked(folder, "hums", "--model", "TD45A", "--serial", "K P 14 00031"))
    assert found["HR-310-7620"]["likelihood"] == 0.5


@pytest.mark.parametrize(
    ("today", "named", "hazard"),
    [("2026-11-25", False, False), ("2032-04-20", True, True), ("2032-04-06", True, True)],
)
def test_advice_by_age_is_named_once_it_falls_due(
    house: Path, today: str, named: bool, hazard: bool
) -> None:
    words = ("visit", "hums", "--json", "--house", house, *UNIT)
    answer = run(*words, today=today).json
    assert ("2026-005" in answer["bulletins"]) is named
    assert ("pressure" in answer["hazards"]) is hazard


def test_safety_comes_before_what_another_bulletin_says_to_leave_in(tmp_path: Path) -> None:
    keep = HOUSE["2024/2024-001.md"].replace("keep: [HR-310-7318]", "keep: [HR-310-7620]")
    folder = write_house(tmp_path / "bulletins", {**HOUSE, "2024/2024-001.md": keep})
    answer = asked(folder, "hums")
    assert "HR-310-7620" in by_number(answer)
    assert answer["keep"] == []


# Rivals


RIVAL = """\
---
number: 2024-011
title: Drain pump hums but moves no water
kind: repair
issued: 2024-02-05
family: Tarn
component: [drain pump, connector]
symptoms: [hums but does not drain]
codes: [E21]
{keys}
checks:
  - {{cause: coil open, test: measure it, likelihood: 0.8, minutes: 5, parts: [HR-310-4126]}}
---
Something holds the rotor. See to the connector first.
"""


def rivals(tmp_path: Path, keys: str) -> dict[str, Any]:
    files = {**HOUSE, "2024/2024-011.md": RIVAL.format(keys=keys)}
    return asked(write_house(tmp_path / "bulletins", files), "hums", "--model", "TD60B")


def test_rival_bulletins_weigh_by_their_scores(tmp_path: Path) -> None:
    answer = rivals(tmp_path, "minutes: 10")
    weights = {each["number"]: each["weight"] for each in answer["about"]}
    one, other = weights["2024-001"], weights["2024-011"]
    assert one + other == pytest.approx(1.0, abs=1e-3)
    pump = by_number(answer)["HR-310-4126"]
    assert pump["likelihood"] == pytest.approx(one * 0.3 + other * 0.8, abs=1e-3)
    assert set(pump["for"]) == {"2024-001", "2024-011"}
    assert pump["quantity"] == 1
    assert answer["minutes"] == pytest.approx(one * 30 + other * 10, abs=0.1)


def test_a_rival_that_only_may_apply_counts_half(tmp_path: Path) -> None:
    sure = rivals(tmp_path / "sure", "x-note: none")
    files = {**HOUSE, "2024/2024-011.md": RIVAL.format(keys="built: 2020..2021")}
    unsure = asked(write_house(tmp_path / "unsure", files), "hums", "--model", "TD60B")
    weights = [
        {each["number"]: each["weight"] for each in answer["about"]} for answer in (sure, unsure)
    ]
    odds = [w["2024-011"] / w["2024-001"] for w in weights]
    # A bulletin that is aimed narrowly also scores higher, by at most one half.
    assert odds[0] / 2 <= odds[1] < odds[0]


def test_a_part_that_one_says_to_leave_in_is_not_packed_for_the_other(tmp_path: Path) -> None:
    answer = rivals(tmp_path, "keep: [HR-310-4120]")
    assert "HR-310-4126" not in by_number(answer)
    assert answer["covered"] < 1
    whys = {each["number"]: each["why"] for each in answer["missing"]}
    assert whys["HR-310-4120"] == "2024-011 says to leave it in"


@pytest.mark.parametrize(
    ("keep", "left"),
    [
        ("[HR-310-4126]", {"HR-310-4126"}),
        ("[HR 310 4120]", {"HR-310-4126"}),  # the old number stands for the new
        ("['Drain pump, sealed rotor']", {"HR-310-4126"}),
        ("['drain pump, Sealed  rotor']", {"HR-310-4126"}),
        ("[drain pump]", {"HR-310-4144"}),  # its own check may still ask for the pump
        ("[Filter mesh]", set()),
        ("[door]", set()),
    ],
)
def test_what_to_leave_in_may_be_a_number_a_name_or_a_component(
    tmp_path: Path, keep: str, left: set[str]
) -> None:
    usual = {"HR-310-4126", "HR-310-4144"}
    assert set(by_number(rivals(tmp_path, f"keep: {keep}"))) == usual - left


def test_a_named_component_is_listed_as_written(tmp_path: Path) -> None:
    answer = rivals(tmp_path, "keep: [drain pump]")
    assert {"number": "drain pump", "for": ["2024-011"]} in answer["keep"]


def test_what_speaks_of_no_fault_weighs_only_where_nothing_else_is_found(
    house: Path, tmp_path: Path
) -> None:
    alone = asked(house, "connector carry same", "--model", "CW8A")
    assert {e["number"]: e["weight"] for e in alone["about"]} == {"2026-007": 1.0}
    assert (alone["covered"], alone["parts"]) == (1.0, [])
    files = {**HOUSE, "2024/2024-011.md": RIVAL.format(keys="").replace("repair", "reference")}
    files["2024/2024-011.md"] = files["2024/2024-011.md"].partition("checks:")[0] + "---\nText.\n"
    beside = asked(write_house(tmp_path / "bulletins", files), "hums", "--model", "TD60B")
    weights = {e["number"]: e["weight"] for e in beside["about"] if e["found"]}
    assert weights == {"2024-001": 1.0, "2024-011": 0.0}


# Nothing found, wrong usage, and words on the screen


def test_nothing_found_ends_with_1_and_still_gives_the_object(house: Path) -> None:
    told = run("visit", "zzzz qqqq", "--json", "--house", house, *UNIT)
    assert told.status == 1
    answer = told.json
    assert answer["bulletins"] == answer["parts"] == answer["tools"] == answer["hazards"] == []
    assert answer["covered"] == answer["minutes"] == 0.0
    assert answer["note"]
    assert answer["safety"] == ["2026-004"]


def test_a_plate_alone_is_no_complaint(house: Path) -> None:
    told = run("visit", "TD45A3", "kp1400031", "--house", house)
    assert told.status == 1
    assert "say what is wrong" in told.out


def test_an_unknown_model_ends_with_1_and_gives_the_object(house: Path) -> None:
    told = run("visit", "hums", "--model", "XX99", "--json", "--house", house)
    assert told.status == 1
    assert list(told.json)[: len(KEYS)] == KEYS
    assert "XX99" in told.err


@pytest.mark.parametrize("words", [("visit",), ("visit", "hums"), ("visit", " ", "--model", "X")])
def test_a_visit_without_words_or_model_is_wrong_usage(house: Path, words: tuple[str, ...]) -> None:
    assert run(*words, "--house", house).status == 2


def test_an_unreadable_serial_is_said_to_be_so(house: Path) -> None:
    answer = asked(house, "hums", "--model", "TD45A", "--serial", "K?")
    assert answer["unreadable"]
    assert "2024-001" in answer["bulletins"]


def shown(house: Path, words: str, *unit: str) -> Told:
    return run("visit", words, "--house", house, *(unit or UNIT))


@pytest.mark.parametrize("words", ["hums", "falls open", "gritty glasses", "zzzz", "water sump"])
def test_the_screen_is_at_most_80_columns_wide(house: Path, words: str) -> None:
    for unit in (UNIT, ("--model", "TD60B")):
        assert max(map(len, shown(house, words, *unit).out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("hums", "WARNING  Electric shock"),
        ("hums", "for licensed"),
        ("hums", "30 %  1 x HR-310-4126  Drain pump, sealed rotor"),
        ("hums", "running out; have it in hand before the old one comes out; for 2024-001"),
        ("hums", "Leave in\n  - HR-310-7318  (2024-001)"),
        ("hums", "Safety, on any visit to this unit\n  2026-004  SAFETY  applies"),
        ("hums", "Reckon with 42 min of work."),
        ("falls open", "Take a second person: something heavy is lifted."),
        ("falls open", "2 x HR-310-6320  Door spring\n         never just one of them"),
        ("falls open", "75 % of the causes in 1 bulletin"),
        ("falls open", "Not packed\n  - HR-310-6321: "),
        ("zzzz", "Nothing found: no bulletin answers this."),
    ],
)
def test_the_screen_says_what_matters(house: Path, words: str, said: str) -> None:
    text = shown(house, words).out
    flat = " ".join(text.split())
    assert said in text or " ".join(said.split()) in flat


def test_no_second_person_where_nothing_is_heavy(house: Path) -> None:
    assert "second person" not in shown(house, "hums").out
    assert asked(house, "hums")["people"] == 1
    assert asked(house, "falls open")["people"] == 2


def test_advice_that_falls_due_is_shown(house: Path) -> None:
    told = run("visit", "hums", "--house", house, "--model", "TD45A")
    assert "may be due: Renew the inlet hose." in told.out


# Working from the store alone


def test_a_visit_starts_no_library_of_the_reading_side(house: Path) -> None:
    script = (
        "import sys\n"
        "from click.testing import CliRunner\n"
        "from kb.cli import kb\n"
        f"words = ['--house', {str(house)!r}, 'visit', 'hums', '--model', 'TD45A', '--json']\n"
        "done = CliRunner().invoke(kb, words)\n"
        "assert done.exit_code == 0, done.output\n"
        "heavy = {'yaml', 'markdown_it', 'jinja2', 'pint', 'sqlite_utils', 'segno'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


# The demo house


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    import shutil

    copy = tmp_path_factory.mktemp("demo") / "bulletins"
    shutil.copytree(DEMO, copy, ignore=shutil.ignore_patterns(".kb"))
    return Desk(copy, date.fromisoformat(TODAY))


def questions() -> list[dict[str, Any]]:
    path = ROOT / "tests" / "cases" / "questions.json"
    every: list[dict[str, Any]] = json.loads(path.read_text(encoding="utf-8"))
    return every


def test_every_question_of_the_demo_house_packs_a_sound_van(demo: Desk) -> None:
    models = [model for family in demo.lookup.families.values() for model in family.models]
    for place, question in enumerate(questions()[::3]):
        model = question.get("model") or models[place % len(models)]
        sound(visit(demo, question["ask"], model, question.get("serial") or ""), question["ask"])


def sound(answer: Visit, words: str) -> None:
    numbers = [part.number for part in answer.parts]
    assert len(numbers) == len(set(map(fold, numbers))), words
    assert 0 <= answer.covered <= 1 + 1e-9
    left_in = {fold(number) for number, _ in answer.keep}
    for part in answer.parts:
        assert 0 < part.likelihood <= 1 + 1e-9, words
        assert part.quantity >= 1
        assert part.status in {"current", "running-out"}
        assert fold(part.number) not in left_in
        assert part.bulletins
    assert list(answer.hazards) == [h for h in HAZARDS if h in answer.hazards]
    weights = sum(each.candidate.weight for each in answer.named)
    assert weights == pytest.approx(1.0) or weights == 0
    assert all(each.line.answer.applies != "no" for each in answer.named)


def test_the_recall_of_the_demo_house_is_packed_for_a_unit_that_it_means(demo: Desk) -> None:
    answer = visit(demo, "squeals when it spins", "CW8B", "L U 04 00010")
    screw = next(part for part in answer.parts if part.number == "HR-300-8050")
    assert screw.likelihood == 1.0
    assert screw.in_hand
    assert screw.bulletins[-1] == "2026-009"


def test_a_complaint_about_another_product_packs_nothing(demo: Desk) -> None:
    answer = visit(demo, "washing machine rumbles", "MR30K")
    assert not answer.found
    assert answer.parts == ()
    assert answer.note
