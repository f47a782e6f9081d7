"""The ways in by component, symptom and fault code: a page for each, and a list of each kind."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any

from kb.making import facts
from kb.pages.byname import Index
from kb.pages.desk import Desk
from kb.pages.lists import cut, entries
from kb.pages.page import Page, Unit, Way
from kb.records import Bulletin

Names = Callable[[Bulletin], Iterable[str]]

_LEADS = {
    "components": ("Components", "By the part of the machine that a bulletin is about."),
    "symptoms": ("Symptoms", "By what is seen, heard or smelt, in the words of those who met it."),
    "codes": ("Fault codes", "By what the display shows. Blanks, hyphens and case don't matter."),
}
KINDS = tuple(_LEADS)


def units(desk: Desk) -> Iterator[Unit]:
    """Yield the pages of all components, symptoms and codes, and their lists."""
    for index, template in (
        (desk.components, "component.html"),
        (desk.symptoms, "symptom.html"),
        (desk.codes, "code.html"),
    ):
        yield Unit(index.kind, partial(_list, index))
        for key in sorted(index.names):
            yield Unit(f"{index.kind} {key}", partial(_one, index, key, template, desk))


def _list(index: Index) -> Iterator[Page]:
    title, lead = _LEADS[index.kind]
    data = {"title": title, "lead": lead}
    yield from cut((index.kind,), "ways.html", data, "ways", index.ways())


def _one(index: Index, key: str, template: str, desk: Desk) -> Iterator[Page]:
    bulletins = index.of(key)
    desk.seen.update(facts.names(b.number) for b in bulletins)
    data: Mapping[str, Any] = {
        "title": index.names[key],
        "name": index.names[key],
        "components": _others(bulletins, desk.components, lambda b: b.component, key),
        "symptoms": _others(bulletins, desk.symptoms, lambda b: b.symptoms, key),
        "codes": _others(bulletins, desk.codes, lambda b: b.codes, key),
    }
    steps = (index.kind, index.place(key))
    yield from cut(steps, template, data, "entries", entries(bulletins, desk))


def _others(
    bulletins: Iterable[Bulletin],
    index: Index,
    names: Callable[[Bulletin], Iterable[str]],
    own: str,
) -> list[Way]:
    """Return what else these bulletins name, in order of first mention, *own* left out."""
    found = {index.fold(n): n for b in bulletins for n in names(b) if index.fold(n) != own}
    return [index.way(index.names[key]) for key in found if key in index.names][:40]
