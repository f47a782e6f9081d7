"""What browsers take the site up by: web app manifest and OpenSearch description."""

from __future__ import annotations

import json
import re
import struct
import zlib
from pathlib import Path
from typing import Any
from urllib.parse import urljoin, urlsplit
from xml.etree import ElementTree

import pytest

from tests.conftest import MakeHouse
from tests.rendered import bulletin, files_of, page_of, site_of, target

SEARCH = "{http://a9.com/-/spec/opensearch/1.1/}"
DEMO = Path(__file__).resolve().parent.parent / "bulletins"


@pytest.fixture(scope="module")
def demo() -> dict[str, str]:
    return site_of(DEMO)


def manifest_of(house: Path) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(page_of(house, "manifest.webmanifest"))
    return read


# Web app manifest: name, start_url, display, and icons of 192 and 512 pixels make a site
# installable (from memory; the standard's own text was not at hand).


def test_the_manifest_makes_the_site_installable_under_any_folder(demo: dict[str, str]) -> None:
    manifest = json.loads(demo["manifest.webmanifest"])
    assert manifest["start_url"] == manifest["scope"] == "./"
    assert manifest["display"] == "standalone"
    assert len(manifest["short_name"]) <= 12
    files = files_of(DEMO)
    for icon in manifest["icons"]:
        assert icon["src"] in files
        if icon["type"] == "image/png":
            width = int.from_bytes(files[icon["src"]][16:20], "big")
            assert icon["sizes"] == f"{width}x{width}"
    assert {icon["sizes"] for icon in manifest["icons"]} >= {"192x192", "512x512"}


def test_a_name_with_marks_leaves_the_manifest_sound(make_house: MakeHouse) -> None:
    house = "name: '</script> \"x\" & co'\n"
    pages = site_of(make_house({"reference/house.yaml": house}))
    manifest = json.loads(pages["manifest.webmanifest"])
    assert manifest["name"] == '</script> "x" & co service bulletins'
    assert "</script>" not in pages["manifest.webmanifest"]


@pytest.mark.parametrize(
    ("name", "full", "short"),
    [
        ("Hollin Ridge", "Hollin Ridge service bulletins", "Hollin Ridge"),
        (
            "A very long name of a maker",
            "A very long name of a maker service bulletins",
            "A very long",
        ),
        ("", "Service bulletins", "Bulletins"),
        ("بيت", "بيت service bulletins", "بيت"),
    ],
)
def test_the_app_is_called_as_the_house(
    name: str, full: str, short: str, make_house: MakeHouse
) -> None:
    house = f"name: '{name}'\n" if name else "language: en\n"
    manifest = json.loads(
        site_of(make_house({"reference/house.yaml": house}))["manifest.webmanifest"]
    )
    assert (manifest["name"], manifest["short_name"]) == (full, short)


def test_the_manifest_has_a_picture_that_may_be_cut_round(demo: dict[str, str]) -> None:
    icons = json.loads(demo["manifest.webmanifest"])["icons"]
    assert {"any", "maskable"} <= {icon["purpose"] for icon in icons}


def test_every_address_of_the_manifest_is_seen_from_its_own_folder(demo: dict[str, str]) -> None:
    manifest = json.loads(demo["manifest.webmanifest"])
    shown = manifest["shortcuts"] + [manifest["share_target"] | {"url": "./", "icons": []}]
    icons = [icon["src"] for each in [manifest, *shown] for icon in each["icons"]]
    addresses = [each["url"] for each in shown] + [manifest["start_url"], manifest["scope"]]
    for address in [*addresses, *icons]:
        parts = urlsplit(address)
        assert not parts.scheme and not parts.netloc and not parts.path.startswith("/")
        assert target("manifest.webmanifest", address) in {*demo, *files_of(DEMO)}


# The id (MDN, Web/Manifest/id): one that is not full is resolved with the origin of start_url,
# never with its folder; where there is none, start_url is the id.


