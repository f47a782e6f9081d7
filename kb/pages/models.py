"""Families, models and spans of production: what applies to a unit, found by its plate alone."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from kb.dates import show_days
from kb.folding import fold_name
from kb.making import facts
from kb.pages.desk import Desk, natural
from kb.pages.feeds import feed_way
from kb.pages.lists import Entry, cut, entries
from kb.pages.page import Page, Unit, Way, address, file_of
from kb.pages.where import plain_days
from kb.records import Block, Family
from kb.slugs import folders
from kb.spans import PrefixRow, Span, for_family, spans


@dataclass(frozen=True, slots=True)
class Prefix:
    """How serials of one plant begin in a span; *note* warns where a neighbour shares an end."""

    plant: str
    first: str
    last: str
    note: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """A span as the model's table shows it."""

    way: Way
    days: str
    prefixes: tuple[Prefix, ...]
    yes: int
    maybe: int


def units(desk: Desk) -> Iterator[Unit]:
    """Yield the pages of families, models and spans, and the lists that lead to them."""
    for family in sorted(desk.house.families.values(), key=lambda f: natural(f.name)):
        yield Unit(f"family {family.name}", partial(_family, family, desk))
        for model in family.models:
            yield Unit(f"model {model}", partial(_model, family, model, desk))
    yield Unit("families", partial(_lists, desk))


def _open_to(family: Family, desk: Desk) -> Mapping[str, tuple[Block, ...]]:
    """Return where each bulletin in force applies that can mean *family*, by number."""
    every = desk.once(("where", ""), lambda: {b.number: b.where for b in desk.standing})
    return desk.once(("open to", family.name), lambda: for_family(family, every))


def _lists(desk: Desk) -> Iterator[Page]:
    families = {
        "title": "Families",
        "lead": "A family is a product line that shares its construction.",
        "groups": [_group(family, desk) for family in desk.house.families.values()],
    }
    yield Page(file_of("families"), "families.html", families)
    models = sorted((m for f in desk.house.families.values() for m in f.models), key=natural)
    lead = "The model number stands on the rating plate; the last digit there is the revision."
    ways = [desk.model_way(model) for model in models]
    yield from cut(("models",), "ways.html", {"title": "Models", "lead": lead}, "ways", ways)


def _group(family: Family, desk: Desk) -> Mapping[str, Any]:
    return {
        "way": desk.families.way(family.name),
        "product": family.product,
        "models": [desk.model_way(model) for model in family.models],
    }


def _family(family: Family, desk: Desk) -> Iterator[Page]:
    key = fold_name(family.name)
    data = {
        "title": f"{family.name} {family.product}",
        "family": family,
        "produced": show_days(family.produced),
        "feed": feed_way(family.name, desk),
        "models": [desk.model_way(model) for model in family.models],
    }
    items = entries(desk.families.of(key), desk)
    yield from cut(("families", desk.families.place(key)), "family.html", data, "entries", items)


def _model(family: Family, model: str, desk: Desk) -> Iterator[Page]:
    desk.saw(facts.reach(model))
    found = spans(family, model, _open_to(family, desk), desk.house, desk.today)
    names = folders((span.name for span in found), plain=False)
    place = desk.model_places[model]
    numbers = dict.fromkeys(n for span in found for n in (*span.yes, *span.maybe))
    data = {
        "title": f"{model} {family.product}",
        "model": model,
        "family": family,
        "family_way": desk.families.way(family.name),
        "stretches": [_stretch(span, address("models", place, names[span.name])) for span in found],
    }
    standing = [b for b in desk.standing if b.number in numbers]
    yield from cut(("models", place), "model.html", data, "entries", entries(standing, desk))
    for at, span in enumerate(found):
        steps = [address("models", place, names[s.name]) for s in found]
        around = (steps[at - 1] if at else "", steps[at + 1] if at + 1 < len(found) else "")
        yield from _span(span, (place, names[span.name]), around, data, desk)


def _stretch(span: Span, href: str) -> Stretch:
    return Stretch(
        Way(span.name, href),
        _days(span),
        prefixes(span.rows),
        len(span.yes),
        len(span.maybe),
    )


def _days(span: Span) -> str:
    said = plain_days(span.days)
    return f"{said.rpartition(' to ')[0] or said} or later" if span.latest else said


def prefixes(rows: Sequence[PrefixRow]) -> tuple[Prefix, ...]:
    """Return how serials begin, a line for each plant and scheme."""
    return tuple(
        Prefix(
            f"{row.plant_name} ({row.plant})" if row.plant_name else row.plant,
            row.first,
            row.last,
            _shared(row),
        )
        for row in rows
    )


def _shared(row: PrefixRow) -> str:
    ends = [
        p for p, whole in ((row.first, row.first_whole), (row.last, row.last_whole)) if not whole
    ]
    named = " and ".join(dict.fromkeys(ends))
    return f"{named} also belongs to the next stretch: see there too" if named else ""


def _span(
    span: Span,
    place: tuple[str, str],
    around: tuple[str, str],
    model: Mapping[str, Any],
    desk: Desk,
) -> Iterator[Page]:
    yes = [desk.by_number_exact[number] for number in span.yes]
    maybe = [desk.by_number_exact[number] for number in span.maybe]
    data = {
        "title": f"{model['model']}, serial {span.name}",
        "model": model["model"],
        "model_href": address("models", place[0]),
        "product": model["family"].product,
        "days": _days(span),
        "prefixes": prefixes(span.rows),
        "maybe": _settled(entries(maybe, desk), span.settle),
        "earlier": around[0],
        "later": around[1],
    }
    yield from cut(("models", *place), "span.html", data, "yes", entries(yes, desk))


def _settled(maybe: Sequence[Entry], settle: Sequence[str]) -> list[tuple[Entry, str]]:
    return list(zip(maybe, settle, strict=True))
