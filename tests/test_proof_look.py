"""The indexes that all rules share, and where a front-matter path stands."""

from __future__ import annotations

import random
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import Problem
from kb.folding import fold, fold_name
from kb.proof.base import listed, meant
from kb.proof.look import Look, Placed, line_in, placed_blocks
from kb.records import Block, Bulletin, Count, House
from tests.proof_house import CAIRN, TARN, TODAY, bulletin, house, kit, part


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
        (Block(families=("Cairn",)), Block(families=("Tarn",)), ["Cairn"]),
        (Block(), Block(models=("CW7A",)), ["Cairn"]),
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
        (["A", "B", "C", "D"], "A, B, C and D"),
        (["A", "B", "C", "D", "E"], "A, B, C, D and 1 more"),
        (["A", "B", "C", "D", "E", "F"], "A, B, C, D and 2 more"),
    ],
)
def test_names_are_read_out_as_people_do(names: list[str], text: str) -> None:
    assert listed(names) == text


def test_a_remedy_proposes_only_what_there_is() -> None:
    assert meant("Tarn") == "did you mean Tarn? If not, "
    assert meant(None) == ""


# Each index against a plain loop over random houses.

NUMBERS = ("2026-001", "2026 001", "2026-002", "2025-7", "R.1", "r-1")
COMPONENTS = ("drain pump", "Drain  Pump", "heater", "door seal")
CODES = ("E21", "e-21", "E 2 1", "F05", "FO5")
MODELS = ("TD45A", "TD45?", "TD*", "CW7A", "*A", "cw-8b", "ZZ9")
FAMILIES = ("Tarn", "tarn", "Cairn", "Nowhere")


def some(dice: random.Random, names: Sequence[str], most: int = 2, least: int = 0) -> Any:
    """A few names, some of them perhaps twice."""
    return tuple(dice.choices(names, k=dice.randint(least, most)))


def any_bulletin(dice: random.Random, place: int) -> Bulletin:
    blocks = [
        Block(families=some(dice, FAMILIES), models=some(dice, MODELS))
        for _ in range(dice.randint(1, 2))
    ]
    return bulletin(
        dice.choice(NUMBERS),
        file=f"2026/{place}.md",
        status=dice.choice(["in-force", "in-force", "draft", "withdrawn"]),
        issued=date(2024, dice.randint(1, 12), dice.randint(1, 28)),
        supersedes=some(dice, NUMBERS),
        component=some(dice, COMPONENTS, least=1),
        codes=some(dice, CODES),
        where=tuple(blocks),
    )


def any_house(seed: int) -> House:
    """A house with some bulletins sound and some not, the same for the same *seed*."""
    dice = random.Random(seed)
    every = [any_bulletin(dice, place) for place in range(dice.randint(0, 7))]
    rows = [
        part(
            dice.choice(["HR-1", "hr1", "HR-2", "KIT-9", "E21"]),
            name=dice.choice(["pump", "Pump", "seal"]),
            component=dice.choice(["", "drain pump", "Door Seal"]),
        )
        for _ in range(dice.randint(0, 5))
    ]
    cut = dice.randint(0, len(every))
    made = house(*every[:cut], parts=rows, kits=kit("KIT-9", "HR-1") if seed % 2 else [])
    return replace(made, unsound=tuple(every[cut:]))


HOUSES = [any_house(seed) for seed in range(30)]
each_house = pytest.mark.parametrize("one", HOUSES, ids=map(str, range(len(HOUSES))))


@each_house
def test_numbers_lead_to_the_first_bulletin_that_has_them(one: House) -> None:
    seen = Look(one, TODAY)
    every = [*one.bulletins, *one.unsound]
    for wanted in every:
        first = next(b for b in every if fold(b.number) == fold(wanted.number))
        assert seen.by_number[fold(wanted.number)] is first
    assert set(seen.by_number) == {fold(b.number) for b in every}
    assert set(seen.by_number) <= set(seen.numbers)


