from __future__ import annotations

import random
import sqlite3
from collections.abc import Iterator
from dataclasses import fields, replace
from datetime import date
from pathlib import Path

import pytest

from kb import store
from kb.errors import KbError
from kb.folding import fold
from kb.house import read_house
from kb.lookup import Lookup
from kb.records import Check, House, KitRow, PartLine
from kb.scope import models_of
from kb.serials import read_serial, uses_of
from kb.standing import in_force
from tests.deskhouse import HOUSE, write_house

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    return read_house(write_house(tmp_path_factory.mktemp("lookup") / "bulletins"))


@pytest.fixture(scope="module")
def lookup(house: House, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lookup]:
    path = tmp_path_factory.mktemp("db") / "kb.sqlite"
    store.write(path, house, {})
    found = Lookup(path)
    yield found
    found.close()


def test_the_house_reads_back(lookup: Lookup, house: House) -> None:
    assert lookup.house["name"] == house.name
    assert lookup.house["units"] == house.units
    assert lookup.errors == 0


def test_families_and_schemes_read_back_as_far_as_plates_need_them(
    lookup: Lookup, house: House
) -> None:
    assert list(lookup.families) == list(house.families)
    for name, family in house.families.items():
        found = lookup.families[name]
        assert (found.product, found.models) == (family.product, family.models)
        assert (found.produced, found.schemes) == (family.produced, family.schemes)
    for name, scheme in house.schemes.items():
        found_scheme = lookup.schemes[name]
        for field in fields(scheme):
            if field.name not in ("examples", "line"):
                assert getattr(found_scheme, field.name) == getattr(scheme, field.name)
        assert [e.serial for e in found_scheme.examples] == [e.serial for e in scheme.examples][:1]


def test_a_serial_reads_the_same_by_the_store_as_by_the_house(lookup: Lookup, house: House) -> None:
    def read(tables: Lookup | House, serial: str) -> object:
        return read_serial(serial, uses_of(tables.families["Tarn"], tables.schemes), TODAY)

    for serial in ("K P 14 00031", "lp1400031", "KJ0100001", "L-J-52-99999"):
        assert read(lookup, serial) == read(house, serial)


def test_cards_for_a_model_are_those_in_force_that_can_mean_it_newest_first(
    lookup: Lookup, house: House
) -> None:
    for model in ("TD45A", "TD60B", "CW7A"):
        expected = [
            (b.number, b.where)
            for b in sorted(in_force(house.bulletins), key=lambda b: b.number)
            if model in models_of(b.where, house.families)
        ]
        found = lookup.cards_for(model)
        assert sorted((c.number, c.where) for c in found) == sorted(expected)
        assert all(card.stands for card in found)
        days = [card.issued for card in found]
        assert days == sorted(days, reverse=True)
    assert lookup.cards_for("nosuch") == []


@pytest.mark.parametrize("typed", ["2024-004", "2024.004", " 2024004 "])
def test_a_card_is_found_whatever_its_standing_and_however_it_is_typed(
    lookup: Lookup, typed: str
) -> None:
    card = lookup.card(typed)
    assert card is not None
    assert (card.number, card.superseded_by, card.stands) == ("2024-004", "2024-005", False)


def test_the_standing_of_cards(lookup: Lookup) -> None:
    numbers = ["2024-001", "2024-002", "2024-003", "2024-004", "none"]
    found = {number: card.stands for number, card in lookup.cards(numbers).items()}
    assert found == {"2024-001": True, "2024-002": False, "2024-003": False, "2024-004": False}
    assert lookup.card("none") is None
    assert lookup.cards([]) == {}


def test_advice_by_age_comes_with_the_card(lookup: Lookup) -> None:
    card = lookup.card("2024-006")
    assert card is not None
    assert card.age is not None
    assert (card.age.years, card.age.advice) == (5, "Renew the inlet hose")
    plain = lookup.card("2024-001")
    assert plain is not None
    assert plain.age is None


def test_codes_are_those_of_bulletins_in_force(lookup: Lookup) -> None:
    assert lookup.codes() == {"E21": "E21"}


