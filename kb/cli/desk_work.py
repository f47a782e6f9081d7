"""The commands of the desk's own work: draft, proof, preview, start."""

from __future__ import annotations

import shlex
from datetime import date
from pathlib import Path

import click

from kb.cli.shared import TYPED, answers_in_json, as_json, chosen, common, end, say, stages
from kb.cli.telling import FORMS, errors_in, tell
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
