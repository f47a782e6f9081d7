"""Days, serials, units and what applies to them: the browser's half says what the desk says."""

from __future__ import annotations

import json
import random
import unicodedata
from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from kb import store
from kb.applies import answer, due, model_matches
from kb.dates import (
    EARLIEST,
    LATEST,
    Days,
    add_months,
    iso_week,
    jan1_week,
    long_year,
    month_days,
    parse_days,
    show_days,
)
from kb.errors import DateError, NotFound
from kb.folding import fold, fold_name, nearest
from kb.house import read_house
from kb.lookup import Lookup
from kb.pages.scripts import bundle
from kb.places import begins
from kb.plate import read_plate
from kb.records import Age, Block, Reading, Unit
from kb.serials import looks_like
from kb.settle import listed
from kb.units import make_unit
from kb.wire import block_to_json, day_text, scheme_to_json
from tests.deskhouse import write_house
from tests.nodejs import ask_node
from tests.random_blocks import TODAY, WORLD, random_serial, random_where
from tests.random_worlds import (
    some_day,
    some_days,
    some_model,
    some_serial,
    some_where,
    some_world,
)
from tests.shared_cases import Tables, block, day, load, tables
from tests.slow_units import slow_answer
from tests.test_applies import ways_of

ROOT = Path(__file__).resolve().parent.parent
DEMO, SITE = ROOT / "bulletins", ROOT / "site"
AGES = (0, 0.5, 1.125, 2.5, 5, 12)

# ---- Days ------------------------------------------------------------------------------------

DAYS = """
import {
  addMonths, dayText, isoParts, isoWeek, jan1Week, longYear, monthDays, partsOf, showDays,
} from "SITE/core/dates.js";
import { dayOf } from "SITE/core/wire.js";
const texts = ({ first, last }) => [dayText(first), dayText(last)];
answer({
  days: asked.days.map(([text, months]) => {
    const day = dayOf(text);
    return [partsOf(day), isoParts(day), dayText(addMonths(day, months)), dayText(day)];
  }),
  years: asked.years.map((year) => [
    longYear(year),
    [1, 9, 52, ...(longYear(year) ? [53] : [])].map((week) => texts(isoWeek(year, week))),
    [1, 30, 52].map((week) => texts(jan1Week(year, week))),
    [1, 2, 12].map((month) => texts(monthDays(year, month))),
  ]),
  shown: asked.shown.map(([from, to]) => {
    const days = { first: dayOf(from), last: dayOf(to) };
    return [showDays(days), showDays(days, true)];
  }),
});
"""


def _texts(days: Days) -> list[str | None]:
    return [day_text(days.first), day_text(days.last)]


def test_days_weeks_and_months_are_reckoned_alike() -> None:
    rng = random.Random("days")
    whole = (LATEST - EARLIEST).days
    days = [(EARLIEST + timedelta(rng.randrange(whole)), rng.randrange(400)) for _ in range(4000)]
    years = list(range(1900, 2200))
    found = ask_node(DAYS, {"days": [[str(d), m] for d, m in days], "years": years, "shown": []})
    assert found["days"] == [
        [[d.year, d.month, d.day], list(d.isocalendar()), str(add_months(d, m)), str(d)]
        for d, m in days
    ]
    assert found["years"] == [
        [
            long_year(year),
            [_texts(iso_week(year, w)) for w in (1, 9, 52, *((53,) if long_year(year) else ()))],
            [_texts(jan1_week(year, w)) for w in (1, 30, 52)],
            [_texts(month_days(year, m)) for m in (1, 2, 12)],
        ]
        for year in years
    ]


def test_stretches_of_days_are_shown_in_the_same_words() -> None:
    rng = random.Random("shown")
    stretches = [some_days(rng) for _ in range(4000)]
    found = ask_node(DAYS, {"days": [], "years": [], "shown": [_texts(d) for d in stretches]})
    assert found["shown"] == [[show_days(d), show_days(d, weeks=True)] for d in stretches]


