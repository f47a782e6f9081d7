"""Rules on safety bulletins.

What has to be in one follows 15 USC 2064(i)(2) (product, dates of manufacture, hazard, remedy and
contact), 16 CFR 1115.27 and 49 USC 30119(g) (name and part number of the component). The words
that may not be in one are quoted from Regulation (EU) 2023/988, article 36.
"""

from __future__ import annotations

from typing import Any

import pytest

from kb.dates import parse_days
from kb.records import Age, Block, Bulletin, Check, Count, PartLine, SerialRange
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


# 15 USC 2064(i)(2), as a list: what the law asks for, what is taken out, and the rule that asks.
ASKED_BY_LAW = [
    ("(B) action being taken", {"parts": (), "body": "", "keep": ("HR-1",)}, "safety-action"),
    ("(D) hazard and reasons", {"hazards": ()}, "safety-hazard"),
    ("(F) dates manufactured", {"where": (Block(families=("Tarn",)),)}, "safety-range"),
]


@pytest.mark.parametrize(("item", "without", "rule"), ASKED_BY_LAW)
def test_each_item_of_the_recall_notice_is_asked_for(
    item: str, without: dict[str, Any], rule: str
) -> None:
    assert told(safety(**without)) == [rule], item


def test_the_contact_of_item_h_is_asked_for_once_in_the_house() -> None:
    # 15 USC 2064(i)(2)(H): remedy, what to do, contact.
    bulletins = [safety(), safety(kind="repair")]
    assert len(said(house(*bulletins, contact=""), "safety-contact")) == 1
    assert said(house(*bulletins, contact="Desk, weekdays 8 to 5"), "safety-contact") == []


def test_the_part_number_of_49_usc_30119_g_is_asked_for() -> None:
    bare = safety(parts=(), body="1. Fit a new cable.")
    assert told(bare) == ["safety-part"]


# Signal words: ANSI Z535.4-2007, 4.14.1 to 4.14.4: DANGER, WARNING and CAUTION are about injury;
# NOTICE is not, so it states no hazard to people.
@pytest.mark.parametrize(
    ("word", "rule"),
    [
        ("danger", "safety-hazard-key"),
        ("warning", "safety-hazard-key"),
        ("caution", "safety-hazard-key"),
        ("notice", "safety-hazard"),
    ],
)
def test_a_panel_about_injury_states_the_hazard_and_a_notice_does_not(word: str, rule: str) -> None:
    body = f"::: {word}\nHot.\n:::\n\n1. Stop."
    assert told(safety(hazards=(), body=body)) == [rule]


@pytest.mark.parametrize("word", FORBIDDEN)
@pytest.mark.parametrize(
    ("key", "line"), [("note", 11), ("cause", 21), ("test", 22), ("fix", 23), ("advice", 31)]
)
def test_soft_words_are_found_wherever_a_reader_is_told_something(
    word: str, key: str, line: int
) -> None:
    check: dict[str, Any] = {"cause": "chafed", key: word} if key in ("test", "fix") else {}
    one = safety(
        parts=(PartLine(number="HR-1", note=word if key == "note" else ""),),
        checks=(Check(**{"cause": word if key == "cause" else "chafed", **check}),),
        age=Age(5, word if key == "advice" else "look"),
        lines={
            "parts[0].note": 11,
            "checks[0].cause": 21,
            "checks[0].test": 22,
            "checks[0].fix": 23,
            "age.advice": 31,
        },
    )
    assert [p.line for p in broken(house(one), "safety-words")] == [line]


def test_each_soft_word_of_a_text_is_told_on_its_line() -> None:
    one = safety(body="Voluntary.\nPrecautionary, discretionary.\n\n1. Stop.", body_line=20)
    assert [p.line for p in broken(house(one), "safety-words")] == [20, 21, 21]


@pytest.mark.parametrize("status", ["in-force", "draft"])
def test_a_draft_is_asked_as_well(status: str) -> None:
    assert told(safety(hazards=(), status=status)) == ["safety-hazard"]


def test_exceptions_need_no_range_of_their_own() -> None:
    block = Block(families=("Tarn",), built=parse_days("2024"), but_not=(Block(models=("TD60A",)),))
    assert told(safety(where=(block,))) == []