@pytest.mark.parametrize(
    ("site", "id_"),
    [
        ("https://example.com", "/"),
        ("https://example.com/service/notes", "/service/notes/"),
        ("https://example.com/a%20b/", "/a%20b/"),
    ],
)
def test_two_sites_under_one_host_are_two_apps(site: str, id_: str, make_house: MakeHouse) -> None:
    manifest = manifest_of(make_house({"reference/house.yaml": f"site: {site}\n"}))
    assert manifest["id"] == id_
    start = urljoin(f"{site.rstrip('/')}/manifest.webmanifest", manifest["start_url"])
    assert urljoin("https://example.com/", manifest["id"]) == start


def test_a_site_whose_address_is_not_known_leaves_its_id_to_the_browser(
    make_house: MakeHouse,
) -> None:
    assert "id" not in manifest_of(make_house({"reference/house.yaml": "name: x\n"}))


# Maskable icons (W3C Web Application Manifest, "icon masks and safe zone", from memory): what
# matters lies inside a circle around the middle whose radius is 40 % of the icon's width.


def pixels(png: bytes) -> tuple[int, list[list[tuple[int, ...]]]]:
    """Return the width and the rows of a picture of 8-bit colours (PNG, filters 0 to 4)."""
    width, height, depth, colours = struct.unpack(">IIBB", png[16:26])
    assert (depth, colours) == (8, 2)
    packed = b"".join(data for name, data in chunks(png) if name == b"IDAT")
    raw, rows, above = zlib.decompress(packed), [], bytearray(width * 3)
    for at in range(height):
        start = at * (width * 3 + 1)
        line = unfiltered(raw[start], bytearray(raw[start + 1 : start + 1 + width * 3]), above)
        rows.append([tuple(line[x : x + 3]) for x in range(0, width * 3, 3)])
        above = line
    return width, rows


def chunks(png: bytes) -> list[tuple[bytes, bytes]]:
    found, at = [], 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        found.append((png[at + 4 : at + 8], png[at + 8 : at + 8 + length]))
        at += length + 12
    return found


