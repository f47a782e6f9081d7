"""Every kind of page passes the Nu Html Checker, with the style sheet and the drawings.

Source: the HTML standard as the checker of validator.w3.org (vnu, npm package vnu-jar 26.9.27)
holds pages to it: errors and warnings alike.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.dates import parse_days
from kb.house import read_house
from kb.pages import all_pages
from kb.publish import publish
from kb.records import House
from kb.roundup import roundup
from tests.conftest import SMALL_HOUSE
from tests.rendered import RENDERER, TODAY, bulletin
from tests.test_pages_escaping import WORST, typed_house
from tests.validator import complaints

CASES = Path(__file__).resolve().parent / "cases" / "markup.md"
DEMO = Path(__file__).resolve().parent.parent / "bulletins"
BODIES = {
    "everything": """\
# A heading as high as the title

##### One that leaves two out

::: danger
Live parts.
:::

::: notice
1. one
2. two
   - deep

   | a | b |
   |--:|:-:|
   | {12 N m} | `E21` |
:::

> quoted *and* **strong**

```
code <b>
```

![A pump](pump.svg)

Term with <br> and &amp; and http://example.com/?a=1&b=2 and [a link](https://example.com/?a&b "t").

***

[two words](#nowhere) ![](missing.png) ![remote](https://example.com/x.png)
""",
    "empty": "",
    "right to left": "المضخة تطن ولا تضخ. E21\n\n- واحد\n- اثنان",
    "headings twice": "## Twice\n\na\n\n## Twice\n\nb\n\n## main\n\nc\n\n## q",
    "a list in a list": "- a\n\n      code\n\n  1. b\n     > c\n     > | a |\n     > |---|\n",
}
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0h9v9z"/></svg>'


def bodies() -> Iterator[tuple[str, str]]:
    """Yield every body to try with its name: those above, and all of the markup cases."""
    yield from BODIES.items()
    blocks = CASES.read_text(encoding="utf-8").split("\n.\n")
    for at in range(0, len(blocks) - 2, 2):
        yield f"case {at}", blocks[at + 1]


def body_house(folder: Path) -> House:
    """Return a house with a bulletin for each body."""
    files: dict[str, bytes] = {name: text.encode() for name, text in SMALL_HOUSE.items()}
    for at, (name, body) in enumerate(bodies()):
        front = {"number": f"B-{at}", "title": f"Body {at} {name}", "symptoms": f"[hums {at % 9}]"}
        files[f"b{at}.md"] = bulletin(body, **front).encode()
    files["pump.svg"] = SVG
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    return read_house(folder)


def write_pages(house: House, folder: Path) -> int:
    """Write every page of *house* that is HTML below *folder*; return how many."""
    count = 0
    for page in all_pages(house, TODAY):
        if page.path.endswith(".html"):
            target = folder / page.path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(RENDERER.text(page), encoding="utf-8")
            count += 1
    return count


def test_the_demo_site_passes_the_checker(demo_site: Path) -> None:
    kinds = {path.relative_to(demo_site).parts[0] for path in demo_site.rglob("*.html")}
    assert kinds >= {"bulletins", "families", "models", "parts", "roundups", "symptoms", "codes"}
    assert complaints(demo_site) == []


def test_a_body_of_any_shape_passes_the_checker(tmp_path: Path) -> None:
    house = body_house(tmp_path / "bulletins")
    assert len(house.bulletins) > 40
    publish(house, TODAY, tmp_path / "web")
    assert complaints(tmp_path / "web") == []


def test_whatever_is_typed_in_a_field_passes_the_checker(tmp_path: Path) -> None:
    for at, text in enumerate(WORST):
        assert write_pages(typed_house(text), tmp_path / "web" / str(at)) > 20
    assert complaints(tmp_path / "web") == []


def test_hand_out_and_talk_pass_the_checker(tmp_path: Path) -> None:
    """They carry their style in themselves, so it is checked with them."""
    body_house(tmp_path / "bulletins")
    houses = {"demo": DEMO, "bodies": tmp_path / "bulletins"}
    for name, folder in houses.items():
        house = read_house(folder)
        roundup(house, TODAY, "2026", parse_days("2026"), tmp_path / "web" / name)
    roundup(typed_house(WORST[0]), TODAY, "2026", parse_days("2026"), tmp_path / "web" / "typed")
    assert len(list((tmp_path / "web").rglob("*.html"))) == 6
    assert complaints(tmp_path / "web") == []


def test_a_house_without_anything_in_it_passes_the_checker(tmp_path: Path) -> None:
    assert write_pages(House(folder=Path("nowhere")), tmp_path / "web") > 5
    assert complaints(tmp_path / "web") == []


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ("<p><div></div></p>", "No “p” element in scope"),
        ('<img src="x.png">', "An “img” element must have an “alt” attribute"),
        ('<i id="a"></i><i id="a"></i>', "Duplicate ID “a”"),
        ('<a href="x y">x</a>', "Bad value “x y”"),
    ],
)
def test_the_checker_finds_what_is_wrong(wrong: str, said: str, tmp_path: Path) -> None:
    head = '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>t</title></head>'
    (tmp_path / "page.html").write_text(f"{head}<body>{wrong}</body></html>", encoding="utf-8")
    told = complaints(tmp_path)
    assert any(said in each and re.match(r"page\.html:\d+:", each) for each in told), told
