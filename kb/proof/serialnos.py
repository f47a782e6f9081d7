"""Rules on serials: those that bulletins name, and the examples that prove a scheme."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import product
from typing import NamedTuple

from kb.proof.base import TABLES, Found, Rule, each, on, these
from kb.proof.look import MODELS, SERIALS, Look, line_in, placed_blocks
from kb.records import Bulletin, Reading, SerialRange
from kb.serials import SerialError, prove_example, read_serial, uses_of

# Serials of units still to be built may be announced; a year code farther on means an older unit.
_YEARS_AHEAD = 2


class _Asked(NamedTuple):
    """A range of serials with its line and the readings of both ends."""

    line: int
    serials: SerialRange
    first: tuple[Reading, ...]
    last: tuple[Reading, ...]


_End = _Asked | tuple[int, SerialError]


def _ends(look: Look, bulletin: Bulletin) -> list[_End]:
    """Return every range of serials of a bulletin as read, or the line and why it cannot be."""
    return look.once("serials", bulletin, _read_all)


def _read_all(look: Look, bulletin: Bulletin) -> list[_End]:
    return list(_each_range(look, bulletin))


def _each_range(look: Look, bulletin: Bulletin) -> Iterator[_End]:
    until = date(look.today.year + _YEARS_AHEAD, 12, 31)
    whole = not look.broken(SERIALS) and not look.broken(MODELS)
    for placed in placed_blocks(bulletin):
        families = look.families_of(placed) if placed.block.serials and whole else ()
        known = all(use.name in look.house.schemes for f in families for use in f.schemes)
        uses = [use for family in families for use in uses_of(family, look.house.schemes)]
        for index, serials in enumerate(placed.block.serials if families and known else ()):
            line = line_in(bulletin, placed, "serials", index)
            try:
                first = read_serial(serials.first, uses, until)
                yield _Asked(line, serials, first, read_serial(serials.last, uses, until))
            except SerialError as trouble:
                yield line, trouble


def _read(look: Look, bulletin: Bulletin) -> Iterator[_Asked]:
    for asked in _ends(look, bulletin):
        if isinstance(asked, _Asked):
            yield asked


def _unreadable(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for asked in _ends(look, bulletin):
        if not isinstance(asked, _Asked):
            line, trouble = asked
            yield on(bulletin.file, line, message=trouble.message, remedy=trouble.remedy)


def _pairs(asked: _Asked) -> list[tuple[Reading, Reading]]:
    """Return the readings of both ends that are of one plant and one scheme."""
    return [
        (a, b)
        for a, b in product(asked.first, asked.last)
        if (a.scheme, a.plant) == (b.scheme, b.plant)
    ]


def _two_plants(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for asked in _read(look, bulletin):
        if not _pairs(asked):
            first, last = asked.serials.first, asked.serials.last
            yield on(bulletin.file, asked.line, first=first, last=last)


def _reversed(look: Look, bulletin: Bulletin) -> Iterator[Found]:
    for asked in _read(look, bulletin):
        pairs = _pairs(asked)
        if pairs and not any(_place(a) <= _place(b) for a, b in pairs):
            first, last = asked.serials.first, asked.serials.last
            yield on(bulletin.file, asked.line, first=first, last=last)


def _place(reading: Reading) -> tuple[date, int]:
    return reading.code_days.first or date.min, reading.sequence or 0


def _examples(look: Look) -> Iterator[Found]:
    for scheme in look.house.schemes.values():
        for example in scheme.examples:
            message = prove_example(scheme, example, look.today)
            if message:
                yield on(SERIALS, example.line, message=message)


# What can be wrong with the serials that a bulletin names.
CONDITIONS = (_unreadable, _two_plants, _reversed)

RULES = (
    Rule(
        name="serial-unreadable",
        level="error",
        message="{message}",
        remedy="{remedy}",
        find=each(_unreadable),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="serials-two-plants",
        level="error",
        message="{first} and {last} are not serials of one plant and scheme",
        remedy="write a range for each plant",
        find=each(_two_plants),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="serials-reversed",
        level="error",
        message="{first} was built after {last}: no unit lies between them",
        remedy="write the earlier serial first",
        find=each(_reversed),
        own=these("where", "lines"),
        over=these(TABLES),
    ),
    Rule(
        name="example-fails",
        level="error",
        message="{message}",
        remedy="correct the example or the scheme",
        find=_examples,
        over=these(TABLES),
    ),
)