TYPED = """
import { parseDays } from "SITE/core/typeddates.js";
import { dayText } from "SITE/core/dates.js";
import { outcome } from "SITE/../tests/js/casehouse.js";
const text = (day) => day === null ? null : dayText(day);
answer(asked.map((typed) => outcome(() => {
  const { first, last } = parseDays(typed);
  return [text(first), text(last)];
})));
"""


def _typed(rng: random.Random) -> str:
    """Return a date or range, well typed or with a slip."""

    def one() -> str:
        year, week, month = rng.choice([1899, 1900, 2020, 2024, 2199, 2200]), 1, 1
        week, month, day = rng.randrange(56), rng.randrange(14), rng.randrange(33)
        forms = ["{0}", "{0}-{2:02}", "{0}-W{1:02}", "{0}W{1}", "{0}-{2}-{3}", "{0}-{2:02}-{3:02}"]
        return rng.choice(forms).format(year, week, month, day)

    text = (
        one()
        if rng.random() < 0.5
        else rng.choice(["..", " .. ", "-", " to ", "..."]).join(
            (rng.choice([one(), ""]), rng.choice([one(), "", "soon"]))
        )
    )
    if rng.random() < 0.2:
        at = rng.randrange(len(text) + 1)
        text = text[:at] + rng.choice("- .W9\u2013\u2026x") + text[at:]
    return text


def _parsed(text: str) -> Any:
    try:
        return _texts(parse_days(text))
    except DateError as error:
        return {"message": error.message, "remedy": error.remedy}


def test_typed_dates_are_read_or_refused_alike() -> None:
    rng = random.Random("typed")
    asked = [_typed(rng) for _ in range(6000)]
    wanted = [_parsed(text) for text in asked]
    assert ask_node(TYPED, asked) == wanted
    kinds = Counter(type(each) for each in wanted)
    assert min(kinds[list], kinds[dict]) > 1000


# ---- Folding ---------------------------------------------------------------------------------

FOLDED = """
import { fold, foldName, nearest, strip } from "SITE/core/folding.js";
answer({
  folded: asked.texts.map((text) => [fold(text), foldName(text), strip(text)]),
  nearest: asked.nearest.map(([word, known, cutoff]) => nearest(word, known, cutoff)),
});
"""
# Letters whose capitals Unicode added after version 14, and a script whose lower-case letters it
# folds to capitals: left out, for the two halves may know different versions.
_YOUNG = {0x19B, 0x264, 0x1C8A} | set(range(0x1C80, 0x1C90))


def test_every_letter_and_sign_folds_alike() -> None:
    blocks = (
        range(0x20, 0x13A0),
        range(0x1E00, 0x2C00),
        range(0x3000, 0x3400),
        range(0xFF00, 0xFFEF),
    )
    texts = [
        f"{chr(code)}a{chr(code)} {chr(code)}"
        for block in blocks
        for code in block
        if code not in _YOUNG and unicodedata.category(chr(code)) != "Cn"
    ]
    assert len(texts) > 6000
    found = ask_node(FOLDED, {"texts": texts, "nearest": []})["folded"]
    assert found == [[fold(t), fold_name(t), t.strip()] for t in texts]


def test_texts_of_many_signs_fold_alike() -> None:
    rng = random.Random("texts")
    signs = "aB \t\n\r\x0b\x1c\x85\u00a0\u2003\u3000\ufeff-.\u2010\u2212ßıİςΣσﬁ½Ⅳ㎏é\u0301ŉ𝟘😀"
    texts = ["".join(rng.choices(signs, k=rng.randrange(9))) for _ in range(4000)]
    found = ask_node(FOLDED, {"texts": texts, "nearest": []})["folded"]
    assert found == [[fold(t), fold_name(t), t.strip()] for t in texts]


