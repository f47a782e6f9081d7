"""The commands that prepare: visit packs the van, roundup makes the hand-out and the talk."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from kb.cli.questions import model_option, open_desk, serial_option
from kb.cli.shared import TYPED, answers_in_json, as_json, chosen, common, end, put, say
from kb.dates import parse_days, show_days
from kb.errors import DateError
from kb.shown import counted


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
        raise click.UsageError("No model is named: add --model TD45A3, or type it.") from error
    if as_json:
        put(answer.as_json())
    else:
        click.echo(shownvisit.visit(answer, click.style))
    end(answer.found)


@click.command(short_help="Make the hand-out and the talk of a period.")
@click.argument("period", type=TYPED)
@click.option("--out", metavar="DIR", type=click.Path(file_okay=False), help="Where the files go.")
@as_json
@common()
def roundup(
    period: str, out: str | None, as_json: bool, house: str | None, today: date | None
) -> None:
    """Make the hand-out and the talk of a period from its bulletins.

    PERIOD is written like a range of production: 2026, 2026-01..2026-03, 2026-W10. Told are the
    bulletins in force that were issued or revised in it. The files go to roundups/PERIOD beside
    the house unless --out says otherwise: handout.html to print, talk.html with speaking notes
    and running time, talk.vtt with captions.

    \b
    kb roundup 2026-01..2026-03
    kb roundup 2026-03 --out handouts
    """
    from kb.house import read_house
    from kb.roundup import folder_for
    from kb.roundup import roundup as make

    answers_in_json(as_json, {"period": period, "bulletins": [], "minutes": 0.0, "files": []})
    try:
        days = parse_days(period)
    except DateError as error:
        raise click.UsageError(f"{error.message}. Remedy: {error.remedy}.") from error
    folder, day = chosen(house, today)
    content = read_house(folder)
    errors = sum(problem.level == "error" for problem in content.problems)
    if errors:
        say(f"The house has {counted(errors, 'error')}: `kb proof` tells what is left out.")
    target = Path(out) if out else folder_for(folder, period)
    made = make(content, day, period, days, target)
    if as_json:
        put(made.as_json())
    elif made.bulletins:
        click.echo(
            f"{counted(len(made.bulletins), 'bulletin')}, {made.minutes:.0f} min of talk\n"
            + "\n".join(made.files)
        )
    else:
        click.echo(f"No bulletin in force was issued or revised in {show_days(days)}.")
    end(bool(made.bulletins))
