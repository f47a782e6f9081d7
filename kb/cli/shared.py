"""What the commands share: the house and the day, words as typed, and JSON on standard output."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import click

from kb.housefolder import house_at, nearest_house

as_json = click.option("--json", "as_json", is_flag=True, help="One JSON object for programs.")


class Typed(click.ParamType[str]):
    """Text as typed on a keyboard; bytes that are no text of this system become marks."""

    name = "text"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Return *value* as text that every part of the product can take."""
        return str(value).encode("utf-8", "replace").decode("utf-8")


TYPED = Typed()


def _day(ctx: click.Context, parameter: click.Parameter, value: str | None) -> date | None:
    if value is None:
        return None
    try:
        return date.fromisoformat(value.strip())
    except ValueError as error:
        raise click.BadParameter(f"'{value}' is no day; one is written like 2026-11-25") from error


def common(envvar: str | None = None) -> Callable[[Any], Any]:
    """Return what gives a command the options that may stand before or after the command word.

    The environment is asked once, by the group: a day typed before the command word wins over it.
    """
    today = click.option(
        "--today",
        metavar="DAY",
        callback=_day,
        envvar=envvar,
        help="Reckon as on this day, like 2026-11-25.",
    )
    house = click.option(
        "--house",
        metavar="DIR",
        type=click.Path(exists=True, file_okay=False),
        help="Another house than bulletins/ here or above.",
    )
    return lambda command: house(today(command))


def listing(kinds: Mapping[str, str]) -> type[click.Command]:
    """Return a kind of command whose help lists *kinds*, each with a line of its own."""

    class Listing(click.Command):
        """A command with a section of kinds before its options."""

        def format_options(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
            """Write the kinds, then the options."""
            with formatter.section("Kinds"):
                formatter.write_dl(list(kinds.items()))
            super().format_options(ctx, formatter)

    return Listing


def chosen(house: str | None, today: date | None) -> tuple[Path, date]:
    """Return the house's folder and the day, given before or after the command word.

    KbError where there is no house.
    """
    given = click.get_current_context().obj or {}
    folder = house or given.get("house")
    day = today or given.get("today") or date.today()
    return (house_at(Path(folder)) if folder else nearest_house(Path.cwd())), day


def answers_in_json(asked: bool, empty: Mapping[str, Any]) -> None:
    """Note that the answer is to be one JSON object: *empty* where the command cannot go on."""
    context = click.get_current_context().find_root()
    if asked and isinstance(context.obj, dict):
        context.obj["empty"] = dict(empty)


def put(answer: Mapping[str, Any] | list[Mapping[str, object]]) -> None:
    """Print one JSON object, or a list of them.

    Letters beyond ASCII stay as they are where the output is UTF-8.
    """
    encoding = (getattr(sys.stdout, "encoding", None) or "").lower().replace("-", "")
    click.echo(json.dumps(answer, ensure_ascii=encoding != "utf8", indent=2))


def say(text: str) -> None:
    """Print a message on standard error."""
    click.echo(text, err=True)


def end(done: bool) -> None:
    """End with status 0, or with 1 where the house has errors or nothing was found."""
    click.get_current_context().exit(0 if done else 1)


def stages(quiet: bool) -> Callable[[str], None]:
    """Return what is told of each stage of long work: a line on a terminal that the next replaces.

    An empty stage clears the line. Nothing is told where no person is looking.
    """
    if quiet or not sys.stderr.isatty():
        return lambda text: None

    def stage(text: str) -> None:
        click.echo(f"\r{text}{' …' if text else ''}\x1b[K", nl=False, err=True, color=True)

    return stage