def test_the_nearest_name_is_the_same_one_of_equals_too() -> None:
    rng = random.Random("nearest")

    def name() -> str:
        return "".join(rng.choices("TDABab45 -", k=rng.randrange(7)))

    asked = [
        (name(), [name() for _ in range(rng.randrange(12))], rng.choice([0.3, 0.6, 0.6, 0.85]))
        for _ in range(5000)
    ]
    found = ask_node(FOLDED, {"texts": [], "nearest": asked})["nearest"]
    wanted = [nearest(word, known, cutoff) for word, known, cutoff in asked]
    assert found == [near or "" for near in wanted]
    assert len({near for near in wanted if near}) > 800


# ---- Units -----------------------------------------------------------------------------------

BROUGHT = """
import { answer as judged, due } from "SITE/core/applies.js";
import { dayText } from "SITE/core/dates.js";
import { begins } from "SITE/core/places.js";
import { looksLike } from "SITE/core/serials.js";
import { makeUnit } from "SITE/core/units.js";
import { blockOf, dayOf } from "SITE/core/wire.js";
import { fold } from "SITE/core/folding.js";
"""
HELPERS = """
import { outcome, wiredHouse } from "SITE/../tests/js/casehouse.js";
"""
ASKED = """
const texts = ({ first, last }) => [dayText(first), dayText(last)];
const read = (unit) => ({
  ...unit,
  family: unit.family.name,
  readings: unit.readings.map((each) => ({
    ...each, built: texts(each.built), codeDays: texts(each.codeDays),
  })),
});
answer(asked.map((world) => {
  const house = wiredHouse(world);
  const wheres = world.wheres.map((where) => where.map(blockOf));
  return {
    looks: [...house.schemes.values()].map(looksLike),
    units: world.units.map(([model, serial, day]) => outcome(() => {
      const today = dayOf(day);
      const unit = makeUnit(house, model, serial, today);
      const answers = wheres.map((where) => judged(where, unit, house, today));
      const dues = world.ages.map((years) => due({ years, advice: "" }, unit, today));
      const begun = [...house.schemes.values()].map((each) => begins(fold(serial), each));
      return { unit: read(unit), answers, dues, begun };
    })),
  };
}));
"""


UNITS = BROUGHT.rstrip() + HELPERS + ASKED


def wired(world: Tables) -> dict[str, Any]:
    """Return the families and schemes of a house as JSON."""
    return {
        "families": [
            {
                "name": family.name,
                "product": family.product,
                "produced": _texts(family.produced),
                "schemes": [[use.name, _texts(use.used)] for use in family.schemes],
                "models": family.models,
            }
            for family in world.families.values()
        ],
        "schemes": {name: scheme_to_json(each) for name, each in world.schemes.items()},
    }


Asked = tuple[str, str, date]


def _asked(world: Tables, units: list[Asked], wheres: list[tuple[Block, ...]]) -> dict[str, Any]:
    return wired(world) | {
        "units": [[model, serial, str(today)] for model, serial, today in units],
        "wheres": [[block_to_json(block) for block in where] for where in wheres],
        "ages": AGES,
    }


def _read(unit: Unit) -> dict[str, Any]:
    return {
        "model": unit.model,
        "family": unit.family.name,
        "revision": unit.revision,
        "serial": unit.serial,
        "unreadable": unit.unreadable,
        "readings": [_reading(reading) for reading in unit.readings],
    }


def _reading(reading: Reading) -> dict[str, Any]:
    return {
        "scheme": reading.scheme,
        "plant": reading.plant,
        "built": _texts(reading.built),
        "sequence": reading.sequence,
        "codeDays": _texts(reading.code_days),
    }


def _desk(world: Tables, asked: Asked, wheres: list[tuple[Block, ...]]) -> dict[str, Any]:
    model, serial, today = asked
    try:
        unit = make_unit(world, model, serial, today)
    except NotFound as error:
        return {"message": error.message, "remedy": error.remedy}
    answers = [answer(where, unit, world, today) for where in wheres]
    return {
        "unit": _read(unit),
        "answers": [{"applies": a.applies, "why": a.why, "settle": a.settle} for a in answers],
        "dues": [due(Age(years, ""), unit, today) for years in AGES],
        "begun": [begins(fold(serial), scheme) for scheme in world.schemes.values()],
    }


