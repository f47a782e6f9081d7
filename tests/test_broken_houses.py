"""One mistake in one file: it is told in that file, at its line, and no other file is blamed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import pytest

from kb.errors import Problem
from kb.house import read_house
from kb.proof import run
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN, MakeHouse

TODAY = date(2026, 11, 25)
BULLETIN = "2026/2026-014.md"
OTHER = "2026/2026-015.md"
HOUSE = "reference/house.yaml"
FAMILIES = "reference/families.yaml"
SERIALS = "reference/serials.yaml"
WORDS = "reference/words.yaml"
PARTS = "reference/parts.csv"
KITS = "reference/kits.csv"

RICH = SOUND_BULLETIN.replace(
    "codes: [E21]\n",
    "codes: [E21]\nplant: K\nchecks:\n  - cause: frozen\n    likelihood: 0.5\n    minutes: 5\n"
    "    parts: [HR-310-4126]\nparts:\n  - {number: HR-310-4126, quantity: 1}\n"
    "  - HR-310-1223\nrelated: 2026-015\n",
)
SECOND = SOUND_BULLETIN.replace("2026-014", "2026-015").replace("Drain pump hums", "Seal drips")
SOUND: dict[str, str] = {**SMALL_HOUSE, BULLETIN: RICH, OTHER: SECOND}


def proofed(folder: Path) -> list[Problem]:
    return run(read_house(folder), TODAY)


def lines_of(problems: list[Problem]) -> list[tuple[str, int]]:
    return sorted(
        {(problem.file, problem.line) for problem in problems if problem.level == "error"}
    )


def test_the_house_is_sound_before_it_is_broken(make_house: MakeHouse) -> None:
    assert proofed(make_house(SOUND)) == []


MISTAKES: list[tuple[str, str, str, int]] = [
    (BULLETIN, "---\nnumber", "--\nnumber", 1),
    (BULLETIN, "number: 2026-014", "number: 2026/014", 2),
    (BULLETIN, "number: 2026-014", "number 2026-014", 2),
    (BULLETIN, "title: Drain pump hums but", "title: Drain pump: hums but", 3),
    (BULLETIN, "title: Drain pump hums but", "titel: Drain pump hums but", 3),
    (BULLETIN, "kind: repair", "kind: repairs", 4),
    (BULLETIN, "kind: repair", "kind:", 4),
    (BULLETIN, "issued: 2026-03-02", "issued: 2026-02-30", 5),
    (BULLETIN, "issued: 2026-03-02", "issued: 02.03.2026", 5),
    (BULLETIN, "family: Tarn", "family: Tarm", 6),
    (BULLETIN, "family: Tarn", "family: [Tarn", 6),
    (BULLETIN, "built: 2024-W10", "built: 2025-W53", 7),
    (BULLETIN, "2024-W10..2025-W22", "2025-W22..2024-W10", 7),
    (BULLETIN, "2024-W10..2025-W22", "2024-W10-2025-W22", 7),
    (BULLETIN, "component: drain pump", "component: drian pump", 8),
    (BULLETIN, "component: drain pump", "component: []", 8),
    (BULLETIN, "symptoms: [hums", "symptoms: ['hums", 9),
    (BULLETIN, "codes: [E21]", "codes: [E12]", 10),
    (BULLETIN, "codes: [E21]", "codes: E21]", 10),
    (BULLETIN, "plant: K", "plant: Q", 11),
    (BULLETIN, "plant: K", "plant: {K: yes}", 11),
    (BULLETIN, "  - cause: frozen", "  - cuase: frozen", 13),
    (BULLETIN, "likelihood: 0.5", "likelihood: 5", 14),
    (BULLETIN, "    minutes: 5", "   minutes: 5", 15),
    (BULLETIN, "    minutes: 5", "\tminutes: 5", 15),
    (BULLETIN, "minutes: 5", "minutes: five", 15),
    (BULLETIN, "parts: [HR-310-4126]", "parts: [HR-310-4162]", 16),
    (BULLETIN, "quantity: 1", "quantity: 0", 18),
    (BULLETIN, "quantity: 1", "quantiy: 1", 18),
    (BULLETIN, "  - HR-310-1223", "  - HR-310-1323", 19),
    (BULLETIN, "related: 2026-015", "related: 2026-051", 20),
    (BULLETIN, "---\nIce", "--\nIce", 1),
    (OTHER, "title: ", "title: E21: ", 3),
    (HOUSE, "name: Hollin Ridge", "nmae: Hollin Ridge", 1),
    (HOUSE, "language: en", "language: English", 2),
    (HOUSE, "units: metric", "units: metres", 3),
    (HOUSE, "site: https://", "site: ", 4),
    (HOUSE, "contact: Service desk,", "contact: Service desk:", 5),
    (HOUSE, "components: [door seal", "components: [door seal]", 6),
    (FAMILIES, "Tarn:\n", "Tarn\n", 1),
    (FAMILIES, "product: dishwasher", "produkt: dishwasher", 2),
    (FAMILIES, "product: dishwasher", "product: dish: washer", 2),
    (FAMILIES, "models: [TD45A, ", "models: [TD45A, TD45A, ", 3),
    (FAMILIES, "TD60B]", "TD60B", 3),
    (FAMILIES, "TD60B]", "TD60*]", 3),
    (FAMILIES, "models: [TD45A", "modles: [TD45A", 3),
    (FAMILIES, "produced: 2016-09..", "produced: 2016-13..", 4),
    (FAMILIES, "produced: 2016-09..", "produced:", 4),
    (FAMILIES, "produced: 2016-09..", "produced: [2016]", 4),
    (FAMILIES, "  scheme: hollin\n  codes", "  scheme: holin\n  codes", 5),
    (FAMILIES, "  scheme: hollin\n  codes", "  scheme:\n  codes", 5),
    (FAMILIES, "codes: [E21, E24]", "codes: {E21: drain}", 6),
    (FAMILIES, "Cairn:\n", "Tarn:\n", 8),
    (FAMILIES, "CW7A, CW8A", "CW7A, TD45A", 10),
    (FAMILIES, "  produced: 2014-03..", "  produced 2014-03..", 11),
    (SERIALS, "hollin:\n", "hollin\n", 1),
    (SERIALS, "layout: P Y WW NNNNN", "layout: P Y W NNNNN", 2),
    (SERIALS, "layout: P Y WW NNNNN", "layuot: P Y WW NNNNN", 2),
    (SERIALS, "layout: P Y WW NNNNN", "layout: [P, Y, WW]", 2),
    (SERIALS, "{K: Kirkholm works", "{KK: Kirkholm works", 3),
    (SERIALS, "plant: {K: Kirkholm", "plant: {K:Kirkholm", 3),
    (SERIALS, "letters: ABC", "letters: AABC", 4),
    (SERIALS, "first: 2010", "first: 10", 4),
    (SERIALS, "first: 2010}", "first: 2010", 4),
    (SERIALS, "week: iso", "week: iso-8601-week", 5),
    (SERIALS, "used: 2010..", "used: since 2010", 6),
    (SERIALS, "sequence: 31}", "sequence: 32}", 8),
    (SERIALS, "sequence: 31}", "sequence: one}", 8),
    (SERIALS, "built: 2022-W14", "built: 2022-W15", 8),
    (WORDS, "same:\n", "smae:\n", 1),
    (WORDS, "- [leak, drip, ", "- leak, drip, ", 2),
    (WORDS, "  - [leak", "\t- [leak", 2),
    (WORDS, "water on floor]", "water on floor", 2),
    (WORDS, "{gaskit: gasket}", "[gaskit, gasket]", 3),
    (WORDS, "{gaskit: gasket}", "{gaskit: }", 3),
    (PARTS, "number,name,", "number;name;", 1),
    (PARTS, ",relation,", ",relatoin,", 1),
    (PARTS, "gone,HR-310-4126", "gnoe,HR-310-4126", 2),
    (PARTS, "HR-310-4126,forward", "HR-310-4162,forward", 2),
    (PARTS, "forward,,2019-W08,", "forward,,2019-W80,", 2),
    (PARTS, "forward,,2019-W08,", "foward,,2019-W08,", 2),
    (PARTS, '"Drain pump, sealed rotor"', "Drain pump, sealed rotor", 3),
    (PARTS, '"Drain pump, sealed rotor"', '"Drain pump, sealed rotor', 3),
    (PARTS, "TD45A TD60A", "TD45C TD60A", 4),
    (PARTS, "Filter mesh,filter,current", "=Filter mesh,filter,current", 5),
    (PARTS, "HR-310-7620,Pump", "HR-310-1216,Pump", 7),
    (KITS, "kit,number,quantity", "kit,nummer,quantity", 1),
    (KITS, "HR-310-1204,1", "HR-310-1204,one", 2),
    (KITS, "HR-310-1204,1", "HR-310-1204", 2),
    (KITS, "HR-310-1216,2", "HR-310-1204,2", 3),
    (KITS, "HR-310-1216,2", "HR-310-9999,2", 3),
]


@pytest.mark.parametrize(("name", "old", "new", "line"), MISTAKES)
def test_a_mistake_is_told_at_its_line_and_nowhere_else(
    make_house: MakeHouse, name: str, old: str, new: str, line: int
) -> None:
    assert SOUND[name].count(old) >= 1
    problems = proofed(make_house({**SOUND, name: SOUND[name].replace(old, new, 1)}))
    assert lines_of(problems) == [(name, line)], problems
    assert all(problem.message and problem.remedy for problem in problems)


WRECKS: dict[str, bytes] = {
    "nothing": b"",
    "NUL": b"\0" * 50,
    "UTF-16": "number,name\nkit: a\n".encode("utf-16"),
    "a picture": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)),
    "brackets": b"[" * 3000,
    "a text": b"This is no table at all.\nIt has two lines.\n",
    "half a table": b"Tarn:\n  models: [TD4",
    "an alias": b"a: &a [x]\nb: [*a, *a]\n",
}


@pytest.mark.parametrize("name", [HOUSE, FAMILIES, SERIALS, WORDS, PARTS, KITS, BULLETIN])
@pytest.mark.parametrize("wreck", WRECKS)
def test_a_wrecked_file_is_never_the_end_of_reading(
    make_house: MakeHouse, name: str, wreck: str
) -> None:
    folder = make_house({**SOUND, name: WRECKS[wreck]})
    house = read_house(folder)
    told = [problem for problem in house.problems if problem.file == name]
    assert {problem.file for problem in house.problems} <= {name}
    assert told or wreck == "nothing"
    assert OTHER in [bulletin.file for bulletin in house.bulletins]
    assert all(problem.line >= 1 and problem.remedy for problem in run(house, TODAY))


@pytest.mark.parametrize(
    "mistakes",
    [
        {HOUSE: ("units: metric", "units: metres"), PARTS: ("gone,HR", "gnoe,HR")},
        {FAMILIES: ("product: dishwasher", "produkt: x"), BULLETIN: ("kind: repair", "kind: x")},
        {SERIALS: ("week: iso", "week: moon"), KITS: ("HR-310-1204,1", "HR-310-1204,0")},
        {WORDS: ("same:", "smae:"), OTHER: ("issued: 2026-03-02", "issued: soon")},
    ],
)
def test_mistakes_in_two_files_are_both_told(
    make_house: MakeHouse, mistakes: Mapping[str, tuple[str, str]]
) -> None:
    broken = {name: SOUND[name].replace(old, new, 1) for name, (old, new) in mistakes.items()}
    problems = proofed(make_house({**SOUND, **broken}))
    assert {name for name, _ in lines_of(problems)} == set(mistakes)