@each_house
def test_in_force_is_what_nobody_in_force_supersedes(one: House) -> None:
    seen = Look(one, TODAY)
    every = [*one.bulletins, *one.unsound]
    taken = {fold(old) for b in every if b.status == "in-force" for old in b.supersedes}
    expected = [b for b in every if b.status == "in-force" and fold(b.number) not in taken]
    assert list(seen.in_force) == expected
    assert seen.in_force_numbers == {fold(b.number) for b in expected}
    assert seen.sound_in_force == [b for b in expected if b in one.bulletins]
    assert set(seen.superseded) == taken


@each_house
def test_parts_are_gathered_by_number_and_by_name(one: House) -> None:
    seen = Look(one, TODAY)
    for row in one.parts:
        assert seen.parts[fold(row.number)] == tuple(
            r for r in one.parts if fold(r.number) == fold(row.number)
        )
        for name in filter(None, (row.name, row.component)):
            alike = {
                fold(r.number)
                for r in one.parts
                if fold_name(name) in (fold_name(r.name), fold_name(r.component))
            }
            assert set(seen.parts_named[fold_name(name)]) == alike
    known = {fold(r.number) for r in one.parts} | {fold(r.kit) for r in one.kits}
    assert set(seen.part_numbers) == known
    assert "" not in seen.parts_named


@each_house
def test_a_component_is_known_from_a_list_or_from_two_bulletins(one: House) -> None:
    seen = Look(one, TODAY)
    every = [*one.bulletins, *one.unsound]
    listed_ones = {fold_name(row.component) for row in one.parts if row.component}
    for name in {fold_name(c) for b in every for c in b.component}:
        uses = sum(name in map(fold_name, b.component) for b in every)
        assert seen.component_uses[name] == uses
        assert (name in seen.components) == (uses > 1 or name in listed_ones)
    assert listed_ones <= set(seen.components)


@pytest.mark.parametrize("word", ["E21", "hr 1", "TD-45-A", "2026001", "KIT9", "FO5", "nothing"])
@each_house
def test_a_word_means_something_if_it_is_any_number_of_the_house(one: House, word: str) -> None:
    every = [*one.bulletins, *one.unsound]
    numbers = [b.number for b in every] + [c for b in every for c in b.codes]
    numbers += [r.number for r in one.parts] + [r.kit for r in one.kits]
    numbers += [m for family in one.families.values() for m in family.models]
    stems = [f.rpartition("/")[2].removesuffix(".md") for f in one.files]
    read = {b.file for b in every}
    numbers += [s for f, s in zip(one.files, stems, strict=True) if f not in read]
    assert Look(one, TODAY).means(word) == (fold(word) in map(fold, numbers))


@each_house
def test_codes_know_the_families_that_use_them(one: House) -> None:
    seen = Look(one, TODAY)
    every = [*one.bulletins, *one.unsound]
    for code in {fold(c) for b in every for c in b.codes}:
        users = [b for b in every if code in map(fold, b.codes)]
        assert seen.code_families[code] == {n for b in users for n in seen.family_names(b)}
    assert seen.codes == set(seen.code_families)


@pytest.mark.parametrize("pattern", MODELS)
def test_a_pattern_means_every_model_that_it_matches(pattern: str) -> None:
    seen = look()
    form = re.compile(re.escape(fold(pattern)).replace(r"\*", ".*").replace(r"\?", "."))
    expected = {
        (model, family.name)
        for family in seen.house.families.values()
        for model in family.models
        if form.fullmatch(fold(model))
    }
    assert set(seen.matching(pattern)) == expected
    assert seen.matching(pattern) is seen.matching(pattern)


@each_house
def test_families_of_a_bulletin_are_those_its_blocks_speak_of(one: House) -> None:
    seen = Look(one, TODAY)
    for given_one in seen.bulletins:
        names: set[str] = set()
        for block in given_one.where:
            named = {fold_name(name) for name in block.families}
            owners = {name for p in block.models for _, name in seen.matching(p)}
            every = set(one.families)
            by_name = {name for name in every if fold_name(name) in named}
            names |= by_name if block.families else owners if block.models else every
        assert seen.family_names(given_one) == names


