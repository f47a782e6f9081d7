"""Why a bulletin was found: the words that matched, and through what."""

from __future__ import annotations

import pytest

from kb.desk import Desk
from kb.hits import Hit
from kb.matching import Variant
from kb.reasons import Reasons
from kb.wording import Wording
from kb.wordtable import load_words, prepare
from tests.memory_index import index_of

TABLE = prepare({**load_words(), "rings": [["leak", "drip", "water on floor"]]})
WORDING = Wording(TABLE)
INDEX = index_of(WORDING, [{"title": "Drains slowly", "body": "drips; water on floor"}])


def why(*through: tuple[str, Variant]) -> str:
    """Return the reason for a hit of the one bulletin."""
    return Reasons(INDEX, WORDING).why(Hit(0, through=list(through)))


@pytest.mark.parametrize(
    ("asked", "variant", "told"),
    [
        ("drains", Variant("drain", 1.0, "own", "drains"), '"drains"'),
        ("drain", Variant("drain", 1.0, "own", "drain"), '"drain" as "drains" (word form)'),
        ("drian", Variant("drain", 0.7, "spelling", "drain"), '"drian" as "drains" (spelling)'),
        ("dra", Variant("drain", 0.5, "start", "drains"), '"dra" as "drains" (beginning)'),
        ("sewer", Variant("drain", 0.4, "near", "drain"), '"sewer" as "drains" (near word)'),
        ("leak", Variant("~0", 0.55, "ring"), '"leak" as "drips" (like word)'),
        ("laek", Variant("~0", 0.4, "spelling"), '"laek" as "drips" (spelling, like word)'),
        ("drips", Variant("~0", 0.55, "ring"), '"drips"'),
        ("E-21", Variant("E-21", 1.0, "code", "E-21"), "code E-21"),
        ("A-1", Variant("A-1", 1.0, "part", "A-1"), "part A-1"),
        (
            "A-1",
            Variant("A-1", 1.0, "substitution", "A-1"),
            "a part that A-1 leads to or comes from",
        ),
    ],
)
def test_each_way_of_matching_is_told_in_words(asked: str, variant: Variant, told: str) -> None:
    assert why((asked, variant)) == told


def test_a_reason_stands_once() -> None:
    drains = ("drains", Variant("drain", 1.0, "own", "drains"))
    assert why(drains, drains) == '"drains"'


def test_reasons_stand_in_the_order_asked() -> None:
    one = ("slowly", Variant("slow", 1.0, "own", "slowly"))
    two = ("drains", Variant("drain", 1.0, "own", "drains"))
    assert why(one, two) == '"slowly"; "drains"'


@pytest.mark.parametrize(
    ("typed", "number", "told"),
    [
        ("hums", "2026-014", '"hums"'),
        ("humming", "2026-014", '"humming" as "hums" (word form)'),
        ("hms pump", "2026-014", '"pump"'),
        ("puddle pump", "2026-014", '"pump"'),
        ("knok drum", "2026-015", '"knok" as "knocks" (spelling'),
        ("E21", "2026-014", "code E21"),
        ("hr 310 1216", "SB-7.12", "part HR-310-1216"),
        ("dripping seal", "2026-017", '"dripping" as "weeps" (like word)'),
        ("2026-014", "2026-014", "its number"),
        ("filt", "SB-7.12", '"filt" as "filter" (beginning)'),
        ("r 600a", "2026-017", '"r 600a" as "r600a" (written as one)'),
    ],
)
def test_an_answer_names_the_words_that_matched(
    odd_desk: Desk, typed: str, number: str, told: str
) -> None:
    found = {r.card.number: r.why for r in odd_desk.finder.find(typed).results}
    assert told in found[number]


QUESTIONS = ["drian pump humms", "leeking dishwasher", "squealing drum", "E-21", "frige warm", "co"]


@pytest.mark.parametrize("typed", QUESTIONS)
def test_every_result_says_why_and_its_words_stand_in_the_bulletin(
    demo_desk: Desk, typed: str
) -> None:
    results = demo_desk.finder.find(typed, limit=200).results
    assert results
    for result in results:
        assert result.why
        for reason in result.why.split("; "):
            said = reason.split('"')[1] if '"' in reason else ""
            assert not said or said in typed