World = tuple[Tables, list[Asked], list[tuple[Block, ...]]]


def _compare(worlds: list[World], script: str = UNITS) -> Counter[str]:
    """Ask both halves everything; count what was met, so that a test knows that it asked much."""
    found = ask_node(script, [_asked(*world) for world in worlds])
    met: Counter[str] = Counter()
    for (world, units, wheres), theirs in zip(worlds, found, strict=True):
        assert theirs["looks"] == [looks_like(scheme) for scheme in world.schemes.values()]
        for asked, theirs_of_one in zip(units, theirs["units"], strict=True):
            ours = _desk(world, asked, wheres)
            assert theirs_of_one == ours, (asked, world)
            met.update(_met(ours))
    return met


def _met(ours: Mapping[str, Any]) -> Iterator[str]:
    if "message" in ours:
        yield "no such model"
        return
    unit = ours["unit"]
    yield f"{len(unit['readings'])} readings"
    if unit["unreadable"]:
        yield "unreadable"
    yield from (found["applies"] for found in ours["answers"])
    yield from (f"due {found}" for found in ours["dues"])
    for found in ours["answers"]:
        yield from (piece for piece in _PIECES if piece in found["why"] + found["settle"])


_PIECES = (
    "excepted:",
    "an exception may hold",
    "an exception to that may hold",
    "which of these the serial means",
    "which can mean several years",
    "the exact day of production",
    "the plant of production",
    "the digit behind the model number",
    "only partly",
    "could be among",
    "cannot be among",
    "together with",
    "; or ",
    "; and ",
)


@pytest.mark.parametrize("seed", range(3))
def test_units_of_any_layout_are_read_and_judged_alike(seed: int) -> None:
    rng = random.Random(f"worlds {seed}")
    met = _compare([_random_world(rng) for _ in range(90)])
    for kind in ("yes", "no", "maybe", "unreadable", "no such model", "due yes", "due no"):
        assert met[kind] > 100, met
    several = sum(met[f"{number} readings"] for number in range(2, 30))
    assert met["1 readings"] > 150 and several > 40, met
    assert all(met[piece] for piece in _PIECES), met


def _random_world(rng: random.Random) -> World:
    world = some_world(rng)
    schemes = list(world.schemes.values())
    wheres = [some_where(rng, world) for _ in range(12)]
    ends = [each.first for where in wheres for block in where for each in block.serials]
    units: list[Asked] = []
    for _ in range(20):
        family = rng.choice(list(world.families.values()))
        own = [world.schemes[use.name] for use in family.schemes]
        serial = _serial(rng, own if own and rng.random() < 0.9 else schemes, ends)
        today = some_day(rng) if rng.random() < 0.3 else date(2031, 6, 1)
        units.append((some_model(rng, family), serial, today))
    return world, units, wheres


def _serial(rng: random.Random, schemes: list[Any], ends: list[str]) -> str:
    """Return no serial, one of the house, the end of a range, or the beginning of one."""
    kind = rng.random()
    if kind < 0.15:
        return rng.choice(["", " ", "-", "?"])
    if ends and kind < 0.3:
        return rng.choice(ends)
    text = some_serial(rng, rng.choice(schemes), sound=kind < 0.75)
    return text[: rng.randrange(len(text) + 1)] if kind > 0.95 else text


@pytest.mark.parametrize("seed", range(3))
def test_units_with_serials_of_several_decades_are_judged_alike(seed: int) -> None:
    rng = random.Random(f"decades {seed}")
    units: list[Asked] = []
    for _ in range(60):
        family = rng.choice(list(WORLD.families.values()))
        today = rng.choice([TODAY, date(2019, 2, 1), date(2025, 12, 31), date(2013, 1, 1)])
        model = rng.choice(family.models) + rng.choice(["", "2", "/5"])
        units.append((model, random_serial(rng, family), today))
    met = _compare([(WORLD, units, [random_where(rng) for _ in range(80)])])
    assert min(met[each] for each in ("yes", "no", "maybe")) > 500
    assert min(met[f"{n} readings"] for n in range(4)) > 0


