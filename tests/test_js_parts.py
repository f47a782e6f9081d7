"""What to order, as the phone reckons it: the desk's answers and notes, letter for letter."""

from __future__ import annotations

import random
import shutil
import subprocess
from collections.abc import Callable
from datetime import date
from functools import partial
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from rjsmin import jsmin

from kb import store
from kb.catalogue import Catalogue, nearest_numbers, order
from kb.errors import NotFound
from kb.folding import fold
from kb.house import read_house
from kb.lookup import Lookup
from kb.partorder import order_for
from kb.records import PART_STATUSES, RELATIONS, Block, Family
from kb.scope import models_of
from kb.wire import block_to_json, day_text, scheme_to_json
from tests.deskhouse import HOUSE, bulletin, write_house
from tests.nodejs import ROOT, ask_node, node
from tests.partrows import kit, part
from tests.test_partorder import BULLETINS, KITS, PARTS

Table = dict[str, Any]
MODELS = ("TD45A", "TD45B", "TD60A", "TD60S", "CW7A")
LIMITS = (
    "",
    "",
    "",
    "TD45*",
    "TD60?",
    "TD45A",
    "TD45B",
    "CW7A",
    "TD60A TD60S",
    "td-45.a",
    "*",
    "Q",
)
ASKED = (None, "TD45A", "td60a", "CW7A", "MR30F")
NUMBERS = tuple(f"N-{at}" for at in range(7))

ORDERS = """
import { order } from "SITE/core/catalogue.js";
import { catalogue } from "SITE/../tests/js/partrows.js";
answer(asked.map(({ parts, kits, models, questions }) => {
  const rows = catalogue(parts, kits, models);
  return questions.map(([number, model]) => {
    try {
      return order(rows, number, model ?? undefined);
    } catch ({ message, remedy }) {
      return { message, remedy };
    }
  });
}));
"""


def spelled(number: str, dice: random.Random) -> str:
    """Return a number as one or another hand would type it."""
    return dice.choice([number, number.lower(), number.replace("-", " "), number.replace("-", "")])


def limited_table(dice: random.Random) -> Table:
    """Return rows with every field at random: rings, unknown numbers and empty kits among them."""
    parts, kits = [], []
    notes, when = ("", "", "", "mind the seal", "longer screws"), ("", "", "2024-W10", "2027-02")
    for number in NUMBERS:
        for _ in range(dice.choice([0, 1, 1, 1, 2, 3])):
            after = spelled(dice.choice(["", "", "Q-9", *NUMBERS]), dice)
            chosen = [dice.choice(PART_STATUSES), after, dice.choice([*RELATIONS, "", "kit"])]
            rest = [dice.choice(LIMITS), dice.choice(when), dice.choice(notes)]
            parts.append(",".join([number, *chosen, *rest]))
        for held in dice.sample(NUMBERS, dice.choice([0, 0, 0, 1, 2, 3])):
            kits.append(f"{number},{spelled(held, dice)},{dice.randint(1, 4)}")
    models = dice.choice([[], list(MODELS)])
    wanted = [spelled(number, dice) for number in NUMBERS]
    questions = [[number, model] for number in wanted for model in ASKED]
    return {"parts": parts, "kits": kits, "models": models, "questions": questions}


def long_table(dice: random.Random) -> Table:
    """Return longer chains that fork and meet again, most of them in order."""
    numbers = [f"L{at}" for at in range(40)]
    parts = [
        f"{number},{dice.choice(['gone', 'gone', 'current'])},"
        f"{dice.choice(numbers[at + 1 : at + 5] or [''])},{dice.choice(RELATIONS)},"
        f"{dice.choice(LIMITS)}"
        for at, number in enumerate(numbers)
        for _ in range(dice.choice([1, 1, 2]))
    ]
    kits = [f"{dice.choice(numbers[:20])},{dice.choice(numbers[20:])},2" for _ in range(8)]
    questions = [[number, dice.choice(ASKED)] for number in numbers[::3]]
    return {"parts": parts, "kits": kits, "models": list(MODELS), "questions": questions}


