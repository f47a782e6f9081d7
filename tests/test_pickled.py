"""Records come back from a pickle equal, of the same class, frozen and hashable as before."""

from __future__ import annotations

import copy
import pickle
from dataclasses import FrozenInstanceError, fields, replace
from pathlib import Path
from typing import Any

import pytest

from kb.dates import Days, parse_days
from kb.errors import Problem
from kb.house import read_house
from kb.records import Age, Block, Check, Count, Coverage, PartLine, SerialRange

RECORDS = (
    Days(),
    parse_days("2024-W10..2025"),
    Count(2, None),
    SerialRange("KP1400031", "KP1400090"),
    Block(families=("Tarn",), built=parse_days("2024.."), but_not=(Block(plants=("K",)),)),
    Check(cause="worn seal", likelihood=0.5, before=("limescale",)),
    PartLine(number="HR-310-1118", in_hand=True),
    Coverage("drain pump", 5.0, "built"),
    Age(5.0, "replace the hose"),
    Problem(file="a.md", line=3, level="error", rule="r", message="m", remedy="do"),
)


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: type(record).__name__)
@pytest.mark.parametrize("protocol", range(2, pickle.HIGHEST_PROTOCOL + 1))
def test_a_record_comes_back_equal(record: Any, protocol: int) -> None:
    back = pickle.loads(pickle.dumps(record, protocol))
    assert back == record == copy.copy(record) == copy.deepcopy(record)
    assert type(back) is type(record) and hash(back) == hash(record)
    name = fields(record)[0].name
    with pytest.raises(FrozenInstanceError):
        setattr(back, name, None)
    assert replace(back, **{name: getattr(record, name)}) == record


def test_a_whole_house_comes_back_equal_with_its_lines(demo_house: Path) -> None:
    house = read_house(demo_house)
    back = pickle.loads(pickle.dumps(house))
    assert back == house
    lines = [dict(bulletin.lines) for bulletin in house.bulletins]
    assert [dict(bulletin.lines) for bulletin in back.bulletins] == lines and all(lines)
