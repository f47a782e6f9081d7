"""The commands that ask: find, plate, part."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import click

from kb import shown
from kb.cli.shared import TYPED, answers_in_json, as_json, chosen, common, end, put, say
from kb.desk import Desk
from kb.folding import fold

model_option = click.option(
    "--model", metavar="MODEL", default="", type=TYPED, help="Model, with its digit if known."
)
serial_option = click.option(
    "--serial", metavar="SERIAL", default="", type=TYPED, help="Serial as on the rating plate."
)


def open_desk(house: str | None, today: date | None) -> Desk:
    """Return the desk of the house named, or of the nearest; says what it had to leave out."""
    folder, day = chosen(house, today)
    desk = Desk(folder, day, say)
    left_out = desk.lookup.errors
    if left_out:
        say(f"The house has {shown.counted(left_out, 'error')}: `kb proof` tells what is left out.")
    return desk


@click.command(short_help="Search by symptom, code, part, model and serial.")
@click.argument("words", nargs=-1, required=True, type=TYPED)
@model_option
@serial_option
@click.option(
    "--limit", type=click.IntRange(1, 100_000), default=20, help="Most results to show [20]."
)
@click.option("--all", "everything", is_flag=True, help="Also what does not apply to the unit.")
@as_json
@common()
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

    Words in double quotes are looked for as they stand. With a unit, the bulletins that apply
    to it come first, and those that do not are left out.

    \b
    kb find td45a3 kp1400031 e-21 wont drain
    kb find '"hums but does not drain"'
    kb find --model TD45A --limit 5 leaks at the door
    """
    asked = " ".join(words).strip()
    if not asked and not fold(model):
        raise click.UsageError("There is nothing to look for. Say what is wrong, or a code.")
    answers_in_json(as_json, shown.nothing_found(asked))
    desk = open_desk(house, today)
    # One more than shown tells whether there are more.
    found = desk.finder.find(asked, model, serial, limit + 1, everything)
    more = len(found.results) > limit
    found = replace(found, results=found.results[:limit])
    if as_json:
        put(found.as_json())
    else:
        click.echo(shown.found(found, click.style, more, everything))
    end(bool(found.results))


@click.command(short_help="Say what applies to the unit with this rating plate.")
@click.argument("model", type=TYPED)
@click.argument("serial", nargs=-1, type=TYPED)
@click.option("--all", "everything", is_flag=True, help="Also what does not apply.")
@as_json
@common()
def plate(
    model: str,
    serial: tuple[str, ...],
    everything: bool,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Say what applies to the unit with this rating plate.

    Without a serial, or with one that cannot be read, the unit may have been built at any time:
    the answer says what would settle each bulletin.

    \b
    kb plate TD45A3 "K P 14 00031"
    kb plate TD45A
    kb plate TD45A3 kp1400031 --all
    """
    from kb.plate import read_plate

    answers_in_json(as_json, shown.NO_PLATE)
    desk = open_desk(house, today)
    answer = read_plate(desk.lookup, model, " ".join(serial), desk.today, everything)
    if as_json:
        put(answer.as_json(everything))
    else:
        click.echo(shown.plate(answer, everything, click.style))


@click.command(short_help="Say what to order for a part number, and how it fits.")
@click.argument("number", nargs=-1, required=True, type=TYPED)
@model_option
@serial_option
@as_json
@common()
def part(
    number: tuple[str, ...],
    model: str,
    serial: str,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Say what to order for a part number, and how it fits.

    With a model one of several successors is left; with a serial only the bulletins that can
    concern the unit are named.

    \b
    kb part HR-310-1105
    kb part HR-310-1105 --model TD60A
    """
    from kb.partorder import order_for

    asked = " ".join(number).strip()
    if not fold(asked):
        raise click.UsageError("There is no number to look for.")
    answers_in_json(as_json, shown.no_order(asked))
    desk = open_desk(house, today)
    answer = order_for(desk.lookup, asked, model, serial, desk.today)
    if as_json:
        put(answer)
    else:
        click.echo(shown.order(answer, click.style))
