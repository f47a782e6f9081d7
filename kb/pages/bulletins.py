"""A bulletin's page: what decides comes first, the running text after it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from kb.checks import OrderError, best_order, expected_minutes
from kb.folding import fold
from kb.hazards import cautions
from kb.making import facts
from kb.outlines import Placed, Showing, filled
from kb.pages.assets import Pictures, assets_of
from kb.pages.desk import KIND_NAMES, Desk
from kb.pages.lists import cut, entries
from kb.pages.numbers import Linker, pieces
from kb.pages.ordering import Ordered, ordered
from kb.pages.page import Asset, Page, Unit, Way, address, file_of
from kb.pages.scan import Codes
from kb.pages.where import long_date, rows, sentence
from kb.records import Bulletin, Check, PartLine


@dataclass(frozen=True, slots=True)
class Step:
    """One check as the page shows it. *share* is the likelihood in per cent, "" for none given."""

    cause: str
    test: tuple[Way, ...]
    fix: tuple[Way, ...]
    share: str
    minutes: str
    parts: tuple[Way, ...]
    last: bool
    after: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """The checks in the order to go by, and what that order and the written one take."""

    steps: tuple[Step, ...]
    best: str
    written: str
    same: bool


def units(desk: Desk, pictures: Pictures) -> Iterator[Unit]:
    """Yield the page of every bulletin but drafts, then the list of those that stand."""
    for bulletin in sorted(desk.published, key=lambda b: b.number):
        yield Unit(f"bulletin {bulletin.number}", partial(_page, bulletin, desk, pictures))
    yield Unit("bulletins", partial(_list, desk))


def _page(bulletin: Bulletin, desk: Desk, pictures: Pictures) -> Iterator[Page | Asset]:
    place = file_of("bulletins", desk.place(bulletin))
    yield Page(place, "bulletin.html", _data(bulletin, desk, pictures))
    yield from assets_of(bulletin, desk, pictures)


def _list(desk: Desk) -> Iterator[Page]:
    desk.saw(facts.STANDING)
    listed = {"title": "Bulletins", "way": "", "lead": "Everything in force, the newest first."}
    items = entries(desk.standing, desk)
    yield from cut(("bulletins",), "bulletins.html", listed, "entries", items)


def _data(bulletin: Bulletin, desk: Desk, pictures: Pictures) -> Mapping[str, Any]:
    desk.saw(facts.content(bulletin.number))
    link = Linker(desk, bulletin.number)
    return {
        "title": f"{bulletin.number} {bulletin.title}",
        "description": desk.summary(bulletin),
        "b": bulletin,
        "kind": KIND_NAMES[bulletin.kind],
        "issued": long_date(bulletin.issued),
        "revised": long_date(bulletin.revised) if bulletin.revised else "",
        "edition": (bulletin.revised or bulletin.issued).isoformat(),
        "state": desk.standing_of(bulletin),
        "summary": pieces(desk.summary(bulletin), link) if bulletin.summary else (),
        **_deciding(bulletin, desk, link),
        **_neighbours(bulletin, desk),
        "body": _body(bulletin, desk, pictures),
        **_scan(bulletin, desk),
    }


def _deciding(bulletin: Bulletin, desk: Desk, link: Linker) -> Mapping[str, Any]:
    """Return what the page tells before the text: where, hazards, checks, parts."""
    age, coverage = bulletin.age, bulletin.coverage
    orders = [_line(line, desk, link) for line in bulletin.parts]
    return {
        "rows": rows(bulletin, desk),
        "where": sentence(bulletin, desk),
        "hazards": cautions(bulletin.hazards),
        "components": [desk.components.way(name) for name in bulletin.component],
        "symptoms": [desk.symptoms.way(name) for name in bulletin.symptoms],
        "codes": [desk.codes.way(code) for code in bulletin.codes],
        "plan": _plan(bulletin.checks, desk, link),
        "keep": [desk.part_way(number) for number in bulletin.keep],
        "orders": orders,
        "hand": [line for line in orders if line.in_hand and line.items],
        "minutes": figure(bulletin.minutes) if bulletin.minutes is not None else "",
        "age_years": figure(age.years) if age else "",
        "age_advice": pieces(age.advice, link) if age else (),
        "coverage_years": figure(coverage.years) if coverage else "",
    }


def _neighbours(bulletin: Bulletin, desk: Desk) -> Mapping[str, Any]:
    successor = desk.successor(bulletin.number)
    named = {fold(n) for n in (*bulletin.related, *bulletin.supersedes)}
    back = [n for n in desk.named_by(bulletin.number) if fold(n) not in named]
    return {
        "successor": desk.bulletin_way(successor) if successor else None,
        "supersedes": [desk.bulletin_way(number) for number in bulletin.supersedes],
        "related": [desk.bulletin_way(n) for n in (*bulletin.related, *back)],
    }


def _body(bulletin: Bulletin, desk: Desk, pictures: Pictures) -> str:
    root = "../../"
    link, home = Linker(desk, bulletin.number), desk.folder(bulletin)

    def linked(typed: str) -> str | None:
        href = link(typed)
        return root + href if href else None

    def place(name: str) -> Placed | None:
        return pictures.place(home, name)

    return filled(desk.outline(bulletin), Showing(linked, desk.house.units, place, link.hint))


# Checks and parts


def _plan(checks: Sequence[Check], desk: Desk, link: Linker) -> Plan | None:
    if not checks:
        return None
    written = tuple(range(len(checks)))
    try:
        order = best_order(checks)
    except OrderError:  # the proof says so; the author's own order is shown meanwhile
        order = written
    return Plan(
        steps=tuple(_step(checks[place], desk, link) for place in order),
        best=figure(expected_minutes(checks, order)),
        written=figure(expected_minutes(checks, written)),
        same=order == written,
    )


def _step(check: Check, desk: Desk, link: Linker) -> Step:
    share = f"{figure(check.likelihood * 100)} %" if check.likelihood > 0 else ""
    return Step(
        cause=check.cause,
        test=pieces(check.test, link),
        fix=pieces(check.fix, link),
        share=share,
        minutes=figure(check.minutes),
        parts=tuple(desk.part_way(number) for number in check.parts),
        last=check.last,
        after=check.before,
    )


def _line(line: PartLine, desk: Desk, link: Linker) -> Ordered:
    return replace(
        ordered(line.number, desk, line.quantity),
        in_hand=line.in_hand,
        all=line.all,
        remark=pieces(line.note, link),
    )


def figure(value: float) -> str:
    """Return a number with one decimal at most, none where it is whole."""
    return f"{round(value, 1):g}" if abs(value) < 100_000 else f"{value:.0f}"


# The way back from paper


def _scan(bulletin: Bulletin, desk: Desk) -> Mapping[str, str]:
    """Return the page's public address and a code to scan it by; empty without a known site."""
    site = desk.house.site.rstrip("/")
    if not site:
        return {"url": "", "qr": ""}
    href = address("bulletins", desk.place(bulletin)).removesuffix("index.html")
    url = f"{site}/{href}"
    return {"url": url, "qr": desk.once(("codes", ""), Codes).drawing(url)}
