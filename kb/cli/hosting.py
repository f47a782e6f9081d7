"""The command that prepares a repository for hosted git: hosted."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from kb.cli.shared import chosen, common, listing, say
from kb.hosted import KINDS


@click.command(
    cls=listing({name: kind.help for name, kind in KINDS.items()}),
    short_help="Write the files for GitHub, GitLab and other hosts of git.",
)
@click.argument("kind", type=click.Choice(tuple(KINDS)), metavar="KIND")
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Another folder than the top of the repository.",
)
@common()
def hosted(kind: str, out: str | None, house: str | None, today: date | None) -> None:
    """Write the files with which a host of git proofs each change and publishes the site.

    They go where the host looks for them in the repository that holds the house. A file that is
    there already is never overwritten.

    \b
    kb hosted github
    kb hosted container --out runner
    """
    from kb.hosted import write

    folder, _ = chosen(house, today)
    written = write(kind, folder, Path(out) if out else None)
    for path in written:
        click.echo(str(path))
    say("Read what its first lines say, then commit it." if written else "It is there already.")
