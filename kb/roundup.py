"""The hand-out and the talk of a period, made from the bulletins: the work of `kb roundup`.

Three files are written: ``handout.html`` to print and give away, ``talk.html`` with a page of
speaking notes for each bulletin, and ``talk.vtt`` with the same words as captions in time.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from kb.dates import Days
from kb.errors import KbError
from kb.pages import shell_of
from kb.pages.desk import Desk
from kb.pages.page import Page
from kb.pages.roundups import changed, digest, replaced
from kb.pages.where import long_date, plain_days
from kb.records import House
from kb.render import Renderer
from kb.speaking import clock, cues, webvtt
from kb.talk import Sheet, minutes, script, talk

FOLDER = "roundups"


@dataclass(frozen=True, slots=True)
class Roundup:
    """What was made: numbers of bulletins in the order told, running time, files written."""

    period: str
    bulletins: tuple[str, ...]
    minutes: float
    files: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Return the answer of `kb roundup --json`."""
        return {
            "period": self.period,
            "bulletins": list(self.bulletins),
            "minutes": round(self.minutes, 1),
            "files": list(self.files),
        }


def folder_for(house: Path, period: str) -> Path:
    """Return where the files of *period* go unless told: ``roundups/PERIOD`` beside the house.

    An open end is said in words, for not every system keeps a name that ends in dots.
    """
    first, dots, last = "".join(period.split()).partition("..")
    name = f"{first}..{last}" if first and last else (first or last)
    if dots and not (first and last):
        name = f"from-{first}" if first else f"to-{last}" if last else "all"
    return house.resolve().parent / FOLDER / name


def roundup(house: House, today: date, period: str, days: Days, out: Path) -> Roundup:
    """Write hand-out and talk of the bulletins issued or revised in *days* into *out*.

    Without any bulletin nothing is written. KbError where *out* lies in the house.
    """
    desk = Desk(house, today)
    bulletins = changed(desk, days)
    if not bulletins:
        return Roundup(period, (), 0.0, ())
    _refuse_inside(house.folder, out)
    digests = [digest(bulletin, desk) for bulletin in bulletins]
    gone, when = replaced(desk, days), _when(days)
    sheets = talk(digests, when, gone, house.name)
    data = {
        "shell": shell_of(house),
        "when": when,
        "digests": digests,
        "replaced": gone,
        "sheets": [_shown(sheet) for sheet in sheets],
        "takes": clock(minutes(sheets) * 60),
        "base": house.site.rstrip("/") + "/" if house.site else "",
    }
    files = {
        "handout.html": _page("handout.html", data),
        "talk.html": _page("talk.html", data),
        "talk.vtt": webvtt(list(cues(script(sheets)))),
    }
    written = tuple(_write(out, name, text) for name, text in files.items())
    return Roundup(period, tuple(b.number for b in bulletins), minutes(sheets), written)


def _when(days: Days) -> str:
    if days.first and not days.last:
        return f"since {long_date(days.first)}"
    said = plain_days(days) or "since the first bulletin"
    if days.first == days.last or not days.first:
        return said if not days.first else f"on {said}"
    return f"from {said}"


def _page(name: str, data: Mapping[str, Any]) -> str:
    return Renderer().text(Page(name, name, data))


def _shown(sheet: Sheet) -> dict[str, Any]:
    return {
        "heading": sheet.heading,
        "number": sheet.number,
        "starts": clock(sheet.start),
        "takes": clock(sheet.seconds),
        "notes": [note.text for note in sheet.notes],
        "shown": sheet.shown.text if sheet.shown else "",
        "shown_takes": clock(sheet.shown.seconds) if sheet.shown else "",
    }


def _refuse_inside(house: Path, out: Path) -> None:
    inner, outer = out.resolve(), house.resolve()
    if inner == outer or outer in inner.parents:
        raise KbError(
            f"{out} lies in the house: hand-outs would be mixed with the bulletins",
            "write beside the house, like --out handouts",
        )


def _write(out: Path, name: str, text: str) -> str:
    """Write a file whole or not at all, and return its path."""
    out.mkdir(parents=True, exist_ok=True)
    path, aside = out / name, out / f".{name}.new"
    aside.write_bytes(text.encode("utf-8", "replace"))
    aside.replace(path)
    return str(path)
