"""Packs of pages: every page in one of them, the same bytes each time, small changes small."""

from __future__ import annotations

import gzip
import json
from collections import Counter
from collections.abc import Mapping
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.house import read_house
from kb.pages import Desk
from kb.phone.bundling import sorted_out
from kb.phone.filling import fill
from kb.phone.packs import Bundle, File, carriage, is_packed
from kb.phone.pieces import Piece, pack, unpack
from kb.phone.shelves import Listed
from kb.phone.whose import EVERY, REST, Whose
from kb.publish import publish
from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin

DRAWING = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><path d="M0 0h9v9z"/></svg>'
MOST = 1_500_000  # bytes of the demo house carried whole


class Site:
    """A published site read back as a phone reads it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.head: dict[str, Any] = json.loads((folder / "data/head.json").read_text())
        self.value, names = unpack((folder / self.head["carry"]).read_bytes())
        self.pieces = [f"data/{names[at : at + 5].hex()}.bin" for at in range(0, len(names), 5)]
        self.search = self.pieces[: self.value["search"]]
        self.packs = self.pieces[self.value["search"] :]

    def content(self, pack: str) -> tuple[list[list[Any]], list[list[Any]], bytes]:
        (pages, pictures), whole = unpack((self.folder / pack).read_bytes())
        return pages, pictures, whole

    def packed(self) -> Mapping[str, bytes]:
        """Return every file that travels in a pack."""
        found: dict[str, bytes] = {}
        for name in self.packs:
            pages, _, whole = self.content(name)
            for path, size in pages:
                assert path not in found, f"{path} travels twice"
                found[path], whole = whole[:size], whole[size:]
            assert whole == b""
        return found

    def of(self, *families: str) -> set[str]:
        """Return the files of the bundle of exactly these families."""
        names, at = self.value["families"], 0
        for bundle in self.value["bundles"]:
            packs, at = self.packs[at : at + bundle["packs"]], at + bundle["packs"]
            if [(*names, "")[place] for place in bundle["of"]] == list(families):
                return {path for name in packs for path, _ in self.content(name)[0]}
        return set()

    def files(self) -> dict[str, bytes]:
        every = (path for path in self.folder.rglob("*") if path.is_file())
        return {str(path.relative_to(self.folder)): path.read_bytes() for path in every}


@pytest.fixture(scope="module")
def demo(demo_site: Path) -> Site:
    return Site(demo_site)


def publish_site(house: Path, out: Path, today: date = TODAY) -> Site:
    publish(read_house(house), today, out)
    return Site(out)


# The demo house


def test_every_page_travels_in_exactly_one_pack_byte_for_byte(demo: Site) -> None:
    packed, files = demo.packed(), demo.files()
    pages = {path for path in files if path.endswith(".html")} - {"404.html"}
    assert pages <= packed.keys()
    assert all(files[path] == content for path, content in packed.items())


def test_beside_pages_only_icons_and_the_manifest_travel_in_packs(demo: Site) -> None:
    others = {path for path in demo.packed() if not path.endswith(".html")}
    assert others == {"icon.svg", "icon-192.png", "icon-512.png", "manifest.webmanifest"}


def test_every_picture_is_told_with_its_size_beside_its_page(demo: Site) -> None:
    told: dict[str, int] = {}
    for name in demo.packs:
        pages, pictures, _ = demo.content(name)
        folders = {path.rpartition("/")[0] for path, _ in pages}
        assert {path.rpartition("/")[0] for path, _ in pictures} <= folders
        told |= dict(pictures)
    files = demo.files()
    shown = {path for path in files if path.startswith("bulletins/") and ".html" not in path}
    assert told == {path: len(files[path]) for path in shown}


def test_the_list_names_every_piece_with_its_size(demo: Site) -> None:
    files = demo.files()
    pieces = {path for path in files if path.startswith("data/") and path.endswith(".bin")}
    assert {*demo.pieces, demo.head["carry"]} == pieces
    assert demo.head["start"] in demo.search
    sizes = dict(zip(demo.pieces, demo.value["sizes"], strict=True))
    assert sizes == {path: len(files[path]) for path in demo.pieces}
    shell = {path for path, _ in demo.value["shell"]}
    assert shell == {path for path in files if path.startswith("assets/")}
    assert demo.value["style"] in files


def test_the_demo_carried_whole_is_small(demo: Site) -> None:
    pictures = sum(bundle["pictures"] for bundle in demo.value["bundles"])
    shell = sum(size for _, size in demo.value["shell"])
    whole = sum(demo.value["sizes"]) + pictures + shell
    assert demo.head["whole"] == whole + len((demo.folder / demo.head["carry"]).read_bytes())
    assert demo.head["whole"] <= MOST


def test_every_bulletin_in_force_counts_once(demo: Site) -> None:
    counted = sum(bundle["bulletins"] for bundle in demo.value["bundles"])
    assert counted == demo.head["count"] == demo.head["bulletins"]


def test_no_pack_is_too_large_to_be_opened_for_one_page(demo: Site) -> None:
    for name in demo.packs:
        content = (demo.folder / name).read_bytes()
        assert len(content) <= 120_000
        assert len(gzip.decompress(content)) <= 700_000


def test_packs_are_a_tenth_of_the_pages(demo: Site) -> None:
    pages = sum(map(len, demo.packed().values()))
    assert sum(len((demo.folder / name).read_bytes()) for name in demo.packs) < pages / 10


# Whose pages are


@pytest.mark.parametrize(
    ("path", "families"),
    [
        ("index.html", EVERY),
        ("bulletins/index.html", EVERY),
        ("bulletins/~2/index.html", REST),
        ("symptoms/~3/index.html", REST),
        ("bulletins/2026-001/index.html", ("Tarn",)),
        ("bulletins/2026-002/index.html", ("Cairn",)),
        ("bulletins/2026-003/index.html", ("Tarn", "Cairn")),
        ("families/Cairn/index.html", ("Cairn",)),
        ("families/Cairn/~2/index.html", ("Cairn",)),
        ("models/TD45A/index.html", ("Tarn",)),
        ("models/TD45A/KP14/index.html", ("Tarn",)),
        ("models/index.html", EVERY),
        ("components/door-seal/index.html", ("Cairn",)),
        ("components/drain-pump/index.html", ("Tarn", "Cairn")),
        ("codes/E21/index.html", ("Tarn",)),
        ("parts/HR-310-4120/index.html", ("Tarn",)),  # a bulletin names it
        ("parts/HR-310-1204/index.html", ("Tarn",)),  # its row names models of Tarn
        ("parts/HR-310-1216/index.html", REST),  # nothing names it
        ("parts/index.html", EVERY),
        ("roundups/2026-Q1/index.html", EVERY),
        ("somewhere/else/index.html", EVERY),
    ],
)
def test_pages_belong_to_the_families_that_they_speak_of(
    make_house: MakeHouse, path: str, families: tuple[str, ...]
) -> None:
    house = make_house(
        {
            "2026/2026-001.md": bulletin(
                number="2026-001", codes="[E21]", keep="[HR-310-4120]", component="main control"
            ),
            "2026/2026-002.md": bulletin(number="2026-002", family="Cairn", component="door seal"),
            "2026/2026-003.md": bulletin(number="2026-003", family="[Tarn, Cairn]"),
        }
    )
    assert Whose(Desk(read_house(house), TODAY))(path) == families


def test_a_page_of_very_many_families_goes_with_all(make_house: MakeHouse) -> None:
    table = "".join(
        f"F{at}:\n  product: dryer\n  models: [M{at}]\n  produced: 2016..\n  scheme: hollin\n"
        for at in range(5)
    )
    three, four = "[F0, F1, F2]", "[F0, F1, F2, F3]"
    house = make_house(
        {
            "reference/families.yaml": table,
            "a.md": bulletin(number="A-1", family=three),
            "b.md": bulletin(number="A-2", family=four),
        }
    )
    whose = Whose(Desk(read_house(house), TODAY))
    assert whose("bulletins/A-1/index.html") == ("F0", "F1", "F2")
    assert whose("bulletins/A-2/index.html") == EVERY


# Bundles and packs


class Owners(Whose):
    """Tells whose files are by their first folder: a letter for each family."""

    def __init__(self) -> None:
        """Know nothing of a house."""

    def __call__(self, path: str) -> tuple[str, ...]:
        """Return the letters."""
        return tuple(path.partition("/")[0])

    def stands(self, path: str) -> bool:
        """No page is one of a bulletin."""
        return False


class Alone(Owners):
    """Tells that every file is everybody's."""

    def __call__(self, path: str) -> tuple[str, ...]:
        """Return no family."""
        return EVERY


