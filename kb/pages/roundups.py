"""What changed in a stretch of time: the digest of each bulletin, and a page for each quarter."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from kb.checks import OrderError, best_order
from kb.dates import Days, month_days
from kb.folding import fold
from kb.hazards import Hazard, cautions
from kb.making import facts
from kb.pages.bulletins import figure
from kb.pages.byname import natural
from kb.pages.desk import KIND_NAMES, Desk
from kb.pages.lists import cut
from kb.pages.ordering import Ordered, ordered
from kb.pages.page import Page, Unit, Way, address
from kb.pages.where import long_date, plain_days, sentence
from kb.records import Bulletin, Check, Kind

SEVERAL = "Several families"
LONGEST = 40  # digests on a page: a digest is ten times a line of a list

# Safety first, then what mends, what changed, what to order, what is no fault.
_ORDER: tuple[Kind, ...] = (
    "safety",
    "repair",
    "running-change",
    "introduction",
    "parts",
    "normal",
    "reference",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Digest:
    """What decides about one bulletin, in a few lines.

    *first* is the check to begin with, *orders* what the bulletin asks for, *spares* what only a
    check asks for.
    """

    group: str
    way: Way
    kind: Kind
    kind_name: str
    dated: str
    where: str
    summary: str
    symptoms: tuple[str, ...]
    codes: tuple[str, ...]
    hazards: tuple[Hazard, ...]
    first: Check | None
    checks: int
    keep: tuple[Way, ...]
    orders: tuple[Ordered, ...]
    spares: tuple[Ordered, ...]
    replaces: tuple[Way, ...]
    due: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Replaced:
    """A bulletin of the time that does not stand any more, and the one to go by, if any."""

    way: Way
    by: Way | None


def changed(desk: Desk, days: Days) -> list[Bulletin]:
    """Return the bulletins in force that were issued or revised within *days*.

    They stand by family, in each safety before repairs, running changes, parts and what is
    normal, then by number.
    """
    return _in_order(desk, (b for b in desk.standing if _within(b, days)))


def _in_order(desk: Desk, bulletins: Iterable[Bulletin]) -> list[Bulletin]:
    families = list(desk.house.families)

    def place(bulletin: Bulletin) -> tuple[int, int, list[tuple[int, int, str]]]:
        group = group_of(bulletin, desk)
        family = families.index(group) if group in families else -1
        return family, _ORDER.index(bulletin.kind), natural(bulletin.number)

    return sorted(bulletins, key=place)


def group_of(bulletin: Bulletin, desk: Desk) -> str:
    """Return the family that a bulletin is about, or that it is about several."""
    families = desk.families_of(bulletin)
    return families[0] if len(families) == 1 else SEVERAL


def _within(bulletin: Bulletin, days: Days) -> bool:
    return bulletin.issued in days or (bulletin.revised is not None and bulletin.revised in days)


def replaced(desk: Desk, days: Days) -> list[Replaced]:
    """Return what was issued or revised within *days* and has been superseded or withdrawn."""
    gone = desk.once(("gone", ""), lambda: _gone(desk))
    return [
        Replaced(desk.bulletin_way(b.number), desk.bulletin_way(by) if by else None)
        for b in sorted((b for b in gone if _within(b, days)), key=lambda b: natural(b.number))
        for by in [desk.successor(b.number)]
    ]


def _gone(desk: Desk) -> list[Bulletin]:
    standing = {b.number for b in desk.standing}
    return [b for b in desk.published if b.number not in standing]


def digest(bulletin: Bulletin, desk: Desk) -> Digest:
    """Return what decides about *bulletin*."""
    desk.saw(facts.content(bulletin.number))
    return Digest(
        group=group_of(bulletin, desk),
        way=desk.bulletin_way(bulletin.number),
        kind=bulletin.kind,
        kind_name=KIND_NAMES[bulletin.kind],
        dated=_dated(bulletin),
        where=sentence(bulletin, desk),
        summary=desk.summary(bulletin),
        symptoms=bulletin.symptoms,
        codes=bulletin.codes,
        hazards=cautions(bulletin.hazards),
        first=_first(bulletin),
        checks=len(bulletin.checks),
        keep=tuple(desk.part_way(number) for number in bulletin.keep),
        orders=tuple(_orders(bulletin, desk)),
        spares=tuple(_spares(bulletin, desk)),
        replaces=tuple(desk.bulletin_way(number) for number in bulletin.supersedes),
        due=tuple(_due(bulletin)),
    )


def _dated(bulletin: Bulletin) -> str:
    issued = f"issued {long_date(bulletin.issued)}"
    return f"{issued}, revised {long_date(bulletin.revised)}" if bulletin.revised else issued


def _first(bulletin: Bulletin) -> Check | None:
    try:
        order: Sequence[int] = best_order(bulletin.checks)
    except OrderError:  # the proof says so; the author's own order is shown meanwhile
        order = range(len(bulletin.checks))
    return bulletin.checks[order[0]] if order else None


def _orders(bulletin: Bulletin, desk: Desk) -> Iterator[Ordered]:
    for line in bulletin.parts:
        found = ordered(line.number, desk, line.quantity)
        yield replace(found, in_hand=line.in_hand, all=line.all)


def _spares(bulletin: Bulletin, desk: Desk) -> Iterator[Ordered]:
    listed = {fold(line.number) for line in bulletin.parts}
    named = {fold(n): n for check in bulletin.checks for n in check.parts}
    for key, number in named.items():
        if key not in listed:
            yield ordered(number, desk)


def _due(bulletin: Bulletin) -> Iterator[str]:
    if bulletin.age:
        yield f"At {figure(bulletin.age.years)} years of age: {bulletin.age.advice}"
    if bulletin.coverage:
        cover = bulletin.coverage
        start = "purchase" if cover.start == "purchase" else "production"
        yield f"Warranty: {cover.component}, {figure(cover.years)} years from {start}."


# The pages of quarters


def quarter(day: date) -> tuple[int, int]:
    """Return the year and the quarter (1..4) of a day."""
    return day.year, (day.month + 2) // 3


def quarter_days(year: int, number: int) -> Days:
    """Return the days of a quarter, 1 to 4, of a calendar year."""
    last = month_days(year, 3 * number).last
    return Days(date(year, 3 * number - 2, 1), last)


def quarter_name(year: int, number: int) -> str:
    """Return a quarter as it stands in an address: ``2026-Q1``."""
    return f"{year:04}-Q{number}"


def by_quarter(desk: Desk) -> Mapping[tuple[int, int], Sequence[Bulletin]]:
    """Return the bulletins in force by the quarters in which they were issued or revised."""
    return desk.once(("by quarter", ""), lambda: _by_quarter(desk))


def _by_quarter(desk: Desk) -> Mapping[tuple[int, int], Sequence[Bulletin]]:
    found: dict[tuple[int, int], list[Bulletin]] = {}
    for bulletin in desk.standing:
        for each in {quarter(day) for day in (bulletin.issued, bulletin.revised) if day}:
            found.setdefault(each, []).append(bulletin)
    return found


def quarters(desk: Desk) -> list[tuple[int, int]]:
    """Return the quarters in which a bulletin in force was issued or revised, newest first."""
    return sorted(by_quarter(desk), reverse=True)


def units(desk: Desk) -> Iterator[Unit]:
    """Yield a page for each quarter with bulletins, and the list of them."""
    for year, number in quarters(desk):
        yield Unit(f"quarter {quarter_name(year, number)}", partial(_quarter, desk, year, number))
    yield Unit("roundups", partial(_list, desk))


def _list(desk: Desk) -> Iterator[Page]:
    desk.saw(facts.STANDING)
    lead = "What was issued or revised, quarter by quarter: the hand-out of each."
    ways = []
    for year, number in quarters(desk):
        held = len(by_quarter(desk)[year, number])
        count = "1 bulletin" if held == 1 else f"{held} bulletins"
        place = address("roundups", quarter_name(year, number))
        ways.append(Way(_title(year, number), place, count))
    data = {"title": "By quarter", "lead": lead}
    yield from cut(("roundups",), "ways.html", data, "ways", ways)


def _title(year: int, number: int) -> str:
    return f"{_ORDINALS[number]} quarter {year}"


_ORDINALS = {1: "First", 2: "Second", 3: "Third", 4: "Fourth"}


def _quarter(desk: Desk, year: int, number: int) -> Iterator[Page]:
    days, name = quarter_days(year, number), quarter_name(year, number)
    desk.saw(facts.quarter(name))
    data = {
        "title": f"What changed: {_title(year, number).lower()}",
        "when": f"from {plain_days(days)}",
        "replaced": replaced(desk, days),
    }
    bulletins = _in_order(desk, by_quarter(desk).get((year, number), ()))
    digests = [digest(bulletin, desk) for bulletin in bulletins]
    steps = ("roundups", name)
    yield from cut(steps, "roundup.html", data, "digests", digests, LONGEST)