def test_what_is_published_judges_as_the_modules_do(tmp_path: Path) -> None:
    names = "judged, due, dayText, begins, looksLike, makeUnit, blockOf, dayOf, fold"
    entry = tmp_path / "entry.js"
    entry.write_text(f"{BROUGHT.replace('SITE/', f'{SITE}/')}\nglobalThis.core = {{ {names} }};\n")
    script = (
        f"{HELPERS}{bundle(entry)[0].decode()}\nconst {{ {names} }} = globalThis.core;\n{ASKED}"
    )
    rng = random.Random("published")
    assert _compare([_random_world(rng) for _ in range(20)], script)["maybe"] > 100


def test_the_browser_judges_as_one_who_tries_every_day() -> None:
    rng = random.Random("every day")
    families = list(WORLD.families.values())
    units: list[Asked] = []
    for _ in range(24):
        family = rng.choice(families)
        units.append((rng.choice(family.models), random_serial(rng, family), TODAY))
    wheres = [random_where(rng) for _ in range(12)]
    theirs = ask_node(UNITS, [_asked(WORLD, units, wheres)])[0]["units"]
    for (model, serial, today), found in zip(units, theirs, strict=True):
        ways = ways_of(make_unit(WORLD, model, serial, today))
        wanted = [slow_answer(where, ways, serial) for where in wheres]
        assert [each["applies"] for each in found["answers"]] == wanted, (model, serial)


# ---- The words, and the places of plates, as they stand in the shared cases --------------------

WHOLE = load("answers.json")
HOUSE = tables(load("applies.json")["house"])
NOW = day(load("applies.json")["today"])


@pytest.mark.parametrize("case", WHOLE["answers"], ids=str)
def test_the_desk_gives_the_whole_answer_of_the_shared_cases(case: list[Any]) -> None:
    where, model, serial, *wanted = case
    found = answer(tuple(map(block, where)), make_unit(HOUSE, model, serial, NOW), HOUSE, NOW)
    assert [found.applies, found.why, found.settle] == wanted


@pytest.mark.parametrize("case", WHOLE["plates"], ids=str)
def test_the_desk_reads_the_plates_of_the_shared_cases(case: dict[str, Any]) -> None:
    try:
        unit = make_unit(HOUSE, case["model"], case["serial"], NOW)
    except NotFound as error:
        assert [error.message, error.remedy] == [case["message"], case["remedy"]]
        return
    assert [unit.model, unit.revision] == [case["named"], case["revision"]]
    assert unit.unreadable.partition("; a sound one looks like")[0] == case.get("unreadable", "")
    readings = [
        f"{r.scheme} | {r.plant or 'null'} | {show_days(r.built, weeks=True)} | {r.sequence}"
        for r in unit.readings
    ]
    assert readings == case.get("readings", [])


MATCHED = """
import { modelMatches } from "SITE/core/judge.js";
import { listed } from "SITE/core/settle.js";
answer({
  matches: asked.patterns.map(([pattern, model]) => modelMatches(pattern, model)),
  lists: asked.lists.map(listed),
});
"""


def test_patterns_fit_the_same_models_and_lists_read_alike() -> None:
    rng = random.Random("patterns")

    def word(signs: str) -> str:
        return "".join(rng.choices(signs, k=rng.randrange(7)))

    pairs = [(word("Aa1*?-.[](){}^$+|\\/ 😀"), word("Aa1[]()+|\\/$ 😀")) for _ in range(6000)]
    pairs += [(word("AB*?"), word("AB")) for _ in range(4000)]
    lists = [[word("ab,") for _ in range(rng.randrange(5))] for _ in range(500)]
    found = ask_node(MATCHED, {"patterns": pairs, "lists": lists})
    assert found["matches"] == [model_matches(pattern, model) for pattern, model in pairs]
    assert found["matches"].count(True) > 1000
    assert found["lists"] == [listed(words) for words in lists]