def bundles(*paths: str) -> list[tuple[str, ...]]:
    """Return whose the bundles of these pages are."""
    works = sorted_out(dict.fromkeys(paths, 4000), (), Owners(), Listed((), ()), {})
    return [work.bundle.families for work in works]


def test_few_pages_of_several_families_make_no_bundle_of_their_own() -> None:
    both = [f"AB/{at}/index.html" for at in range(8)]
    assert bundles("A/index.html", *both[:7]) == [(), ("A",)]
    assert bundles(*both) == [("A", "B")]


@pytest.mark.parametrize(
    ("path", "travels"),
    [
        ("index.html", True),
        ("bulletins/2026-014/index.html", True),
        ("404.html", False),
        ("icon.svg", True),
        ("manifest.webmanifest", True),
        ("bulletins/2026-014/pump.12345678.svg", False),
        ("assets/find.0123456789.js", False),
        ("feed.xml", False),
        ("data/head.json", False),
    ],
)
def test_what_travels_in_a_pack(path: str, travels: bool) -> None:
    assert is_packed(path) is travels


def filled(pages: list[str], text: Mapping[str, bytes]) -> tuple[Bundle, list[Piece]]:
    files = {path: len(text[path]) for path in pages}
    (work,) = sorted_out(files, (), Alone(), Listed((), ()), {})
    assert work.shelf
    filling = fill(work.bundle, work.shelf, text.__getitem__, None)
    made = []
    while True:
        try:
            made.append(next(filling))
        except StopIteration as ended:
            bundle: Bundle = ended.value[0]
            return bundle, [each for each in made if isinstance(each, Piece)]