def test_numbers_are_found_however_they_are_typed(lookup: Lookup) -> None:
    assert lookup.number_of(fold("2024.001")) == "2024-001"
    assert lookup.number_of(fold("2024-002")) == ""  # a draft is not spoken of
    assert lookup.part_number(fold("hr 310 4120")) == "HR-310-4120"
    assert lookup.part_number(fold("HR-310-1223")) == "HR-310-1223"
    assert lookup.part_number("NOSUCH") == ""
    assert "HR-310-7620" in lookup.part_numbers()


def test_rows_of_parts_and_kits_read_back(lookup: Lookup, house: House) -> None:
    every = [fold(part.number) for part in house.parts]
    assert lookup.part_rows(every) == [part._replace(since=None, line=1) for part in house.parts]
    kits = lookup.kit_rows([fold("HR-310-1223")])
    assert kits == [KitRow(kit=k.kit, number=k.number, quantity=k.quantity) for k in house.kits]
    assert lookup.part_rows([]) == []
    assert lookup.kit_rows(["X"]) == []


def chain_house(folder: Path, count: int) -> House:
    """Return a house with a chain of *count* parts, the last of them a kit of two others."""
    rows = ["number,name,component,status,replaced_by,relation"]
    rows += [f"P-{i},p,pump,gone,P-{i + 1},same" for i in range(count)]
    rows += [f"P-{count},p,pump,current,,", "Q-1,q,pump,current,,", "Q-2,q,pump,current,,"]
    kits = f"kit,number,quantity\nP-{count},Q-1,1\nP-{count},Q-2,2\n"
    files = {**HOUSE, "reference/parts.csv": "\n".join(rows), "reference/kits.csv": kits}
    return read_house(write_house(folder, files))


def test_newer_numbers_lead_along_chains_of_any_length_and_into_kits(tmp_path: Path) -> None:
    house = chain_house(tmp_path / "b", 60)
    store.write(tmp_path / "x.sqlite", house, {})
    lookup = Lookup(tmp_path / "x.sqlite")
    assert lookup.newer_numbers("p 0") == {f"P{i}" for i in range(61)} | {"Q1", "Q2"}
    assert lookup.newer_numbers("P-60") == {"P60", "Q1", "Q2"}
    assert lookup.newer_numbers("Q-1") == {"Q1"}
    lookup.close()


def test_related_numbers_count_the_steps_either_way_up_to_a_limit(tmp_path: Path) -> None:
    house = chain_house(tmp_path / "b", 10)
    store.write(tmp_path / "x.sqlite", house, {})
    lookup = Lookup(tmp_path / "x.sqlite")
    assert lookup.related_numbers("P5", most=2) == {"P5": 0, "P4": 1, "P6": 1, "P3": 2, "P7": 2}
    assert lookup.related_numbers("Q1", most=2) == {"Q1": 0, "P10": 1, "P9": 2, "Q2": 2}
    assert lookup.related_numbers("NONE") == {"NONE": 0}
    lookup.close()


def test_a_ring_of_successors_ends(tmp_path: Path) -> None:
    parts = (
        "number,name,component,status,replaced_by,relation\nA,a,pump,gone,B,same\n"
        "B,b,pump,gone,A,same\n"
    )
    files = {**HOUSE, "reference/parts.csv": parts, "reference/kits.csv": "kit,number,quantity\n"}
    store.write(tmp_path / "x.sqlite", read_house(write_house(tmp_path / "b", files)), {})
    lookup = Lookup(tmp_path / "x.sqlite")
    assert lookup.newer_numbers("A") == {"A", "B"}
    assert lookup.related_numbers("A") == {"A": 0, "B": 1}
    lookup.close()


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [
        ({"HR3104120"}, ["2024-005"]),  # in its parts
        ({"HR3104126"}, ["2024-008"]),  # in a check, typed with blanks
        ({"HR3107620"}, ["2024-005"]),  # not to be replaced
        ({"HR3104120", "HR3104126"}, ["2024-005", "2024-008"]),
        ({"NOSUCH"}, []),
        (set(), []),
    ],
)
def test_bulletins_that_name_a_part_in_parts_checks_or_keeps(
    lookup: Lookup, numbers: set[str], expected: list[str]
) -> None:
    assert lookup.bulletins_naming(numbers) == expected


