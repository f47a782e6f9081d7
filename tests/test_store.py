from __future__ import annotations

import json
import random
import re
import sqlite3
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from kb import schema, store
from kb.applies import answer
from kb.checks import best_order
from kb.dates import Days
from kb.folding import fold
from kb.house import read_house
from kb.judge import Case, judge_blocks, plants_of
from kb.ranges import Ranges
from kb.records import Block, Bulletin, House, Unit
from kb.schema import TABLES, VIEWS
from kb.scope import models_of
from kb.serials import uses_of
from kb.standing import in_force, superseded_by
from kb.wire import block_of
from tests.deskhouse import HOUSE, write_house
from tests.random_blocks import FAMILIES, WORLD, random_where
from tests.shared_cases import Tables

SUMMARIES = {"2023-001": "The first paragraph."}


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> House:
    return read_house(write_house(tmp_path_factory.mktemp("store") / "bulletins"))


@pytest.fixture(scope="module")
def path(house: House, tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("db") / "kb.sqlite"
    store.write(file, house, SUMMARIES)
    return file


@pytest.fixture
def db(path: Path) -> Iterator[sqlite3.Connection]:
    connection = sqlite3.connect(path)
    connection.row_factory = sqlite3.Row
    yield connection
    connection.close()


def rows(db: sqlite3.Connection, query: str, *values: object) -> list[dict[str, Any]]:
    return [dict(row) for row in db.execute(query, values)]


def iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


# Sound for any SQLite tool


def test_the_file_is_sound_and_every_reference_holds(db: sqlite3.Connection) -> None:
    assert db.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
    assert db.execute("PRAGMA foreign_key_check").fetchall() == []


def test_every_table_and_view_is_there_with_the_columns_of_the_schema(
    db: sqlite3.Connection,
) -> None:
    query = "SELECT name FROM sqlite_master WHERE type = ? AND name NOT LIKE 'sqlite%'"
    assert {r["name"] for r in rows(db, query, "table")} == {table.name for table in TABLES}
    assert {r["name"] for r in rows(db, query, "view")} == VIEWS.keys()
    for table in TABLES:
        columns = [r["name"] for r in rows(db, f"PRAGMA table_info({table.name})")]
        assert columns == list(table.columns)


def test_every_foreign_key_of_the_schema_is_declared(db: sqlite3.Connection) -> None:
    for table in TABLES:
        declared = {
            (r["from"], r["table"], r["to"])
            for r in rows(db, f"PRAGMA foreign_key_list({table.name})")
        }
        assert declared == set(table.refers)


def test_every_table_of_a_bulletin_refers_to_it() -> None:
    for table in TABLES:
        if "bulletin" in table.columns:
            assert ("bulletin", "bulletins", "number") in table.refers


def test_names_are_lower_case_words() -> None:
    for table in TABLES:
        for name in (table.name, *table.columns):
            assert re.fullmatch(r"[a-z]+(_[a-z]+)*", name)


DAY = re.compile("_first$|_last$|^issued$|^revised$")


def test_days_are_iso_text_or_nothing(db: sqlite3.Connection) -> None:
    for table in TABLES:
        for column in table.columns:
            if table.columns[column] is str and DAY.search(column):
                for row in db.execute(f"SELECT {column} FROM {table.name}"):
                    assert row[0] is None or date.fromisoformat(row[0])


def test_ranges_of_built_days_are_two_columns_with_an_index(db: sqlite3.Connection) -> None:
    plan = rows(
        db,
        "EXPLAIN QUERY PLAN SELECT bulletin FROM applicability "
        "WHERE model = 'TD45A' AND built_first <= '2022-01-01' AND built_last >= '2022-01-01'",
    )
    assert "USING INDEX" in plan[0]["detail"]
    assert "model=? AND built_first" in plan[0]["detail"]


def test_two_writes_give_the_same_bytes(house: House, path: Path, tmp_path: Path) -> None:
    store.write(tmp_path / "again.sqlite", house, SUMMARIES)
    assert (tmp_path / "again.sqlite").read_bytes() == path.read_bytes()


# What stands in the tables is what stands in the house


def test_the_house_and_its_families(db: sqlite3.Connection, house: House) -> None:
    named = {r["name"]: r["value"] for r in rows(db, "SELECT * FROM house")}
    assert named == {
        "name": house.name,
        "language": house.language,
        "units": house.units,
        "site": house.site,
        "contact": house.contact,
        "errors": "0",
    }
    assert rows(db, "SELECT * FROM families") == [
        {
            "name": f.name,
            "product": f.product,
            "produced_first": iso(f.produced.first),
            "produced_last": iso(f.produced.last),
        }
        for f in house.families.values()
    ]
    assert rows(db, "SELECT model, model_folded, family FROM models") == [
        {"model": model, "model_folded": fold(model), "family": f.name}
        for f in house.families.values()
        for model in f.models
    ]


def test_the_schemes_and_who_uses_them_when(db: sqlite3.Connection, house: House) -> None:
    definitions = {
        r["name"]: json.loads(r["definition"]) for r in rows(db, "SELECT * FROM serial_schemes")
    }
    assert definitions.keys() == house.schemes.keys()
    assert definitions["hollin"]["layout"] == house.schemes["hollin"].layout
    assert definitions["hollin"]["plants"] == dict(house.schemes["hollin"].plants)
    used = [(f.name, i, u.name) for f in house.families.values() for i, u in enumerate(f.schemes)]
    found = rows(db, "SELECT family, position, scheme FROM family_schemes")
    assert [tuple(r.values()) for r in found] == used


def test_every_bulletin_stands_with_its_own_values(db: sqlite3.Connection, house: House) -> None:
    superseded = superseded_by(house.bulletins)
    found = {r["number"]: r for r in rows(db, "SELECT * FROM bulletins")}
    assert found.keys() == {b.number for b in house.bulletins}
    for b in house.bulletins:
        row = found[b.number]
        assert (row["title"], row["kind"], row["status"]) == (b.title, b.kind, b.status)
        assert (row["issued"], row["revised"]) == (iso(b.issued), iso(b.revised))
        assert row["superseded_by"] == superseded.get(fold(b.number))
        assert row["number_folded"] == fold(b.number)
        assert row["summary"] == SUMMARIES.get(b.number, b.summary)
        assert row["body"] == b.body
        assert row["file"] == b.file
        assert (row["age_years"], row["age_advice"]) == (
            (b.age.years, b.age.advice) if b.age else (None, None)
        )
        where = tuple(block_of(each) for each in json.loads(row["applies_definition"]))
        assert where == b.where


LISTS: dict[str, tuple[str, Callable[[Bulletin], tuple[str, ...]]]] = {
    "components": ("component", lambda b: b.component),
    "symptoms": ("symptom", lambda b: b.symptoms),
    "hazards": ("hazard", lambda b: b.hazards),
    "tools": ("tool", lambda b: b.tools),
    "consumables": ("consumable", lambda b: b.consumables),
    "supersedes": ("superseded", lambda b: b.supersedes),
    "related": ("related", lambda b: b.related),
    "keeps": ("part", lambda b: b.keep),
    "codes": ("code", lambda b: b.codes),
}


@pytest.mark.parametrize("name", LISTS)
def test_lists_stand_in_the_written_order(db: sqlite3.Connection, house: House, name: str) -> None:
    item, of = LISTS[name]
    query = f"SELECT bulletin, {item} FROM bulletin_{name} ORDER BY bulletin, position"
    found = [tuple(r.values()) for r in rows(db, query)]
    by_number = sorted(house.bulletins, key=lambda b: b.number)
    assert found == [(b.number, value) for b in by_number for value in of(b)]


@pytest.mark.parametrize(
    ("table", "column"),
    [
        ("bulletin_keeps", "part"),
        ("bulletin_codes", "code"),
        ("bulletin_parts", "part"),
        ("check_parts", "part"),
        ("parts", "number"),
        ("kits", "kit"),
        ("kits", "part"),
        ("models", "model"),
        ("bulletins", "number"),
    ],
)
def test_numbers_have_a_folded_column_with_an_index_beside_them(
    db: sqlite3.Connection, table: str, column: str
) -> None:
    for row in rows(db, f"SELECT {column}, {column}_folded AS folded FROM {table}"):
        assert row["folded"] == fold(row[column])
    plan = rows(db, f"EXPLAIN QUERY PLAN SELECT 1 FROM {table} WHERE {column}_folded = 'X'")
    assert "INDEX" in plan[0]["detail"]


def test_checks_stand_with_the_order_that_takes_the_least_time(
    db: sqlite3.Connection, house: House
) -> None:
    wide = next(b for b in house.bulletins if b.number == "2024-008")
    found = rows(db, "SELECT * FROM checks WHERE bulletin = '2024-008' ORDER BY best_position")
    best = [wide.checks[place] for place in best_order(wide.checks)]
    assert [r["cause"] for r in found] == [check.cause for check in best]
    # Likelihood over minutes: 0.4/2 stands before 0.5/5.
    assert [r["cause"] for r in found] == ["stuck", "worn"]
    assert rows(db, "SELECT check_position, part FROM check_parts") == [
        {"check_position": 0, "part": "hr 310 4126"}
    ]


def test_parts_and_kits_stand_in_the_order_of_their_files(
    db: sqlite3.Connection, house: House
) -> None:
    found = rows(db, "SELECT * FROM parts ORDER BY row")
    assert [r["number"] for r in found] == [p.number for p in house.parts]
    for row, part in zip(found, house.parts, strict=True):
        assert (row["name"], row["status"], row["relation"]) == (
            part.name,
            part.status,
            part.relation,
        )
        assert (row["since"], row["models"]) == (part.since_text, " ".join(part.models))
    kits = [tuple(r.values()) for r in rows(db, "SELECT kit, part, quantity FROM kits")]
    assert kits == [(k.kit, k.number, k.quantity) for k in house.kits]


def test_bulletin_parts_carry_quantity_and_what_to_have_in_hand(tmp_path: Path) -> None:
    text = HOUSE["2024/2024-005.md"].replace("quantity: 1}", "quantity: 3, in-hand: yes, all: yes}")
    house = read_house(write_house(tmp_path / "b", {**HOUSE, "2024/2024-005.md": text}))
    store.write(tmp_path / "x.sqlite", house, {})
    connection = sqlite3.connect(tmp_path / "x.sqlite")
    query = "SELECT part, quantity, in_hand_first, replace_all FROM bulletin_parts"
    assert connection.execute(query).fetchall() == [("HR-310-4120", 3, 1, 1)]
    connection.close()


def test_which_models_a_bulletin_can_mean(db: sqlite3.Connection, house: House) -> None:
    found = {(r["bulletin"], r["model"]) for r in rows(db, "SELECT * FROM bulletin_models")}
    assert found == {
        (b.number, model) for b in house.bulletins for model in models_of(b.where, house.families)
    }


# The views


def slow(house: House, model: str, day: date) -> dict[str, str]:
    """Return what applies to a unit known by model and day alone, asked one bulletin at a time.

    The day is made all there was of the family's production, so that `kb.applies` can be asked.
    """
    family = next(f for f in house.families.values() if model in f.models)
    if day not in family.produced:
        return {}
    that_day = replace(family, produced=Days(day, day))
    narrow = Tables({**house.families, family.name: that_day}, house.schemes)
    unit = Unit(model=model, family=that_day)
    found = {b.number: answer(b.where, unit, narrow, date.max) for b in in_force(house.bulletins)}
    return {number: said.applies for number, said in found.items() if said.applies != "no"}


def by_the_day(house: House, model: str, day: date) -> dict[str, str]:
    """Return the same by judging that one day, with serial ranges read as in all of production."""
    family = next(f for f in house.families.values() if model in f.models)
    uses = uses_of(family, house.schemes)
    borne = [use for use in uses if day in use[1]]
    case = Case(
        model=model,
        family=family.name,
        ranges=Ranges(borne, None),
        built=Days(day, day),
        plants=plants_of(borne),
    )
    found = {b.number: judge_blocks(b.where, case) for b in in_force(house.bulletins)}
    inside = day in family.produced
    return {n: verdict for n, verdict in found.items() if inside and verdict != "no"}


WHAT_APPLIES = """
    SELECT bulletin, applies FROM what_applies
     WHERE model = ? AND ? BETWEEN built_first AND built_last"""


def asked(db: sqlite3.Connection, model: str, day: date) -> dict[str, str]:
    found = rows(db, WHAT_APPLIES, model, day.isoformat())
    assert len({r["bulletin"] for r in found}) == len(found)
    return {r["bulletin"]: r["applies"] for r in found}


def test_what_applies_on_a_day_in_plain_sql(db: sqlite3.Connection) -> None:
    assert asked(db, "TD45A", date(2022, 4, 4)) == {
        "2023-001": "yes",
        "2023-002": "maybe",  # the revision digit is not known
        "2024-001": "maybe",  # nor the plant
        "2024-005": "yes",
        "2024-006": "yes",
    }
    assert asked(db, "TD45A", date(2021, 12, 31)).get("2022-001") == "yes"
    assert "2022-001" not in asked(db, "TD45A", date(2022, 1, 1))
    assert asked(db, "TD45A", date(2016, 8, 31)) == {}  # before production


def test_the_view_agrees_with_the_python_answer_on_every_edge(
    db: sqlite3.Connection, house: House
) -> None:
    edges = {date(2016, 9, 1), date(2022, 3, 6), date(2022, 3, 7), date(2022, 5, 22)}
    days = {edge + timedelta(days=off) for edge in edges for off in (-1, 0, 1)}
    for model in ("TD45A", "TD60B", "CW7A"):
        for day in sorted(days | {date(2030, 1, 1)}):
            assert asked(db, model, day) == slow(house, model, day), (model, day)


def _random_house(rng: random.Random, count: int, serials: bool = True) -> House:
    bulletins = tuple(
        Bulletin(
            number=f"R-{place}",
            title="t",
            kind="repair",
            issued=date(2020, 1, 1),
            component=("c",),
            where=random_where(rng, serials=serials),
        )
        for place in range(count)
    )
    return House(
        folder=Path(), families=dict(WORLD.families), schemes=WORLD.schemes, bulletins=bulletins
    )


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("serials", "oracle"), [(False, slow), (True, by_the_day)])
def test_the_view_agrees_with_the_python_answer_for_any_bulletin_model_and_day(
    tmp_path: Path, seed: int, serials: bool, oracle: Callable[[House, str, date], dict[str, str]]
) -> None:
    rng = random.Random(seed)
    house = _random_house(rng, 25, serials)
    store.write(tmp_path / "x.sqlite", house, {})
    db = sqlite3.connect(tmp_path / "x.sqlite")
    db.row_factory = sqlite3.Row
    assert db.execute("PRAGMA foreign_key_check").fetchall() == []
    models = [model for family in FAMILIES for model in family.models]
    for _ in range(60):
        model = rng.choice(models)
        day = date(2014, 1, 1) + timedelta(days=rng.randrange(13 * 365))
        assert asked(db, model, day) == oracle(house, model, day), (seed, model, day)
    db.close()


