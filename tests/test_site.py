"""The whole demo site: links, well-formed pages, content policy, size, sameness."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise
from pathlib import Path
from urllib.parse import urlsplit

import html5lib
import pytest

from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin, dead_links, files_of, links, site_of, target
from tests.well_formed import elements, problems_of

DEMO = Path(__file__).resolve().parent.parent / "bulletins"


@pytest.fixture(scope="module")
def pages() -> dict[str, str]:
    return site_of(DEMO)


@pytest.fixture(scope="module")
def shown(pages: dict[str, str]) -> dict[str, str]:
    return {path: text for path, text in pages.items() if path.endswith(".html")}


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return files_of(DEMO)


def test_every_address_of_the_contract_is_there(pages: dict[str, str]) -> None:
    for path in (
        "index.html",
        "404.html",
        "bulletins/index.html",
        "bulletins/2026-014/index.html",
        "families/index.html",
        "families/Tarn/index.html",
        "models/index.html",
        "models/TD45A/index.html",
        "components/index.html",
        "components/drain-pump/index.html",
        "symptoms/index.html",
        "symptoms/hums-but-does-not-drain/index.html",
        "codes/index.html",
        "codes/E21/index.html",
        "parts/index.html",
        "roundups/index.html",
        "roundups/2026-Q1/index.html",
        "feed.xml",
        "sitemap.xml",
        "manifest.webmanifest",
    ):
        assert path in pages


def test_no_link_is_dead(pages: dict[str, str], files: dict[str, bytes]) -> None:
    assert dead_links(pages, files) == []


def test_every_link_inside_the_site_is_relative(shown: dict[str, str]) -> None:
    for path, text in shown.items():
        if path != "404.html":
            assert not [href for href in links(text) if href.startswith("/")], path


def test_every_page_is_reached_from_the_front_page(shown: dict[str, str]) -> None:
    reached, fresh = {"index.html"}, ["index.html"]
    while fresh:
        path = fresh.pop()
        found = {target(path, href) for href in links(shown[path])}
        more = {file for file in found if file in shown} - reached
        reached |= {str(file) for file in more}
        fresh += [str(file) for file in more]
    drafted = set(shown) - reached - {"404.html"}
    assert {path for path in drafted if not path.startswith("bulletins/")} == set()
    for path in drafted:  # only what stands no more may be found by its own address alone
        assert re.search(r'data-standing="(withdrawn|superseded)"', shown[path]), path


def test_every_page_is_well_formed(shown: dict[str, str]) -> None:
    assert {path: problems_of(text) for path, text in shown.items() if problems_of(text)} == {}


def test_pages_parse_without_errors_in_a_reference_parser(shown: dict[str, str]) -> None:
    # html5lib is the reference: it follows the parsing rules of the HTML standard.
    for path in sorted(shown)[::12]:
        parser = html5lib.HTMLParser(strict=False)
        parser.parse(shown[path])
        told = [code for _, code, _ in parser.errors]
        assert told == [], path


def test_every_page_has_one_first_heading_and_none_is_skipped(shown: dict[str, str]) -> None:
    for path, text in shown.items():
        levels = [int(tag[1]) for tag, _ in elements(text) if re.fullmatch("h[1-6]", tag)]
        assert levels.count(1) == 1, path
        assert levels[0] == 1, path
        assert all(b - a <= 1 for a, b in pairwise(levels)), (path, levels)


def test_every_page_has_a_language_landmarks_and_a_way_past_the_header(
    shown: dict[str, str],
) -> None:
    for path, text in shown.items():
        tags = elements(text)
        names = [tag for tag, _ in tags]
        assert ("html", {"lang": "en"}) in tags, path
        assert [names.count(tag) for tag in ("main", "footer", "title")] == [1, 1, 1], path
        assert '<a class="skip" href="#main">' in text, path


POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self' data:; script-src 'self'; "
    "connect-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'"
)


def test_every_page_states_the_content_policy_and_needs_nothing_it_forbids(
    shown: dict[str, str],
) -> None:
    for path, text in shown.items():
        tags = elements(text)
        policies = [a.get("content") for _, a in tags if a.get("http-equiv")]
        assert policies == [POLICY], path
        assert "style" not in [tag for tag, _ in tags], path
        for tag, attributes in tags:
            assert "style" not in attributes, (path, tag)
            assert not [name for name in attributes if name.startswith("on")], (path, tag)
            assert tag != "script" or attributes.get("src"), path


def test_nothing_is_fetched_from_another_host(shown: dict[str, str]) -> None:
    for path, text in shown.items():
        for tag, attributes in elements(text):
            fetched = attributes.get("src") or (tag == "link" and attributes.get("href")) or ""
            canonical = attributes.get("rel") == "canonical"
            assert canonical or not urlsplit(str(fetched)).netloc, (path, tag)


def test_every_picture_has_words_and_its_size(shown: dict[str, str]) -> None:
    seen = 0
    for path, text in shown.items():
        for tag, attributes in elements(text):
            if tag == "img":
                seen += 1
                assert attributes.get("alt"), path
                assert int(attributes["width"] or 0) > 0, path
                assert int(attributes["height"] or 0) > 0, path
    assert seen > 20


def test_no_page_with_its_style_sheet_is_over_100_kilobytes(
    shown: dict[str, str], files: dict[str, bytes]
) -> None:
    style = sum(len(content) for path, content in files.items() if path.endswith(".css"))
    for path, text in shown.items():
        assert len(text.encode()) + style < 100_000, path


def test_span_pages_are_small(shown: dict[str, str]) -> None:
    spans = [t for path, t in shown.items() if re.fullmatch(r"models/[^/~]+/[^/~]+/.*", path)]
    assert len(spans) > 25
    assert max(len(text.encode()) for text in spans) < 30_000


def test_the_same_house_and_day_give_the_same_bytes(pages: dict[str, str]) -> None:
    assert site_of(DEMO) == pages


def test_another_day_changes_only_what_tells_the_day(pages: dict[str, str]) -> None:
    tomorrow = site_of(DEMO, date(2026, 11, 26))
    changed = {path for path in pages if tomorrow.get(path) != pages[path]}
    assert not [path for path in changed if path.startswith(("bulletins/", "parts/", "codes/"))]
    assert "index.html" in changed


def test_one_changed_bulletin_leaves_the_other_bulletins_pages_alone(
    make_house: MakeHouse,
) -> None:
    other = bulletin(number="2026-015", title="Other")
    before = site_of(make_house({"a.md": bulletin(), "b.md": other}))
    after = site_of(make_house({"a.md": bulletin("Changed text."), "b.md": other}))
    changed = {path for path in before if after[path] != before[path]}
    # The digest of its quarter shows the first paragraph.
    digest = "roundups/2026-Q1/index.html"
    feeds = {"feed.xml", "families/Tarn/feed.xml"}
    assert changed == {"bulletins/2026-014/index.html", *feeds, digest}


OWN_SCRIPT = re.compile(r'<script defer src="[./]*assets/[a-z]+\.[0-9a-f]{10}\.js">')
HOSTILE = "\"><script>alert(1)</script><img src=x onerror='alert(2)'>"


def test_hostile_text_in_any_field_is_shown_as_text(make_house: MakeHouse) -> None:
    typed = "'" + HOSTILE.replace("'", "''") + "'"
    folder = make_house(
        {
            "a.md": bulletin(
                HOSTILE,
                title=typed,
                summary=typed,
                component=typed,
                symptoms=f"[{typed}]",
                codes=f"[{typed}]",
                tools=f"[{typed}]",
                consumables=f"[{typed}]",
                age=f"{{years: 5, advice: {typed}}}",
                checks=f"[{{cause: {typed}, test: {typed}, fix: {typed}, minutes: 5}}]",
                parts=f"[{{number: HR-310-4126, note: {typed}}}]",
            ),
            "reference/house.yaml": f"name: {typed}\ncontact: {typed}\n",
        }
    )
    pages = site_of(folder)
    assert "bulletins/2026-014/index.html" in pages
    for path, text in pages.items():
        assert re.findall(r"<script[^>]*>", text) in ([], OWN_SCRIPT.findall(text)), path
        if path.endswith(".html"):
            assert problems_of(text) == [], path
            assert not [t for t, a in elements(text) if "onerror" in a], path
    assert dead_links(pages, files_of(folder)) == []


def test_names_that_lead_out_of_a_folder_stay_inside_the_site(make_house: MakeHouse) -> None:
    names = ["../../etc/passwd", "..", "a/b", "CON", "a\\\\b", "~2"]
    listed = ", ".join(f'"{name}"' for name in names)
    folder = make_house(
        {"a.md": bulletin(component=f"[{listed}]", symptoms=f"[{listed}]", codes=f"[{listed}]")}
    )
    pages = site_of(folder)
    for path in pages:
        assert not path.startswith("/"), path
        assert all(step not in ("", ".", "..") for step in path.split("/")), path
        assert "\\" not in path, path
    assert dead_links(pages, files_of(folder)) == []


def test_a_site_in_another_script_holds_together(make_house: MakeHouse) -> None:
    folder = make_house(
        {
            "a.md": bulletin(
                "نص المضخة.", title="المضخة لا تعمل", component="مضخة التصريف", symptoms="[طنين]"
            ),
            "b.md": bulletin(
                number="2026-015", component="Türdichtung & Co", symptoms="[löst aus]"
            ),
            "reference/house.yaml": "name: بيت\nlanguage: ar\n",
        }
    )
    pages = site_of(folder)
    assert "components/مضخة-التصريف/index.html" in pages
    assert '<html lang="ar">' in pages["index.html"]
    assert 'dir="auto">المضخة لا تعمل</h1>' in pages["bulletins/2026-014/index.html"]
    assert dead_links(pages, files_of(folder)) == []


def test_an_empty_house_has_a_site(make_house: MakeHouse) -> None:
    folder = make_house({})
    pages = site_of(folder)
    assert dead_links(pages, files_of(folder)) == []
    assert all(problems_of(text) == [] for path, text in pages.items() if path.endswith("html"))


def test_long_lists_are_cut_into_sheets_that_lead_on(make_house: MakeHouse) -> None:
    many = {
        f"{n}.md": bulletin(number=f"2026-{n}", title=f"Title {n}", component="drain pump")
        for n in range(100, 350)
    }
    folder = make_house(many)
    pages = site_of(folder)
    sheets = [f"bulletins/{at}index.html" for at in ("", "~2/", "~3/")]
    assert [path in pages for path in sheets] == [True, True, True]
    assert "bulletins/~4/index.html" not in pages
    found = [number for path in sheets for number in re.findall(r">(2026-\d+)<", pages[path])]
    assert sorted(found) == sorted(f"2026-{n}" for n in range(100, 350))
    assert 'rel="next" href="../bulletins/~2/index.html"' in pages[sheets[0]]
    assert 'rel="prev" href="../../bulletins/index.html"' in pages[sheets[1]]
    assert "components/drain-pump/~3/index.html" in pages
    assert dead_links(pages, files_of(folder)) == []


def test_today_is_the_only_clock() -> None:
    assert "25 Nov 2026" in site_of(DEMO, TODAY)["index.html"]
    assert "1 Feb 2027" in site_of(DEMO, date(2027, 2, 1))["index.html"]
