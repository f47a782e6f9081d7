"""Which facts differ between two publishes; rather one too many than one too few."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from kb.folding import fold, fold_name
from kb.making import facts
from kb.records import Bulletin, KitRow, PartRow

Places = Mapping[str, Mapping[str, tuple[str, str]]]
Row = tuple[Any, ...]
Models = Callable[[Bulletin], Iterable[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """What a house looked like when it was published; plain data, to be kept.

    *ground* stands for what every page is made from: program, templates, tables of families,
    schemes and words. *bulletins* are those that have a page, by number, *families* the names of
    those that each can mean. *places* gives, by kind of page, for each folded name (for bulletins:
    each number) how it is written and its folder. *parts* and *kits* hold the rows of the part
    lists, *files* what other files of the house look like.
    """

    ground: str
    today: str
    bulletins: Mapping[str, Bulletin]
    superseded: Mapping[str, str]
    families: Mapping[str, tuple[str, ...]]
    places: Places
    parts: Sequence[PartRow]
    kits: Sequence[KitRow]
    files: Mapping[str, Any]


def changed(before: View, after: View, models: Models) -> set[str] | None:
    """Return the facts that may differ, or None where every page has to be made anew.

    *models* gives the models that a bulletin can mean.
    """
    if before.ground != after.ground:
        return None
    rows = _rows_changed(before, after)
    if rows is None:
        return None
    found = set(map(facts.part, rows))
    if rows:
        found.add(facts.ways("parts"))
    if before.today != after.today:
        found.add(facts.TODAY)
    for number in _touched(before, after):
        found.update(_of_bulletin(number, before, after, models))
    found.update(_of_places(before.places, after.places))
    found.update(map(facts.file, _differing(before.files, after.files)))
    return found | {facts.number(fact.partition(" ")[2]) for fact in found if _numbered(fact)}


def _numbered(fact: str) -> bool:
    """Tell whether a fact is about something that numbers in a text can lead to."""
    return fact.startswith(("known ", "part "))


def _differing(one: Mapping[str, Any], other: Mapping[str, Any]) -> set[str]:
    return {key for key in one.keys() | other.keys() if differ(one.get(key), other.get(key))}


def differ(one: object, other: object) -> bool:
    """Tell whether two records are not the same; most are one and the same object."""
    return one is not other and one != other


def _touched(before: View, after: View) -> set[str]:
    """Return the numbers of bulletins that differ, or that stand where they did not before."""
    turned = _differing(before.superseded, after.superseded)
    numbers = before.bulletins.keys() | after.bulletins.keys()
    found = _differing(before.bulletins, after.bulletins)
    return found | {number for number in numbers if turned and fold(number) in turned}


def _of_bulletin(number: str, before: View, after: View, models: Models) -> Iterator[str]:
    was, now = before.bulletins.get(number), after.bulletins.get(number)
    stood, stands = _stands(was, before), _stands(now, after)
    yield facts.content(number)
    if _told(was, _CARD) != _told(now, _CARD):
        yield facts.card(number)
    if _told(was, _NAMES) != _told(now, _NAMES):
        yield facts.names(number)
    if (was and was.title) != (now and now.title):
        yield facts.known(number)
        yield facts.PUBLISHED
    if stood != stands or before.superseded.get(fold(number)) != after.superseded.get(fold(number)):
        yield facts.successor(number)
    yield from map(facts.naming, _all("related", was, now))
    old, new = was if stood else None, now if stands else None
    yield from _of_names(old, new)
    yield from _of_reach(old, new, before, after, models)
    if stood != stands or _dated(was) != _dated(now):
        yield from _of_dates(number, was, now, before, after)
    if (was and was.status) != (now and now.status):
        yield facts.PUBLISHED


_CARD = ("title", "kind", "issued", "component", "where", "status")
_NAMES = ("component", "symptoms", "codes")


def _told(bulletin: Bulletin | None, keys: Iterable[str]) -> object:
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


def _of_names(old: Bulletin | None, new: Bulletin | None) -> Iterator[str]:
    """Yield what differs in the lists by name, for a bulletin as it stood and as it stands."""
    moved = (old and old.issued) != (new and new.issued)
    for kind, key, of in _KINDS:
        gave, gives = tuple(of(old)) if old else (), tuple(of(new)) if new else ()
        if moved or gave != gives:
            if kind != "parts":  # whose list holds all there are
                yield facts.ways(kind)
            keys = {key(" ".join(name.split())) for name in (*gave, *gives)}
            yield from (facts.member(kind, each) for each in keys)


def _of_reach(
    old: Bulletin | None, new: Bulletin | None, before: View, after: View, models: Models
) -> Iterator[str]:
    """Yield the families and models whose units a bulletin meant or means."""
    if (old and (old.issued, old.where)) == (new and (new.issued, new.where)):
        return
    for bulletin, view in ((old, before), (new, after)):
        if bulletin:
            for name in view.families[bulletin.number]:
                yield facts.member("families", fold_name(name))
            yield from map(facts.reach, models(bulletin))


def _of_dates(
    number: str, was: Bulletin | None, now: Bulletin | None, before: View, after: View
) -> Iterator[str]:
    yield facts.STANDING
    yield from map(facts.quarter_of, filter(None, {*_dated(was)[1:], *_dated(now)[1:]}))
    for view in (before, after):  # a family's feed has the latest of its bulletins first
        for name in view.families.get(number, ()):
            yield facts.member("families", fold_name(name))


def _dated(bulletin: Bulletin | None) -> tuple[Any, ...]:
    return (bulletin.status, bulletin.issued, bulletin.revised) if bulletin else ()


def _of_places(before: Places, after: Places) -> Iterator[str]:
    """Yield what differs in how names are written and where their pages lie."""
    for kind in before.keys() | after.keys():
        was, now = before.get(kind, {}), after.get(kind, {})
        for key in _differing(was, now) if was is not now else ():
            yield facts.pages(kind)
            if kind == "bulletins":
                yield facts.known(key)
                yield facts.card(key)
            else:
                yield facts.named(kind, key)
                yield facts.ways(kind)
                if kind == "codes":
                    yield facts.number(key)
                    if not any(map(str.isdigit, key)):
                        yield facts.CODE_WORDS


# Parts


def plain(rows: Iterable[PartRow] | Iterable[KitRow]) -> list[Row]:
    """Return rows of a part list without the lines that they stand in."""
    return [row[:-1] for row in rows]


_PART_NUMBERS = (PartRow._fields.index("number"), PartRow._fields.index("replaced_by"))
_KIT_NUMBERS = (KitRow._fields.index("kit"), KitRow._fields.index("number"))


def _rows_changed(before: View, after: View) -> set[str] | None:
    """Return the folded numbers whose rows differ and all that these are tied to.

    None tells that rows have changed places, on which much can depend.
    """
    numbers: set[str] = set()
    for was, now, places in (
        (before.parts, after.parts, _PART_NUMBERS),
        (before.kits, after.kits, _KIT_NUMBERS),
    ):
        if was is now:
            continue
        old, new = plain(was), plain(now)
        if old == new:
            continue
        rows = {*old} ^ {*new}
        if [row for row in old if row not in rows] != [row for row in new if row not in rows]:
            return None
        numbers.update(fold(row[place]) for row in rows for place in places)
    return _tied(numbers - {""}, before, after) if numbers else numbers


def _tied(numbers: set[str], before: View, after: View) -> set[str]:
    """Return *numbers* and all that substitution or kits tie them to, as it was and as it is."""
    beside: dict[str, list[str]] = {}
    for view in (before, after):
        pairs = [(row.number, row.replaced_by) for row in view.parts if row.replaced_by]
        for one, other in (*pairs, *((row.kit, row.number) for row in view.kits)):
            if fold(other):
                beside.setdefault(fold(one), []).append(fold(other))
                beside.setdefault(fold(other), []).append(fold(one))
    found, edge = set(numbers), list(numbers)
    while edge:
        edge = [n for number in edge for n in beside.get(number, ()) if n not in found]
        found.update(edge)
    return found
