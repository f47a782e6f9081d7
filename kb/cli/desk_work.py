"""The commands that write: draft, proof, publish, preview, start."""

from __future__ import annotations

import sys
import threading
import webbrowser
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import click

from kb.cli import common
from kb.cli.questions import as_json, put
from kb.errors import KbError, Problem
from kb.housefolder import nearest_house
from kb.records import KINDS, House


def chosen(house: str | None, today: date | None) -> tuple[Path, date]:
    """Return the house's folder and the day, given before or after the command word."""
    given = click.get_current_context().obj or {}
    folder = house or given.get("house")
    day = today or given.get("today") or date.today()
    return (Path(folder) if folder else nearest_house(Path.cwd())), day


def read(folder: Path) -> House:
    """Read the house in *folder*; KbError where there is none."""
    from kb.house import read_house
    from kb.housefolder import is_house

    if not is_house(folder):
        raise KbError(f"{folder} is no house: it has no reference/ tables", "kb start DIR begins one")
    return read_house(folder)


@click.command()
@click.argument("title", nargs=-1)
@click.option("--family", metavar="NAME", default="", help="The family it is about.")
@click.option("--kind", type=click.Choice(KINDS), default="repair", help="What it tells.")
@click.option("--component", metavar="NAME", default="", help="The component it is about.")
@click.option("--like", metavar="NUMBER", default="", help="Begin with a copy of this bulletin.")
@click.option("--number", metavar="NUMBER", default="", help="Instead of the next free number.")
@common
def draft(
    title: tuple[str, ...],
    family: str,
    kind: str,
    component: str,
    like: str,
    number: str,
    house: str | None,
    today: date | None,
) -> None:
    """Start a bulletin: the next number, in its place, ready to fill in.

    \b
    kb draft Door will not latch after transport --family Tarn
    kb draft --like 2026-014
    """
    from kb.drafting import draft as write_draft

    folder, day = chosen(house, today)
    given = {"title": " ".join(title), "family": family, "kind": kind, "component": component}
    path = write_draft(read(folder), day, given, like, number)
    click.echo(f"{path}")
    click.echo("Fill it in, take out `status: draft`, then: kb proof", err=True)


@click.command()
@as_json
@common
def proof(as_json: bool, house: str | None, today: date | None) -> None:
    """Read everything and say what is wrong, with file, line and remedy.

    \b
    kb proof
    kb proof --json
    """
    from kb.proof import run
    from kb.proof.report import as_json as problems_json
    from kb.proof.report import report

    folder, day = chosen(house, today)
    problems = run(read(folder), day)
    if as_json:
        put(problems_json(problems))
    else:
        click.echo(report(problems, _toned))
    click.get_current_context().exit(1 if _errors(problems) else 0)


_TONES: dict[str, dict[str, Any]] = {
    "error": {"fg": "red"},
    "warning": {"fg": "yellow"},
    "remedy": {"dim": True},
    "sound": {"fg": "green"},
}


def _toned(text: str, tone: str) -> str:
    return click.style(text, **_TONES[tone])


def _errors(problems: list[Problem]) -> int:
    return sum(problem.level == "error" for problem in problems)


@click.command()
@click.option("--out", metavar="DIR", type=click.Path(file_okay=False), help="Where the site goes.")
@as_json
@common
def publish(out: str | None, as_json: bool, house: str | None, today: date | None) -> None:
    """Index the house and write its site; with errors in it, nothing is changed.

    \b
    kb publish
    kb publish --out /srv/www/service
    """
    from kb import derived
    from kb.desk import renew
    from kb.proof import run
    from kb.proof.report import report
    from kb.publish import publish as write_site

    folder, day = chosen(house, today)
    looks = derived.look(folder)
    content = read(folder)
    problems = run(content, day)
    if _errors(problems):
        click.echo(report(problems, _toned), err=True)
        raise KbError("nothing was published: the house has errors", "mend them; see `kb proof`")
    target = Path(out) if out else folder.resolve().parent / "site" / "public"
    done = write_site(content, day, target, _progress())
    renew(folder, content, looks)
    if as_json:
        put(done.as_json())
    else:
        click.echo(
            f"{done.bulletins} bulletins, {done.pages} pages in {target}: {done.written} files written, "
            f"{done.unchanged} unchanged, {done.removed} removed, {done.seconds:.1f} s"
        )


def _progress() -> Callable[[int, int], None]:
    """Return what is told of each file rendered: a counting line, on a terminal alone."""
    if not sys.stderr.isatty():
        return lambda done, total: None

    def count(done: int, total: int) -> None:
        if done % 50 == 0:
            click.echo(f"\r{done} files", nl=False, err=True)

    return count


@click.command()
@click.option("--port", type=click.IntRange(0, 65535), default=8017, help="Port on this machine.")
@click.option("--open/--no-open", "opened", default=True, help="Open the browser.")
@common
def preview(port: int, opened: bool, house: str | None, today: date | None) -> None:
    """Publish aside, serve it on this machine and keep up with edits.

    \b
    kb preview
    kb preview --port 8020 --no-open
    """
    from kb.preview import Preview

    folder, day = chosen(house, today)
    read(folder)
    running = Preview(folder, lambda: day, lambda text: click.echo(text, err=True))
    server = running.serve(port)
    running.build()
    address = f"http://127.0.0.1:{server.server_address[1]}/"
    click.echo(f"{address}  (Ctrl-C ends it)")
    threading.Thread(target=server.serve_forever, daemon=True).start()
    if opened:
        webbrowser.open(address)
    stop = threading.Event()
    try:
        running.keep_up(stop)
    except KeyboardInterrupt:
        stop.set()
    finally:
        server.shutdown()


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path(file_okay=False))
def start(folder: str) -> None:
    """Begin a house of your own: commented reference tables and a sample bulletin.

    \b
    kb start myhouse
    """
    from kb.starting import start as write_house

    written = write_house(Path(folder))
    for path in written:
        click.echo(str(path))
    click.echo(f"Next: cd {folder} && kb proof && kb preview", err=True)
