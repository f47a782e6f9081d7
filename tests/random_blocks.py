"""A small made-up world, and blocks and serials drawn from it, for tests against slow answers."""

from __future__ import annotations

import random
from datetime import date, timedelta

from kb.dates import Days, parse_days
from kb.records import Block, Count, Family, Scheme, SchemeUse, SerialRange
from tests.shared_cases import Tables
from tests.slow_units import calendar

TODAY = date(2024, 5, 15)
WHOLE = calendar(date(2014, 1, 1), date(2026, 12, 31))

# Cycles of three and four years, so that a serial has up to three readings within ten years.
_SCHEMES = [
    Scheme(
        name="turn",
        layout="PYWWNN",
        plants={"K": "one", "L": "two"},
        year_letters="ABC",
        year_first=2014,
        used=parse_days("2014..2025"),
    ),
    Scheme(
        name="days",
        layout="YJJJPN",
        plants={"K": "one", "S": "three"},
        year_letters="EFGH",
        year_first=2014,
        used=parse_days("2015-03..2022-06-17"),
    ),
    Scheme(name="months", layout="YYMMNN", used=parse_days("2014..2025")),
    Scheme(
        name="weeks",
        layout="WWYYPN",
        plants={"L": "two", "S": "three"},
        week="jan-1",
        used=parse_days("2019..2026"),
    ),
]
_FAMILIES = [
    Family(
        name="Tarn",
        product="dishwasher",
        models=("TD45", "TD60", "TE45"),
        produced=parse_days("2015-W20.."),
        schemes=(SchemeUse("turn"),),
    ),
    Family(
        name="Cairn",
        product="washer",
        models=("CW7", "CW9"),
        produced=parse_days("2016-03-09..2023-02"),
        schemes=(SchemeUse("days"), SchemeUse("weeks", parse_days("2021-04-07.."))),
    ),
    Family(
        name="Scree",
        product="dryer",
        models=("SD7", "SD9"),
        produced=parse_days("2017..2021"),
        schemes=(SchemeUse("months"),),
    ),
]
FAMILIES = _FAMILIES
WORLD = Tables(
    families={family.name: family for family in _FAMILIES},
    schemes={scheme.name: scheme for scheme in _SCHEMES},
)


def made_serial(rng: random.Random, scheme: Scheme, day: date) -> str:
    """Return a serial of *scheme* for *day* with any plant and number."""
    year = str(day.isocalendar()[0] if scheme.name == "turn" else day.year)[-2:]
    number = str(rng.randrange(10))
    plant = rng.choice(list(scheme.plants) or ["-"])
    if scheme.name == "turn":
        letter = "ABC"[(day.isocalendar()[0] - 2014) % 3]
        return f"{plant}{letter}{day.isocalendar()[1]:02}{rng.randrange(100):02}"
    if scheme.name == "days":
        return f"{'EFGH'[(day.year - 2014) % 4]}{day:%j}{plant}{number}"
    if scheme.name == "months":
        return f"{year}{day:%m}{rng.randrange(100):02}"
    week = min((int(day.strftime("%j")) - 1) // 7 + 1, 52)
    return f"{week:02}{year}{plant}{number}"


def random_day(rng: random.Random) -> date:
    """Return a day somewhere in or around production."""
    return date(2014, 6, 1) + timedelta(days=rng.randrange(11 * 365))


def random_serial(rng: random.Random, family: Family) -> str:
    """Return no serial, a readable one, or one that may be out of production or of reach."""
    if rng.random() < 0.25:
        return ""
    scheme = WORLD.schemes[rng.choice(family.schemes).name]
    return made_serial(rng, scheme, random_day(rng))


def _days(rng: random.Random) -> Days:
    first = random_day(rng)
    last = first + timedelta(days=rng.choice([0, 3, 6, 40, 400, 1500]))
    if rng.random() < 0.5:
        first -= timedelta(days=first.weekday())
        last += timedelta(days=6 - last.weekday())
    kind = rng.random()
    return Days(None if kind < 0.2 else first, None if kind > 0.8 else last)


def _serials(rng: random.Random) -> SerialRange:
    scheme = rng.choice(_SCHEMES)
    first = random_day(rng)
    length = rng.choice([0, 20, 300])
    one = made_serial(rng, scheme, first)
    return SerialRange(
        one, made_serial(rng, scheme, first + timedelta(days=length)) if length else one
    )


def random_block(rng: random.Random, depth: int = 0, serials: bool = True) -> Block:
    """Return a block with a few conditions and perhaps exceptions, which may have their own."""
    low = rng.randrange(1, 7)
    odds = 0.35 if depth == 0 else 0.45
    return Block(
        families=tuple(rng.sample(["Tarn", "Cairn", "Scree"], 2)) if rng.random() < odds else (),
        models=(rng.choice(["TD*", "*45", "C?9", "*", "SD7", "??7"]),)
        if rng.random() < 0.3
        else (),
        revision=rng.choice([Count(low), Count(None, low), Count(low, low + 2)])
        if rng.random() < 0.25
        else None,
        built=_days(rng) if rng.random() < 0.6 else None,
        plants=tuple(rng.sample("KLS", rng.randint(1, 2))) if rng.random() < 0.3 else (),
        serials=tuple(_serials(rng) for _ in range(rng.randint(1, 2)))
        if serials and rng.random() < 0.25
        else (),
        but_not=tuple(
            random_block(rng, depth + 1, serials)
            for _ in range(rng.choice([0, 0, 1, 2]) if depth < 2 else 0)
        ),
    )


def random_where(rng: random.Random, serials: bool = True) -> tuple[Block, ...]:
    """Return one to three alternatives."""
    return tuple(random_block(rng, serials=serials) for _ in range(rng.choice([1, 1, 2, 3])))
