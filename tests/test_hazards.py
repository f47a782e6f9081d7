"""The usual cautions: signal words and what a safety message has to say."""

from __future__ import annotations

import pytest

from kb.hazards import WORDS, cautions, hazards
from kb.records import HAZARDS

# Signal words: ANSI Z535.4-2007 section 4.14 as quoted by safetylabel.com; the three parts of a
# safety message: ANSI Z535.6 as told by hklaw.com (2007).


def test_every_hazard_of_the_contract_has_its_caution_and_no_other() -> None:
    assert tuple(hazards()) == HAZARDS


@pytest.mark.parametrize("name", HAZARDS)
def test_a_caution_tells_nature_consequence_and_how_to_avoid_it(name: str) -> None:
    hazard = hazards()[name]
    assert hazard.word in WORDS
    assert hazard.title
    assert hazard.nature.endswith(".")
    assert hazard.consequence.endswith(".")
    assert len(hazard.avoid) >= 3
    assert all(step.endswith(".") for step in hazard.avoid)


@pytest.mark.parametrize("name", HAZARDS)
def test_no_hazard_to_people_is_a_mere_notice(name: str) -> None:
    assert hazards()[name].word != "NOTICE"
    assert hazards()[name].alerts


@pytest.mark.parametrize("name", ["gas", "refrigerant", "electricity"])
def test_what_can_kill_is_no_mere_caution(name: str) -> None:
    assert hazards()[name].word in ("DANGER", "WARNING")
    assert "kill" in hazards()[name].consequence


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("gas", ("licensed", "code")),
        ("electricity", ("licensed", "code")),
        ("refrigerant", ("certified", "law")),
        ("hot-water", ("code",)),
    ],
)
def test_work_that_the_law_reserves_is_left_to_those_who_may(
    name: str, words: tuple[str, ...]
) -> None:
    assert all(word in hazards()[name].defer for word in words)


def test_sixty_degrees_scald_in_six_seconds() -> None:
    # CPSC document 5098, "Tap Water Scalds": 140 F, six seconds, adults, third degree.
    assert "60 °C in about six" in hazards()["hot-water"].consequence


def test_the_gravest_word_stands_first() -> None:
    words = [hazard.word for hazard in cautions(HAZARDS)]
    assert words == sorted(words, key=WORDS.index)
    assert words[0] == "DANGER"


def test_unknown_and_repeated_hazards_change_nothing() -> None:
    assert [h.name for h in cautions(["gas", "gas", "ghosts"])] == ["gas"]
    assert cautions([]) == ()