# ---- Plates ----------------------------------------------------------------------------------

PLATES = """
import { plateJson, plateOf } from "SITE/core/plate.js";
import { makeUnit } from "SITE/core/units.js";
import { blockOf, dayOf } from "SITE/core/wire.js";
import { outcome, wiredHouse } from "SITE/../tests/js/casehouse.js";
const cards = asked.cards.map((card) => ({ ...card, where: card.where.map(blockOf) }));
const house = {
  ...wiredHouse(asked),
  cardsFor: (model) => asked.byModel[model].map((doc) => cards[doc]),
  needCards: () => {},
  cardOf: (doc) => cards[doc],
};
answer(asked.units.map(([model, serial, day]) => outcome(() => {
  const today = dayOf(day);
  const plate = plateOf(house, makeUnit(house, model, serial, today), today);
  return [plateJson(house, plate), plateJson(house, plate, true)];
})));
"""


def _cards(lookup: Lookup) -> dict[str, Any]:
    """Return the bulletins in force and which of them can mean each model, newest first."""
    standing = lookup.standing_cards()
    place = {card.number: doc for doc, card in enumerate(standing)}
    return {
        "cards": [
            {
                "doc": doc,
                "number": card.number,
                "title": card.title,
                "kind": card.kind,
                "issued": card.issued,
                "where": [block_to_json(block) for block in card.where],
                "age": {"years": card.age.years, "advice": card.age.advice} if card.age else None,
            }
            for doc, card in enumerate(standing)
        ],
        "byModel": {
            model: [place[card.number] for card in lookup.cards_for(model)]
            for model in lookup.model_names
        },
    }


def _plates(lookup: Lookup, asked: Asked) -> Any:
    try:
        plate = read_plate(lookup, *asked)
    except NotFound as error:
        return {"message": error.message, "remedy": error.remedy}
    return [plate.as_json(), plate.as_json(everything=True)]


def _compare_plates(lookup: Lookup, units: list[Asked]) -> int:
    tables = Tables(families=lookup.families, schemes=lookup.schemes)
    payload = _asked(tables, units, []) | _cards(lookup)
    found = ask_node(PLATES, payload)
    wanted = [_plates(lookup, asked) for asked in units]
    assert found == json.loads(json.dumps(wanted))
    return sum(len(each[0]["bulletins"]) for each in wanted if isinstance(each, list))


def _units_of(lookup: Lookup, rng: random.Random, each: int) -> list[Asked]:
    schemes = list(lookup.schemes.values())
    units: list[Asked] = []
    for model in lookup.model_names:
        for _ in range(each):
            serial = rng.choice(["", some_serial(rng, rng.choice(schemes), rng.random() < 0.9)])
            digit = rng.choice(["", "2", "/5"])
            today = rng.choice([date(2026, 11, 25), date(2031, 3, 1), date(2019, 7, 7)])
            units.append((model + digit, serial, today))
    return [*units, ("TD99Z", "", TODAY), ("", "K P 14 00031", TODAY)]


def test_the_plates_of_the_demonstration_house_are_those_of_the_desk(tmp_path: Path) -> None:
    store.write(tmp_path / "kb.sqlite", read_house(DEMO), {})
    lookup = Lookup(tmp_path / "kb.sqlite")
    assert _compare_plates(lookup, _units_of(lookup, random.Random("plates"), 12)) > 1000
    lookup.close()


def test_the_plates_of_a_house_with_every_standing_are_those_of_the_desk(tmp_path: Path) -> None:
    store.write(tmp_path / "kb.sqlite", read_house(write_house(tmp_path / "bulletins")), {})
    lookup = Lookup(tmp_path / "kb.sqlite")
    assert _compare_plates(lookup, _units_of(lookup, random.Random("standings"), 30)) > 100
    lookup.close()
