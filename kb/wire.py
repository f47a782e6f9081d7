"""Records as plain JSON values and back: how the store keeps what has no columns of its own."""

from __future__ import annotations

from datetime import date
from typing import Any

from kb.dates import Days
from kb.records import Block, Count, Example, Scheme, SerialRange
from kb.serials import sample_of

Json = dict[str, Any]


def day_text(day: date | None) -> str | None:
    """Return an ISO date, or None for an open end."""
    return day.isoformat() if day else None


def day_of(text: str | None) -> date | None:
    """Return the date of an ISO text, or None."""
    return date.fromisoformat(text) if text else None


def days_of(first: str | None, last: str | None) -> Days:
    """Return the stretch of days between two ISO texts."""
    return Days(day_of(first), day_of(last))


def block_to_json(block: Block) -> Json:
    """Return a block with only what is given in it."""
    given: Json = {
        "families": list(block.families),
        "models": list(block.models),
        "plants": list(block.plants),
        "serials": [[each.first, each.last] for each in block.serials],
        "but_not": [block_to_json(each) for each in block.but_not],
    }
    if block.revision:
        given["revision"] = [block.revision.low, block.revision.high]
    if block.built:
        given["built"] = [day_text(block.built.first), day_text(block.built.last)]
    return {key: value for key, value in given.items() if value}


def block_of(given: Json) -> Block:
    """Return the block that ``block_to_json`` wrote."""
    return Block(
        families=tuple(given.get("families", ())),
        models=tuple(given.get("models", ())),
        revision=Count(*given["revision"]) if "revision" in given else None,
        built=days_of(*given["built"]) if "built" in given else None,
        plants=tuple(given.get("plants", ())),
        serials=tuple(SerialRange(*each) for each in given.get("serials", ())),
        but_not=tuple(block_of(each) for each in given.get("but_not", ())),
    )


def scheme_to_json(scheme: Scheme) -> Json:
    """Return what a scheme's characters mean, with one sound serial as a sample.

    *codes* are the plants' codes in order: a reader may sort the keys of *plants*.
    """
    return {
        "layout": scheme.layout,
        "plants": dict(scheme.plants),
        "codes": list(scheme.plants),
        "year_letters": scheme.year_letters,
        "year_first": scheme.year_first,
        "month_letters": scheme.month_letters,
        "week": scheme.week,
        "used": [day_text(scheme.used.first), day_text(scheme.used.last)],
        "sample": sample_of(scheme),
    }


def scheme_of(name: str, given: Json) -> Scheme:
    """Return the scheme that ``scheme_to_json`` wrote, its sample serial as the only example."""
    return Scheme(
        name=name,
        layout=given["layout"],
        plants=given["plants"],
        year_letters=given["year_letters"],
        year_first=given["year_first"],
        month_letters=given["month_letters"],
        week=given["week"],
        used=days_of(*given["used"]),
        examples=(Example(serial=given["sample"]),),
    )