def site_text(count: int) -> dict[str, bytes]:
    """A folder of pages of 8 kB that compress as pages do."""
    return {
        f"bulletins/{at:04}/index.html": (f"<p>page {at} {at * 7919 % 9973}</p>" * 320).encode()
        for at in range(count)
    }


def test_one_changed_page_changes_one_pack() -> None:
    text = site_text(300)
    _, before = filled(list(text), text)
    assert len(before) > 4
    for path in list(text)[::37]:
        _, after = filled(list(text), {**text, path: text[path].replace(b"page", b"side")})
        assert len({p.name for p in after} - {p.name for p in before}) == 1


def test_one_more_page_changes_few_packs_wherever_it_comes() -> None:
    text = site_text(300)
    pages = list(text)
    _, before = filled(pages, text)
    for at in (0, 50, 150, 299, 300):
        more = [*pages[:at], "bulletins/new/index.html", *pages[at:]]
        _, after = filled(more, {**text, "bulletins/new/index.html": b"<p>new</p>" * 800})
        assert len({p.name for p in after} - {p.name for p in before}) <= 3


@given(st.lists(st.integers(1, 900_000), min_size=1, max_size=30), st.randoms())
@settings(max_examples=25, deadline=None)
def test_every_page_is_packed_once_whatever_the_sizes(sizes: list[int], rng: Any) -> None:
    text = {f"a/{at}-{rng.random()}/index.html": b"x" * size for at, size in enumerate(sizes)}
    bundle, packs = filled(list(text), text)
    assert [file.size for file in bundle.packs] == [len(piece.content) for piece in packs]
    pages = [path for piece in packs for path, _ in unpack(piece.content)[0][0]]
    assert Counter(pages) == Counter(list(text))
    assert b"".join(unpack(piece.content)[1] for piece in packs) == b"".join(text.values())


def test_what_every_new_bulletin_changes_travels_apart() -> None:
    pages = ["index.html", "models/a/index.html", "bulletins/index.html", "parts/~2/index.html"]
    _, packs = filled(pages, dict.fromkeys(pages, b"text"))
    together = [[path for path, _ in unpack(piece.content)[0][0]] for piece in packs]
    assert together == [
        ["index.html", "bulletins/index.html", "parts/~2/index.html"],
        ["models/a/index.html"],
    ]


