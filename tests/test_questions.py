"""The questions that search is judged by: sound in form, and right about the demo house.

They are written from common practice, no source: what technicians, owners and dispatchers type.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from kb.applies import answer
from kb.folding import fold
from kb.house import read_house
from kb.records import Bulletin, House
from kb.units import make_unit

ROOT = Path(__file__).parent.parent
TODAY = date(2026, 11, 25)
QUESTIONS: list[dict[str, Any]] = json.loads(
    (ROOT / "tests" / "cases" / "questions.json").read_text(encoding="utf-8")
)
SORTS = [
    "plain",
    "dialect",
    "wordform",
    "spelling",
    "code",
    "part",
    "unit",
    "two-symptoms",
    "product-named",
    "prefix",
    "quoted",
    "nothing",
]
WITH_UNIT = [q for q in QUESTIONS if q["sort"] == "unit"]
QUOTED = [q for q in QUESTIONS if q["sort"] == "quoted"]


@cache
def house() -> House:
    """Return the demo house, read once."""
    return read_house(ROOT / "bulletins")


@cache
def bulletins() -> dict[str, Bulletin]:
    """Return the bulletins of the demo house by number."""
    return {bulletin.number: bulletin for bulletin in house().bulletins}


def test_there_are_enough_questions_of_every_sort() -> None:
    counts = Counter(question["sort"] for question in QUESTIONS)
    assert sorted(counts) == sorted(SORTS)
    assert min(counts.values()) >= 10
    assert len(QUESTIONS) >= 220


@pytest.mark.parametrize("key", ["id", "ask"])
def test_no_question_stands_twice(key: str) -> None:
    counts = Counter(question[key].lower() for question in QUESTIONS)
    assert [text for text, count in counts.items() if count > 1] == []


def test_one_half_is_to_tune_on_and_one_to_report() -> None:
    halves: dict[str, Counter[str]] = defaultdict(Counter)
    for question in QUESTIONS:
        halves[question["sort"]][question["half"]] += 1
    for counts in halves.values():
        assert set(counts) == {"tune", "report"}
        assert abs(counts["tune"] - counts["report"]) <= 1


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question["id"])
def test_right_answers_are_bulletins_in_force(question: dict[str, Any]) -> None:
    assert bool(question["want"]) != (question["sort"] == "nothing")
    for number in question["want"]:
        assert bulletins()[number].status == "in-force"


@pytest.mark.parametrize("question", WITH_UNIT, ids=lambda question: question["id"])
def test_the_first_right_answer_may_apply_to_the_unit_asked_about(
    question: dict[str, Any],
) -> None:
    unit = make_unit(house(), question["model"], question["serial"], TODAY)
    assert not unit.unreadable
    bulletin = bulletins()[question["want"][0]]
    assert answer(bulletin.where, unit, house(), TODAY).applies in {"yes", "maybe"}


@pytest.mark.parametrize("question", WITH_UNIT, ids=lambda question: question["id"])
def test_the_plate_stands_in_the_line_that_is_asked(question: dict[str, Any]) -> None:
    assert fold(question["model"].split("/")[0]) in fold(question["ask"])
    assert fold(question["serial"]) in fold(question["ask"])


@pytest.mark.parametrize("question", QUOTED, ids=lambda question: question["id"])
def test_quoted_words_stand_in_the_first_right_answer(question: dict[str, Any]) -> None:
    words = question["ask"].split('"')[1].lower()
    bulletin = bulletins()[question["want"][0]]
    text = " | ".join([bulletin.title, *bulletin.symptoms, bulletin.summary, bulletin.body])
    assert words in " ".join(text.lower().split())