@given(st.lists(st.tuples(st.sampled_from(["a", "b/c", "b", ""]), st.sampled_from("xyz"))))
def test_files_are_found_by_their_folder(places: list[tuple[str, str]]) -> None:
    files = tuple(dict.fromkeys(f"{folder}/{name}".lstrip("/") for folder, name in places))
    seen = Look(replace(house(), files=files), TODAY)
    for file in files:
        folder = file.rpartition("/")[0]
        assert list(seen.files_in(file)) == [f for f in files if f.rpartition("/")[0] == folder]
    assert seen.files_in("no/such/folder") == ()
    assert seen.files == set(files)


def test_codes_listed_by_the_house_or_a_family_are_listed() -> None:
    families = {"Tarn": replace(TARN, codes=("E 21",)), "Cairn": replace(CAIRN, codes=("f-05",))}
    assert look(families=families, codes=("A1",)).listed_codes == {"E21", "F05", "A1"}
    assert look().listed_codes == frozenset()


def test_a_body_is_read_once_and_told_whole() -> None:
    text = "Hot.\n\n::: danger\nDo not touch.\n:::\n\n![a](x.svg)\n\n![](y.svg)\n"
    one = bulletin(body=text, body_line=20)
    seen = look(one)
    facts = seen.body(one)
    assert facts is seen.body(one)
    assert facts.panels == {"danger"}
    assert [(p.src, p.line) for p in facts.pictures] == [("x.svg", 26), ("y.svg", 28)]
    assert [(note.rule, note.line) for note in facts.notes] == [("picture-alt", 28)]
    assert not facts.steps
    assert "Do not touch." in facts.text


@pytest.mark.parametrize(
    ("text", "steps"),
    [
        ("1. Stop.", True),
        ("- Stop.", True),
        ("# Stop", True),
        ("> 1. Stop.", True),
        ("::: notice\n1. Stop.\n:::", True),
        ("Stop.", False),
        ("1 Stop.", False),
        ("`1. Stop.`", False),
        ("", False),
    ],
)
def test_steps_are_a_list_or_a_heading(text: str, steps: bool) -> None:
    one = bulletin(body=text)
    assert look(one).body(one).steps is steps


def test_what_is_made_once_is_not_made_again() -> None:
    one, other = bulletin("2026-001"), bulletin("2026-002")
    seen = look(one, other)
    made: list[str] = []

    def make(_: Look, of: Bulletin) -> list[str]:
        made.append(of.number)
        return [of.number]

    for of in (one, other, one, other):
        assert seen.once("numbers", of, make) == [of.number]
    assert seen.once("others", one, make) == ["2026-001"]
    assert made == ["2026-001", "2026-002", "2026-001"]


@pytest.mark.parametrize(("level", "broken"), [("error", True), ("warning", False)])
def test_only_an_error_makes_a_table_broken(level: Any, broken: bool, tmp_path: Path) -> None:
    one = broken_house(tmp_path, "number,name\n")
    met = replace(one.problems[0], level=level)
    seen = Look(replace(one, problems=(met,)), TODAY)
    assert seen.broken("reference/parts.csv") is broken
    assert not seen.broken("reference/kits.csv")


def test_a_file_s_text_is_given_and_a_missing_one_has_none(tmp_path: Path) -> None:
    seen = Look(broken_house(tmp_path, "number\nTürgriff\n"), TODAY)
    assert seen.text_of("reference/parts.csv") == "number\nTürgriff\n"
    assert seen.text_of("reference/words.yaml") == ""


REVISIONS = st.builds(
    lambda a, b: Count(*sorted((a, b))), st.integers(0, 9), st.integers(0, 9)
) | st.sampled_from([None, Count(3, None), Count(None, 4)])


@given(REVISIONS, REVISIONS)
def test_two_bulletins_overlap_just_where_a_revision_is_shared(
    a: Count | None, b: Count | None
) -> None:
    one = bulletin("2026-001", where=(Block(models=("TD45A",), revision=a),))
    other = bulletin("2026-002", where=(Block(models=("TD45A",), revision=b),))
    seen = look(one, other)
    shared = any((a is None or n in a) and (b is None or n in b) for n in range(99))
    assert seen.overlap(one, other) == seen.overlap(other, one) == shared
