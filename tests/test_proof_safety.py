"""Rules on safety bulletins.

What has to be in one follows 15 USC 2064(i)(2) (product, dates of manufacture, hazard, remedy and
contact), 16 CFR 1115.27 and 49 USC 30119(g) (name and part number of the component). The words
that may not be in one are quoted from Regulation (EU) 2023/988, article 36.
"""

from __future__ import annotations

from typing import Any

import pytest

from kb.dates import parse_days
from kb.records import Block, Bulletin, Check, Count, PartLine, SerialRange
from tests.proof_house import broken, bulletin, house, part, said

SOUND: dict[str, Any] = {
    "kind": "safety",
    "hazards": ("electricity",),
    "where": (Block(families=("Tarn",), built=parse_days("2024")),),
    "parts": (PartLine(number="HR-1"),),
    "body": "The cable can chafe.\n\n1. Pull the plug.\n2. Fit a new cable.\n",
}
RULES = (
    "safety-hazard",
    "safety-hazard-key",
    "safety-range",
    "safety-action",
    "safety-steps",
    "safety-part",
    "safety-contact",
    "safety-words",
)


def safety(**changes: Any) -> Bulletin:
    return bulletin(**{**SOUND, **changes})


def told(one: Bulletin, **fields: Any) -> list[str]:
    return [rule for rule in RULES if said(house(one, **fields), rule)]


def test_a_whole_safety_bulletin_is_sound() -> None:
    assert told(safety()) == []


@pytest.mark.parametrize(
    ("changes", "rules"),
    [
        ({"hazards": ()}, ["safety-hazard"]),
        ({"hazards": (), "body": "::: warning\nLive.\n:::\n\n1. Stop."}, ["safety-hazard-key"]),
        ({"hazards": (), "body": "::: notice\nWet.\n:::\n\n1. Stop."}, ["safety-hazard"]),
        ({"where": (Block(families=("Tarn",)),)}, ["safety-range"]),
        ({"parts": (), "body": ""}, ["safety-action", "safety-part"]),
        ({"parts": (), "body": "It can burn."}, ["safety-steps", "safety-part"]),
        ({"parts": (), "body": "# What to do\n\nStop."}, ["safety-part"]),
        ({"parts": (), "body": "- Fit HR-1."}, []),
        ({"parts": (), "keep": ("HR-1",)}, []),
        ({"parts": (), "checks": (Check(cause="chafed", parts=("HR-1",)),), "body": ""}, []),
        ({"body": ""}, []),
    ],
)
def test_what_is_missing_is_told(changes: dict[str, Any], rules: list[str]) -> None:
    assert told(safety(**changes)) == rules


@pytest.mark.parametrize(
    "block",
    [
        Block(families=("Tarn",), built=parse_days("2024..")),
        Block(families=("Tarn",), revision=Count(2, None)),
        Block(families=("Tarn",), serials=(SerialRange("KP1400031", "KP1400032"),)),
    ],
)
def test_dates_serials_or_revision_each_are_a_range(block: Block) -> None:
    assert told(safety(where=(block,))) == []


def test_every_block_needs_a_range() -> None:
    blocks = (SOUND["where"][0], Block(families=("Cairn",)))
    assert told(safety(where=blocks)) == ["safety-range"]


def test_a_house_without_contact_is_told() -> None:
    assert told(safety(), contact=" ") == ["safety-contact"]


@pytest.mark.parametrize(
    "body",
    [
        "1. Write to desk@hollin-ridge.example.",
        "1. Call +44 20 7946 0018.",
        "1. Call 555-0134.",
        "1. See https://service.hollin-ridge.example/",
    ],
)
def test_a_bulletin_may_name_its_own_contact(body: str) -> None:
    assert told(safety(body=body), contact="") == []


@pytest.mark.parametrize("level", [("safety-hazard", "error"), ("safety-contact", "error")])
def test_what_law_asks_for_first_is_an_error(level: tuple[str, str]) -> None:
    rule, expected = level
    (problem,) = broken(house(safety(hazards=()), contact=""), rule)
    assert problem.level == expected


# Regulation (EU) 2023/988, article 36, names these words as ones that lower the perceived risk.
FORBIDDEN = ("voluntary", "precautionary", "discretionary", "in rare situations")


@pytest.mark.parametrize("word", FORBIDDEN)
@pytest.mark.parametrize("place", ["body", "title", "summary"])
def test_words_that_play_a_danger_down_are_told(word: str, place: str) -> None:
    text = f"This {word.upper()} check\n\n1. Stop."
    (problem,) = broken(house(safety(**{place: text})), "safety-words")
    assert word in problem.message.casefold()


@pytest.mark.parametrize("word", ["involuntary", "voluntary2", "in rare situation", "caution"])
def test_other_words_are_not_blamed(word: str) -> None:
    assert said(house(safety(body=f"{word}\n\n1. Stop.")), "safety-words") == []


def test_the_line_of_the_word_is_told_even_across_a_line_end() -> None:
    body = "One.\nTwo.\nIt happens in rare\nsituations only.\n\n1. Stop."
    (problem,) = broken(house(safety(body=body, body_line=20)), "safety-words")
    assert problem.line == 22
    assert "'in rare situations'" in problem.message


@pytest.mark.parametrize("changes", [{"kind": "repair"}, {"status": "withdrawn"}])
def test_only_safety_bulletins_that_are_not_withdrawn_are_asked(changes: dict[str, Any]) -> None:
    bare = safety(hazards=(), parts=(), body="voluntary", where=(Block(families=("Tarn",)),))
    others = safety(**{"hazards": (), "parts": (), "body": "voluntary", **changes})
    assert told(bare) != []
    assert told(others) == []


def test_a_part_named_in_the_text_is_known_however_it_is_typed() -> None:
    one = safety(parts=(), body="1. Fit hr 7 3.\n2. Fit HR-7-3.")
    assert said(house(one, parts=[part("HR-7-3")]), "safety-part") == []
