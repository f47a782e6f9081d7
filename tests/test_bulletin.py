"""A sound bulletin as a record: every key typed, every line known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from kb.bulletin import bulletin_number, read_bulletin
from kb.dates import parse_days
from kb.faults import Faults
from kb.fields import Unfit, count_range, day, number, quantity, share, yes_no
from kb.records import Age, Block, Bulletin, Check, Count, Coverage, PartLine, SerialRange
from kb.whereabouts import serial_range

HEAD = """\
---
number: 2026-014
title: Drain pump hums
kind: repair
issued: 2026-03-02
component: drain pump
"""
FAMILIES = {"tarn": "Tarn", "cairn": "Cairn"}


def read(keys: str, body: str = "") -> Bulletin:
    faults = Faults("2026-014.md")
    bulletin, sound = read_bulletin(f"{HEAD}{keys}---\n{body}", faults, FAMILIES)
    assert sound and bulletin is not None, faults.problems
    return bulletin


def test_what_is_not_given_has_its_default() -> None:
    assert read("family: Tarn\n", "Text.\n") == Bulletin(
        number="2026-014",
        title="Drain pump hums",
        kind="repair",
        issued=date(2026, 3, 2),
        component=("drain pump",),
        where=(Block(families=("Tarn",)),),
        body="Text.\n",
        file="2026-014.md",
        body_line=9,
    )


@pytest.mark.parametrize(
    ("keys", "field", "value"),
    [
        ("revised: 2026-04-01", "revised", date(2026, 4, 1)),
        ("status: draft", "status", "draft"),
        ("summary: >\n  One\n  two.", "summary", "One two."),
        ("supersedes: 2025-003", "supersedes", ("2025-003",)),
        ("related: [2024-001, 2024-002]", "related", ("2024-001", "2024-002")),
        ("symptoms: hums", "symptoms", ("hums",)),
        (
            "symptoms:\n- hums\n- no, it does not drain",
            "symptoms",
            ("hums", "no, it does not drain"),
        ),
        ("codes: [0, 010, E21]", "codes", ("0", "010", "E21")),
        ("hazards: [Electricity, hot water]", "hazards", ("electricity", "hot-water")),
        ("tools: [multimeter]", "tools", ("multimeter",)),
        ("consumables: []", "consumables", ()),
        ("minutes: 7.5", "minutes", 7.5),
        ("keep: HR-1", "keep", ("HR-1",)),
        ("parts: HR-1", "parts", (PartLine(number="HR-1"),)),
        ("parts: {number: HR-1}", "parts", (PartLine(number="HR-1"),)),
        (
            "parts: [HR-1, {number: HR-2}]",
            "parts",
            (PartLine(number="HR-1"), PartLine(number="HR-2")),
        ),
        (
            "parts:\n- number: HR-1\n  quantity: 2\n  in-hand: Yes\n  all: TRUE\n  note: both",
            "parts",
            (PartLine(number="HR-1", quantity=2, in_hand=True, all=True, note="both"),),
        ),
        (
            "coverage: {component: pump, years: 7.5, from: built}",
            "coverage",
            Coverage("pump", 7.5, "built"),
        ),
        ("age: {years: 5, advice: replace it}", "age", Age(5.0, "replace it")),
        ("checks: {cause: frozen}", "checks", (Check(cause="frozen"),)),
        (
            "checks:\n- cause: frozen\n  test: look\n  likelihood: 50 %\n  minutes: 5\n"
            "  fix: thaw\n  parts: [HR-1]\n  last: on\n  before: [worn]",
            "checks",
            (
                Check(
                    cause="frozen",
                    test="look",
                    likelihood=0.5,
                    minutes=5.0,
                    fix="thaw",
                    parts=("HR-1",),
                    last=True,
                    before=("worn",),
                ),
            ),
        ),
    ],
)
def test_each_optional_key_is_typed(keys: str, field: str, value: object) -> None:
    assert getattr(read(f"family: Tarn\n{keys}\n"), field) == value


@pytest.mark.parametrize(
    ("keys", "where"),
    [
        ("family: [tarn, CAIRN]", (Block(families=("Tarn", "Cairn")),)),
        ("models: [TD*, T?45A]", (Block(models=("TD*", "T?45A")),)),
        ("family: Tarn\nrevision: 2..", (Block(families=("Tarn",), revision=Count(2, None)),)),
        ("family: Tarn\nplant: [k, L]", (Block(families=("Tarn",), plants=("K", "L")),)),
        ("serials: K P 14..K P 19", (Block(serials=(SerialRange("K P 14", "K P 19"),)),)),
        (
            "serials: [KP14, KP15]",
            (Block(serials=(SerialRange("KP14", "KP14"), SerialRange("KP15", "KP15"))),),
        ),
        (
            "family: Tarn\nexcept: {plant: K}",
            (Block(families=("Tarn",), but_not=(Block(plants=("K",)),)),),
        ),
        (
            "family: Tarn\nexcept:\n- built: 2024\n- revision: 3",
            (
                Block(
                    families=("Tarn",),
                    but_not=(Block(built=parse_days("2024")), Block(revision=Count(3, 3))),
                ),
            ),
        ),
        ("applies: {family: Tarn}", (Block(families=("Tarn",)),)),
        (
            "applies:\n- family: Tarn\n- models: CW7A",
            (Block(families=("Tarn",)), Block(models=("CW7A",))),
        ),
    ],
)
def test_where_it_applies_is_read_as_blocks(keys: str, where: tuple[Block, ...]) -> None:
    assert read(keys + "\n").where == where


def test_every_key_and_item_knows_its_line() -> None:
    bulletin = read(
        "applies:\n  - family: Tarn\n    built: 2024\n    except:\n      - plant: K\n"
        "symptoms:\n  - hums\n  - drips\nchecks:\n  - cause: frozen\n    test: look\n"
        "parts: [HR-1,\n  {number: HR-2}]\n"
    )
    expected = {
        "number": 2,
        "component": 6,
        "applies": 7,
        "applies[0]": 8,
        "applies[0].family": 8,
        "applies[0].built": 9,
        "applies[0].except": 10,
        "applies[0].except[0].plant": 11,
        "symptoms": 12,
        "symptoms[1]": 14,
        "checks[0].cause": 16,
        "checks[0].test": 17,
        "parts[0]": 18,
        "parts[1].number": 19,
    }
    assert {path: bulletin.lines[path] for path in expected} == expected
    assert bulletin.line("checks[0].fix") == 16
    assert bulletin.line("parts[0].number") == 18
    assert len(bulletin.lines) == len(list(bulletin.lines)) > len(expected)


@pytest.mark.parametrize("gap", ["", "\n", "\n\n"])
def test_the_body_keeps_its_text_and_line(gap: str) -> None:
    bulletin = read("family: Tarn\n", f"{gap}One.\n\n---\n\nTwo.\n")
    assert bulletin.body == f"{gap}One.\n\n---\n\nTwo.\n" and bulletin.body_line == 9


def test_a_bulletin_with_a_slip_still_comes_back_without_the_block_in_doubt() -> None:
    faults = Faults("x.md")
    text = HEAD + "applies:\n- family: Tarn\n  built: soon\n- models: CW7A\nminutes: many\n---\n"
    bulletin, sound = read_bulletin(text, faults, FAMILIES)
    assert bulletin is not None and not sound
    assert bulletin.where == (Block(models=("CW7A",)),) and bulletin.minutes is None
    assert [problem.line for problem in faults.problems] == [9, 11]


def test_without_its_number_there_is_no_bulletin() -> None:
    faults = Faults("x.md")
    text = HEAD.replace("number: 2026-014\n", "") + "family: Tarn\n---\n"
    assert read_bulletin(text, faults, FAMILIES).bulletin is None
    assert [(p.line, p.rule) for p in faults.problems] == [(1, "missing-key")]


@pytest.mark.parametrize(
    ("line", "warned"),
    [
        ("tools: socket #8", True),
        ("tools:\n- long socket #8", True),
        ("tools: socket # 8 mm", False),
        ('tools: "socket #8"', False),
        ('tools: ["socket #8", drill]', False),
        ("tools: socket#8", False),
        ("tools: socket # see #8", False),
        ("# 12 of #8", False),
    ],
)
def test_a_text_cut_off_by_a_number_sign_is_warned_of(line: str, warned: bool) -> None:
    faults = Faults("x.md")
    outcome = read_bulletin(f"{HEAD}family: Tarn\n{line}\n---\n", faults, FAMILIES)
    assert outcome.sound
    assert [(p.rule, p.level) for p in faults.problems] == [("cut-off", "warning")] * warned


Reader = Callable[[str], Any]


@pytest.mark.parametrize(
    ("reader", "text", "value"),
    [
        (number, "15", 15.0),
        (number, "2.5", 2.5),
        (number, ".5", 0.5),
        (share, "0", 0.0),
        (share, "1", 1.0),
        (share, "0.05", 0.05),
        (share, "5%", 0.05),
        (share, "100 %", 1.0),
        (quantity, "1", 1),
        (quantity, "012", 12),
        (yes_no, "On", True),
        (yes_no, "FALSE", False),
        (day, "2024-02-29", date(2024, 2, 29)),
        (count_range, "2", Count(2, 2)),
        (count_range, "2..", Count(2, None)),
        (count_range, "..3", Count(None, 3)),
        (count_range, "2 .. 4", Count(2, 4)),
        (count_range, "0", Count(0, 0)),
        (bulletin_number, "2026-014.b", "2026-014.b"),
        (bulletin_number, "A" * 40, "A" * 40),
        (serial_range, "K P 14..K P 15", SerialRange("K P 14", "K P 15")),
    ],
)
def test_sound_values_are_read(reader: Reader, text: str, value: object) -> None:
    assert reader(text) == value


@pytest.mark.parametrize(
    ("reader", "text"),
    [
        *((number, text) for text in ("0", "-1", "1,5", "1e5", "nan", "inf", "٣", "5 min", "1_0")),
        *((share, text) for text in ("1.1", "101 %", "50", "half", "-0.1", "%")),
        *((quantity, text) for text in ("0", "1.5", "-1", "two", "12345678", "٣")),
        *((yes_no, text) for text in ("y", "1", "maybe", "ja")),
        *((day, text) for text in ("2023-02-29", "2024-13-01", "2024-W10", "24-1-1", "today")),
        *((count_range, text) for text in ("..", "2-4", "2...4", "4..2", "B", "-1", "2..x", "1.5")),
        *((bulletin_number, text) for text in ("", "..", "-.-", "a b", "a/b", "é", "A" * 41)),
        *((serial_range, text) for text in ("A..", "..B", "..", "A..B..C", "A;B", "A*")),
    ],
)
def test_other_values_are_refused_with_a_remedy(reader: Reader, text: str) -> None:
    with pytest.raises(Unfit) as trouble:
        reader(text)
    assert trouble.value.remedy and str(trouble.value)