def test_stretches_of_one_bulletin_and_model_neither_overlap_nor_touch_with_one_answer(
    tmp_path: Path,
) -> None:
    house = _random_house(random.Random(99), 60)
    store.write(tmp_path / "x.sqlite", house, {})
    db = sqlite3.connect(tmp_path / "x.sqlite")
    query = "SELECT bulletin, model, built_first, built_last, applies FROM applicability"
    last: dict[tuple[str, str], tuple[str, str]] = {}
    for bulletin, model, first, end, applies in db.execute(f"{query} ORDER BY rowid"):
        before = last.get((bulletin, model))
        if before:
            assert before[0] < first
            next_day = date.fromisoformat(before[0]) + timedelta(days=1)
            assert before[1] != applies or next_day.isoformat() < first
        last[bulletin, model] = (end or "9999-12-31", applies)
    db.close()
    assert last


def test_the_view_leaves_out_what_does_not_stand(db: sqlite3.Connection) -> None:
    found = {r["bulletin"] for r in rows(db, "SELECT bulletin FROM what_applies")}
    assert not found & {"2024-002", "2024-003", "2024-004"}


def test_what_replaces_lists_every_part_with_a_successor(
    db: sqlite3.Connection, house: House
) -> None:
    found = rows(db, "SELECT number, replaced_by FROM what_replaces")
    assert [tuple(r.values()) for r in found] == [
        (p.number, p.replaced_by) for p in house.parts if p.replaced_by
    ]