def unfiltered(kind: int, line: bytearray, above: bytearray) -> bytearray:
    for x in range(len(line)):
        left = line[x - 3] if x >= 3 else 0
        up, corner = above[x], above[x - 3] if x >= 3 else 0
        near = left + up - corner
        likely = min((left, up, corner), key=lambda each: abs(near - each))
        line[x] = (line[x] + (0, left, up, (left + up) // 2, likely)[kind]) % 256
    return line


def test_a_round_cut_of_the_icon_cuts_nothing_but_background(demo: dict[str, str]) -> None:
    icons = json.loads(demo["manifest.webmanifest"])["icons"]
    (maskable,) = [icon["src"] for icon in icons if icon["purpose"] == "maskable"]
    width, rows = pixels(files_of(DEMO)[maskable])
    ground = rows[0][0]
    middle = (width - 1) / 2
    drawn = [
        (x - middle) ** 2 + (y - middle) ** 2
        for y, row in enumerate(rows)
        for x, colour in enumerate(row)
        if colour != ground
    ]
    assert drawn, "the icon shows something"
    assert max(drawn) ** 0.5 <= 0.4 * width


def test_the_app_s_icon_offers_the_search_the_newest_and_the_families(
    demo: dict[str, str],
) -> None:
    shortcuts = json.loads(demo["manifest.webmanifest"])["shortcuts"]
    assert [each["name"] for each in shortcuts] == ["Find", "Newest bulletins", "Families"]
    assert [each["url"] for each in shortcuts] == [
        "./#q",
        "bulletins/index.html",
        "families/index.html",
    ]
    assert 'id="q"' in demo["index.html"]


def test_a_house_without_families_offers_none(make_house: MakeHouse) -> None:
    manifest = manifest_of(make_house({"reference/families.yaml": "{}\n"}))
    assert [each["name"] for each in manifest["shortcuts"]] == ["Find", "Newest bulletins"]


# Share target (W3C Web Share Target, Level 1): params maps title, text and url to the names of the
# query that the action is opened with; the action lies within the scope; what is not shared
# arrives empty, so that no two may have one name.


def test_shared_text_lands_in_the_search_box(demo: dict[str, str]) -> None:
    share = json.loads(demo["manifest.webmanifest"])["share_target"]
    assert share["method"] == "GET"
    box = re.search(r'<input type="search"[^>]* name="([^"]*)"', demo["index.html"])
    form = re.search(r'<form[^>]* action="([^"]*)" method="get"', demo["index.html"])
    assert box and form
    assert share["params"]["text"] == box[1]
    assert share["action"] == form[1]
    names = list(share["params"].values())
    assert len(set(names)) == len(names)
    assert not {"model", "serial"} & set(names), "these restore a unit"


# OpenSearch 1.1 draft 6 (dewitt/opensearch @590770d): namespace; ShortName of at most 16
# characters, once; Description of at most 1024, once; at least one Url with template and type;
# LongName of at most 48; Tags of at most 256; the link that tells of it has rel=search and the
# type application/opensearchdescription+xml.


def description_of(pages: dict[str, str]) -> ElementTree.Element:
    return ElementTree.fromstring(pages["opensearch.xml"])


NAMES = [
    "Hollin Ridge",
    "The Service Desk of a Maker with a Very Long Name Indeed & Sons <Ltd>",
    "Donaudampfschifffahrtsgesellschaft",
    "بيت",
    "",
    "a\tb",
]


@pytest.mark.parametrize("name", NAMES)
def test_the_search_description_keeps_to_the_limits(name: str, make_house: MakeHouse) -> None:
    house = f"name: {json.dumps(name)}\nsite: https://example.com/notes/\n"
    root = description_of(site_of(make_house({"reference/house.yaml": house})))
    assert root.tag == f"{SEARCH}OpenSearchDescription"
    for tag, most, least in (("ShortName", 16, 1), ("Description", 1024, 1), ("LongName", 48, 1)):
        (only,) = root.findall(SEARCH + tag)
        assert least <= len(only.text or "") <= most, tag
    assert [each.text for each in root.findall(f"{SEARCH}InputEncoding")] == ["UTF-8"]


def test_the_search_description_asks_the_front_page(demo: dict[str, str]) -> None:
    by_type = {url.get("type"): url for url in description_of(demo).findall(f"{SEARCH}Url")}
    site = "https://service.hollin-ridge.example/"
    assert by_type["text/html"].get("template") == f"{site}?q={{searchTerms}}"
    own = by_type["application/opensearchdescription+xml"]
    assert own.get("rel") == "self"
    assert own.get("template") == f"{site}opensearch.xml"
    examples = description_of(demo).findall(f"{SEARCH}Query")
    assert [each.get("role") for each in examples] == ["example"]
    assert description_of(demo).findtext(f"{SEARCH}ShortName") == "Hollin Ridge"


def test_every_page_tells_browsers_of_the_search(demo: dict[str, str]) -> None:
    link = re.compile(
        r'<link rel="search" type="application/opensearchdescription\+xml" title="[^"]+" '
        r'href="([^"]*)opensearch\.xml">'
    )
    for path, page in demo.items():
        if path.endswith(".html"):
            root = "/" if path == "404.html" else "../" * path.count("/")
            assert link.findall(page) == [root]


def test_without_a_site_there_is_no_search_description(make_house: MakeHouse) -> None:
    # Its template must be a full address, which nobody knows.
    pages = site_of(make_house({"a.md": bulletin(), "reference/house.yaml": "name: x\n"}))
    assert "opensearch.xml" not in pages
    assert not any("opensearch" in page for page in pages.values())


def test_what_browsers_read_stays_small(demo: dict[str, str]) -> None:
    assert len(demo["manifest.webmanifest"].encode()) < 2500
    assert len(demo["opensearch.xml"].encode()) < 1200