def test_the_list_keeps_the_order_of_the_house_and_families_without_pages() -> None:
    bundle = Bundle(("B",), packs=[File("0123456789", 7)], bulletins=3, pictures=20)
    search = [pack({"a": 1})]
    made = carriage([bundle], ["C", "B", "A"], search, [File("assets/a.js", 5)], "assets/a.css")
    value, names = unpack(made.list.content)
    assert value["families"] == ["C", "B", "A"]
    assert value["bundles"] == [{"of": [1], "bulletins": 3, "pictures": 20, "packs": 1}]
    assert names.hex() == search[0].name + "0123456789"
    assert value["sizes"] == [len(search[0].content), 7]
    assert made.whole == sum(value["sizes"]) + 20 + 5 + len(made.list.content)


# Publishing again


@pytest.fixture
def house(make_house: MakeHouse) -> Path:
    numbers = [f"2026-{at:03}" for at in range(1, 40)]
    shown = {
        f"2026/{number}.md": bulletin(
            f"Words of {number}.", number=number, component="main control"
        )
        for number in numbers
    }
    pictured = bulletin("![Pump from below](pump.svg)", number="2026-050", family="Cairn")
    return make_house({**shown, "2026/2026-050.md": pictured, "2026/pump.svg": DRAWING})


def test_the_same_house_gives_the_same_packs(house: Path, tmp_path: Path) -> None:
    one, other = (publish_site(house, tmp_path / name) for name in ("one", "other"))
    assert one.files() == other.files()


def test_one_changed_text_changes_one_pack(house: Path, tmp_path: Path) -> None:
    before = publish_site(house, tmp_path / "out")
    texts = before.packed()
    file = house / "2026/2026-007.md"
    front, _, _ = file.read_text().rpartition("Words of")
    # The last words of the first sentence are the summary of lists; behind them is text alone.
    file.write_text(f"{front}Words of 2026-007.\n\nMore of it.\n")
    after = publish_site(house, tmp_path / "out")
    changed = [p for p, content in after.packed().items() if texts.get(p) != content]
    assert "bulletins/2026-007/index.html" in changed
    fresh = set(after.packs) - set(before.packs)
    assert len(fresh) == len({pack_of(after, path) for path in changed})


def pack_of(site: Site, path: str) -> str:
    return next(name for name in site.packs if path in [p for p, _ in site.content(name)[0]])


def test_old_packs_leave_the_folder(house: Path, tmp_path: Path) -> None:
    publish_site(house, tmp_path / "out")
    (house / "2026/2026-050.md").unlink()
    after = publish_site(house, tmp_path / "out")
    pieces = {path for path in after.files() if path.endswith(".bin")}
    assert pieces == {*after.pieces, after.head["carry"]}


def test_a_new_day_changes_the_start_page_alone(house: Path, tmp_path: Path) -> None:
    one = publish_site(house, tmp_path / "one", date(2026, 11, 24))
    other = publish_site(house, tmp_path / "other", date(2026, 11, 25))
    fresh = set(other.packs) - set(one.packs)
    assert {pack_of(other, "index.html")} == fresh
    assert one.head["carry"] != other.head["carry"]


def test_bundles_of_a_published_house_hold_their_families_pages(
    house: Path, tmp_path: Path
) -> None:
    site = publish_site(house, tmp_path / "out")
    assert "bulletins/2026-001/index.html" in site.of("Tarn")
    assert "models/TD45A/index.html" in site.of("Tarn")
    assert "bulletins/2026-050/index.html" in site.of("Cairn")
    assert {"index.html", "icon.svg"} <= site.of()
    assert "parts/HR-310-1216/index.html" in site.of("")
    counts = {tuple(b["of"]): b["bulletins"] for b in site.value["bundles"]}
    assert counts == {(): 0, (0,): 39, (1,): 1, (-1,): 0}


def test_packs_of_one_family_follow_one_another_without_gaps(demo: Site) -> None:
    counts = [bundle["packs"] for bundle in demo.value["bundles"]]
    assert sum(counts) == len(demo.packs)
    assert all(one["of"] != other["of"] for one, other in pairwise(demo.value["bundles"]))
