"""The indexes that all rules share, and where a front-matter path stands."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import Problem
from kb.proof.base import listed, meant
from kb.proof.look import Look, Placed, line_in, placed_blocks
from kb.records import Block, Bulletin, House
from tests.proof_house import TODAY, bulletin, house, kit, part


def look(*bulletins: Bulletin, **fields: Any) -> Look:
    return Look(house(*bulletins, **fields), TODAY)


INNER = Block(models=("TD60A",))
BLOCK = Block(families=("Tarn",), but_not=(INNER,))


@pytest.mark.parametrize(
    ("lines", "key", "index", "line"),
    [
        ({"family": 6}, "family", 0, 6),
        ({"family": 6, "family[0]": 7}, "family", 0, 7),
        ({"applies": 5, "applies[0].family": 8}, "family", 0, 8),
        ({"applies": 5, "applies.family": 9}, "family", None, 9),
        ({"applies": 5, "applies[0]": 6}, "built", None, 6),
        ({"family": 6}, "built", None, 6),
        ({"models": 7}, "built", None, 7),
        ({}, "built", None, 1),
    ],
)
def test_a_key_of_a_block_is_found_wherever_it_may_stand(
    lines: dict[str, int], key: str, index: int | None, line: int
) -> None:
    one = bulletin(where=(BLOCK,), lines=lines)
    outer = next(placed_blocks(one))
    assert line_in(one, outer, key, index) == line


@pytest.mark.parametrize(
    ("lines", "line"),
    [
        ({"except.models": 9}, 9),
        ({"except[0].models": 9}, 9),
        ({"except": 8}, 8),
        ({"applies[0].except.models": 12}, 12),
        ({"applies[0].except[0].models[0]": 13, "applies[0].except[0].models": 12}, 13),
    ],
)
def test_a_key_of_an_exception_is_found_too(lines: dict[str, int], line: int) -> None:
    one = bulletin(where=(BLOCK,), lines=lines)
    _, inner = placed_blocks(one)
    assert inner.within is BLOCK
    assert line_in(one, inner, "models", 0) == line


@pytest.mark.parametrize(
    ("block", "within", "families"),
    [
        (Block(families=("tarn",)), None, ["Tarn"]),
        (Block(families=("Tarn", "Nowhere")), None, ["Tarn"]),
        (Block(models=("CW*",)), None, ["Cairn"]),
        (Block(models=("*A",)), None, ["Tarn", "Cairn"]),
        (Block(), None, ["Tarn", "Cairn"]),
        (Block(plants=("K",)), Block(families=("Cairn",)), ["Cairn"]),
        (Block(models=("TD*",)), Block(families=("Cairn",)), ["Tarn"]),
    ],
)
def test_a_block_speaks_of_the_families_it_names_or_means(
    block: Block, within: Block | None, families: list[str]
) -> None:
    found = look().families_of(Placed(block, (), within))
    assert [family.name for family in found] == families


def test_unsound_bulletins_are_looked_at_but_not_counted_sound() -> None:
    sound, unsound = bulletin("2026-001"), bulletin("2026-002")
    seen = Look(replace(house(sound), unsound=(unsound,)), TODAY)
    assert seen.bulletins == (sound, unsound)
    assert set(seen.numbers) == {"2026001", "2026002"}
    assert seen.sound_in_force == [sound]


def test_the_first_of_two_bulletins_with_one_number_is_the_one_meant() -> None:
    first, second = bulletin("2026-001"), bulletin("2026-001", file="z.md")
    assert Look(replace(house(first), unsound=(second,)), TODAY).by_number["2026001"] is first


def test_kits_are_known_part_numbers() -> None:
    seen = look(parts=[part("HR-5")], kits=kit("HR-90", "HR-5"))
    assert seen.part_numbers == {"HR90": "HR-90", "HR1": "HR-1", "HR5": "HR-5"}
    assert seen.means("hr 90") and seen.means("td-45a") and not seen.means("HR-6")


def broken_house(folder: Path, text: str) -> House:
    path = folder / "reference" / "parts.csv"
    path.parent.mkdir()
    path.write_text(text, "utf-8")
    met = Problem(
        file="reference/parts.csv", line=2, level="error", rule="cells", message="m", remedy="r"
    )
    return replace(house(), folder=folder, files=("reference/parts.csv",), problems=(met,))


def test_what_stands_in_a_broken_table_is_lost_not_unknown(tmp_path: Path) -> None:
    seen = Look(broken_house(tmp_path, "number,name\nHR-7-1,pump,x\n"), TODAY)
    assert seen.lost("reference/parts.csv", "hr 7 1")
    assert not seen.lost("reference/parts.csv", "HR-7-2")
    assert not seen.lost("reference/families.yaml", "HR-7-1")


def test_nothing_is_lost_from_a_table_that_was_read_whole() -> None:
    assert not look().lost("reference/parts.csv", "HR-1")


NAMES = st.lists(st.text("abcdef-0123", min_size=4, max_size=10), min_size=1, max_size=120)


@given(NAMES, st.data())
def test_one_slip_leads_back_to_a_name_as_near(names: list[str], data: st.DataObject) -> None:
    meant_name = data.draw(st.sampled_from(names))
    seen = look()
    near = seen.near(meant_name, "name", names)
    assert near is not None and near.strip().casefold() == meant_name.strip().casefold()


def test_a_name_among_thousands_is_still_found() -> None:
    names = [f"HR-{n:05}-{n % 97:02}" for n in range(20_000)]
    assert look().near("HR-12345-2", "part", names) in (names[12345], "HR-12345-26")


@pytest.mark.parametrize(
    ("names", "text"),
    [
        ([], ""),
        (["A"], "A"),
        (["A", "B"], "A and B"),
        (["A", "B", "C"], "A, B and C"),
        (["A", "B", "C", "D", "E", "F"], "A, B, C, D and 2 more"),
    ],
)
def test_names_are_read_out_as_people_do(names: list[str], text: str) -> None:
    assert listed(names) == text


def test_a_remedy_proposes_only_what_there_is() -> None:
    assert meant("Tarn") == "did you mean Tarn? If not, "
    assert meant(None) == ""
