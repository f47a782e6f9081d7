"""What the phone is measured on: the search of a large house, and Pagefind over the same pages."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import takewhile
from pathlib import Path
from random import Random

from kb import phone
from kb.applies import answer
from kb.house import read_house
from kb.pages import Asset, Desk, Page, all_pages, assets
from kb.records import Bulletin, House
from kb.render import Renderer
from kb.units import make_unit

ROOT = Path(__file__).resolve().parent.parent.parent
TODAY = date(2026, 11, 25)
TOOLS = ROOT / "build" / "npm"  # git ignores it
PROGRAM = TOOLS / "node_modules" / ".bin" / "pagefind"
VERSION = "1.6.0"

# Pagefind as its documentation shows it, the first five results as in its own list.
ASK_PAGE = """<!doctype html>
<html lang="en"><meta charset="utf-8"><title>Search</title>
<input type="search"><div data-results></div><script type="module" src="ask.js"></script></html>
"""
ASK_SCRIPT = """
import * as pagefind from "./pagefind/pagefind.js";
const box = document.querySelector("input");
const place = document.querySelector("[data-results]");
async function show() {
  const asked = box.value;
  place.dataset.state = "busy";
  const found = await pagefind.search(asked);
  const pages = await Promise.all(found.results.slice(0, 5).map((result) => result.data()));
  if (box.value !== asked) return;
  place.replaceChildren(...pages.map((page) => {
    const line = document.createElement("p");
    line.dataset.number = page.url;
    line.textContent = `${page.meta.title}: ${page.plain_excerpt}`;
    return line;
  }));
  place.dataset.state = "ready";
}
box.addEventListener("input", show);
box.value = new URLSearchParams(location.search).get("q") ?? "";
if (box.value) show();
"""


@dataclass(frozen=True)
class Asked:
    """A question: what is typed, and of what sort it is."""

    sort: str
    text: str


def build_search(house: House, out: Path) -> None:
    """Write the start page and all that its search fetches into *out*."""
    desk = Desk(house, TODAY)
    carried = phone.write(house, TODAY, desk.told)
    front = next(all_pages(house, TODAY, desk, carried.start.path))
    _write(out, [Asset(front.path, Renderer().text(front).encode())])
    _write(out, assets())
    _write(out, carried.assets())


def build_pages(house: House, out: Path) -> None:
    """Write the pages of all bulletins into *out* and let Pagefind index them there."""
    renderer = Renderer()
    pages = takewhile(_is_bulletins, _after_front(all_pages(house, TODAY)))
    _write(out, (Asset(page.path, renderer.text(page).encode()) for page in pages))
    (out / "index.html").write_text(ASK_PAGE, encoding="utf-8")
    (out / "ask.js").write_text(ASK_SCRIPT, encoding="utf-8")
    install()
    command = [str(PROGRAM), "--site", str(out), "--glob", "bulletins/*/index.html"]
    subprocess.run([*command, "--root-selector", "main"], check=True)


def _is_bulletins(page: Page) -> bool:
    return page.path.startswith("bulletins/")


def _after_front(pages: Iterator[Page]) -> Iterator[Page]:
    return (page for page in pages if page.path not in ("index.html", "404.html"))


def install() -> None:
    """Fetch Pagefind where it is missing."""
    if not PROGRAM.exists():
        TOOLS.mkdir(parents=True, exist_ok=True)
        npm = "npm install --no-save --no-audit --no-fund --no-package-lock --prefix"
        subprocess.run([*npm.split(), str(TOOLS), f"pagefind@{VERSION}"], check=True)


def _write(out: Path, files: Iterator[Asset] | list[Asset]) -> None:
    for file in files:
        path = out / file.path
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(file.content)


def questions(folder: Path, seed: int = 5) -> list[Asked]:
    """Return ten questions that bulletins of the house answer, drawn by *seed*."""
    house = read_house(folder)
    rng = Random(seed)
    told = [b for b in house.bulletins if b.status == "in-force" and b.symptoms]
    rng.shuffle(told)
    coded = next(b for b in told if b.codes)
    fitted = next(b for b in told if b.parts)
    plate, unit = next(pair for b in told if (pair := (_plate(house, b), b))[0])
    return [
        *(Asked("owner", _said(bulletin)) for bulletin in told[-6:]),
        Asked("code", coded.codes[0]),
        Asked("part", fitted.parts[0].number),
        Asked("unit", f"{plate} {unit.symptoms[0]}"),
        Asked("misspelt", _misspelt(rng, _said(told[-7]))),
    ]


def _said(bulletin: Bulletin) -> str:
    """Return what an owner says: a symptom, and of what where it does not say so itself."""
    symptom, component = bulletin.symptoms[0], bulletin.component[0]
    return symptom if component in symptom else f"{component} {symptom}"


def _plate(house: House, bulletin: Bulletin) -> str:
    """Return the rating plate of a unit that the bulletin may be for, "" where none is at hand."""
    family = house.families[bulletin.where[0].families[0]]
    serial = house.schemes[family.schemes[0].name].examples[0].serial
    model = f"{family.models[len(family.models) // 2]}/2"
    found = answer(bulletin.where, make_unit(house, model, serial, TODAY), house, TODAY)
    return f"{model} {serial}" if found.applies == "yes" else ""


def _misspelt(rng: Random, text: str) -> str:
    """Return *text* with two letters of its longest word exchanged."""
    word = max(text.split(), key=len)
    at = rng.randrange(1, len(word) - 2)
    return text.replace(word, word[:at] + word[at + 1] + word[at] + word[at + 2 :], 1)
