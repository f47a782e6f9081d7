"""Which facts differ between two publishes; rather one too many than one too few."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from kb.folding import fold, fold_name
from kb.making import facts
from kb.records import Bulletin, KitRow, PartRow

Places = Mapping[str, Mapping[str, tuple[str, str]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What a house looked like when it was published; plain data, to be kept.

    *ground* stands for what every page is made from: program, templates, tables of families,
    schemes and words. *bulletins* are those that have a page, by number, with *digests* of their
    files. *places* gives, by kind of page, for each folded name how it is written and its folder.
    *tables* are digests of the part lists, *files* what other files of the house look like.
    """

    ground: str
    today: str
    bulletins: Mapping[str, Bulletin]
    digests: Mapping[str, str]
    superseded: Mapping[str, str]
    families: Mapping[str, tuple[str, ...]]
    models: Callable[[Bulletin], Iterable[str]]
    places: Places
    tables: Mapping[str, str]
    parts: tuple[PartRow, ...]
    kits: tuple[KitRow, ...]
    files: Mapping[str, Any]


def changed(before: View, after: View) -> set[str] | None:
    """Return the facts that may differ, or None where every page has to be made anew."""
    if before.ground != after.ground:
        return None
    found: set[str] = set()
    if before.today != after.today:
        found.add(facts.TODAY)
    for number in _touched(before, after):
        found.update(_of_bulletin(number, before, after))
    found.update(_of_places(before.places, after.places))
    if before.tables != after.tables:
        found.update(map(facts.part, _tied(_rows_changed(before, after), before, after)))
        found.add(facts.ways("parts"))
    found.update(map(facts.file, _differing(before.files, after.files)))
    return found


def _differing(one: Mapping[str, Any], other: Mapping[str, Any]) -> set[str]:
    return {key for key in one.keys() | other.keys() if one.get(key) != other.get(key)}


def _touched(before: View, after: View) -> set[str]:
    """Return the numbers of bulletins that differ, or that stand where they did not before."""
    turned = _differing(before.superseded, after.superseded)
    numbers = before.bulletins.keys() | after.bulletins.keys()
    found = _differing(before.digests, after.digests)
    return found | {number for number in numbers if turned and fold(number) in turned}


def _of_bulletin(number: str, before: View, after: View) -> Iterator[str]:
    was, now = before.bulletins.get(number), after.bulletins.get(number)
    stood, stands = _stands(was, before), _stands(now, after)
    yield facts.content(number)
    if _told(was, before, _CARD) != _told(now, after, _CARD):
        yield facts.card(number)
    if _told(was, before, _NAMES) != _told(now, after, _NAMES):
        yield facts.names(number)
    if (was and was.title) != (now and now.title):
        yield facts.known(number)
        yield facts.PUBLISHED
    if stood != stands or before.superseded.get(fold(number)) != after.superseded.get(fold(number)):
        yield facts.successor(number)
    yield from map(facts.naming, _all("related", was, now))
    yield from _of_names(was if stood else None, now if stands else None, before, after)
    if stood or stands:
        yield from _of_dates(was, now, stood != stands)
    if not (was and now) or was.status != now.status:
        yield facts.PUBLISHED


_CARD = ("title", "kind", "issued", "component", "where", "status")
_NAMES = ("component", "symptoms", "codes")


def _told(bulletin: Bulletin | None, view: View, keys: Iterable[str]) -> object:
    return bulletin and [getattr(bulletin, key) for key in keys]


def _all(key: str, *bulletins: Bulletin | None) -> list[str]:
    return [each for bulletin in bulletins if bulletin for each in getattr(bulletin, key)]


def _stands(bulletin: Bulletin | None, view: View) -> bool:
    if bulletin is None or bulletin.status != "in-force":
        return False
    return fold(bulletin.number) not in view.superseded


def _parts_of(bulletin: Bulletin) -> tuple[str, ...]:
    checked = [number for check in bulletin.checks for number in check.parts]
    return (*(line.number for line in bulletin.parts), *checked, *bulletin.keep)


_KINDS: tuple[tuple[str, Callable[[str], str], Callable[[Bulletin], Iterable[str]]], ...] = (
    ("components", fold_name, lambda b: b.component),
    ("symptoms", fold_name, lambda b: b.symptoms),
    ("codes", fold, lambda b: b.codes),
    ("parts", fold, _parts_of),
)


def _of_names(
    was: Bulletin | None, now: Bulletin | None, before: View, after: View
) -> Iterator[str]:
    """Yield what differs in the lists by name, for a bulletin as it stood and as it stands."""
    moved = (was and was.issued) != (now and now.issued)
    for kind, key, of in _KINDS:
        old, new = tuple(of(was)) if was else (), tuple(of(now)) if now else ()
        if moved or old != new:
            yield facts.ways(kind)
            yield from (facts.member(kind, key(" ".join(n.split()))) for n in {*old, *new})
    if moved or (was and was.where) != (now and now.where):
        for bulletin, view in ((was, before), (now, after)):
            if bulletin:
                names = view.families[bulletin.number]
                yield from (facts.member("families", fold_name(name)) for name in names)
                yield from map(facts.reach, after.models(bulletin))


def _of_dates(was: Bulletin | None, now: Bulletin | None, turned: bool) -> Iterator[str]:
    old, new = _dates(was), _dates(now)
    if turned or old != new:
        yield facts.STANDING
        yield from map(facts.quarter_of, {*old, *new})


def _dates(bulletin: Bulletin | None) -> tuple[Any, ...]:
    return tuple(day for day in (bulletin.issued, bulletin.revised) if day) if bulletin else ()


def _of_places(before: Places, after: Places) -> Iterator[str]:
    """Yield what differs in how names are written and where their pages lie."""
    for kind in before.keys() | after.keys():
        for key in _differing(before.get(kind, {}), after.get(kind, {})):
            if kind == "bulletins":
                yield facts.known(key)
            else:
                yield facts.member(kind, key)
                yield facts.ways(kind)


# Parts


def _rows_changed(before: View, after: View) -> set[str]:
    """Return the folded numbers whose rows differ."""
    rows: set[PartRow] = {*before.parts} ^ {*after.parts}
    kits: set[KitRow] = {*before.kits} ^ {*after.kits}
    found = {row.number for row in rows} | {row.replaced_by for row in rows}
    return set(map(fold, found | {row.kit for row in kits} | {row.number for row in kits}))


def _tied(numbers: set[str], before: View, after: View) -> set[str]:
    """Return *numbers* and all that substitution or kits tie them to, as it was and as it is."""
    beside: dict[str, list[str]] = {}
    for view in (before, after):
        pairs = [(row.number, row.replaced_by) for row in view.parts if row.replaced_by]
        pairs += [(row.kit, row.number) for row in view.kits]
        for one, other in pairs:
            beside.setdefault(fold(one), []).append(fold(other))
            beside.setdefault(fold(other), []).append(fold(one))
    found, edge = set(numbers), list(numbers)
    while edge:
        edge = [n for number in edge for n in beside.get(number, ()) if n not in found]
        found.update(edge)
    return found
