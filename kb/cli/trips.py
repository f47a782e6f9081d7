"""The commands that prepare: visit packs the van, roundup makes the hand-out and the talk."""

from __future__ import annotations

from datetime import date

import click

from kb.cli.questions import model_option, open_desk, serial_option
from kb.cli.shared import TYPED, answers_in_json, as_json, common, end, put


@click.command(short_help="Pack for a visit: parts, tools, a second person.")
@click.argument("words", nargs=-1, required=True, type=TYPED)
@model_option
@serial_option
@as_json
@common()
def visit(
    words: tuple[str, ...],
    model: str,
    serial: str,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Pack for a visit: what the complaint can ask for at this unit.

    Parts stand under the numbers to order today, each with how likely it is needed. Safety
    bulletins that apply to the unit are named whatever the complaint.

    \b
    kb visit wont drain e21 --model TD45A3 --serial "K P 14 00031"
    kb visit td45a3 kp1400031 hums
    """
    from kb import shownvisit
    from kb.visit import NoMachine
    from kb.visit import visit as packed

    asked = " ".join(words).strip()
    if not asked:
        raise click.UsageError("Say what is wrong, or what code is shown.")
    answers_in_json(as_json, shownvisit.nothing_packed(asked))
    desk = open_desk(house, today)
    try:
        answer = packed(desk, asked, model, serial)
    except NoMachine as error:
        raise click.UsageError(f"Which machine? {error.remedy}.") from error
    if as_json:
        put(answer.as_json())
    else:
        click.echo(shownvisit.visit(answer, click.style))
    end(answer.found)
