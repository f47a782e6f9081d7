"""The phone finds what the desk finds, in the same order: its questions and thousands made by rule.

``kb find`` is the oracle. The phone's half reads the demo house as it is published, from pieces.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from random import Random
from typing import Any

import pytest

from kb.desk import Desk
from kb.errors import KbError
from tests.nodejs import ROOT, ask_node
from tests.phonedata import TODAY, Carried, carried
from tests.search_house import ODD_HOUSE, demo_copy, write_house

QUESTIONS: list[dict[str, Any]] = json.loads(
    (ROOT / "tests" / "cases" / "questions.json").read_text(encoding="utf-8")
)

_FIND = """
import { readFile } from "node:fs/promises";
import { openHouse } from "SITE/data/house.js";
import { settle } from "SITE/data/missing.js";
import { Finder } from "SITE/core/finding.js";
let bytes = 0;
const house = await openHouse(async (path) => {
  const piece = await readFile(`${asked.folder}/${path}`);
  bytes += piece.length;
  return piece;
}, asked.start);
const finder = new Finder(house, asked.today);
const answers = [];
for (const [text, given] of asked.questions) {
  [bytes, house.trips] = [0, 0];
  const counted = { load: (names) => { house.trips += 1; return house.load(names); } };
  try {
    const found = await settle(counted, () => finder.find(text, given));
    answers.push({ ...found, trips: house.trips, bytes });
  } catch (error) {
    if (error.remedy === undefined) throw error;
    answers.push({ error: [error.message, error.remedy] });
  }
}
answer(answers);
"""


@dataclass
class Pair:
    """One house at the desk and on the phone."""

    desk: Desk
    phone: Carried

    def phone_finds(self, questions: list[tuple[str, dict[str, Any]]]) -> list[dict[str, Any]]:
        """Return the phone's answers; all are asked of one reader in turn."""
        payload = {
            "folder": str(self.phone.folder),
            "start": self.phone.made.start.path,
            "today": (TODAY - TODAY.fromtimestamp(0)).days,
            "questions": questions,
        }
        found: list[dict[str, Any]] = ask_node(_FIND, payload)
        return found

    def desk_finds(self, text: str, given: dict[str, Any]) -> dict[str, Any]:
        """Return the desk's answer in the phone's shape, as far as both have it."""
        try:
            found = self.desk.finder.find(text, **given)
        except KbError as error:
            return {"error": [error.message, error.remedy]}
        whole, asked = found.as_json(), found.asked
        return {
            "asked": {
                "text": asked.text,
                "words": list(asked.words),
                "quotes": [list(quote) for quote in asked.quotes],
                "codes": list(asked.codes),
                "unknownCodes": list(asked.unknown_codes),
                "parts": list(asked.parts),
                "numbers": list(asked.numbers),
                "model": asked.model,
                "revision": asked.revision,
                "serial": asked.serial,
                "begun": asked.begun,
                "unfinished": asked.unfinished,
            },
            "results": [
                [r["number"], r["title"], r["kind"], r["applies"], r["settle"], r["superseded_by"]]
                for r in whole["results"]
            ],
            "scores": [result.score for result in found.results],
            "others": whole["others"],
            "safety": whole["safety"],
            "note": whole["note"].replace("; `kb part` says what to order", ""),
            "unreadable": whole["read_as"]["unreadable"],
        }

    @cached_property
    def spoken(self) -> list[str]:
        """Every word that stands in a bulletin."""
        return list(self.desk.finder._index.words())


def in_shape(found: dict[str, Any]) -> dict[str, Any]:
    """Return the phone's answer in the shape that both are compared in."""
    if "error" in found:
        return found
    keys = ("number", "title", "kind", "applies", "settle", "supersededBy")
    return {
        "asked": found["asked"],
        "results": [[result[key] for key in keys] for result in found["results"]],
        "scores": [result["score"] for result in found["results"]],
        "others": [other["number"] for other in found["others"]],
        "safety": [other["number"] for other in found["safety"]],
        "note": found["note"],
        "unreadable": found["unit"]["unreadable"] if found["unit"] else "",
    }


def differences(pair: Pair, questions: list[tuple[str, dict[str, Any]]]) -> list[Any]:
    """Return what the phone answers otherwise than the desk, question by question."""
    told = []
    for (text, given), found in zip(questions, pair.phone_finds(questions), strict=True):
        here, there = pair.desk_finds(text, given), in_shape(found)
        scores, others = here.pop("scores", []), there.pop("scores", [])
        if here != there:
            unlike = [
                (key, here[key], there.get(key)) for key in here if here[key] != there.get(key)
            ]
            told.append((text, given, unlike))
        elif others != pytest.approx(scores, rel=1e-9):
            told.append((text, scores, others))
    return told


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    """The demo house at the desk and on the phone."""
    folder = tmp_path_factory.mktemp("demo")
    house = demo_copy(folder / "bulletins")
    return Pair(Desk(house, TODAY), carried(house, folder / "site"))


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Pair:
    """A house whose numbers, codes and words are the awkward ones."""
    folder = tmp_path_factory.mktemp("odd")
    house = write_house(folder / "bulletins", ODD_HOUSE)
    return Pair(Desk(house, TODAY), carried(house, folder / "site"))


