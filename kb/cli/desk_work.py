"""The commands that write: draft, proof, publish, preview, start."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path

import click

from kb.cli.shared import TYPED, answers_in_json, as_json, chosen, common, end, put, say
from kb.cli.telling import FORMS, as_text, errors_in, tell
from kb.errors import KbError
from kb.records import KINDS, House


def read(folder: Path) -> House:
    """Read the house in *folder*."""
    from kb.house import read_house

    return read_house(folder)


@click.command(short_help="Start a bulletin: the next number, ready to fill in.")
@click.argument("title", nargs=-1, type=TYPED)
@click.option("--family", metavar="NAME", default="", type=TYPED, help="The family it is about.")
@click.option("--kind", type=click.Choice(KINDS), default=None, help="What it tells [repair].")
@click.option("--component", metavar="NAME", default="", type=TYPED, help="What part of it.")
@click.option(
    "--like", metavar="NUMBER", default="", type=TYPED, help="Begin with a copy of this bulletin."
)
@click.option(
    "--number", metavar="NUMBER", default="", type=TYPED, help="Instead of the next free number."
)
@common()
def draft(
    title: tuple[str, ...],
    family: str,
    kind: str | None,
    component: str,
    like: str,
    number: str,
    house: str | None,
    today: date | None,
) -> None:
    """Start a bulletin: the next number, in its place, ready to fill in.

    \b
    kb draft Door will not latch after transport --family Tarn
    kb draft --like 2026-014 Drain pump hums, second form
    """
    from kb.drafting import draft as write_draft

    given = {"family": family, "kind": kind or "", "component": component}
    if like and any(given.values()):
        raise click.UsageError(
            "--like copies family, kind and component: leave them out, or change them in the copy."
        )
    folder, day = chosen(house, today)
    path = write_draft(read(folder), day, {**given, "title": " ".join(title)}, like, number)
    click.echo(str(path.relative_to(Path.cwd()) if path.is_relative_to(Path.cwd()) else path))
    say("Fill it in, take out `status: draft`, then: kb proof")


@click.command(short_help="Read everything and say what is wrong.")
@as_json
@click.option(
    "--format",
    "form",
    type=click.Choice(FORMS),
    help="How it is said: as text, as with --json, as a SARIF log, as annotations for GitHub's"
    " runners, or as GitLab's Code Quality report [text].",
)
@common()
def proof(as_json: bool, form: str | None, house: str | None, today: date | None) -> None:
    """Read everything and say what is wrong, with file, line and remedy.

    The forms for hosts name files from the top of the git repository; the others from the house.

    \b
    kb proof
    kb proof --json
    kb proof --format sarif > proof.sarif
    """
    from kb.proof import run

    if as_json and form not in (None, "json"):
        raise click.UsageError(f"--json and --format {form} are two answers: ask for one.")
    form = "json" if as_json else form or "text"
    answers_in_json(form == "json", {"problems": []})
    folder, day = chosen(house, today)
    doing = stages(form != "text")
    doing("Reading the house")
    content = read(folder)
    doing(f"Proofing {len(content.bulletins)} bulletins")
    problems = run(content, day)
    doing("")
    tell(problems, form, folder)
    end(not errors_in(problems))


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
@click.option("--back", is_flag=True, help="Return to the edition before; nothing is read.")
@as_json
@common()
def publish(
    out: str | None,
    keep: int | None,
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
    if back and keep is not None:
        raise click.UsageError("--back publishes nothing, so --keep has no meaning with it.")
    if back and out:
        return _go_back(Path(out), as_json)
    folder, day = chosen(house, today)
    target = Path(out) if out else folder.resolve().parent / "site" / "public"
    if back:
        return _go_back(target, as_json)
    return _publish(folder, day, target, keep, as_json)


def _publish(folder: Path, day: date, target: Path, keep: int | None, as_json: bool) -> None:
    from kb import derived
    from kb.desk import renew
    from kb.proof import run
    from kb.publish import KEPT
    from kb.publish import publish as write_site

    looks = derived.look(folder)
    doing = stages(as_json)
    doing("Reading the house")
    content = read(folder)
    doing(f"Proofing {len(content.bulletins)} bulletins")
    problems = run(content, day)
    doing("")
    if errors_in(problems):
        say(as_text(problems))
        raise KbError("nothing was published: the house has errors", "mend them; see `kb proof`")
    kept = KEPT if keep is None else keep
    done = write_site(content, day, target, counting(as_json), keep=kept, waiting=_waiting)
    doing("Indexing")
    renew(folder, content, looks)
    doing("")
    if as_json:
        return put(done.as_json())
    click.echo(
        f"{done.bulletins} bulletins on {done.pages} pages in {done.seconds:.1f} s: {done.written}"
        f" files written, {done.unchanged} unchanged, {done.removed} removed\n{target}"
    )
    return None


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


def stages(quiet: bool) -> Callable[[str], None]:
    """Return what is told of each stage of long work: a line on a terminal that the next replaces.

    An empty stage clears the line. Nothing is told where no person is looking.
    """
    if quiet or not sys.stderr.isatty():
        return lambda text: None

    def stage(text: str) -> None:
        click.echo(f"\r{text}{' …' if text else ''}\x1b[K", nl=False, err=True, color=True)

    return stage


def counting(quiet: bool) -> Callable[[int, int], None]:
    """Return what is told of each file made: how many of how many, on a terminal alone."""
    stage = stages(quiet)

    def count(done: int, total: int) -> None:
        if done == total:
            stage("")
        elif done % 50 == 0:
            stage(f"{done} of about {total} files" if total > done else f"{done} files")

    return count


@click.command(short_help="Serve the site on this machine and keep up with edits.")
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8017, help="Port on this machine [8017]."
)
@click.option("--open/--no-open", "opened", default=True, help="Open the browser.")
@common()
def preview(port: int, opened: bool, house: str | None, today: date | None) -> None:
    """Publish aside, serve it on this machine and keep up with edits.

    Drafts are shown too. Each save reloads the page; what is wrong in the house stands at the
    head of it.

    \b
    kb preview
    kb preview --port 8020 --no-open
    """
    from kb.preview import Preview, open_browser

    folder, day = chosen(house, today)
    fixed = today is not None or bool((click.get_current_context().obj or {}).get("today"))
    running = Preview(folder, (lambda: day) if fixed else date.today, say)
    with running.serving(port) as (address, asked_port):
        if not asked_port:
            say(f"Port {port} is taken; another one is used.")
        running.build()
        click.echo(f"{address}  (Ctrl-C ends it)")
        if opened:
            open_browser(address)
        running.keep_up()
    say("Preview ended.")


@click.command(short_help="Begin a house of your own.")
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False))
def start(folder: str) -> None:
    """Begin a house of your own: commented reference tables and a sample bulletin.

    \b
    kb start myhouse
    """
    from kb.starting import start as write_house

    for path in write_house(Path(folder)):
        click.echo(str(path))
    say(f"Next: cd {shlex.quote(folder)} && kb proof && kb preview")
