from __future__ import annotations

import json
import random
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days
from kb.records import Block, Count, Example, Scheme, SerialRange
from kb.serials import looks_like, read_serial, sample_of
from kb.wire import block_of, block_to_json, day_of, day_text, days_of, scheme_of, scheme_to_json
from tests.random_blocks import WORLD, random_where

days = st.none() | st.dates()
words = st.lists(st.text(min_size=1, max_size=6), max_size=3).map(tuple)
whole = st.none() | st.integers(0, 99)
flat = st.builds(
    Block,
    families=words,
    models=words,
    revision=st.none() | st.builds(Count, whole, whole),
    built=st.none() | st.builds(Days, days, days).filter(lambda d: True),
    plants=words,
    serials=st.lists(st.builds(SerialRange, st.text(), st.text()), max_size=2).map(tuple),
)
blocks = st.recursive(
    flat,
    lambda inner: st.builds(
        replace, flat, but_not=st.lists(inner, min_size=1, max_size=2).map(tuple)
    ),
    max_leaves=4,
)


@given(blocks)
def test_any_block_reads_back_as_it_was_through_json(block: Block) -> None:
    assert block_of(json.loads(json.dumps(block_to_json(block)))) == block


@pytest.mark.parametrize("seed", range(5))
def test_blocks_as_bulletins_have_them_read_back(seed: int) -> None:
    where = random_where(random.Random(seed))
    assert tuple(block_of(json.loads(json.dumps(block_to_json(b)))) for b in where) == where


@pytest.mark.parametrize(
    ("block", "given_"),
    [
        (Block(), {}),
        (Block(families=("Tarn",)), {"families": ["Tarn"]}),
        (Block(revision=Count(2)), {"revision": [2, None]}),
        (Block(built=Days(date(2024, 3, 4), None)), {"built": ["2024-03-04", None]}),
        (Block(serials=(SerialRange("A", "B"),)), {"serials": [["A", "B"]]}),
        (Block(but_not=(Block(plants=("K",)),)), {"but_not": [{"plants": ["K"]}]}),
    ],
)
def test_only_what_is_given_is_written(block: Block, given_: dict[str, object]) -> None:
    assert block_to_json(block) == given_
    assert block_of(given_) == block


@given(days)
def test_days_are_iso_text_and_an_open_end_is_nothing(day: date | None) -> None:
    text = day_text(day)
    assert day_of(text) == day
    assert text is None if day is None else text == f"{day:%Y}".zfill(4) + f"{day:-%m-%d}"


def test_a_stretch_of_days_from_two_texts() -> None:
    assert days_of("2024-01-01", None) == Days(date(2024, 1, 1), None)
    assert days_of(None, None) == Days()


@pytest.mark.parametrize("name", WORLD.schemes)
def test_schemes_read_back_with_the_first_example_as_a_sample(name: str) -> None:
    scheme = replace(
        WORLD.schemes[name],
        examples=(Example(serial="one", plant="K"), Example(serial="two")),
    )
    read = scheme_of(name, json.loads(json.dumps(scheme_to_json(scheme))))
    assert read == replace(scheme, examples=(Example(serial="one"),))


@pytest.mark.parametrize("name", WORLD.schemes)
def test_a_scheme_without_examples_has_a_sample_made_up(name: str) -> None:
    scheme = WORLD.schemes[name]
    read = scheme_of(name, scheme_to_json(scheme))
    assert read == replace(scheme, examples=(Example(serial=sample_of(scheme)),))
    assert looks_like(read) == looks_like(scheme)
    assert read_serial(sample_of(scheme), [(scheme, scheme.used)], date(2030, 1, 1))


def test_plants_keep_their_order_where_a_reader_sorts_keys() -> None:
    scheme = Scheme(name="s", layout="PYYMMNN", plants={"2": "two", "1": "one"})
    assert scheme_to_json(scheme)["codes"] == ["2", "1"]