def test_every_question_has_the_same_answers_in_the_same_order(demo: Pair) -> None:
    questions = [(each["ask"], {"limit": 50}) for each in QUESTIONS]
    assert differences(demo, questions) == []


@pytest.mark.parametrize("sort", ["plain", "dialect", "spelling", "code", "unit"])
def test_every_question_is_answered_alike_letter_by_letter(demo: Pair, sort: str) -> None:
    asks = [each["ask"] for each in QUESTIONS if each["sort"] == sort][::9]
    typed = [ask[:end] for ask in asks for end in range(1, len(ask) + 1)]
    assert len(typed) > 20
    assert differences(demo, [(text, {"limit": 10}) for text in typed]) == []


UNITS = ["TD45A", "TD45A/3", "CW8A 2", "SD8G", "MR36W", "LN60P", "TD60B/6", "XX99", "CW9"]
SERIALS = ["KP1400031", "LM 05 00123", "K P 14 00031", "KP14", "kp", "K99900000", "18 200 K 0044"]
NUMBERS = ["2026-014", "2018 022", "HR-310-4120", "hr 310 41", "310-7620", "part no 320-2147"]
CODES = [
    "E21",
    "e-21",
    "err 21",
    "E99",
    "F 04",
    "e twenty one",
    "Er-5",
    "code h2",
    "L31",
    "H30/H13",
]
SAID = [
    '"drain pump"',
    '"hums but"',
    "won't",
    "no longer",
    "serial",
    "model",
    "coffee machine",
    "TV",
]


def made_up(pair: Pair, count: int, seed: int) -> list[tuple[str, dict[str, Any]]]:
    """Return lines of words, units, numbers and codes in any order, some misspelled or cut off."""
    rng = Random(seed)
    lines: list[tuple[str, dict[str, Any]]] = []
    for _ in range(count):
        pieces = [mistyped(rng.choice(pair.spoken), rng) for _ in range(rng.randint(0, 5))]
        for kind in (UNITS, SERIALS, NUMBERS, CODES, SAID):
            if rng.random() < 0.2:
                pieces.insert(rng.randint(0, len(pieces)), rng.choice(kind))
        given: dict[str, Any] = {"limit": 10}
        if rng.random() < 0.15:
            given |= {"model": rng.choice(UNITS[:7])}
        if rng.random() < 0.1:
            given |= {"serial": rng.choice(SERIALS)}
        text = " ".join(pieces)
        lines.append((text[: rng.randint(0, len(text))] if rng.random() < 0.2 else text, given))
    return lines


def mistyped(word: str, rng: Random) -> str:
    """Return *word*, one in three times with a slip of the finger."""
    at = rng.randrange(len(word))
    match rng.randrange(12):
        case 0:
            return word[:at] + word[at + 1 :]
        case 1:
            return word[:at] + word[at] + word[at:]
        case 2:
            return word[:at] + word[at + 1 : at + 2] + word[at] + word[at + 2 :]
        case 3:
            return word[:at] + rng.choice("aeioulrst") + word[at + 1 :]
        case _:
            return word


@pytest.mark.parametrize("seed", range(3))
def test_lines_made_by_rule_are_answered_alike(demo: Pair, seed: int) -> None:
    assert differences(demo, made_up(demo, 350, seed)) == []


@pytest.mark.parametrize("seed", range(2))
def test_lines_in_an_awkward_house_are_answered_alike(odd: Pair, seed: int) -> None:
    assert differences(odd, made_up(odd, 250, 100 + seed)) == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "-",
        '"',
        '""',
        '"" "x"',
        "…",
        "(((((",
        "\\",
        "*",
        "a" * 600,
        "drain " * 120,
        "not " * 90,
        "\u0000",
        "\U0001f4a7 water",
        "<script>alert(1)</script>",
        "__proto__ constructor toString",
        "hasOwnProperty",
        "~7",
        "=washer",
        "E21" * 50,
        "KP1400031 " * 20,
        "2026-014 2026-014 2018-022",
        "HR-310-4120 HR-310-4126",
    ],
)
def test_whatever_is_typed_is_answered_alike(demo: Pair, text: str) -> None:
    assert differences(demo, [(text, {"limit": 10})]) == []


def test_an_unknown_model_given_apart_is_told_as_at_the_desk(demo: Pair) -> None:
    questions = [("hums", {"model": model}) for model in ("TD45Z", "", "XYZ", "TD45A/333", "£")]
    assert differences(demo, questions) == []
