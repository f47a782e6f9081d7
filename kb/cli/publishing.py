"""The command that publishes, and goes back."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from kb.cli.shared import answers_in_json, as_json, chosen, common, put, say, stages
from kb.cli.telling import as_text, errors_in
from kb.errors import KbError
from kb.records import House

if TYPE_CHECKING:
    from kb.proof.again import Proofed
    from kb.publish import Published

_UNPUBLISHED = dict.fromkeys(("bulletins", "pages", "written", "unchanged", "removed"), 0)


@click.command(short_help="Index the house and write its site.")
@click.option("--out", metavar="DIR", type=click.Path(file_okay=False), help="Where the site goes.")
@click.option(
    "--keep",
    metavar="N",
    type=click.IntRange(0, 1000),
    default=None,
    help="Older editions that --back can return to [1].",
)
@click.option("--compress", is_flag=True, help="Add packed copies (gzip, Brotli) for web hosts.")
@click.option("--back", is_flag=True, help="Return to the edition before; nothing is read.")
@as_json
@common()
def publish(
    out: str | None,
    keep: int | None,
    compress: bool,
    back: bool,
    as_json: bool,
    house: str | None,
    today: date | None,
) -> None:
    """Index the house and write its site; with errors in it, nothing is changed.

    The site goes to site/public beside the house unless --out says otherwise. It appears all at
    once: a reader meets the old site or the new one. Only files that changed are written, and
    files of others in that folder are never touched.

    \b
    kb publish
    kb publish --out /srv/www/service
    kb publish --back
    """
    answers_in_json(as_json, {**_UNPUBLISHED, "seconds": 0.0})
    if back and (keep is not None or compress):
        raise click.UsageError(
            "--back publishes nothing: --keep and --compress mean nothing to it."
        )
    if back and out:
        return _go_back(Path(out), as_json)
    folder, day = chosen(house, today)
    target = Path(out) if out else folder.resolve().parent / "site" / "public"
    if back:
        return _go_back(target, as_json)
    settings = {"keep": 1 if keep is None else keep, "compress": compress}
    done = _published(folder, day, target, settings, as_json)
    if as_json:
        return put(done.as_json())
    click.echo(
        f"{done.bulletins} bulletins on {done.pages} pages in {done.seconds:.1f} s: {done.written}"
        f" files written, {done.unchanged} unchanged, {done.removed} removed\n{target}"
    )
    return None


def _published(
    folder: Path, day: date, target: Path, settings: dict[str, Any], quiet: bool
) -> Published:
    """Publish the house in *folder*, unless it is published already: KbError."""
    from kb.publish import Manner, as_before, asking, publish_from, refuse_mixing

    refuse_mixing(folder, target)
    asked = asking(folder, day, settings["compress"])
    done = as_before(asked, target)
    if done:
        return done
    doing = stages(quiet)
    doing("Reading the house")
    progress = counting(quiet)
    manner = Manner(asked=asked, progress=progress, waiting=_waiting, **settings)
    with _desk_renewed(folder, doing) as renewing:

        def accept(house: House, before: Proofed | None) -> Proofed:
            proofed = _accept(house, day, before, doing)
            renewing.append(house)
            return proofed

        return publish_from(folder, day, target, accept, manner)


@contextmanager
def _desk_renewed(folder: Path, doing: Callable[[str], None]) -> Iterator[list[House]]:
    """Bring the desk's store up to date once all went well, with the house put on the list.

    Where nobody has asked yet there is no store: the first question makes it.
    """
    from kb import derived
    from kb.desk import renew

    looks = derived.look(folder)
    houses: list[House] = []
    yield houses
    if houses and derived.current(folder):
        doing("Indexing")
        renew(folder, houses[-1], looks)
        doing("")


def _accept(
    house: House, day: date, before: Proofed | None, doing: Callable[[str], None]
) -> Proofed:
    """Refuse a house with errors: KbError; return what its proof found."""
    from kb.proof import run_again

    doing(f"Proofing {len(house.bulletins)} bulletins")
    problems, proofed = run_again(house, day, before)
    doing("")
    if errors_in(problems):
        say(as_text(problems))
        raise KbError("nothing was published: the house has errors", "mend them; see `kb proof`")
    return proofed


def _go_back(target: Path, as_json: bool) -> None:
    from kb.publish import go_back

    done, published = go_back(target, _waiting)
    if as_json:
        return put(done.as_json())
    click.echo(
        f"The site is as it was published on {published}:"
        f" {done.bulletins} bulletins on {done.pages} pages\n{target}"
    )
    return None


def _waiting() -> None:
    say("Another publish into this folder is running: waiting for it.")


def counting(quiet: bool) -> Callable[[int, int], None]:
    """Return what is told of each file made: how many of how many, on a terminal alone."""
    stage = stages(quiet)

    def count(done: int, total: int) -> None:
        if done == total:
            stage("")
        elif done % 50 == 0:
            stage(f"{done} of about {total} files" if total > done else f"{done} files")

    return count
