"""Whatever is typed in whatever field stays text: no mark of it ever becomes a mark of the page.

The oracle is html5lib, which follows the parsing rules of the HTML standard: a page has the same
elements and attributes whether an author typed plain words or marks in a field.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Set
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import html5lib
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from kb.dates import Days
from kb.markup import html, read
from kb.pages import all_pages
from kb.records import (
    Age,
    Block,
    Bulletin,
    Check,
    Coverage,
    Family,
    House,
    KitRow,
    PartLine,
    PartRow,
    Scheme,
    SchemeUse,
)
from kb.render import Renderer
from tests.rendered import TODAY

TYPED = st.text(
    alphabet=st.one_of(
        st.sampled_from("<>&\"'`=/\\{}%#!-;:()[]|"),
        st.characters(exclude_categories=("Cc", "Cs", "Cn", "Nd", "Nl", "No")),
    ),
    max_size=40,
)
WORST = (
    '"><script>alert(1)</script>',
    "' onmouseover='x",
    "</title></textarea></style><img src=x onerror=x>",
    "<!-- --!> <![CDATA[ ]]>",
    "{{ title }}{% raw %}",
    "javascript:x",
    "&lt;b&gt;&#60;i&#62;&amp;",
)


def typed_house(text: str) -> House:
    """Return a house in which every field that an author types holds *text* behind a letter."""
    said = f"a{text}"
    bulletin = Bulletin(
        number="2026-014",
        title=said,
        kind="repair",
        issued=date(2026, 3, 2),
        component=(said,),
        where=(Block(families=("Tarn",), plants=(said,), but_not=(Block(plants=(said,)),)),),
        body="Plain.",
        summary=said,
        symptoms=(said,),
        codes=(f"q{said}",),  # not the typed text itself, which would lead to its page
        tools=(said,),
        consumables=(said,),
        checks=(
            Check(cause=said, test=said, fix=said, minutes=5, parts=("P-1",), likelihood=0.5),
            Check(cause=f"{said}2", minutes=5, before=(said,)),
        ),
        keep=("P-1",),
        parts=(PartLine(number="P-1", note=said), PartLine(number="P-2")),
        coverage=Coverage(said, 3, "built"),
        age=Age(5, said),
        file="a.md",
    )
    family = Family(
        name="Tarn", product=said, models=("TD1",), produced=Days(date(2020, 1, 1), None),
        schemes=(SchemeUse("s"),),
    )  # fmt: skip
    return House(
        folder=Path("nowhere"),
        name=said,
        contact=said,
        language="en",
        site="https://service.example/",
        families={"Tarn": family},
        schemes={"s": Scheme(name="s", layout="PYYWWNN", plants={"K": said})},
        parts=(
            PartRow(number="P-1", name=said, component=said, note=said, models=(said,)),
            PartRow(number="P-2", name=said, status="gone", replaced_by="P-1", relation="same"),
        ),
        kits=(KitRow(kit="K-9", number="P-1"),),
        bulletins=(bulletin, replace(bulletin, number="2026-015", file="b.md")),
    )


RENDERER = Renderer()


ATOM = "{http://www.w3.org/2005/Atom}"


def site(text: str) -> Iterator[tuple[str, str]]:
    """Yield every page of the typed house by what it is: its template and its place in turn."""
    for at, page in enumerate(all_pages(typed_house(text), TODAY)):
        yield f"{at}-{page.template}", RENDERER.text(page)


def bones(page: str) -> list[tuple[str, tuple[str, ...]]]:
    """Return every element of a page in order, with the names of its attributes."""
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    return [
        (str(each.tag), tuple(sorted(map(str, each.attrib))))
        for each in tree.iter()
        if isinstance(each.tag, str)
    ]


@cache
def plain() -> Mapping[str, Any]:
    return {name: bones(page) for name, page in site("b") if not page.startswith(("<?", "{"))}


@given(TYPED)
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@example(WORST[0])
@example(WORST[1])
@example(WORST[2])
@example(WORST[3])
@example(WORST[4])
def test_a_page_has_the_same_elements_whatever_is_typed(text: str) -> None:
    seen = 0
    for name, page in site(text):
        if name in plain():
            assert bones(page) == plain()[name], name
            seen += 1
    assert seen == len(plain()) > 20


@given(TYPED)
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
@example("]]></summary><entry>&")
@example('"},{"x":"')
def test_what_machines_read_has_the_same_elements_whatever_is_typed(text: str) -> None:
    pages: dict[str, list[str]] = {}
    for name, page in site(text):
        pages.setdefault(name.partition("-")[2], []).append(page)
    whole, *of_families = map(ElementTree.fromstring, pages["feed.xml"])
    assert (whole.findtext(f"{ATOM}title") or "").split() == f"a{text}".split()
    assert len(whole.findall(f"{ATOM}entry")) == 2
    assert of_families
    for feed in of_families:
        title = feed.findtext(f"{ATOM}title") or ""
        assert "".join(title.split()).startswith("".join(f"a{text}:".split()))
        assert {each.tag for each in feed} == {each.tag for each in whole}
    assert {each.tag for each in ElementTree.fromstring("".join(pages["sitemap.xml"]))} == {
        "{http://www.sitemaps.org/schemas/sitemap/0.9}url"
    }
    manifest = json.loads(*pages["manifest.webmanifest"])
    assert manifest["name"].startswith(f"a{text}")


@pytest.mark.parametrize("text", WORST)
def test_what_is_typed_is_read_back_as_typed(text: str) -> None:
    pages = {name.partition("-")[2]: page for name, page in site(text)}
    tree = html5lib.parse(pages["symptom.html"], namespaceHTMLElements=False)
    heading = next(tree.iter("h1"))
    assert " ".join("".join(heading.itertext()).split()) == " ".join(f"a{text}".split())


# The body is Markdown: there marks become elements, but none outside this list

ALLOWED: dict[str, Set[str]] = {
    "a": {"href", "class", "rel", "title"},
    "img": {"src", "alt", "width", "height"},
    "div": {"class", "tabindex", "role", "aria-label"},
    "aside": {"class", "role"},
    "span": {"class"},
    "p": {"class"},
    "th": {"class"},
    "td": {"class"},
    "ol": {"start"},
    "code": {"class"},
    "svg": {"class", "viewBox", "width", "height", "aria-hidden", "focusable"},
    "path": {"fill", "fill-rule", "d"},
    **dict.fromkeys(
        ("h3", "h4", "h5", "h6", "ul", "li", "em", "strong", "s", "br", "hr"), frozenset()
    ),
    **dict.fromkeys(("pre", "blockquote", "table", "thead", "tbody", "tr"), frozenset()),
}
MARKDOWN = st.lists(
    st.sampled_from(
        [
            "# ", "- ", "1. ", "> ", "**", "_", "`", "```\n", "[a](", "![b](", ")", "<a href=", ">",
            "javascript:x", "data:text/html,x", "//host", "a.svg", "\n\n", "\n", "::: danger\n",
            "::: x\n", ":::\n", "|a|b|\n|-|-:|\n", "{12 N m}", "{", "}", "E21", "<script>", "&lt;",
            "<!--", "-->", "]]>", "\\", "\"", "'", " onload=x ", "[r]: javascript:y\n", "[r]", "é",
        ]
    ),
    max_size=25,
).map("".join)  # fmt: skip


@given(MARKDOWN)
@settings(max_examples=150, deadline=None)
@example("[a](javascript:x) ![b](data:text/html,x)")
@example("<img src=x onerror=x>")
@example("```\n</code></pre><script>\n```")
def test_a_body_makes_only_elements_and_attributes_that_are_harmless(typed: str) -> None:
    shown = html(read(typed), lambda number: "codes/E21/" if number == "E21" else None)
    for each in html5lib.parseFragment(shown, namespaceHTMLElements=False).iter():
        name = str(each.tag).rpartition("}")[2]
        if name == "DOCUMENT_FRAGMENT":
            continue
        assert name in ALLOWED, name
        assert set(each.attrib) <= ALLOWED[name], (name, each.attrib)
        for key in ("href", "src"):
            scheme = each.attrib.get(key, "").strip().lower().partition(":")[0]
            assert scheme not in ("javascript", "data", "vbscript")


@given(MARKDOWN)
@settings(max_examples=60, deadline=None)
def test_a_body_is_closed_within_itself(typed: str) -> None:
    """What follows a body stands where it would stand without it."""
    shown = html(read(typed), lambda number: None)
    tree = html5lib.parse(f"<main>{shown}<p id='after'>x</p></main>", namespaceHTMLElements=False)
    after = [each for each in next(tree.iter("main")) if each.get("id") == "after"]
    assert len(after) == 1
