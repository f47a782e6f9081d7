"""The command that tells a web server how to serve the published site: webserver."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from kb.cli.shared import chosen, common, listing
from kb.servers import KINDS


@click.command(
    cls=listing({name: kind.help for name, kind in KINDS.items()}),
    short_help="Print the settings of a web server for the site.",
)
@click.argument("kind", type=click.Choice(tuple(KINDS)), metavar="KIND")
@click.option(
    "--out",
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Where the site lies [site/public].",
)
@common()
def webserver(kind: str, out: str | None, house: str | None, today: date | None) -> None:
    """Print the settings with which a web server serves the published site.

    They say what browsers may keep and for how long, let the copies go out that were packed
    ahead, and hold pages to a policy. The address is the site's in house.yaml. Any server of plain
    files will do without them.

    \b
    kb webserver nginx --out /srv/www/service > /etc/nginx/conf.d/service.conf
    kb webserver headers > site/public/_headers
    """
    from kb.servers import config, site_of

    folder, _ = chosen(house, today)
    site = Path(out) if out else folder.resolve().parent / "site" / "public"
    click.echo(config(kind, site, site_of(folder)), nl=False)
