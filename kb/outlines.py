"""A body's HTML but for what hangs on the page that shows it: numbers, quantities, files.

Outlines take a fifth of the room of the Markdown tokens that they are made from (`kb.markup`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from kb.addresses import is_remote
from kb.linking import Link, linked


class Placed(NamedTuple):
    """Where a file of the house lies for the page that is written, and its size if a picture."""

    href: str
    width: int = 0
    height: int = 0


Place = Callable[[str], "Placed | None"]


class Showing(NamedTuple):
    """What a page shows a body with: see `kb.markup.html`."""

    link: Link
    units: str = "metric"
    place: Place | None = None
    hint: re.Pattern[str] | None = None

    def placed(self, address: str) -> Placed | None:
        """Return where the file at *address* lies, None where it is not to be shown."""
        return Placed(address) if self.place is None else self.place(address)


class Text(NamedTuple):
    """Running text, in which numbers become links."""

    content: str

    def shown(self, on: Showing) -> str:
        """Return the text as HTML."""
        return "".join(
            f'<a class="number" href="{escaped(href)}">{escaped(piece)}</a>'
            if href
            else escaped(piece)
            for piece, href in linked(self.content, on.link, on.hint)
        )


class Amount(NamedTuple):
    """A quantity, the content of its braces."""

    content: str

    def shown(self, on: Showing) -> str:
        """Return the quantity as HTML: each half keeps together, as in a narrow table cell."""
        first, bracket, second = _both_systems(self.content, on.units).partition(" (")
        halves = [first, f"({second}"] if bracket else [first]
        return " ".join(f'<span class="quantity">{escaped(half)}</span>' for half in halves)


class Image(NamedTuple):
    """A picture of the house, and the words instead of it."""

    src: str
    alt: str

    def shown(self, on: Showing) -> str:
        """Return the picture as HTML, or its words."""
        placed = on.placed(self.src)
        if placed is None:
            return no_picture(self.alt)
        size = f' width="{placed.width}" height="{placed.height}"' if placed.width else ""
        return f'<img src="{escaped(placed.href)}" alt="{escaped(self.alt)}"{size}>'


class Opening(NamedTuple):
    """Where a link to a bulletin's file or to another file of the house begins."""

    href: str

    def shown(self, on: Showing) -> str:
        """Return the begin of the link, nothing where it leads nowhere on the site."""
        target = _target(self.href, on)
        return "" if target is None else f'<a href="{escaped(target)}"{foreign(target)}>'


class Closing(NamedTuple):
    """Where such a link ends."""

    href: str

    def shown(self, on: Showing) -> str:
        """Return the end of the link, if it leads anywhere."""
        return "" if _target(self.href, on) is None else "</a>"


Open = Text | Amount | Image | Opening | Closing


class Outline(NamedTuple):
    """HTML of a body: *fixed* has a piece before each of those that are *open*, and a last one."""

    fixed: tuple[str, ...]
    open: tuple[Open, ...]


def filled(outline: Outline, on: Showing) -> str:
    """Return the HTML of a body as it is shown on a page."""
    found = [outline.fixed[0]]
    for piece, fixed in zip(outline.open, outline.fixed[1:], strict=True):
        found += (piece.shown(on), fixed)
    return "".join(found)


def escaped(text: str) -> str:
    """Return *text* for HTML, between tags or in double quotes."""
    text = text.replace("&", "&amp;").replace("<", "&lt;")
    return text.replace(">", "&gt;").replace('"', "&quot;")


def no_picture(alt: str) -> str:
    """Return the words instead of a picture that is not shown."""
    return f'<span class="no-picture">[{escaped(alt)}]</span>'


def foreign(target: str) -> str:
    """Return what a link says of itself that leads away from the site."""
    return ' rel="noreferrer"' if is_remote(target) else ""


@lru_cache(maxsize=4096)
def _both_systems(quantity: str, units: str) -> str:
    from kb.quantities import show

    return show(quantity, "us" if units == "us" else "metric")


def _target(href: str, on: Showing) -> str | None:
    """Return where a link leads on the site: a bulletin's file to its page, a file to its copy."""
    name = href.partition("#")[0].rsplit("/", 1)[-1]
    if name.endswith(".md"):
        return on.link(name[:-3]) or None
    placed = on.placed(href)
    return placed.href if placed else None