def test_naming_a_part_is_answered_from_indexes_in_a_house_of_some_size(
    tmp_path: Path, house: House
) -> None:
    source = next(b for b in house.bulletins if b.number == "2024-005")
    check = Check(cause="worn", parts=("HR-1",))
    many = tuple(
        replace(
            source,
            number=f"M-{i}",
            supersedes=(),
            keep=(f"X-{i}",),
            parts=(PartLine(number=f"Y-{i}"),),
            checks=(replace(check, parts=(f"Z-{i}",)),),
        )
        for i in range(300)
    )
    store.write(tmp_path / "x.sqlite", replace(house, bulletins=many), {})
    lookup = Lookup(tmp_path / "x.sqlite")
    asked: list[str] = []
    lookup._connection.set_trace_callback(asked.append)
    assert lookup.bulletins_naming(["X7", "Y8", "Z9"]) == ["M-7", "M-8", "M-9"]
    lookup._connection.set_trace_callback(None)
    plan = [row[3] for row in lookup._connection.execute(f"EXPLAIN QUERY PLAN {asked[0]}")]
    assert plan
    scanned = [step for step in plan if step.startswith("SCAN") and "json_each" not in step]
    assert not [step for step in scanned if "wanted" not in step], plan
    lookup.close()


def test_more_numbers_than_sqlite_has_room_for_values_are_no_trouble(lookup: Lookup) -> None:
    many = [f"X{number}" for number in range(70_000)]
    assert lookup.part_rows([*many, "HR3104120"])[0].number == "HR-310-4120"
    assert list(lookup.cards([*many, "2024-001"])) == ["2024-001"]
    assert lookup.bulletins_naming([*many, "HR3104120"]) == ["2024-005"]


@pytest.mark.parametrize("text", ["'; DROP TABLE parts; --", '"', "%", "\x00", "🔧", "[]", "null"])
def test_no_text_is_taken_for_a_command(lookup: Lookup, text: str) -> None:
    assert lookup.part_number(fold(text)) == ""
    assert lookup.card(text) is None
    assert lookup.bulletins_naming([text]) == []
    assert lookup.part_rows([text]) == []
    assert lookup.cards_for(text) == []
    assert lookup.part_numbers()


def test_the_store_is_only_read(lookup: Lookup) -> None:
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        lookup._connection.execute("DELETE FROM parts")


@pytest.mark.parametrize("content", [b"", b"not a database at all" * 50])
def test_what_is_no_store_is_refused_in_words(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "kb.sqlite"
    path.write_bytes(content)
    with pytest.raises(KbError) as told:
        Lookup(path)
    assert told.value.remedy
    with pytest.raises(KbError):
        Lookup(tmp_path / "none.sqlite")
    assert not (tmp_path / "none.sqlite").exists()


@pytest.mark.parametrize("name", ["with blank", "with#hash", "with?question", "with%41"])
def test_a_path_of_any_letters_opens(tmp_path: Path, house: House, name: str) -> None:
    path = tmp_path / name / "kb.sqlite"
    path.parent.mkdir()
    store.write(path, house, {})
    lookup = Lookup(path)
    assert lookup.house["name"] == house.name
    lookup.close()


@pytest.mark.parametrize("seed", range(3))
def test_newer_and_related_numbers_agree_with_a_plain_search(tmp_path: Path, seed: int) -> None:
    rng = random.Random(seed)
    edges = {f"N{i}": f"N{rng.randrange(40)}" for i in range(40) if rng.random() < 0.6}
    rows = ["number,name,component,status,replaced_by,relation"]
    rows += [
        f"N{i},n,pump,gone,{edges.get(f'N{i}', '')},{'same' if f'N{i}' in edges else ''}"
        for i in range(40)
    ]
    files = {**HOUSE, "reference/parts.csv": "\n".join(rows)}
    files["reference/kits.csv"] = "kit,number,quantity\n"
    house = read_house(write_house(tmp_path / "b", files))
    known = {p.number: p.replaced_by for p in house.parts}
    store.write(tmp_path / "x.sqlite", house, {})
    lookup = Lookup(tmp_path / "x.sqlite")
    for start in known:
        reached, at = {start}, start
        while known.get(at) and known[at] not in reached:
            at = known[at]
            reached.add(at)
        assert lookup.newer_numbers(start) == reached
    lookup.close()
