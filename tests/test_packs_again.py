"""Packs made anew where pages have changed, held to packs made from nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.phone.carriage import Pages, refilled
from kb.phone.filling import PACKS
from kb.phone.pieces import Atom, Left, Piece, cut, unpack
from kb.phone.shelves import Listed, Turned, listed
from kb.phone.whose import EVERY, REST, Families, Whose

FAMILIES: list[Families] = [EVERY, REST, ("A",), ("B",), ("A", "B"), ("B", "C"), ("A", "C")]


@dataclass(frozen=True)
class Leaf:
    """A page of a toy site: its *size*, a *stamp* in its text, whose it is, and if it stands."""

    size: int
    stamp: int = 0
    families: Families = EVERY
    stands: bool = False
    shows: int = 0

    @property
    def content(self) -> bytes:
        """The text: as long as it is said to be."""
        return (f"{self.stamp:06}" * (self.size // 6 + 1)).encode()[: self.size]


class Toy(Whose):
    """Tells whose the pages of a toy site are."""

    def __init__(self, site: Mapping[str, Leaf]) -> None:
        """Go by what is written on the leaves."""
        self.site = site

    def __call__(self, path: str) -> Families:
        """Return whose a page is."""
        return self.site[path].families

    def stands(self, path: str) -> bool:
        """Tell whether a page counts."""
        return self.site[path].stands


Site = dict[str, Leaf]


def files_of(site: Site) -> dict[str, int]:
    """Return all files with their bytes: the pages, pictures beside them, and others."""
    found = {"assets/find.js": 700}
    for path, leaf in site.items():
        found[path] = leaf.size
        if leaf.shows and path.startswith("bulletins/"):
            found[f"{path.removesuffix('index.html')}pump.{leaf.shows:08}.svg"] = leaf.shows
    return {**found, "data/0123456789.bin": 80}


def units_of(site: Site) -> dict[str, list[str]]:
    """Return the files that are made together: those below a folder of two steps."""
    found: dict[str, list[str]] = {}
    for path in list(files_of(site))[1:-1]:
        found.setdefault("/".join(path.split("/")[:2]), []).append(path)
    return found


def turned_between(was: Site, now: Site) -> list[Turned] | None:
    """Return where files came, went or turned within what is made together; None for all else."""
    old, new = units_of(was), units_of(now)
    if list(old) != list(new) or [*chain(*new.values())] != list(files_of(now))[1:-1]:
        return None
    return [Turned(old[unit], new[unit]) for unit in new if old[unit] != new[unit]]


@dataclass
class Packed:
    """Packs by name in order, and what was kept and read for them."""

    names: list[str]
    kept: dict[str, Any]
    read: list[str] = field(default_factory=list)
    made: dict[str, bytes] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)

    @property
    def listed(self) -> Listed:
        """The bundles as they are told."""
        return listed(self.kept)


def pack_site(site: Site, before: tuple[Site, Packed] | None = None, also: Any = ()) -> Packed:
    """Pack a site, going on from *before*; pages at *also* are made anew though nothing changed."""
    was, kept = (before[0], dict(before[1].kept)) if before else ({}, {})
    changed = {p: leaf.size for p, leaf in site.items() if p in also or leaf != was.get(p)}
    turned = turned_between(was, site)
    done = Packed([], kept, files=dict(before[1].files) if before else {})

    def read(path: str) -> bytes:
        done.read.append(path)
        return site[path].content if path in site else before[1].files[path]  # type: ignore[index]

    for each in refilled(Toy(site), Pages(changed, turned, lambda: files_of(site)), read, kept):
        done.names.append(each.name)
        if isinstance(each, Piece):
            done.made[each.name] = each.content
            done.files[each.path] = each.content
        assert isinstance(each, Piece) or (before and each.name in before[1].names)
    return done


OFTEN = ["index.html", "bulletins/index.html", "parts/~2/index.html", "models/3/~2/index.html"]
NAMES = [f"{kind}/{at:02}/index.html" for kind in ("bulletins", "models") for at in range(25)]
SPANS = [f"models/{at:02}/K{month}/index.html" for at in range(3) for month in range(4)]
PATHS = st.sampled_from(NAMES + OFTEN + SPANS)
SIZES = st.sampled_from([1, 9_000, 30_000, 64_000, 65_000, 190_000, 400_000, 450_000])
LEAVES = st.builds(
    Leaf,
    SIZES,
    st.integers(0, 9),
    st.sampled_from([EVERY, ("A",)]) | st.sampled_from(FAMILIES),
    st.booleans(),
    st.sampled_from([0, 0, 9]),
)
SITES = st.dictionaries(PATHS, LEAVES, min_size=12, max_size=60).map(
    lambda site: dict(sorted(site.items()))  # what is made together stands together
)


def edited(data: st.DataObject, site: Site) -> Site:
    """Return the site with one edit drawn from *data*."""
    path = data.draw(st.sampled_from(list(site)))
    leaf = site[path]
    edits: dict[str, dict[str, Any]] = {
        "text": {"stamp": leaf.stamp + 1},
        "size": {"size": data.draw(SIZES)},
        "families": {"families": data.draw(st.sampled_from(FAMILIES))},
        "stands": {"stands": not leaf.stands},
        "picture": {"shows": data.draw(st.integers(0, 20))},
    }
    kind = data.draw(st.sampled_from([*edits, "text", "size", "come", "go", "turn", "spans"]))
    if kind in edits:
        return {**site, path: replace(leaf, **edits[kind])}
    if kind == "go":
        return {p: each for p, each in site.items() if p != path or len(site) == 1}
    if kind == "turn":
        return {path: leaf, **{p: each for p, each in site.items() if p != path}}
    if kind == "spans":
        return respanned(data, site)
    come, at = data.draw(PATHS), data.draw(st.integers(0, len(site)))
    rows = [row for row in site.items() if row[0] != come]
    return dict([*rows[:at], (come, data.draw(LEAVES)), *rows[at:]])


def respanned(data: st.DataObject, site: Site) -> Site:
    """Return the site with other spans behind the page of a model, all of its families."""
    at = data.draw(st.integers(0, 2))
    model = f"models/{at:02}/index.html"
    if model not in site:
        return site
    spans = data.draw(st.sets(st.integers(0, 9), max_size=4))
    found: Site = {}
    for path, leaf in site.items():
        if path == model or not path.startswith(f"models/{at:02}/"):
            found[path] = leaf
        if path == model:
            size = data.draw(SIZES)
            fresh = replace(leaf, size=size, stamp=leaf.stamp + 1)
            found |= {f"models/{at:02}/K{span}/index.html": fresh for span in sorted(spans)}
    return found


@settings(deadline=None, max_examples=30)
@given(SITES, st.data())
def test_packs_made_anew_where_pages_changed_are_those_made_from_nothing(
    site: Site, data: st.DataObject
) -> None:
    kept_up(data, site, edited)


@settings(deadline=None, max_examples=30)
@given(SITES, st.lists(LEAVES, min_size=3, max_size=3), st.data())
def test_packs_made_anew_where_models_have_other_spans_are_those_made_from_nothing(
    site: Site, models: list[Leaf], data: st.DataObject
) -> None:
    others = {path: leaf for path, leaf in site.items() if not path.startswith("models/0")}
    placed = {f"models/{at:02}/index.html": leaf for at, leaf in enumerate(models)}
    kept_up(data, dict(sorted({**others, **placed}.items())), respanned)


def kept_up(data: st.DataObject, site: Site, edit: Callable[[st.DataObject, Site], Site]) -> None:
    """Hold packs that are made again after edits to those made from nothing."""
    done = pack_site(site)
    for _ in range(3):  # each goes on from what the one before kept
        now = site
        for _ in range(data.draw(st.integers(1, 3))):
            now = edit(data, now)
        also = data.draw(st.sets(st.sampled_from(list(now)), max_size=3))
        again, whole = pack_site(now, (site, done), also), pack_site(now)
        assert again.names == whole.names
        assert again.kept == whole.kept
        assert again.made.items() <= whole.made.items()
        site, done = now, again


@settings(deadline=None, max_examples=20)
@given(SITES)
def test_packs_end_where_pieces_do_and_what_changes_often_is_apart(site: Site) -> None:
    alone = {path: replace(leaf, families=EVERY) for path, leaf in site.items()}
    often = [path for path in site if path in OFTEN]
    turns = (often, [path for path in site if path not in OFTEN])
    done = pack_site(alone)
    found = [[path for path, _ in unpack(done.made[name])[0][0]] for name in done.names]
    assert found == [
        [str(atom.key) for atom in run]
        for turn in turns
        for run in cut((Atom(path, 0, path, site[path].size) for path in turn), PACKS)
    ]


def large(count: int = 120) -> Site:
    """Return a site of many packs of two families."""
    pages: Site = {"index.html": Leaf(9_000)}
    for at in range(count):
        families = ("A",) if at % 3 else ("B",)
        pages[f"bulletins/{at:03}/index.html"] = Leaf(12_345 + at, at, families, stands=True)
    return pages


@pytest.mark.parametrize("at", [0, 1, 57, 118, 119])
def test_a_changed_text_reads_and_makes_its_own_pack_alone(at: int) -> None:
    site = large()
    before, path = pack_site(site), f"bulletins/{at:03}/index.html"
    after = pack_site({**site, path: replace(site[path], stamp=999)}, (site, before))
    assert len(set(after.names) - set(before.names)) == len(after.made) == 1
    (pack,) = (name for name in after.read if name != path)
    assert pack in before.files
    assert len(before.names) > 8


def test_a_page_that_was_made_anew_and_came_out_as_it_was_makes_no_pack() -> None:
    site = large()
    before = pack_site(site)
    after = pack_site(site, (site, before), also=list(site)[3:9])
    assert len(after.read) > 6
    assert not after.made


def test_a_bundle_of_which_nothing_changed_is_not_looked_at() -> None:
    site = large()
    before, path = pack_site(site), "bulletins/003/index.html"  # of family B
    now = {**site, path: replace(site[path], stamp=999)}
    kept = {name: each for name, each in before.kept.items() if '"A"' not in name}
    after = pack_site(now, (site, replace(before, kept=kept)))
    assert after.names == pack_site(now).names


def test_pages_that_stay_in_their_places_write_nothing_that_tells_of_their_places() -> None:
    site = large()
    before, path = pack_site(site), "bulletins/003/index.html"
    after = pack_site({**site, path: replace(site[path], size=12)}, (site, before))
    differing = {name for name in after.kept if after.kept[name] is not before.kept[name]}
    assert differing == {"bundles", 'packs ["B"]'}


def test_other_spans_of_a_model_ask_for_no_list_of_all_files() -> None:
    site = large()
    model = "models/A1/index.html"
    leaves = {path: Leaf(7_000, 1, ("A",)) for path in (model, "models/A1/K1/index.html")}
    before = pack_site(site | leaves)
    now = {**site, model: leaves[model], "models/A1/K2/index.html": Leaf(7_001, 2, ("A",))}

    def every() -> dict[str, int]:
        raise AssertionError

    def read(path: str) -> bytes:
        return now[path].content if path in now else before.files[path]

    turned = turned_between(site | leaves, now)
    pages = Pages({path: now[path].size for path in list(now)[-2:]}, turned, every)
    names = [each.name for each in refilled(Toy(now), pages, read, before.kept)]
    assert names == pack_site(now).names


def test_a_new_page_makes_few_packs_and_asks_of_no_other_page_whose_it_is() -> None:
    site = large()
    before = pack_site(site)
    now = {**site, "bulletins/999/index.html": Leaf(8_000, 7, ("A",))}
    asked: list[str] = []

    class Asked(Toy):
        def __call__(self, path: str) -> Families:
            asked.append(path)
            return super().__call__(path)

    def read(path: str) -> bytes:
        return now[path].content if path in now else before.files[path]

    pages = Pages({"bulletins/999/index.html": 8_000}, None, lambda: files_of(now))
    made = list(refilled(Asked(now), pages, read, before.kept))
    assert asked == ["bulletins/999/index.html"]
    assert sum(isinstance(each, Piece) for each in made) == 1
    assert sum(isinstance(each, Left) for each in made) >= 8
