"""What a proof found, kept so that the next one asks only what may be answered otherwise.

Each rule says what it looks at (`Rule.own`, `Rule.over`). What has changed between two houses is
told in the same words, so a rule is asked again about a bulletin only where the two meet.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from operator import attrgetter
from typing import Any

from kb.kept import digest_of
from kb.proof.base import ANYTHING, DISK, FILES, NOTHING, TABLES, Each, Found, Rule
from kb.proof.look import MODELS, PARTS, SERIALS, WORDS, Look
from kb.records import Bulletin, House

ByFile = Mapping[str, tuple[Found, ...]]

_FIELDS = tuple(field.name for field in fields(Bulletin))
_PLAIN = attrgetter("name", "language", "units", "site", "contact", "components", "codes")
# Records whose equality leaves out lines and the order of entries, both of which are told.
_ORDERED = attrgetter("families", "schemes", "words")


@dataclass(frozen=True, slots=True)
class Proofed:
    """A house as it was proofed on *today*, and what each rule found in each file.

    *texts* stands for the text of tables that rules read as text.
    """

    house: House
    today: date
    texts: Mapping[str, bytes]
    found: Mapping[str, ByFile]


@dataclass(frozen=True, slots=True)
class _Change:
    """What differs between two houses.

    *of* names the fields that differ of each bulletin that is new or another, by file; *sound* and
    *unsound* are those bulletins, *gone* the files that no longer hold one. *over* is all of it.
    """

    of: Mapping[str, frozenset[str]]
    sound: tuple[Bulletin, ...]
    unsound: tuple[Bulletin, ...]
    gone: frozenset[str]
    over: frozenset[str]


def proofed(
    rules: Iterable[Rule], house: House, today: date, before: Proofed | None = None
) -> Proofed:
    """Return what *rules* find in *house*; what cannot have changed is taken from *before*."""
    look = Look(house, today)
    texts = _texts(look)
    found: dict[str, ByFile]
    if before is None or before.today != today:
        found = {rule.name: _by_file(rule.find(look)) for rule in rules}
    else:
        change = _change(before, house, texts)
        kept = before.found
        found = {rule.name: _again(rule, look, change, kept.get(rule.name)) for rule in rules}
    return Proofed(house, today, texts, found)


def _again(rule: Rule, look: Look, change: _Change, kept: ByFile | None) -> ByFile:
    """Return what *rule* finds now, given what it found before."""
    find = rule.find
    if kept is None or rule.over & change.over:
        return _by_file(find(look))
    still = {file: _in_line(found, change, look) for file, found in kept.items()}
    if not isinstance(find, Each):
        return still
    bulletins = change.sound if find.sound else (*change.sound, *change.unsound)
    asked = [b for b in bulletins if rule.own & change.of[b.file]]
    passed = change.gone | {b.file for b in asked}
    if find.sound:
        passed |= {b.file for b in change.unsound}
    fresh = _by_file(found for bulletin in asked for found in find.find(look, bulletin))
    return {file: found for file, found in still.items() if file not in passed} | fresh


def _by_file(found: Iterable[Found]) -> dict[str, tuple[Found, ...]]:
    files: dict[str, list[Found]] = {}
    for each in found:
        files.setdefault(each.file, []).append(each)
    return {file: tuple(places) for file, places in files.items()}


def _in_line(found: tuple[Found, ...], change: _Change, look: Look) -> tuple[Found, ...]:
    """Return *found* with the lines on which their paths stand now."""
    file = found[0].file
    if "lines" not in change.of.get(file, NOTHING):
        return found
    line = look.by_file[file].line
    return tuple(replace(each, line=line(each.path)) if each.path else each for each in found)


# What has changed


def _change(before: Proofed, house: House, texts: Mapping[str, bytes]) -> _Change:
    was = before.house
    of: dict[str, frozenset[str]] = {}
    sound = tuple(_changed(was.bulletins, house.bulletins, of))
    unsound = tuple(_changed(was.unsound, house.unsound, of))
    over = {DISK}.union(*of.values())
    if was.files != house.files:
        over.add(FILES)
    if before.texts != texts or not _same_tables(was, house):
        over.add(TABLES)
    gone = _names(was) - _names(house)
    if gone or _order(was) != _order(house):
        over |= ANYTHING
    return _Change(of, sound, unsound, gone, frozenset(over))


def _changed(
    before: Iterable[Bulletin], now: Iterable[Bulletin], of: dict[str, frozenset[str]]
) -> Iterator[Bulletin]:
    """Yield the bulletins that are new or another, and note in *of* which fields differ."""
    old = {bulletin.file: bulletin for bulletin in before}
    for bulletin in now:
        was = old.get(bulletin.file)
        if was is not bulletin:
            differ = _differ(was, bulletin) if was else ANYTHING
            if differ:
                of[bulletin.file] = differ
                yield bulletin


def _differ(one: Bulletin, other: Bulletin) -> frozenset[str]:
    return frozenset(name for name in _FIELDS if getattr(one, name) != getattr(other, name))


def _order(house: House) -> tuple[list[str], list[str]]:
    return [b.file for b in house.bulletins], [b.file for b in house.unsound]


def _names(house: House) -> frozenset[str]:
    return frozenset(file for files in _order(house) for file in files)


def _same_tables(one: House, other: House) -> bool:
    return (
        _PLAIN(one) == _PLAIN(other)
        and one.parts == other.parts
        and one.kits == other.kits
        and all(map(_same, _ORDERED(one), _ORDERED(other)))
        and _troubles(one) == _troubles(other)
    )


def _same(one: Any, other: Any) -> bool:
    return one is other or repr(one) == repr(other)


def _troubles(house: House) -> list[Any]:
    return [p for p in house.problems if p.file.startswith("reference/")]


def _texts(look: Look) -> dict[str, bytes]:
    """Return what stands for the text of the tables in which rules look up lines or lost names."""
    read = [WORDS, *filter(look.broken, (MODELS, SERIALS, PARTS))]
    return {file: digest_of(look.text_of(file).encode()) for file in read}
