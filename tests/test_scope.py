from __future__ import annotations

import random

import pytest

from kb.applies import answer
from kb.records import Block, Unit
from kb.scope import families_of, models_of
from tests.random_blocks import FAMILIES, TODAY, WORLD, random_where

EVERY = [model for family in FAMILIES for model in family.models]


@pytest.mark.parametrize(
    ("where", "expected"),
    [
        ([], []),
        ([Block()], EVERY),
        ([Block(families=("Tarn",))], ["TD45", "TD60", "TE45"]),
        ([Block(families=("tarn",))], ["TD45", "TD60", "TE45"]),
        ([Block(models=("*45",))], ["TD45", "TE45"]),
        ([Block(models=("c w-7",))], ["CW7"]),
        ([Block(families=("Cairn",), models=("TD*",))], []),
        ([Block(models=("SD?",)), Block(models=("CW9",))], ["CW9", "SD7", "SD9"]),
        ([Block(models=("CW9",)), Block(models=("CW?",))], ["CW7", "CW9"]),
        ([Block(families=("Nosuch",))], []),
    ],
)
def test_the_models_that_blocks_can_mean_in_the_order_of_the_house(
    where: list[Block], expected: list[str]
) -> None:
    assert models_of(where, WORLD.families) == expected


@pytest.mark.parametrize("seed", range(20))
def test_a_model_left_out_is_one_that_every_unit_answers_no_to(seed: int) -> None:
    rng = random.Random(seed)
    where = random_where(rng)
    meant = models_of(where, WORLD.families)
    for family in FAMILIES:
        for model in set(family.models) - set(meant):
            unit = Unit(model=model, family=family)
            assert answer(where, unit, WORLD, TODAY).applies == "no"


@pytest.mark.parametrize("seed", range(20))
def test_families_are_those_of_the_models(seed: int) -> None:
    where = random_where(random.Random(seed))
    meant = set(models_of(where, WORLD.families))
    expected = [f.name for f in FAMILIES if meant & set(f.models)]
    assert [f.name for f in families_of(where, WORLD.families)] == expected


def test_an_iterator_of_blocks_will_do() -> None:
    assert models_of(iter([Block(models=("CW7",))]), WORLD.families) == ["CW7"]
    assert len(families_of(iter([Block()]), WORLD.families)) == 3
