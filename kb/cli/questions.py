"""The commands that ask: find, plate, part."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import click

from kb import shown
from kb.cli import Refused, common
from kb.desk import Desk
from kb.errors import KbError, NotFound
from kb.housefolder import nearest_house

as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object for programs.")
model_option = click.option("--model", metavar="MODEL", default="", help="Model, with its digit.")
serial_option = click.option(
    "--serial", metavar="SERIAL", default="", help="Serial as on the plate."
)


def open_desk(house: str | None, today: date | None) -> Desk:
    """Return the desk of the house named after or before the command word, or of the nearest."""
    given = click.get_current_context().obj or {}
    folder = house or given.get("house")
    day = today or given.get("today") or date.today()
    path = Path(folder) if folder else nearest_house(Path.cwd())
    return Desk(path, day, lambda text: click.echo(text, err=True))


def put(answer: Mapping[str, Any]) -> None:
    """Print one JSON object."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2))


def end(found: bool) -> None:
    """End with status 1 where nothing was found."""
    click.get_current_context().exit(0 if found else 1)


@click.command()
@click.argument("words", nargs=-1, required=True)
@model_option
@serial_option
@click.option("--limit", type=click.IntRange(1, 1000), default=20, help="Most results to show.")
@click.option("--all", "everything", is_flag=True, help="Also what does not apply to the unit.")
@as_json
@common
def find(
    words: tuple[str, ...],
    model: str,
    serial: str,
    limit: int,
    everything: bool,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Search by symptom, code, part number, model and serial, in any order.

    \b
    kb find td45a3 kp1400031 e-21 wont drain
    kb find '"hums but does not drain"'
    """
    desk = open_desk(house, today)
    found = desk.finder.find(" ".join(words), model, serial, limit, everything)
    if as_json:
        put(found.as_json())
    else:
        click.echo(shown.found(found, click.style))
    end(bool(found.results))


@click.command()
@click.argument("model")
@click.argument("serial", nargs=-1)
@click.option("--all", "everything", is_flag=True, help="Also what does not apply.")
@as_json
@common
def plate(
    model: str,
    serial: tuple[str, ...],
    everything: bool,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Say what applies to the unit with this rating plate.

    \b
    kb plate TD45A3 "K P 14 00031"
    kb plate TD45A
    """
    from kb.plate import read_plate

    desk = open_desk(house, today)
    try:
        answer = read_plate(desk.lookup, model, " ".join(serial), desk.today)
    except NotFound as error:
        if as_json:
            put({**shown.NO_PLATE, "error": error.message, "remedy": error.remedy})
        raise Refused(error) from error
    if as_json:
        put(answer.as_json(everything))
    else:
        click.echo(shown.plate(answer, everything, click.style))


@click.command()
@click.argument("number", nargs=-1, required=True)
@model_option
@serial_option
@as_json
@common
def part(
    number: tuple[str, ...],
    model: str,
    serial: str,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Say what to order for a part number, and how it fits.

    \b
    kb part HR-310-1105
    kb part HR-310-1105 --model TD60A
    """
    from kb.partorder import order_for

    desk = open_desk(house, today)
    asked = " ".join(number)
    try:
        order = order_for(desk.lookup, asked, model, serial, desk.today)
    except KbError as error:
        if as_json:
            put({**shown.no_order(asked), "notes": [f"{error.message}; {error.remedy}"]})
        raise Refused(error) from error
    if as_json:
        put(order)
    else:
        click.echo(shown.order(order, click.style))
