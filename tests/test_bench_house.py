"""The large house of the benchmarks: sound at any size, the same for the same seed, lifelike."""

from __future__ import annotations

import re
from collections import Counter
from datetime import date
from pathlib import Path
from random import Random

import pytest

from kb.applies import answer
from kb.house import read_house
from kb.partlist import moves
from kb.proof import run
from kb.records import House
from kb.units import make_unit
from tests.bench import big_words
from tests.bench.big_house import main, write_house
from tests.bench.big_speech import Speaker
from tests.bench.big_tables import SCHEMES, families

TODAY = date(2026, 11, 25)
SIZES = [(1, 1, 1), (40, 24, 300), (150, 500, 3000), (60, 12, 2000)]


def files(folder: Path) -> dict[str, bytes]:
    found = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {str(path.relative_to(folder)): path.read_bytes() for path in found}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("big") / "bulletins"
    write_house(made, 400, 600, 5000)
    return made


@pytest.fixture(scope="module")
def house(folder: Path) -> House:
    return read_house(folder)


@pytest.mark.parametrize(("bulletins", "models", "parts"), SIZES)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_house_of_any_size_is_read_without_an_error(
    tmp_path: Path, bulletins: int, models: int, parts: int, seed: int
) -> None:
    write_house(tmp_path / "h", bulletins, models, parts, seed)
    house = read_house(tmp_path / "h")
    errors = [problem for problem in run(house, TODAY) if problem.level == "error"]
    assert not errors, errors[:3]
    assert len(house.bulletins) == bulletins
    assert sum(len(family.models) for family in house.families.values()) == models
    assert sum("-K" not in row.number for row in house.parts) == parts


def test_the_same_seed_gives_the_same_house_byte_for_byte(tmp_path: Path) -> None:
    for name, seed in (("one", 7), ("two", 7), ("three", 8)):
        write_house(tmp_path / name, 60, 24, 300, seed)
    assert files(tmp_path / "one") == files(tmp_path / "two")
    assert files(tmp_path / "one") != files(tmp_path / "three")


def test_the_command_writes_the_house_that_it_is_told(tmp_path: Path) -> None:
    main([str(tmp_path / "one"), "--bulletins", "12", "--models", "8", "--parts", "50"])
    write_house(tmp_path / "two", 12, 8, 50, 1)
    assert files(tmp_path / "one") == files(tmp_path / "two")


def test_a_house_holds_every_sort_of_bulletin_and_of_condition(house: House) -> None:
    kinds = Counter(bulletin.kind for bulletin in house.bulletins)
    assert len(kinds) == 7
    assert kinds["repair"] > 0.4 * len(house.bulletins)
    blocks = [block for bulletin in house.bulletins for block in bulletin.where]
    for key in ("models", "built", "revision", "plants", "but_not"):
        assert any(getattr(block, key) for block in blocks), key
    for key in ("checks", "hazards", "parts", "codes", "symptoms", "keep", "supersedes", "related"):
        assert any(getattr(bulletin, key) for bulletin in house.bulletins), key


def test_its_parts_have_chains_kits_and_announced_numbers(house: House) -> None:
    statuses = {row.status for row in house.parts}
    assert statuses == {"current", "running-out", "gone", "pending"}
    relations = {row.relation for row in house.parts if moves(row)}
    assert relations == {"same", "forward", "kit"}
    after = {row.number: row.replaced_by for row in house.parts if row.replaced_by}
    assert any(after.get(second) for second in after.values())  # a chain of two steps
    assert {row.kit for row in house.kits} <= {row.number for row in house.parts}


def test_families_are_of_all_products_and_up_to_a_hundred() -> None:
    lines = families(Random(1), 5000)
    assert 60 <= len(lines) <= 100
    assert {line.product for line in lines} == set(big_words.PRODUCTS)
    assert {scheme for line in lines for scheme in line.schemes} == set(SCHEMES)
    assert len({line.name for line in lines}) == len(lines)
    models = [model for line in lines for model in line.models]
    assert len(set(models)) == len(models) == 5000


def test_bulletins_apply_to_some_units_and_not_to_others(house: House) -> None:
    said: Counter[str] = Counter()
    for bulletin in house.bulletins[::4]:
        family = house.families[bulletin.where[0].families[0]]
        serial = house.schemes[family.schemes[0].name].examples[0].serial
        for model in family.models[::5]:
            unit = make_unit(house, f"{model}/2", serial, TODAY)
            said[answer(bulletin.where, unit, house, TODAY).applies] += 1
    assert set(said) == {"yes", "no", "maybe"}
    assert min(said.values()) > 0.02 * said.total()


def words_of(folder: Path) -> list[str]:
    bodies = (path.read_text("utf-8").split("---\n", 2)[2] for path in folder.glob("20*/*.md"))
    return re.findall(r"[a-z]+", " ".join(bodies).lower())


def test_a_bulletin_has_the_length_of_one(folder: Path) -> None:
    lengths = [
        len(path.read_text("utf-8").split("---\n", 2)[2].split())
        for path in folder.glob("20*/*.md")
    ]
    assert min(lengths) >= 120
    assert max(lengths) <= 500
    assert 200 < sum(lengths) / len(lengths) < 350


def test_few_words_are_everywhere_and_most_are_rare(folder: Path) -> None:
    counts = Counter(words_of(folder))
    assert len(counts) > 3000
    most = [count for _, count in counts.most_common()]
    assert sum(most[:50]) > 0.35 * sum(most)
    assert sum(count <= 2 for count in most) > 0.2 * len(most)


def test_a_sentence_has_no_symbol_left_and_quantities_stand_in_braces() -> None:
    speaker = Speaker(Random(3))
    for sort in ("sentence", "symptom", "title"):
        for _ in range(2000):
            said = speaker.say(sort, "drain pump")
            outside = re.sub(r"\{[0-9.]+ [A-Za-z ]+\}", "", said)
            assert not re.search(r"[{}*|\x01\x02]", outside), said
            assert said == " ".join(said.split())


def test_no_word_of_the_house_is_a_maker_s_name() -> None:
    names = {name.lower() for name in big_words.towns()}
    assert len(names) == len(big_words.towns())
    assert all(name.isalpha() for name in names)
    assert len(set(big_words.compounds())) == len(big_words.compounds()) > 4000