def told_by_desk(table: Table) -> list[dict[str, Any]]:
    """Return the desk's answers to the questions of a table."""
    rows = Catalogue(map(part, table["parts"]), map(kit, table["kits"]), table["models"])
    return [told(partial(_ordered, rows, *question)) for question in table["questions"]]


def _ordered(rows: Catalogue, number: str, model: str | None) -> dict[str, Any]:
    return order(rows, number, model).as_json()


def told(question: Callable[[], Any]) -> Any:
    """Return an answer, or the words of the error in its place."""
    try:
        return question()
    except NotFound as error:
        return {"message": error.message, "remedy": error.remedy}


@pytest.mark.parametrize(
    ("make", "count", "seed"),
    [(limited_table, 300, 3101), (limited_table, 300, 3102), (long_table, 60, 3103)],
)
def test_the_phone_orders_what_the_desk_orders_whatever_the_tables(
    make: Callable[[random.Random], Table], count: int, seed: int
) -> None:
    dice = random.Random(seed)
    tables = [make(dice) for _ in range(count)]
    compared = 0
    for table, phone in zip(tables, ask_node(ORDERS, tables), strict=True):
        desk = told_by_desk(table)
        for question, mine, theirs in zip(table["questions"], desk, phone, strict=True):
            assert theirs == mine, (question, table)
            compared += 1
    assert compared >= 800


def test_random_tables_hold_every_kind_of_answer() -> None:
    """Else the comparison above would compare little."""
    dice = random.Random(3101)
    answers = [each for _ in range(300) for each in told_by_desk(limited_table(dice))]
    orders = [each for each in answers if "order" in each]
    assert {each["interchange"] for each in orders} == {"both", "forward", "none"}
    assert {each["choose"] for each in orders} == {True, False}
    assert sum(len(each["order"]) > 1 for each in orders) > 300
    assert sum(bool(each["coming"]) for each in orders) > 100
    assert sum(not each["order"] for each in orders) > 300
    assert sum("message" in each for each in answers) > 100
    said = "\n".join(note for each in orders for note in each["notes"])
    for words in (
        "leads back",
        "not in parts.csv",
        "only in kit",
        "is gone: what it held",
        "not for",
    ):
        assert words in said


def test_a_mistyped_number_is_taken_for_the_same_ones() -> None:
    dice = random.Random(3104)
    known = [f"HR-{dice.randint(100, 130)}-{dice.randint(0, 9999):04}" for _ in range(3000)]
    typed = [mistyped(dice.choice(known), dice) for _ in range(400)] + ["", "Ω", "-", "zz" * 90]
    script = """
        import { nearestNumbers } from "SITE/core/partlist.js";
        answer(asked.typed.map((number) => nearestNumbers(number, asked.known)));
    """
    phone = ask_node(script, {"known": known, "typed": typed})
    desk = [nearest_numbers(number, known) for number in typed]
    assert phone == desk
    assert sum(len(near) == 3 for near in desk) > 300


def test_the_nearest_numbers_do_not_hang_on_the_order_of_the_known_ones() -> None:
    dice = random.Random(3105)
    known = [f"{dice.randint(0, 999):03}{letter}" for letter in "ABCDE" for _ in range(80)]
    mixed = dice.sample(known, len(known))
    for number in known[::20]:
        assert nearest_numbers(f"{number}9", known) == nearest_numbers(f"{number}9", mixed)


def mistyped(number: str, dice: random.Random) -> str:
    """Return a number with one or two slips of the finger."""
    signs = list(number)
    for _ in range(dice.randint(1, 2)):
        at = dice.randrange(len(signs))
        signs[at : at + dice.choice([0, 1, 1])] = dice.choice(["", "O", "l", "5", "77"])
    return "".join(signs)


# The whole answer, with a unit and the bulletins

