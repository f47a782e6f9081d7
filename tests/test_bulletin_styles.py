"""A bulletin written in any style of YAML is the same bulletin: written at random, read back."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.bulletin import read_bulletin
from kb.dates import Days
from kb.faults import Faults
from kb.plainfile import decode
from kb.records import (
    HAZARDS,
    KINDS,
    STATUSES,
    Age,
    Block,
    Bulletin,
    Check,
    Count,
    Coverage,
    PartLine,
    SerialRange,
)

FAMILIES = {name.lower(): name for name in ("Tarn", "Cairn", "Scree")}

WORD = st.text(
    alphabet="abcdefgh \u00e4\u2013'\"#:,[]{}&*!|>%@`?-0123456789", min_size=1, max_size=16
)
TEXT = WORD.map(str.strip).filter(bool)
TEXTS = st.lists(TEXT, max_size=3).map(tuple)
NUMBER = st.from_regex(r"[A-Z0-9]{1,4}([.-][0-9]{1,3}){0,2}", fullmatch=True)
NUMBERS = st.lists(NUMBER, max_size=3).map(tuple)
SERIAL = st.from_regex(r"[KL] ?[A-Z][ -]?[0-9]{2}[ -]?[0-9]{5}", fullmatch=True)
DATE = st.dates(date(1990, 1, 1), date(2060, 12, 31))
AMOUNT = st.sampled_from([0.5, 1.0, 2.5, 7.5, 10.0, 90.0])


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


COUNT = st.tuples(maybe(st.integers(0, 9)), maybe(st.integers(0, 9))).filter(any)
COUNTS = COUNT.map(lambda ends: ends if None in ends else sorted(ends)).map(lambda e: Count(*e))
DAYS = st.tuples(maybe(DATE), maybe(DATE)).filter(any)
BUILT = DAYS.map(lambda ends: ends if None in ends else sorted(ends)).map(lambda e: Days(*e))
NAMED = {
    "families": st.lists(st.sampled_from(list(FAMILIES.values())), min_size=1, max_size=2).map(
        tuple
    ),
    "models": st.lists(st.sampled_from(["TD45A", "T*", "CW?8", "*A"]), max_size=3).map(tuple),
    "revision": maybe(COUNTS),
    "built": maybe(BUILT),
    "plants": st.lists(st.sampled_from("KL0"), max_size=2, unique=True).map(tuple),
    "serials": st.lists(st.builds(SerialRange, SERIAL, SERIAL), max_size=2).map(tuple),
}
EXCEPTION = st.builds(Block, **NAMED)
BLOCK = st.builds(Block, **NAMED, but_not=st.lists(EXCEPTION, max_size=2).map(tuple))
CHECK = st.builds(
    Check,
    cause=TEXT,
    test=st.just("") | TEXT,
    likelihood=st.sampled_from([0.0, 0.05, 0.5, 1.0]),
    minutes=AMOUNT,
    fix=st.just("") | TEXT,
    parts=NUMBERS,
    last=st.booleans(),
    before=TEXTS,
)
PART = st.builds(
    PartLine,
    number=NUMBER,
    quantity=st.integers(1, 12),
    in_hand=st.booleans(),
    all=st.booleans(),
    note=st.just("") | TEXT,
)
BULLETIN = st.builds(
    Bulletin,
    number=NUMBER,
    title=TEXT,
    kind=st.sampled_from(KINDS),
    issued=DATE,
    component=st.lists(TEXT, min_size=1, max_size=3).map(tuple),
    where=st.lists(BLOCK, min_size=1, max_size=3).map(tuple),
    body=st.text(alphabet="ab -#\n`|:>*.", max_size=40),
    revised=maybe(DATE),
    status=st.sampled_from(STATUSES),
    summary=st.just("") | TEXT,
    supersedes=NUMBERS,
    related=NUMBERS,
    symptoms=TEXTS,
    codes=TEXTS,
    hazards=st.lists(st.sampled_from(HAZARDS), max_size=3, unique=True).map(tuple),
    tools=TEXTS,
    consumables=TEXTS,
    minutes=maybe(AMOUNT),
    checks=st.lists(CHECK, max_size=3).map(tuple),
    keep=NUMBERS,
    parts=st.lists(PART, max_size=3).map(tuple),
    coverage=maybe(st.builds(Coverage, TEXT, AMOUNT, st.sampled_from(["purchase", "built"]))),
    age=maybe(st.builds(Age, AMOUNT, TEXT)),
    file=st.just("a.md"),
)


def ends(first: object, last: object) -> str:
    return f"{'' if first is None else first}..{'' if last is None else last}"


def block_keys(block: Block) -> dict[str, Any]:
    keys: dict[str, Any] = {"family": list(block.families)}
    if block.models:
        keys["models"] = list(block.models)
    if block.revision:
        keys["revision"] = ends(block.revision.low, block.revision.high)
    if block.built:
        keys["built"] = ends(block.built.first, block.built.last)
    if block.plants:
        keys["plant"] = list(block.plants)
    if block.serials:
        keys["serials"] = [ends(each.first, each.last) for each in block.serials]
    if block.but_not:
        keys["except"] = [block_keys(each) for each in block.but_not]
    return keys


def check_keys(check: Check) -> dict[str, Any]:
    keys = {
        "cause": check.cause,
        "likelihood": str(check.likelihood),
        "minutes": str(check.minutes),
        "last": "yes" if check.last else "no",
        "parts": list(check.parts),
        "before": list(check.before),
    }
    return keys | {key: text for key in ("test", "fix") if (text := getattr(check, key))}


def part_keys(part: PartLine) -> dict[str, Any]:
    keys = {
        "number": part.number,
        "quantity": str(part.quantity),
        "in-hand": "Yes" if part.in_hand else "off",
        "all": "true" if part.all else "False",
    }
    return keys | ({"note": part.note} if part.note else {})


def bulletin_keys(bulletin: Bulletin) -> dict[str, Any]:
    """Return the keys that a writer of *bulletin* would write."""
    plain = ("number", "title", "kind", "status", "summary")
    lists = (
        *("component", "supersedes", "related", "symptoms", "codes", "hazards", "tools"),
        *("consumables", "keep"),
    )
    keys: dict[str, Any] = {key: getattr(bulletin, key) for key in plain}
    keys |= {key: list(getattr(bulletin, key)) for key in lists}
    keys["issued"] = str(bulletin.issued)
    keys["checks"] = [check_keys(check) for check in bulletin.checks]
    keys["parts"] = [part_keys(part) for part in bulletin.parts]
    if bulletin.revised:
        keys["revised"] = str(bulletin.revised)
    if bulletin.minutes:
        keys["minutes"] = str(bulletin.minutes)
    if bulletin.coverage:
        term = bulletin.coverage
        keys["coverage"] = {
            "component": term.component,
            "years": str(term.years),
            "from": term.start,
        }
    if bulletin.age:
        keys["age"] = {"years": str(bulletin.age.years), "advice": bulletin.age.advice}
    if len(bulletin.where) == 1:
        keys |= block_keys(bulletin.where[0])
    else:
        keys["applies"] = [block_keys(block) for block in bulletin.where]
    return {key: value for key, value in keys.items() if value not in ("", [])}


@st.composite
def written(draw: Callable[..., Any], keys: dict[str, Any]) -> str:
    """Return YAML of *keys* by PyYAML's own writer, each key in a style drawn for it."""
    pieces = []
    for key in draw(st.permutations(list(keys))):
        value = keys[key]
        if isinstance(value, list) and len(value) == 1 and draw(st.booleans()):
            value = value[0]
        pieces.append(
            yaml.safe_dump(
                {key: value},
                default_flow_style=draw(st.sampled_from([True, False, None])),
                default_style=draw(st.sampled_from([None, '"', "'"])),
                indent=draw(st.sampled_from([2, 4])),
                width=draw(st.sampled_from([30, 80, 400])),
                allow_unicode=draw(st.booleans()),
                sort_keys=draw(st.booleans()),
            )
        )
        text = pieces[-1].strip()
        if text.startswith("{") and text.endswith("}"):  # all in one pair of braces
            pieces[-1] = text[1:-1] + "\n"
        pieces.append(draw(st.sampled_from(["", "", "\n", "# a note: [\n"])))
    return "".join(pieces)


