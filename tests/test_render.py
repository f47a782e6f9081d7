"""Templates joined with pages: escaped everywhere, and no name left out in silence."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from kb.pages.assets import hashed
from kb.pages.page import Page, address, file_of
from kb.render import Renderer
from kb.resources import data, folder

TEMPLATES = sorted(path for path in folder("templates").iterdir() if path.is_file())


def test_a_name_that_a_page_does_not_give_is_an_error() -> None:
    with pytest.raises(UndefinedError):
        Renderer().text(Page("index.html", "home.html", {}))


def test_everything_is_escaped_in_html_and_xml() -> None:
    page = Page("sitemap.xml", "sitemap.xml", {"places": ["https://example.com/?a=1&b=<x>'\""]})
    assert "?a=1&amp;b=&lt;x&gt;&#39;&#34;" in Renderer().text(page)


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_only_text_already_made_safe_goes_through_unescaped(path: Path) -> None:
    unescaped = re.findall(r"{{[^}]*\|\s*safe", path.read_text("utf-8"))
    allowed = ["{{ body|safe", "{{ qr|safe"] if path.name == "bulletin.html" else []
    assert unescaped == allowed
    assert "autoescape" not in path.read_text("utf-8")


# Files of their own that are handed out: they carry their style, but no script either.
HANDED_OUT = {"handout.html", "talk.html"}


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_no_template_of_the_site_holds_a_style_and_none_a_script_of_its_own(path: Path) -> None:
    text = path.read_text("utf-8")
    assert not re.search(r"\sstyle=|\son\w+=|<script(?![^>]*src=)|javascript:", text)
    assert ("<style" in text) == (path.name in HANDED_OUT)


@pytest.mark.parametrize(
    ("path", "root"),
    [("index.html", ""), ("bulletins/index.html", "../"), ("models/A/B/index.html", "../../../")],
)
def test_a_page_knows_its_way_up(path: str, root: str) -> None:
    assert Page(path, "x", {}).root == root


@pytest.mark.parametrize(
    ("steps", "href"),
    [
        (("codes", "E21"), "codes/E21/index.html"),
        (("components", "türe"), "components/t%C3%BCre/index.html"),
        (("a", "b c?#"), "a/b%20c%3F%23/index.html"),
        (("lists", "~2"), "lists/~2/index.html"),
    ],
)
def test_an_address_is_escaped_for_a_link(steps: tuple[str, ...], href: str) -> None:
    assert address(*steps) == href


def test_a_file_is_named_as_it_is() -> None:
    assert file_of("components", "türe") == "components/türe/index.html"


def test_a_changed_style_sheet_gets_a_new_name() -> None:
    assert hashed("style.css", b"a") != hashed("style.css", b"b")
    assert hashed("style.css", b"a") == hashed("style.css", b"a")
    assert re.fullmatch(r"assets/style\.[0-9a-f]{10}\.css", hashed("style.css", b"a"))


def test_templates_and_data_lie_where_they_are_looked_for() -> None:
    assert folder("site").is_dir()
    assert data("hazards.json").is_file()
    assert {"base.html", "bulletin.html", "feed.xml"} <= {path.name for path in TEMPLATES}