TODAY = date(2026, 11, 25)
WHOLE = {
    **BULLETINS,
    "e.md": bulletin("N-5", "parts:\n  - {number: B-60}\nrevision: 2.."),
    "f.md": bulletin("N-6", "parts:\n  - {number: B-45}\nplant: L"),
}
ASKED_NUMBERS = ("a 1", "A-2", "A-3", "B-1", "b45", "C-1", "D-1", "K-1", "L-1", "B-46", "qqqq", " ")
ASKED_MODELS = ("", "TD45A", "TD60B2", "td-60.b/1", "CW7A", "nosuch", "TD45Q")
ASKED_SERIALS = (
    "",
    "  ",
    "K P 14 00031",
    "KM1400031",
    "KE1400031",
    "zz9",
    "LP1400031",
    "KI1400031",
)


@pytest.fixture(scope="module")
def lookup(tmp_path_factory: pytest.TempPathFactory) -> Lookup:
    folder = tmp_path_factory.mktemp("orders")
    tables = {name: text for name, text in HOUSE.items() if name.startswith("reference")}
    files = {**tables, **WHOLE, "reference/parts.csv": PARTS, "reference/kits.csv": KITS}
    house = read_house(write_house(folder / "bulletins", files))
    assert len(house.bulletins) == len(WHOLE)
    store.write(folder / "x.sqlite", house, {})
    return Lookup(folder / "x.sqlite")


PHONE = """
import { NotFound } from "SITE/core/errors.js";
import { fold, nearest } from "SITE/core/folding.js";
import { canApply } from "SITE/core/scope.js";
import { orderFor } from "SITE/core/partorder.js";
import { blockOf, daysOf, schemeOf } from "SITE/core/wire.js";
const { cards, families, naming, parts, schemes } = asked.house;
const wheres = new Map(Object.entries(cards).map(([name, all]) => [name, all.map(blockOf)]));
const byModel = new Map(families.flatMap(({ name, models }) =>
  models.map((model) => [fold(model), [model, name]])));
const rows = (folded) => folded.flatMap((number) => parts[number] ?? []);
const house = {
  schemes: new Map(Object.entries(schemes).map(([name, given]) => [name, schemeOf(name, given)])),
  families: new Map(families.map((given) => [given.name, { ...given,
    produced: daysOf(given.produced),
    schemes: given.schemes.map(([name, ...used]) => ({ name, used: daysOf(used) })) }])),
  modelsOf: (family) => families.find(({ name }) => name === family).models,
  modelNamed: (folded) => byModel.get(folded)?.[0] ?? "",
  familyOf: (model) => house.families.get(byModel.get(fold(model))[1]),
  nearestModel: (folded) => byModel.get(nearest(folded, byModel.keys()))?.[0] ?? "",
  partNumber: (folded) => rows([folded])[0]?.known ?? "",
  partNumbers: () => asked.house.numbers,
  newerNumbers: (number) => rows([fold(number)])[0]?.reached ?? [fold(number)],
  partRows: (folded) => rows(folded).flatMap(({ rows }) => rows),
  kitRows: (folded) => rows(folded).flatMap(({ kits }) => kits),
  bulletinsNaming: (folded) => [...new Set(folded.flatMap((each) => naming[each] ?? []))].sort(),
  card: (number) => ({ where: wheres.get(number) }),
};
"""
ASK_PHONE = """
answer(asked.questions.map(([number, model, serial]) => {
  try {
    return orderFor(house, number, model, serial, asked.today);
  } catch (error) {
    if (!(error instanceof NotFound)) throw error;
    return { message: error.message, remedy: error.remedy };
  }
}));
"""
MEANT_BY_PHONE = """
answer(asked.wheres.map((where) => {
  const blocks = where.map(blockOf);
  return families.flatMap(({ name, models }) =>
    models.filter((model) => canApply(blocks, name, model)));
}));
"""


def house_of(lookup: Lookup) -> dict[str, Any]:
    """Return a house as plain values, for a stand-in of the phone's data."""
    known = {*lookup.part_numbers(), *(row.replaced_by for row in lookup.part_rows(["A2"]))}
    return {
        "families": [_family(family) for family in lookup.families.values()],
        "schemes": {name: scheme_to_json(scheme) for name, scheme in lookup.schemes.items()},
        "parts": {fold(number): _rows(lookup, number) for number in known},
        "numbers": lookup.part_numbers(),
        "cards": {
            card.number: [block_to_json(each) for each in card.where]
            for card in lookup.standing_cards()
        },
        "naming": {fold(number): lookup.bulletins_naming([fold(number)]) for number in known},
    }


