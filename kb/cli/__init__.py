"""The command `kb`: words in, answers out. The only part of the product that prints or exits."""

from __future__ import annotations

import errno
import gc
import importlib
import os
import sys
from datetime import date
from io import TextIOWrapper
from typing import Any

import click

from kb import __version__
from kb.cli.shared import common, put
from kb.errors import KbError

# The command words in the order of a working day; each is loaded only when it is called.
COMMANDS: dict[str, str] = {
    "draft": "kb.cli.desk_work",
    "proof": "kb.cli.desk_work",
    "publish": "kb.cli.publishing",
    "preview": "kb.cli.desk_work",
    "find": "kb.cli.questions",
    "plate": "kb.cli.questions",
    "part": "kb.cli.questions",
    "visit": "kb.cli.trips",
    "roundup": "kb.cli.trips",
    "start": "kb.cli.desk_work",
    "hosted": "kb.cli.hosting",
    "hooks": "kb.cli.repository",
    "webserver": "kb.cli.webserver",
}

EPILOG = """\b
Each command tells more:     kb find --help
The TAB key completes words and options once this has run in the shell:
  bash   eval "$(_KB_COMPLETE=bash_source kb)"
  zsh    eval "$(_KB_COMPLETE=zsh_source kb)"
  fish   _KB_COMPLETE=fish_source kb | source
NO_COLOR=1 turns colours off; KB_TODAY stands in for --today.
Exit status: 0 done, 1 errors in the house or nothing found, 2 wrong usage.
"""


class Refused(click.ClickException):
    """An error of ours, shown with its remedy; ends the command with status 1."""

    def __init__(self, error: KbError) -> None:
        super().__init__(error.message)
        self.remedy = error.remedy

    def show(self, file: Any = None) -> None:
        """Print message and remedy on standard error."""
        from kb.shown import wrapped

        click.echo(wrapped(self.message, 4, "kb: "), err=True)
        if self.remedy:
            click.echo(wrapped(self.remedy, 4), err=True)


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
            hint = f"Did you mean '{near}'?" if near else "`kb --help` lists them."
            raise click.UsageError(f"There is no command '{args[0]}'. {hint}", ctx)
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; our own errors end here, in words, and as JSON where that was asked."""
        try:
            return super().invoke(ctx)
        except KbError as error:
            raise _refused(ctx, error) from error
        except OSError as error:
            if error.errno == errno.EPIPE:  # the reader of a pipe has seen enough
                raise
            place = f": {error.filename}" if error.filename else ""
            told = KbError(f"{error.strerror or error}{place}", "see who may read and write there")
            raise _refused(ctx, told) from error


def _refused(ctx: click.Context, error: KbError) -> Refused:
    empty = (ctx.obj or {}).get("empty")
    if empty is not None:
        put({**empty, "error": error.message, "remedy": error.remedy})
    return Refused(error)


@click.group(
    cls=Words,
    epilog=EPILOG,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
)
@common(envvar="KB_TODAY")
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
    # https://no-color.org: set and not empty.
    if os.environ.get("NO_COLOR"):
        ctx.color = False


def main() -> None:
    """Run the command line; never ends in a traceback."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a character gets a mark in its place, not an error.
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
    # A command is short and leaves little behind: collecting garbage as often as a server does
    # would take a tenth of the time in which a question is answered.
    gc.set_threshold(100_000, 50, 50)
    try:
        kb(prog_name="kb")
    except RecursionError:  # nothing a user can write should get here; say so rather than dump
        click.echo("kb: something in the house is nested too deeply to read", err=True)
        sys.exit(1)
    except MemoryError:
        click.echo("kb: this machine has too little memory for the house", err=True)
        sys.exit(1)
    except Exception as error:  # a fault of ours: told in a line, the whole of it kept in a file
        click.echo(f"kb: a fault in kb itself ({type(error).__name__}: {error})", err=True)
        click.echo(f"    please send us {_kept(error)}", err=True)
        sys.exit(1)


def _kept(error: Exception) -> str:
    """Write where *error* came from into a file and return its path."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="kb-fault-", suffix=".txt", delete=False, encoding="utf-8", errors="replace"
    ) as file:
        traceback.print_exception(error, file=file)
    return file.name
