"""Readers of the JSON cases in tests/cases, which the browser's half is held to as well."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Literal, cast

from kb.dates import Days, parse_days
from kb.records import Block, Count, Family, Scheme, SchemeUse, SerialRange

CASES = Path(__file__).parent / "cases"


@dataclass(frozen=True)
class Tables:
    """Families and schemes: what of a house is needed to read rating plates."""

    families: Mapping[str, Family] = field(default_factory=dict)
    schemes: Mapping[str, Scheme] = field(default_factory=dict)


def load(name: str) -> Any:
    """Return what stands in tests/cases/NAME."""
    return json.loads((CASES / name).read_text(encoding="utf-8"))


def days(text: str) -> Days:
    """Return a range as written in a case; blank is any time."""
    return parse_days(text) if text else Days()


def scheme(name: str, entry: Mapping[str, Any]) -> Scheme:
    """Return a scheme as written in a case."""
    return Scheme(
        name=name,
        layout=str(entry["layout"]).replace(" ", ""),
        plants=entry.get("plants", {}),
        year_letters=entry.get("year_letters", ""),
        year_first=entry.get("year_first", 0),
        month_letters=entry.get("month_letters", ""),
        week=cast(Literal["iso", "jan-1"], entry.get("week", "iso")),
        used=days(entry.get("used", "")),
    )


def family(name: str, entry: Mapping[str, Any]) -> Family:
    """Return a family as written in a case."""
    return Family(
        name=name,
        product=entry.get("product", "machine"),
        models=tuple(entry["models"]),
        produced=days(entry.get("produced", "")),
        schemes=tuple(SchemeUse(name, days(used)) for name, used in entry["schemes"].items()),
    )


def tables(entry: Mapping[str, Any]) -> Tables:
    """Return the families and schemes of a file of cases."""
    return Tables(
        families={name: family(name, f) for name, f in entry.get("families", {}).items()},
        schemes={name: scheme(name, s) for name, s in entry["schemes"].items()},
    )


def count(text: str) -> Count:
    """Return a range of revisions as written in a case."""
    low, dots, high = text.partition("..")
    if not dots:
        high = low
    return Count(int(low) if low else None, int(high) if high else None)


def block(entry: Mapping[str, Any]) -> Block:
    """Return a block as written in a case."""
    serials = (text.partition("..") for text in entry.get("serials", ()))
    return Block(
        families=tuple(entry.get("family", ())),
        models=tuple(entry.get("models", ())),
        revision=count(entry["revision"]) if "revision" in entry else None,
        built=days(entry["built"]) if "built" in entry else None,
        plants=tuple(entry.get("plant", ())),
        serials=tuple(SerialRange(first, last or first) for first, _, last in serials),
        but_not=tuple(block(other) for other in entry.get("except", ())),
    )


def day(text: str) -> date:
    """Return one day."""
    return date.fromisoformat(text)