def _family(family: Family) -> dict[str, Any]:
    produced = [day_text(family.produced.first), day_text(family.produced.last)]
    schemes = [[u.name, day_text(u.used.first), day_text(u.used.last)] for u in family.schemes]
    return {
        "name": family.name,
        "product": family.product,
        "models": list(family.models),
        "produced": produced,
        "schemes": schemes,
    }


def _rows(lookup: Lookup, number: str) -> dict[str, Any]:
    """Return what the phone's data tells of one number."""
    key = fold(number)
    kits = [
        {"kit": k.kit, "number": k.number, "quantity": k.quantity} for k in lookup.kit_rows([key])
    ]
    rows = [
        {
            "number": row.number,
            "name": row.name,
            "component": row.component,
            "status": row.status,
            "replacedBy": row.replaced_by,
            "relation": row.relation or "",
            "models": list(row.models),
            "since": row.since_text,
            "note": row.note,
        }
        for row in lookup.part_rows([key])
    ]
    reached = sorted(lookup.newer_numbers(number))
    return {"known": lookup.part_number(key), "reached": reached, "rows": rows, "kits": kits}


def test_the_whole_answer_is_the_desk_s_whatever_is_asked(lookup: Lookup) -> None:
    questions = list(product(ASKED_NUMBERS, ASKED_MODELS, ASKED_SERIALS))
    payload = {
        "house": house_of(lookup),
        "questions": questions,
        "today": (TODAY - date(1970, 1, 1)).days,
    }
    answers = ask_node(PHONE + ASK_PHONE, payload)
    said = set()
    for question, phone in zip(questions, answers, strict=True):
        desk = told(partial(order_for, lookup, *question, today=TODAY))
        assert phone == desk, question
        said |= {note.partition(":")[0] for note in desk.get("notes", [])}
    assert "the serial is left aside" in said
    assert "the serial zz9 fits no family, so it narrows nothing down" in said


def test_an_answer_without_a_unit_asks_for_no_bulletin_s_card(lookup: Lookup) -> None:
    script = 'house.card = () => { throw new Error("fetched for nothing"); };\n' + ASK_PHONE
    payload = {"house": house_of(lookup), "questions": [["A-1", "", ""]], "today": 20000}
    (answer,) = ask_node(PHONE + script, payload)
    assert answer["bulletins"] == ["N-1", "N-2", "N-3"]


def test_the_models_that_a_bulletin_can_mean_are_the_desk_s(lookup: Lookup) -> None:
    wheres = [card.where for card in lookup.standing_cards()]
    wheres += [(), *((Block(families=(name,), models=("T*", "?W*")),) for name in lookup.families)]
    payload = {
        "house": house_of(lookup),
        "wheres": [[block_to_json(block) for block in where] for where in wheres],
    }
    desk = [models_of(where, lookup.families) for where in wheres]
    assert ask_node(PHONE + MEANT_BY_PHONE, payload) == desk


def test_the_words_survive_the_minifier_that_publishing_uses(tmp_path: Path) -> None:
    """It takes blanks out of a template within a template, which it does not know."""
    for path in [*(ROOT / "site" / "core").glob("*.js"), *(ROOT / "tests" / "js").glob("part*.js")]:
        target = tmp_path / path.relative_to(ROOT)
        target.parent.mkdir(parents=True, exist_ok=True)
        text = path.read_text("utf-8")
        target.write_text(jsmin(text) if "site" in target.parts else text, "utf-8")
    shutil.copytree(ROOT / "tests" / "cases", tmp_path / "tests" / "cases")
    command = [node(), "--test", str(tmp_path / "tests" / "js" / "parts.test.js")]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", timeout=120)
    assert done.returncode == 0, done.stdout[-4000:]
