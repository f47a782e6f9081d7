"""What machines read to keep up: Atom feeds and sitemap."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from xml.etree import ElementTree

import feedparser
import pytest

from kb.house import read_house
from kb.pages import feeds
from kb.pages.desk import Desk
from kb.render import Renderer
from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin, page_of, site_of, words

ATOM = "{http://www.w3.org/2005/Atom}"
MAP = "{http://www.sitemaps.org/schemas/sitemap/0.9}"
LATER = date(2026, 12, 24)
DEMO = Path(__file__).resolve().parent.parent / "bulletins"


@pytest.fixture(scope="module")
def demo() -> dict[str, str]:
    return site_of(DEMO)


def feed_of(pages: dict[str, str]) -> ElementTree.Element:
    return ElementTree.fromstring(pages["feed.xml"])


# RFC 4287 (rules as retold in public code): a feed has exactly one id, title and updated, and an
# author unless every entry has one; an entry has exactly one id, title and updated, and without
# content at least one link rel="alternate"; updated is a date of RFC 3339; link rel="self" should
# be there; ids are IRIs.


def test_the_feed_has_what_rfc_4287_demands(demo: dict[str, str]) -> None:
    feed = feed_of(demo)
    assert feed.tag == f"{ATOM}feed"
    for name in ("id", "title", "updated", "author"):
        assert len(feed.findall(ATOM + name)) == 1, name
    kinds = [link.get("rel") for link in feed.findall(f"{ATOM}link")]
    assert sorted(str(kind) for kind in kinds) == ["alternate", "self"]


def test_every_entry_has_what_rfc_4287_demands(demo: dict[str, str]) -> None:
    entries = feed_of(demo).findall(f"{ATOM}entry")
    assert len(entries) == 40
    for entry in entries:
        for name in ("id", "title", "updated", "summary"):
            assert len(entry.findall(ATOM + name)) == 1, name
        (link,) = entry.findall(f"{ATOM}link")
        assert link.get("rel") == "alternate"
        assert str(link.get("href")).startswith("https://service.hollin-ridge.example/bulletins/")
        for name in ("updated", "published"):
            assert datetime.fromisoformat(str(entry.findtext(ATOM + name))).tzinfo


def test_ids_are_iris_that_are_all_different(demo: dict[str, str]) -> None:
    ids = [e.text for e in feed_of(demo).iter(f"{ATOM}id")]
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch(r"urn:uuid:[0-9a-f-]{36}", str(each)) for each in ids)


def test_a_reference_reader_takes_the_feed_as_written(demo: dict[str, str]) -> None:
    read = feedparser.parse(demo["feed.xml"])
    assert not read.bozo
    assert read.version == "atom10"
    assert len(read.entries) == 40


def test_the_latest_change_stands_first_and_dates_the_feed(make_house: MakeHouse) -> None:
    pages = site_of(
        make_house(
            {
                "a.md": bulletin(title="Revised", issued="2020-01-01", revised="2026-05-01"),
                "b.md": bulletin(number="2026-015", title="Later", issued="2026-03-01"),
            }
        )
    )
    feed = feed_of(pages)
    titles = [entry.findtext(f"{ATOM}title") for entry in feed.findall(f"{ATOM}entry")]
    assert titles == ["2026-014 Revised", "2026-015 Later"]
    assert feed.findtext(f"{ATOM}updated") == "2026-05-01T00:00:00Z"


def test_ids_stay_when_a_bulletin_changes(make_house: MakeHouse) -> None:
    def ids(title: str) -> list[str | None]:
        pages = site_of(make_house({"a.md": bulletin(title=title)}))
        return [each.text for each in feed_of(pages).iter(f"{ATOM}id")]

    assert ids("One") == ids("Two")


def test_a_house_without_a_site_has_a_sound_feed(make_house: MakeHouse) -> None:
    pages = site_of(make_house({"a.md": bulletin(), "reference/house.yaml": "name: x\n"}))
    feed = feed_of(pages)
    links = [link.get("href") for link in feed.iter(f"{ATOM}link")]
    assert links == ["index.html", "bulletins/2026-014/index.html"]


MADE_BY_HAND = {
    "a.md": bulletin(title="Old", issued="2020-01-01"),
    "b.md": bulletin(number="2026-015", title="Draft", status="draft"),
    "c.md": bulletin(number="2026-016", title="Gone", status="withdrawn"),
    "d.md": bulletin(number="2026-017", title="New", supersedes="[2026-014]", kind="safety"),
    "e.md": bulletin("First words.", number="2026-018", title="Latest", revised="2026-11-01"),
    "f.md": bulletin(number="2026-019", title="Said", summary="In short."),
}


def test_the_feed_tells_of_what_stands_and_of_nothing_else(make_house: MakeHouse) -> None:
    entries = feed_of(site_of(make_house(MADE_BY_HAND))).findall(f"{ATOM}entry")
    assert [entry.findtext(f"{ATOM}title") for entry in entries] == [
        "2026-018 Latest",
        "2026-019 Said",
        "2026-017 New",
    ]


def test_an_entry_has_its_kind_and_its_summary(make_house: MakeHouse) -> None:
    latest, said, new = feed_of(site_of(make_house(MADE_BY_HAND))).findall(f"{ATOM}entry")
    assert latest.findtext(f"{ATOM}summary") == "First words."
    assert said.findtext(f"{ATOM}summary") == "In short."
    category = new.find(f"{ATOM}category")
    assert category is not None
    assert category.get("term") == "safety"  # RFC 4287 section 4.2.2: term is required


def test_a_change_never_comes_before_the_first_day(demo: dict[str, str]) -> None:
    for entry in feed_of(demo).findall(f"{ATOM}entry"):
        published, updated = (entry.findtext(ATOM + name) for name in ("published", "updated"))
        assert str(updated) >= str(published)


def test_the_feed_is_as_new_as_its_newest_entry(demo: dict[str, str]) -> None:
    feed = feed_of(demo)
    changes = [str(entry.findtext(f"{ATOM}updated")) for entry in feed.findall(f"{ATOM}entry")]
    assert changes == sorted(changes, reverse=True)
    assert feed.findtext(f"{ATOM}updated") == changes[0]


def test_an_empty_house_has_a_feed_without_entries(make_house: MakeHouse) -> None:
    feed = feed_of(site_of(make_house({})))
    assert feed.findall(f"{ATOM}entry") == []
    assert feed.findtext(f"{ATOM}updated") == "2026-11-25T00:00:00Z"


def test_every_entry_leads_to_a_page_of_the_site(demo: dict[str, str]) -> None:
    for entry in feed_of(demo).findall(f"{ATOM}entry"):
        (link,) = entry.findall(f"{ATOM}link")
        path = str(link.get("href")).removeprefix("https://service.hollin-ridge.example/")
        assert f"{path}index.html" in demo


def test_every_page_names_the_feed_and_the_manifest(demo: dict[str, str]) -> None:
    for path, page in demo.items():
        if path.endswith(".html"):
            root = "/" if path == "404.html" else "../" * path.count("/")
            assert (
                f'type="application/atom+xml" title="New bulletins" href="{root}feed.xml"' in page
            )
            assert f'<link rel="manifest" href="{root}manifest.webmanifest">' in page


@pytest.mark.parametrize(
    "site",
    ["https://example.com", "https://example.com/", "https://example.com/service/notes"],
)
def test_addresses_are_full_whether_or_not_the_site_ends_in_a_slash(
    site: str, make_house: MakeHouse
) -> None:
    pages = site_of(make_house({"a.md": bulletin(), "reference/house.yaml": f"site: {site}\n"}))
    base = site.rstrip("/") + "/"
    hrefs = [str(link.get("href")) for link in feed_of(pages).iter(f"{ATOM}link")]
    assert hrefs == [f"{base}feed.xml", base, f"{base}bulletins/2026-014/"]
    places = [loc.text for loc in ElementTree.fromstring(pages["sitemap.xml"]).iter(f"{MAP}loc")]
    assert base in places
    assert f"{base}bulletins/2026-014/" in places
    assert f'<link rel="canonical" href="{base}bulletins/2026-014/">' in "".join(pages.values())


def test_characters_that_xml_cannot_hold_are_left_out(make_house: MakeHouse) -> None:
    # XML 1.0 section 2.2: no control character but tab, line feed and carriage return.
    desk = Desk(read_house(make_house({"a.md": bulletin()})), TODAY)
    (only,) = desk.house.bulletins
    odd = replace(only, title="a\x00b\x0bc\ufffed\ud800e", summary="x\x1by")
    text = Renderer().text(feeds.feed(Desk(replace(desk.house, bulletins=(odd,)), TODAY)))
    (entry,) = ElementTree.fromstring(text).findall(f"{ATOM}entry")
    assert entry.findtext(f"{ATOM}title") == "2026-014 abcde"
    assert entry.findtext(f"{ATOM}summary") == "xy"


def test_hostile_text_leaves_the_feed_well_formed(make_house: MakeHouse) -> None:
    typed = '"a < b & c ]]> <x>"'
    pages = site_of(make_house({"a.md": bulletin(title=typed, summary=typed)}))
    (entry,) = feed_of(pages).findall(f"{ATOM}entry")
    assert entry.findtext(f"{ATOM}title") == "2026-014 a < b & c ]]> <x>"


# A feed for each family


TWO_FAMILIES = {
    "reference/families.yaml": (
        "Tarn:\n  product: dishwasher\n  models: [TD45A, TD60A]\n  produced: 2016-09..\n"
        "Cold Store:\n  product: fridge\n  models: [CS1]\n  produced: 2016..\n"
        "Lone:\n  product: hob\n  models: [L1]\n  produced: 2016..\n"
    ),
    "reference/house.yaml": "name: Hollin Ridge\nsite: https://example.com/notes/\n",
    "a.md": bulletin(title="Pump", issued="2026-01-05"),
    "b.md": bulletin(number="2026-015", title="Fan", family="Cold Store", issued="2026-03-01"),
    "c.md": bulletin(number="2026-016", title="Both", family="[Tarn, Cold Store]"),
    "d.md": bulletin(number="2026-017", title="Draft", status="draft"),
}


def entries_of(pages: dict[str, str], path: str) -> list[str | None]:
    feed = ElementTree.fromstring(pages[path])
    return [entry.findtext(f"{ATOM}title") for entry in feed.findall(f"{ATOM}entry")]


def test_a_family_s_feed_tells_of_its_own_bulletins(make_house: MakeHouse) -> None:
    pages = site_of(make_house(TWO_FAMILIES))
    assert entries_of(pages, "families/Tarn/feed.xml") == ["2026-016 Both", "2026-014 Pump"]
    assert entries_of(pages, "families/cold-store/feed.xml") == ["2026-016 Both", "2026-015 Fan"]
    assert len(entries_of(pages, "feed.xml")) == 3


def test_every_family_feed_has_what_rfc_4287_demands(demo: dict[str, str]) -> None:
    paths = [path for path in demo if re.fullmatch(r"families/[^/]+/feed\.xml", path)]
    assert len(paths) == 5
    for path in paths:
        feed = ElementTree.fromstring(demo[path])
        for name in ("id", "title", "updated", "author"):
            assert len(feed.findall(ATOM + name)) == 1, name
        by_rel = {link.get("rel"): link.get("href") for link in feed.findall(f"{ATOM}link")}
        base = "https://service.hollin-ridge.example/"
        assert by_rel == {
            "self": base + path,
            "alternate": base + path.removesuffix("feed.xml"),
        }
        for entry in feed.findall(f"{ATOM}entry"):
            for name in ("id", "title", "updated"):
                assert len(entry.findall(ATOM + name)) == 1, name
        read = feedparser.parse(demo[path])  # a reference reader
        assert not read.bozo
        assert read.version == "atom10"


def test_every_feed_has_an_id_of_its_own_and_an_entry_the_same_in_all(
    demo: dict[str, str],
) -> None:
    # RFC 4287 section 4.2.6: an id must be universally unique and never change; section 4.1.2:
    # entries with the same id are the same entry.
    feeds_by_id: dict[str | None, str] = {}
    entries: dict[str | None, str | None] = {}
    for path in [path for path in demo if path.endswith("feed.xml")]:
        feed = ElementTree.fromstring(demo[path])
        assert feeds_by_id.setdefault(feed.findtext(f"{ATOM}id"), path) == path
        for entry in feed.findall(f"{ATOM}entry"):
            name = entry.findtext(f"{ATOM}title")
            assert entries.setdefault(entry.findtext(f"{ATOM}id"), name) == name
    assert len(feeds_by_id) == 6
    assert not feeds_by_id.keys() & entries.keys()


def test_a_family_s_page_names_its_feed_first_and_links_to_it(make_house: MakeHouse) -> None:
    page = page_of(make_house(TWO_FAMILIES), "families/cold-store/index.html")
    named = re.findall(
        r'<link rel="alternate" type="application/atom\+xml"[^>]*href="([^"]*)"', page
    )
    assert named == ["../../families/cold-store/feed.xml", "../../feed.xml"]
    assert 'class="more" href="../../families/cold-store/feed.xml"' in page


def test_the_front_page_lists_the_feeds_of_few_families_and_not_of_many(
    make_house: MakeHouse,
) -> None:
    few = page_of(make_house(TWO_FAMILIES), "index.html")
    assert "Feeds of new bulletins: all Tarn Cold Store Lone" in words(few)
    many = "".join(
        f"F{n}:\n  product: hob\n  models: [M{n}]\n  produced: 2016..\n" for n in range(13)
    )
    page = page_of(make_house({"reference/families.yaml": many}), "index.html")
    assert "Feeds of new bulletins" not in words(page)


def test_a_family_s_feed_of_a_house_without_a_site_leads_up_to_the_pages(
    make_house: MakeHouse,
) -> None:
    pages = site_of(make_house({**TWO_FAMILIES, "reference/house.yaml": "name: x\n"}))
    feed = ElementTree.fromstring(pages["families/cold-store/feed.xml"])
    assert [link.get("href") for link in feed.iter(f"{ATOM}link")] == [
        "../../families/cold-store/index.html",
        "../../bulletins/2026-016/index.html",
        "../../bulletins/2026-015/index.html",
    ]


def test_an_empty_family_feed_stays_as_it_is_from_day_to_day(make_house: MakeHouse) -> None:
    house = make_house(TWO_FAMILIES)
    one, other = (site_of(house, day)["families/Lone/feed.xml"] for day in (TODAY, LATER))
    assert one == other
    assert "<updated>2026-03-02T00:00:00Z</updated>" in one
    assert "<entry>" not in one


def test_a_feed_never_grows_beyond_its_newest_forty(demo: dict[str, str]) -> None:
    for path in [path for path in demo if path.endswith("feed.xml")]:
        assert demo[path].count("<entry>") <= 40
        assert len(demo[path].encode()) < 30_000


# Sitemap protocol 0.9 (sitemaps.org as cited in public code): full addresses, at most 50 000 a
# file, over that an index of sitemaps.


def test_the_sitemap_holds_the_full_address_of_every_page(demo: dict[str, str]) -> None:
    root = ElementTree.fromstring(demo["sitemap.xml"])
    assert root.tag == f"{MAP}urlset"
    places = [str(loc.text) for loc in root.iter(f"{MAP}loc")]
    shown = [path for path in demo if path.endswith(".html") and path != "404.html"]
    assert len(places) == len(set(places)) == len(shown)
    assert "https://service.hollin-ridge.example/" in places
    assert "https://service.hollin-ridge.example/bulletins/2026-014/" in places
    assert all(place.startswith("https://") and place.endswith("/") for place in places)


def test_a_house_without_a_site_has_an_empty_sitemap(make_house: MakeHouse) -> None:
    pages = site_of(make_house({"reference/house.yaml": "name: x\n"}))
    assert list(ElementTree.fromstring(pages["sitemap.xml"]).iter(f"{MAP}loc")) == []


def test_a_long_sitemap_is_cut_with_an_index_over_the_pieces(make_house: MakeHouse) -> None:
    desk = Desk(read_house(make_house({})), TODAY)
    paths = [f"parts/{n}/index.html" for n in range(feeds.MOST_ADDRESSES + 1)]
    found = {page.path: Renderer().text(page) for page in feeds.sitemap(desk, paths)}
    assert sorted(found) == ["sitemap-1.xml", "sitemap-2.xml", "sitemap.xml"]
    assert ElementTree.fromstring(found["sitemap.xml"]).tag == f"{MAP}sitemapindex"
    counts = [found[f"sitemap-{n}.xml"].count("<loc>") for n in (1, 2)]
    assert counts == [50_000, 1]