def read(data: bytes) -> tuple[Bulletin | None, Faults]:
    faults = Faults("a.md")
    return read_bulletin(decode(data, faults), faults, FAMILIES).bulletin, faults


@settings(max_examples=80, deadline=None)
@given(BULLETIN, st.data())
def test_a_bulletin_in_any_style_is_read_back_equal(bulletin: Bulletin, data: Any) -> None:
    head = data.draw(written(bulletin_keys(bulletin)))
    text = f"---\n{head}---\n{bulletin.body}"
    found, faults = read(text.encode())
    assert not faults.errors, (text, faults.problems)
    expected = dataclasses.replace(bulletin, body_line=head.count("\n") + 3)
    assert found == expected, text


@settings(max_examples=20, deadline=None)
@given(BULLETIN, st.data(), st.sampled_from(["\r\n", "\r"]), st.sampled_from(["", "\ufeff"]))
def test_line_ends_and_a_mark_change_nothing(
    bulletin: Bulletin, data: Any, ends: str, mark: str
) -> None:
    text = f"---\n{data.draw(written(bulletin_keys(bulletin)))}---\n{bulletin.body}"
    found, faults = read(text.encode())
    other, others = read((mark + text.replace("\n", ends)).encode())
    assert found == other and faults.problems == others.problems


@settings(max_examples=20, deadline=None)
@given(BULLETIN, st.data())
def test_every_top_level_key_has_the_line_where_it_stands(bulletin: Bulletin, data: Any) -> None:
    text = f"---\n{data.draw(written(bulletin_keys(bulletin)))}---\n"
    found, _ = read(text.encode())
    assert found is not None
    lines = text.split("\n")
    for key in bulletin_keys(bulletin):
        start = lines[found.line(key) - 1].replace('"', "").replace("'", "")
        assert start.startswith((f"{key}:", f"? {key}"))


@pytest.mark.parametrize("style", [True, False])
def test_the_fullest_bulletin_there_is(style: bool) -> None:
    block = Block(
        families=("Tarn", "Cairn"),
        models=("T*", "CW?"),
        revision=Count(2, None),
        built=Days(date(2024, 3, 4), None),
        plants=("K", "L"),
        serials=(SerialRange("KP1400031", "KP1400090"),),
        but_not=(Block(plants=("K",), built=Days(None, date(2024, 12, 31))),),
    )
    keys = block_keys(block) | {"number": "1", "title": "t", "kind": "parts", "component": ["c"]}
    keys["except"] = [{"plant": ["K"], "built": "..2024-12-31"}]
    head = yaml.safe_dump(keys | {"issued": "2026-03-02"}, default_flow_style=style)
    found, faults = read(f"---\n{head}---\n".encode())
    assert found is not None and found.where == (block,) and not faults.problems
