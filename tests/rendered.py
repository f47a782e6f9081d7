"""A house's site as text in memory, and what tests ask of it."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from urllib.parse import unquote, urlsplit

from kb.house import read_house
from kb.pages import Asset, Desk, all_pages, assets, units
from kb.render import Renderer
from tests.well_formed import elements

TODAY = date(2026, 11, 25)
RENDERER = Renderer()
FRONT = {
    "number": "2026-014",
    "title": "Pump hums",
    "kind": "repair",
    "issued": "2026-03-02",
    "family": "Tarn",
    "component": "drain pump",
}


def bulletin(body: str = "Text.", /, **front: str | None) -> str:
    """Return a bulletin's file; *front* adds keys, or with None takes them away."""
    keys = {**FRONT, **{key.replace("_", "-"): value for key, value in front.items()}}
    lines = [f"{key}: {value}" for key, value in keys.items() if value is not None]
    return "\n".join(["---", *lines, "---", body, ""])


def site_of(folder: Path, today: date = TODAY) -> dict[str, str]:
    """Return every page of a house's site by path."""
    return {page.path: RENDERER.text(page) for page in all_pages(read_house(folder), today)}


def page_of(folder: Path, path: str, today: date = TODAY) -> str:
    """Return one page of a house's site; the others are not rendered."""
    page = next(page for page in all_pages(read_house(folder), today) if page.path == path)
    return RENDERER.text(page)


def files_of(folder: Path) -> dict[str, bytes]:
    """Return every file of a house's site that is no page, by path."""
    made = (each for unit in units(Desk(read_house(folder), TODAY), "") for each in unit.make())
    own = [each for each in made if isinstance(each, Asset)]
    return {asset.path: asset.content for asset in (*own, *assets())}


def words(page: str) -> str:
    """Return what a page says, without its marks, on one line."""
    main = page.partition("<main")[2].partition(">")[2].partition("</main>")[0] or page
    text = re.sub(r"</?(?:a|span|strong|em|code)\b[^>]*>", "", main)
    text = re.sub(r"<[^>]*>", " ", text)
    text = text.replace("&#39;", "'").replace("&#34;", '"').replace("&quot;", '"')
    return " ".join(text.replace("&amp;", "&").split())


def section(page: str, name: str) -> str:
    """Return the words of the section with this id, "" where there is none."""
    text = page.partition(f'id="{name}" aria')[2].partition("</h2>")[2]
    return words(re.split(r'<section class="sheet|<aside class="scan|</article>', text)[0])


def links(page: str) -> list[str]:
    """Return every address that a page names, in links, forms, pictures and its head."""
    named = [
        value
        for _, attributes in elements(page)
        for key, value in attributes.items()
        if key in ("href", "src", "action")
    ]
    return [value for value in named if value]


def target(path: str, href: str) -> str | None:
    """Return the site's file that *href* on the page *path* means, or None for one outside."""
    parts = urlsplit(href)
    if parts.scheme or parts.netloc or not parts.path:
        return None
    joined = posixpath.normpath(posixpath.join(posixpath.dirname(path), unquote(parts.path)))
    return "index.html" if joined == "." else joined


def dead_links(pages: Mapping[str, str], files: Mapping[str, bytes]) -> list[str]:
    """Return every link of the site that leads to no file of it."""
    known = {*pages, *files}
    return [
        f"{path} -> {href}"
        for path, text in pages.items()
        if path.endswith(".html") and path != "404.html"
        for href in links(text)
        if (file := target(path, href)) is not None and file not in known
    ]