STRANGER = re.findall(r"-- (.+?)\n\s+(SELECT.+?);", schema.__doc__ or "", re.DOTALL)


def test_the_schema_shows_a_stranger_some_questions() -> None:
    assert len(STRANGER) >= 5


@pytest.mark.parametrize(("what", "query"), STRANGER, ids=[what for what, _ in STRANGER])
def test_a_strangers_question_is_answered(db: sqlite3.Connection, what: str, query: str) -> None:
    found = rows(db, query.replace("2026-014", "2024-008").replace("2024-03-18", "2022-04-04"))
    assert found, what
    assert all(value is not None for value in found[0].values())


# Houses with errors still give a store that holds together

FAMILY = "  product: washer\n  produced: 2016..\n  scheme: hollin\n"


@pytest.mark.parametrize(
    "families",
    [
        f"A:\n  models: [X1, X2]\n{FAMILY}B:\n  models: [X1]\n{FAMILY}",
        f"A:\n  models: [X1, X1]\n{FAMILY}",
        f"A:\n  models: [X1, x-1]\n{FAMILY}",
        "A:\n  product: p\n  models: [X1]\n  produced: 2016..\n  scheme: nosuch\n",
        "A:\n  product: p\n  models: [X1]\n  produced: 2016..\n  scheme: [hollin, nosuch]\n",
        "",
    ],
)
def test_a_house_with_errors_gives_a_store_that_holds_together(
    tmp_path: Path, families: str
) -> None:
    files = {**HOUSE, "reference/families.yaml": families, "2025/2025-001.md": "---\nnumber: 1\n"}
    house = read_house(write_house(tmp_path / "b", files))
    store.write(tmp_path / "x.sqlite", house, {})
    db = sqlite3.connect(tmp_path / "x.sqlite")
    assert db.execute("PRAGMA foreign_key_check").fetchall() == []
    errors = db.execute("SELECT value FROM house WHERE name = 'errors'").fetchone()[0]
    assert int(errors) == sum(p.level == "error" for p in house.problems) > 0
    db.close()


