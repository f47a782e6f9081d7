"""Families, models and spans of production: what applies to a unit, found by its plate alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from kb.dates import show_days
from kb.folding import fold_name
from kb.making import facts
from kb.pages.byname import natural
from kb.pages.desk import Desk
from kb.pages.feeds import feed_way
from kb.pages.lists import Entry, cut, entries
from kb.pages.page import Page, Unit, Way, address, file_of
from kb.pages.where import plain_days
from kb.records import Bulletin, Family
from kb.slugs import folders
from kb.spans import PrefixRow, Span, Sweep


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


def _sweep(family: Family, desk: Desk) -> Sweep:
    """Return what the spans of the models of *family* are swept with, made once for all of them."""
    today = desk.today  # looked up for each model: its page hangs on the day
    where = {b.number: b.where for b in desk.families.bulletins[fold_name(family.name)]}
    return desk.once(("sweep", family.name), lambda: Sweep(family, where, desk.house, today))


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
    if family.produced.first is None:  # then it begins with the first day that is told of any model
        desk.families.of(fold_name(family.name))
    found = _sweep(family, desk).spans(model)
    names = folders((span.name for span in found), plain=False)
    place = desk.model_places[model]
    hrefs = [address("models", place, names[span.name]) for span in found]
    listed = entries(_told_of(found, desk), desk)
    data = {
        "title": f"{model} {family.product}",
        "model": model,
        "family": family,
        "family_way": desk.families.way(family.name),
        "stretches": list(map(_stretch, found, hrefs)),
    }
    yield from cut(("models", place), "model.html", data, "entries", listed)
    shown = {entry.number: entry for entry in listed}
    for span, earlier, later in zip(found, ["", *hrefs], [*hrefs[1:], ""], strict=False):
        yield from _span(span, (place, names[span.name]), (earlier, later), data, shown)


def _told_of(found: Iterable[Span], desk: Desk) -> list[Bulletin]:
    """Return the bulletins that any of the spans names, the newest first."""
    order = desk.once(("order", ""), lambda: {b.number: at for at, b in enumerate(desk.standing)})
    numbers = {number for span in found for number in (*span.yes, *span.maybe)}
    return [desk.by_number_exact[number] for number in sorted(numbers, key=order.__getitem__)]


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
    shown: Mapping[str, Entry],
) -> Iterator[Page]:
    yes, maybe = ([shown[number] for number in numbers] for numbers in (span.yes, span.maybe))
    data = {
        "title": f"{model['model']}, serial {span.name}",
        "model": model["model"],
        "model_href": address("models", place[0]),
        "product": model["family"].product,
        "days": _days(span),
        "prefixes": prefixes(span.rows),
        "maybe": _settled(maybe, span.settle),
        "earlier": around[0],
        "later": around[1],
    }
    yield from cut(("models", *place), "span.html", data, "yes", yes)


def _settled(maybe: Sequence[Entry], settle: Sequence[str]) -> list[tuple[Entry, str]]:
    return list(zip(maybe, settle, strict=True))
