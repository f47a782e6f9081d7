"""The command `kb`: words in, answers out. The only part of the product that prints or exits."""

from __future__ import annotations

import importlib
import os
import sys
from datetime import date
from typing import Any

import click

from kb import __version__
from kb.errors import KbError

# The command words in the order of a working day; each is loaded only when it is called.
COMMANDS: dict[str, str] = {
    "draft": "kb.cli.desk_work",
    "proof": "kb.cli.desk_work",
    "publish": "kb.cli.desk_work",
    "preview": "kb.cli.desk_work",
    "find": "kb.cli.questions",
    "plate": "kb.cli.questions",
    "part": "kb.cli.questions",
    "start": "kb.cli.desk_work",
}


class Refused(click.ClickException):
    """An error of ours, shown with its remedy; ends the command with status 1."""

    def __init__(self, error: KbError) -> None:
        super().__init__(error.message)
        self.remedy = error.remedy

    def show(self, file: Any = None) -> None:
        """Print message and remedy on standard error."""
        click.echo(f"kb: {self.message}", err=True)
        if self.remedy:
            click.echo(f"    {self.remedy}", err=True)


class Words(click.Group):
    """The group of commands, loaded one at a time so that a question is answered at once."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the command words in the order of a working day."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Load one command."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = getattr(importlib.import_module(COMMANDS[cmd_name]), cmd_name)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command word; a mistyped one is answered with the nearest."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            from kb.folding import nearest

            near = nearest(args[0], COMMANDS, cutoff=0.5)
            hint = f" Did you mean '{near}'?" if near else " `kb --help` lists them."
            raise click.UsageError(f"There is no command '{args[0]}'.{hint}", ctx)
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; our own errors end here, in words."""
        try:
            return super().invoke(ctx)
        except KbError as error:
            raise Refused(error) from error
        except OSError as error:
            place = f" ({error.filename})" if error.filename else ""
            raise Refused(KbError(f"{error.strerror or error}{place}")) from error


def _day(ctx: click.Context, parameter: click.Parameter, value: str | None) -> date | None:
    if value is None:
        return None
    try:
        return date.fromisoformat(value)
    except ValueError as error:
        raise click.BadParameter("a day is written like 2026-11-25") from error


def common(command: Any) -> Any:
    """Give a command the options that may stand before or after the command word."""
    today = click.option(
        "--today", metavar="DAY", callback=_day, envvar="KB_TODAY", help="Reckon as on this day."
    )
    house = click.option(
        "--house",
        metavar="DIR",
        type=click.Path(exists=True, file_okay=False),
        help="Another house than bulletins/ here or above.",
    )
    return house(today(command))


@click.group(cls=Words, context_settings={"help_option_names": ["-h", "--help"]})
@common
@click.version_option(__version__, prog_name="kb")
@click.pass_context
def kb(ctx: click.Context, house: str | None, today: date | None) -> None:
    """Service bulletins: write them, prove them, publish them, and ask them.

    \b
    kb find "td45a3 kp1400031 e21 wont drain"
    kb plate TD45A3 "K P 14 00031"
    kb part HR-310-1105
    """
    ctx.obj = {"house": house, "today": today}
    if "NO_COLOR" in os.environ:
        ctx.color = False


def main() -> None:
    """Run the command line; never ends in a traceback."""
    try:
        kb(prog_name="kb")
    except RecursionError:  # nothing a user can write should get here; say so rather than dump
        click.echo("kb: something in the house is nested too deeply to read", err=True)
        sys.exit(1)
