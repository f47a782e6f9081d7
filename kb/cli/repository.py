"""The command that sets up a git repository, and what its hooks call."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from kb.cli.shared import end, say

if TYPE_CHECKING:
    from kb.hooks.repository import Repository
    from kb.hooks.setup import Wish

_RUNS = "pre-commit pre-merge-commit pre-receive post-receive post-commit post-merge post-rewrite"


@click.command(short_help="Have git proof commits, and publish what is pushed.")
@click.option("--out", metavar="DIR", type=click.Path(file_okay=False), help="Publish pushes here.")
@click.option(
    "--preview",
    "previews",
    metavar="BRANCH DIR",
    nargs=2,
    multiple=True,
    help="Publish another branch there; * and ? fit several.",
)
@click.option(
    "--keep",
    metavar="N",
    type=click.IntRange(0, 1000),
    help="Older editions that publishing keeps to go back to.",
)
@click.option("--compress/--no-compress", default=None, help="Add packed copies for web hosts.")
@click.option("--remove", is_flag=True, help="Take the hooks away again.")
@click.option("--run", type=click.Choice(_RUNS.split()), hidden=True)
@click.pass_context
def hooks(
    ctx: click.Context,
    out: str | None,
    previews: tuple[tuple[str, str], ...],
    keep: int | None,
    compress: bool | None,
    remove: bool,
    run: str | None,
) -> None:
    """Set up the git repository that one stands in.

    In a clone, what is staged is proofed before each commit. In a bare repository on a server,
    what is pushed is proofed before it is accepted, and with --out published to DIR. Errors that
    stood there before do not refuse. Hooks that are already there keep running. Run it again to
    change a folder or to publish anew.

    The published branch is the one HEAD points to (git config kb.branch NAME: another).

    \b
    kb hooks
    kb hooks --out /srv/www/service --compress
    kb hooks --preview "draft/*" /srv/www/drafts
    kb hooks --remove
    """
    from kb.hooks.repository import here

    day = (ctx.obj or {}).get("today") or date.today()
    if remove and (out or previews or keep is not None or compress is not None):
        raise click.UsageError("--remove takes everything away: leave the others out.")
    repository = here()
    if run:
        return end(_run(repository, run, day))
    if remove:
        from kb.hooks.setup import remove as take_away

        return take_away(repository, click.echo)
    from kb.hooks.setup import Wish

    pairs = ((pattern, Path(folder).resolve()) for pattern, folder in previews)
    wish = Wish(Path(out).resolve() if out else None, tuple(pairs), keep, compress)
    return _set_up(repository, wish, day)


def _set_up(repository: Repository, wish: Wish, day: date) -> None:
    from kb.hooks.serving import after_push
    from kb.hooks.setup import set_up

    set_up(repository, wish, click.echo)
    after_push(repository, day, click.echo, afresh=True)


def _run(repository: Repository, name: str, day: date) -> bool:
    """Do the work of one hook; return whether git may go on."""
    if name.startswith("post-"):
        from kb.hooks.serving import after_push

        after_push(repository, day, say)
        return True
    if name == "pre-receive":
        from kb.hooks.pushes import before_push, read_updates

        # Names are bytes to git; those beyond UTF-8 pass through unharmed.
        lines = sys.stdin.buffer.read().decode("utf-8", "surrogateescape").split("\n")
        return before_push(repository, read_updates(lines), day, say)
    from kb.hooks.commits import before_commit

    return before_commit(repository, day, say)
