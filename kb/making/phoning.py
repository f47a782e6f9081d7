"""The phone's data as a house has changed: written anew in a few places where that can be."""

from __future__ import annotations

from datetime import date

from kb import phone
from kb.making.changes import View, differ, plain
from kb.making.kept import Known
from kb.markup import Body, read
from kb.pages import Desk
from kb.phone.changes import Change, RowChange, Told
from kb.phone.changing import rewrite
from kb.phone.rewriting import Load
from kb.phone.written import Written
from kb.records import Bulletin, House


def phone_data(
    house: House, desk: Desk, today: date, before: Known | None, now: View, load: Load
) -> tuple[Written, phone.Kept]:
    """Return the data of *house*, and what writing them anew will need.

    Where little has changed since *before*, pieces that stay come without content; *load* reads
    one of those by its name.
    """
    again = _again(house, desk, today, before, now, load) if before else None
    return again or phone.write_to_keep(house, today, desk.told)


def _again(
    house: House, desk: Desk, today: date, before: Known, now: View, load: Load
) -> tuple[Written, phone.Kept] | None:
    rows = _rows(before.view, now)
    if rows is None or before.view.ground != now.ground:
        return None

    def told(number: str) -> Told:
        return _told(now.bulletins[number], desk.told(now.bulletins[number]))

    changes = _changes(before.view, now, desk)
    return rewrite(before.phone, house.families, changes, told, load, today, rows)


def _rows(before: View, now: View) -> list[RowChange] | None:
    """Return the rows of parts.csv that differ; None where more has changed than single rows."""
    if before.kits is not now.kits and plain(before.kits) != plain(now.kits):
        return None
    if before.parts is now.parts:
        return []
    if len(before.parts) != len(now.parts):
        return None
    pairs = zip(before.parts, now.parts, strict=True)
    return [RowChange(at, old, new) for at, (old, new) in enumerate(pairs) if old[:-1] != new[:-1]]


def _changes(before: View, now: View, desk: Desk) -> list[Change]:
    found = []
    for number in sorted(before.bulletins.keys() | now.bulletins.keys()):
        was, is_now = before.bulletins.get(number), now.bulletins.get(number)
        if differ(was, is_now):
            old = _told(was, read(was.body, was.body_line)) if was else None
            found.append(Change(old, _told(is_now, desk.told(is_now)) if is_now else None))
    return found


def _told(bulletin: Bulletin, body: Body) -> Told:
    return Told(bulletin, body.text, body.first_paragraph)
