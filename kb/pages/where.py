"""Where a bulletin applies, in words and as the rows of a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from kb.dates import Days, show_days
from kb.folding import fold
from kb.pages.desk import Desk
from kb.pages.page import Way
from kb.prefixes import prefix_of
from kb.records import Block, Bulletin, Count, Family, Scheme, SerialRange
from kb.serials import uses_of


@dataclass(frozen=True, slots=True)
class Row:
    """One way in which a bulletin applies, ready to be shown.

    *models* are grouped by family; *whole* tells for each whether all of the family is meant.
    *days* says the range of production in plain dates, *prefixes* how serials begin then.
    """

    families: tuple[tuple[Way, str, tuple[Way, ...], bool], ...]
    built: str
    days: str
    prefixes: tuple[str, ...]
    plants: tuple[str, ...]
    revision: str
    serials: tuple[str, ...]
    but_not: tuple[str, ...]


def rows(bulletin: Bulletin, desk: Desk) -> list[Row]:
    """Return a row for each block of *bulletin*."""
    return [_row(block, desk) for block in bulletin.where]


def sentence(bulletin: Bulletin, desk: Desk) -> str:
    """Return where *bulletin* applies as one plain sentence without its full stop."""
    return "; or ".join(_words(block, desk) for block in bulletin.where) or "nothing named"


def _row(block: Block, desk: Desk) -> Row:
    found = desk.models_of([block])
    return Row(
        families=tuple(
            (
                desk.families.way(family.name),
                family.product,
                tuple(desk.model_way(model) for model in models),
                len(models) == len(family.models),
            )
            for family, models in found
        ),
        built=show_days(block.built) if block.built else "",
        days=plain_days(block.built) if block.built else "",
        prefixes=tuple(_prefixes(block, [family for family, _ in found], desk)),
        plants=tuple(plant_names(block.plants, [family for family, _ in found], desk)),
        revision=revision_words(block.revision).removeprefix("revision "),
        serials=tuple(serial_words(serials) for serials in block.serials),
        but_not=tuple(_words(other, desk, block) for other in block.but_not),
    )


def _words(block: Block, desk: Desk, within: Block | None = None) -> str:
    """Return a block in words; *within* is the block that it takes away from, if any.

    The conditions of what is taken away are said without commas, so that they stay together.
    """
    families = [family for family, _ in desk.models_of([within or block])]
    parts = [_models_words(block, desk, within)]
    if block.revision:
        parts.append(revision_words(block.revision))
    if block.built:
        parts.append(f"built {show_days(block.built)}")
    if block.plants:
        parts.append("from " + _either(plant_names(block.plants, families, desk)))
    if block.serials:
        parts.append("serial " + _either([serial_words(s) for s in block.serials]))
    said = (" " if within else ", ").join(filter(None, parts))
    if block.but_not:
        said += ", but not " + ", nor ".join(_words(b, desk, block) for b in block.but_not)
    return said.removeprefix(", ") or "every unit"


def _models_words(block: Block, desk: Desk, within: Block | None) -> str:
    if within is not None and not block.models and not block.families:
        return ""
    named = []
    for family, models in desk.models_of([block]):
        if within and not block.models and not block.families:
            continue
        whole = len(models) == len(family.models)
        named.append(f"all {family.name}" if whole else f"{family.name} {', '.join(models)}")
    return " and ".join(named)


def revision_words(revision: Count | None) -> str:
    """Return a range of revisions in words, "" for none."""
    if revision is None:
        return ""
    low, high = revision.low, revision.high
    if low is None and high is None:
        return "any revision"
    if low is None:
        return f"revision up to {high}"
    if high is None:
        return f"revision {low} or later"
    return f"revision {low}" if low == high else f"revision {low} to {high}"


def serial_words(serials: SerialRange) -> str:
    """Return a range of serials in words."""
    if serials.first == serials.last:
        return serials.first
    return f"{serials.first} to {serials.last}"


def plant_names(plants: Sequence[str], families: Sequence[Family], desk: Desk) -> list[str]:
    """Return plant codes with their names, as the families' serial schemes give them."""
    names: dict[str, str] = {}
    for family in families:
        for scheme, _ in uses_of(family, desk.house.schemes):
            names |= {fold(code): name for code, name in scheme.plants.items()}
    return [f"{names[fold(p)]} ({p})" if names.get(fold(p)) else p for p in plants]


def _either(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def long_date(day: date) -> str:
    """Return a day as it is said, month in letters so that no two customs collide."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def plain_days(days: Days) -> str:
    """Return a stretch of days in plain dates, "" for any time."""
    if days.first and days.last:
        if days.first == days.last:
            return long_date(days.first)
        return f"{long_date(days.first)} to {long_date(days.last)}"
    if days.first:
        return f"{long_date(days.first)} or later"
    return f"up to {long_date(days.last)}" if days.last else ""


def _prefixes(block: Block, families: Iterable[Family], desk: Desk) -> Iterator[str]:
    """Yield for each plant how the serials of the range begin: ``KS10… to KT22…``."""
    if block.built is None:
        return
    said: dict[str, None] = {}
    for family in families:
        for scheme, used in uses_of(family, desk.house.schemes):
            window = block.built.meet(used)
            for plant in _plants(scheme, block.plants) if window else ():
                said.setdefault(_stretch(scheme, plant, window or used))
    yield from filter(None, said)


def _plants(scheme: Scheme, wanted: Sequence[str]) -> list[str]:
    if not scheme.plants:
        return [""]
    folded = {fold(plant) for plant in wanted}
    return [plant for plant in scheme.plants if not folded or fold(plant) in folded]


def _stretch(scheme: Scheme, plant: str, window: Days) -> str:
    first = prefix_of(scheme, plant, window.first) if window.first else ""
    last = prefix_of(scheme, plant, window.last) if window.last else ""
    if first and last:
        return f"{first}…" if first == last else f"{first}… to {last}…"
    if first:
        return f"{first}… or later"
    return f"up to {last}…" if last else ""
