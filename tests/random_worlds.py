"""Made-up houses with layouts of every kind, and units, serials and blocks drawn from them."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Literal

from kb.dates import Days
from kb.prefixes import compose
from kb.records import Block, Count, Example, Family, Scheme, SchemeUse, SerialRange
from tests.shared_cases import Tables

_EPOCH = date(1990, 1, 1)
_SPAN = 15000  # days from the first to the last that are drawn: to 2031
_LATER = 9000  # days until the made-up serials begin: in 2014
_DATES = ("WW", "JJJ", "MM", "MMDD", "M", "WWD", "WWMM", "DDMM", "")
_LETTERS = "ABCDEFHJKLMNPRSTUVWX"
_TYPED = " -.0123456789ABCKLOQISZXYm\u2010\u00a0\uff11"


def some_day(rng: random.Random, first: int = 0, last: int = _SPAN) -> date:
    """Return a day between 1990 and 2031, or within so many days from 1990."""
    return _EPOCH + timedelta(days=rng.randrange(first, last))


def some_days(rng: random.Random) -> Days:
    """Return a stretch of days, an end of which may be open; whole weeks, months or years too."""
    first = some_day(rng)
    last = first + timedelta(days=rng.choice([0, 6, 29, 365, 900, 4000]))
    kind = rng.random()
    if kind < 0.25:
        first, last = first.replace(day=1), last.replace(day=1) - timedelta(days=1)
        last = max(first, last)
    elif kind < 0.5:
        first -= timedelta(days=first.weekday())
        last += timedelta(days=6 - last.weekday())
    elif kind < 0.6:
        first, last = date(first.year, 1, 1), date(last.year, 12, 31)
    return Days(first if rng.random() < 0.8 else None, last if rng.random() < 0.8 else None)


def some_scheme(rng: random.Random, name: str) -> Scheme:
    """Return a scheme whose layout has any of the places, together or parted, in any order."""
    width = rng.choice([1, 1, 1, 2])
    year = rng.choice(["Y", "Y", "YY", "YYYY", ""])
    when = rng.choice(_DATES)
    parts = [
        "P" * width if rng.random() < 0.7 else "",
        year,
        when,
        "N" * rng.choice([0, 1, 3, 5]),
        "X" * rng.choice([0, 0, 0, 2]),
    ]
    rng.shuffle(parts)
    signs = list("".join(parts) or "NN")
    if rng.random() < 0.15:
        rng.shuffle(signs)
    codes = rng.sample(["K", "L", "S", "2", "1", "9"], rng.randint(0, 3))
    week: Literal["iso", "jan-1"] = "iso" if rng.random() < 0.6 else "jan-1"
    plain = year == "Y" and rng.random() < 0.6
    scheme = Scheme(
        name=name,
        layout="".join(signs),
        plants={code * width: f"works {code}" for code in codes},
        year_letters=_LETTERS[: rng.choice([3, 8, 20])] if plain else "",
        year_first=rng.choice([1970, 1988, 2000, 2010]) if plain else 0,
        month_letters="123456789OND" if when == "M" else "",
        week=week,
        used=some_days(rng) if rng.random() < 0.3 else Days(),
    )
    if rng.random() < 0.5:
        return scheme
    return replace(scheme, examples=(Example(serial=some_serial(rng, scheme, sound=True)),))


def some_world(rng: random.Random) -> Tables:
    """Return two families whose models resemble one another, over three schemes."""
    schemes = [some_scheme(rng, f"scheme-{n}") for n in range(3)]
    families = [
        Family(
            name=name,
            product="machine",
            models=models,
            produced=some_days(rng)
            if rng.random() < 0.4
            else Days(some_day(rng, last=_LATER), None),
            schemes=tuple(
                SchemeUse(scheme.name, some_days(rng) if rng.random() < 0.2 else Days())
                for scheme in rng.sample(schemes, rng.choice([0, 1, 1, 1, 2, 3]))
            ),
        )
        for name, models in (
            ("Tarn", ("TD45A", "TD45B", "TD4", "TD45")),
            ("Cairn wash", ("CW-9", "CW9.1", "7C", "Ølm 3")),
        )
    ]
    return Tables(
        families={family.name: family for family in families},
        schemes={scheme.name: scheme for scheme in schemes},
    )


def some_serial(rng: random.Random, scheme: Scheme, sound: bool = False) -> str:
    """Return a serial composed by *scheme*; unless *sound*, perhaps mistyped in a place or two."""
    plant = rng.choice(list(scheme.plants) if scheme.plants and rng.random() < 0.95 else ["K"])
    try:
        text = compose(scheme, plant, some_day(rng, _LATER), rng.choice([0, 7, 31, 9999]))
    except IndexError:
        text = scheme.layout
    if sound:
        return text
    for _ in range(rng.choice([0, 0, 0, 0, 1, 2])):
        at = rng.randrange(len(text) + 1)
        drop = rng.randrange(2)
        text = text[:at] + rng.choice(_TYPED) * rng.randrange(2) + text[at + drop :]
    if rng.random() < 0.2:
        text = " ".join(text.lower())
    return text


def some_model(rng: random.Random, family: Family) -> str:
    """Return a model with or without a revision, as a person types it; sometimes mistyped."""
    text = rng.choice(family.models) + rng.choice(["", "", "", "3", "/12", " 0", "/", "123", "-4"])
    if rng.random() < 0.25:
        at = rng.randrange(len(text))
        text = text[:at] + rng.choice(_TYPED) + text[at + rng.randrange(2) :]
    return text.lower() if rng.random() < 0.3 else text


def some_range(rng: random.Random, schemes: Sequence[Scheme]) -> SerialRange:
    """Return a range of serials of one scheme, or a single serial; not always in order."""
    scheme = rng.choice(schemes)
    first = some_serial(rng, scheme, sound=rng.random() < 0.9)
    if rng.random() < 0.3:
        return SerialRange(first, first)
    last = some_serial(rng, scheme, sound=rng.random() < 0.9)
    if rng.random() < 0.7:
        at = rng.randrange(len(first) + 1)
        last = max(first[:at] + last[at:], first)
    return SerialRange(first, last)


def some_block(rng: random.Random, world: Tables, depth: int = 0) -> Block:
    """Return a block with any conditions, and exceptions that may have their own."""
    schemes = list(world.schemes.values())
    low = rng.randrange(6)
    plants = [code for scheme in schemes for code in scheme.plants] + ["K", "k", "ZZ"]
    exceptions = rng.choice([0, 0, 1, 2]) if depth < 2 else 0
    return Block(
        families=tuple(
            rng.sample(["Tarn", "cairn  WASH", "Cairn wash", "Scree"], rng.randint(1, 2))
        )
        if rng.random() < 0.3
        else (),
        models=(rng.choice(["TD*", "*", "cw?9*", "CW9", "T?45", "*4*", "[T]D*", "ølm3"]),)
        if rng.random() < 0.3
        else (),
        revision=rng.choice([Count(low), Count(None, low), Count(low, low + 2), Count(low, low)])
        if rng.random() < 0.3
        else None,
        built=some_days(rng) if rng.random() < 0.55 else None,
        plants=tuple(rng.sample(plants, rng.randint(1, 2))) if rng.random() < 0.3 else (),
        serials=tuple(some_range(rng, schemes) for _ in range(rng.randint(1, 3)))
        if rng.random() < 0.35
        else (),
        but_not=tuple(some_block(rng, world, depth + 1) for _ in range(exceptions)),
    )


def some_where(rng: random.Random, world: Tables) -> tuple[Block, ...]:
    """Return up to three alternatives; now and then none."""
    return tuple(some_block(rng, world) for _ in range(rng.choice([0, 1, 1, 1, 1, 2, 3])))
