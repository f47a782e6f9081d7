"""Every part number of the demo house asked on the phone, from its own pieces of data.

The desk's answer (`kb part`) is the oracle; what each answer costs in round trips is counted.
"""

from __future__ import annotations

import random
from datetime import date
from functools import partial
from typing import Any

import pytest

from kb.desk import Desk
from kb.folding import fold
from kb.partorder import order_for
from tests.nodejs import ask_node
from tests.phonedata import TODAY, Carried, carried
from tests.search_house import demo_copy
from tests.test_js_parts import mistyped, spelled, told

Question = tuple[str, str, str]

# One reader answers all questions that hold `keep`; the others each begin with an empty memory.
_SCRIPT = """
import { readFile } from "node:fs/promises";
import { NotFound } from "SITE/core/errors.js";
import { orderFor } from "SITE/core/partorder.js";
import { openHouse } from "SITE/data/house.js";
import { settle } from "SITE/data/missing.js";
let bytes = 0;
async function fetchBytes(path) {
  const read = await readFile(`${asked.folder}/${path}`);
  bytes += read.length;
  return read;
}
const answers = [];
let house = await openHouse(fetchBytes, asked.start);
for (const question of asked.questions) {
  if (!asked.keep) house = await openHouse(fetchBytes, asked.start);
  let trips = 0;
  bytes = 0;
  const counted = { load: (names) => { trips += 1; return house.load(names); } };
  let value;
  try {
    value = await settle(counted, () => orderFor(house, ...question, asked.today));
  } catch (error) {
    if (!(error instanceof NotFound)) throw error;
    value = { message: error.message, remedy: error.remedy };
  }
  answers.push({ value, trips, bytes });
}
answer(answers);
"""


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory) -> Carried:
    folder = tmp_path_factory.mktemp("orders")
    return carried(demo_copy(folder / "bulletins"), folder / "site")


def asked(phone: Carried, questions: list[Question], keep: bool) -> list[dict[str, Any]]:
    payload = {
        "folder": str(phone.folder),
        "start": phone.made.start.path,
        "questions": questions,
        "keep": keep,
        "today": (TODAY - date(1970, 1, 1)).days,
    }
    answers: list[dict[str, Any]] = ask_node(_SCRIPT, payload)
    return answers


def questions(desk: Desk) -> list[Question]:
    """Return every number by itself, with models and with serials, and a few mistyped ones."""
    dice = random.Random(3201)
    numbers = desk.lookup.part_numbers()
    models = [*desk.lookup.model_names, "TD45A3", "td-60.b/1", "TD4SA"]
    serials = ["", "KP1400031", "L K 22 00417", "zz9", "KM1400031"]
    found: list[Question] = [(number, "", "") for number in numbers]
    found += [(spelled(n, dice), dice.choice(models), dice.choice(serials)) for n in numbers * 3]
    found += [(n, "", dice.choice(serials)) for n in numbers[::3]]
    return found + [(mistyped(number, dice), "", "") for number in numbers[::9]]


def test_the_phone_answers_for_every_part_number_as_the_desk_does(
    phone: Carried, demo_desk: Desk
) -> None:
    every = questions(demo_desk)
    compared = 0
    for question, answer in zip(every, asked(phone, every, keep=True), strict=True):
        desk = told(partial(order_for, demo_desk.lookup, *question, today=TODAY))
        assert answer["value"] == desk, question
        compared += 1
    assert compared > 500


def test_with_everything_in_memory_nothing_is_fetched_again(
    phone: Carried, demo_desk: Desk
) -> None:
    every = questions(demo_desk)[:40]
    again = asked(phone, every + every, keep=True)[len(every) :]
    assert [answer["trips"] for answer in again] == [0] * len(every)


def test_an_answer_on_an_empty_memory_takes_few_round_trips(
    phone: Carried, demo_desk: Desk
) -> None:
    dice = random.Random(3202)
    known = [fold(number) for number in demo_desk.lookup.part_numbers()]
    few: list[Question] = [(number, "", "") for number in dice.sample(known, 30)]
    few += [(number, "TD45A", "KP1400031") for number in dice.sample(known, 30)]
    answers = asked(phone, few, keep=False)
    trips = sorted(answer["trips"] for answer in answers)
    assert trips[len(trips) // 2] <= 3
    assert trips[-1] <= 5
    assert max(answer["bytes"] for answer in answers) < 40_000