def test_a_model_in_two_families_is_written_once(tmp_path: Path) -> None:
    house = _random_house(random.Random(1), 3)
    twice = {**house.families, "Twin": replace(FAMILIES[0], name="Twin")}
    everything = replace(house.bulletins[0], where=(Block(),))
    house = replace(house, families=twice, bulletins=(everything,))
    store.write(tmp_path / "x.sqlite", house, {})
    db = sqlite3.connect(tmp_path / "x.sqlite")
    count, different = db.execute("SELECT count(*), count(DISTINCT model) FROM models").fetchone()
    assert count == different
    db.close()


def test_checks_that_cannot_be_ordered_stand_as_written(tmp_path: Path) -> None:
    checks = (
        "checks:\n  - {cause: a, test: t, minutes: 5, likelihood: 0.1, before: [b]}\n"
        "  - {cause: b, test: t, minutes: 1, likelihood: 0.9, before: [a]}"
    )
    text = HOUSE["2023/2023-001.md"].replace("codes: [E21]", checks)
    house = read_house(write_house(tmp_path / "b", {**HOUSE, "2023/2023-001.md": text}))
    store.write(tmp_path / "x.sqlite", house, {})
    db = sqlite3.connect(tmp_path / "x.sqlite")
    query = "SELECT cause, best_position FROM checks WHERE bulletin = '2023-001'"
    assert db.execute(query).fetchall() == [("a", 0), ("b", 1)]
    db.close()
