"""Making only what changed: whatever is edited, the site is as one made from nothing would be."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.house import read_house
from kb.proof import run_again
from kb.proof.again import Proofed
from kb.publish import Published, publish, publish_from
from kb.records import House
from tests.deskhouse import bulletin, write_house

TODAY = date(2026, 11, 25)
SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0} 10"><path d="M0 0h{0}"/></svg>'


def files(folder: Path) -> dict[str, bytes]:
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


def written(folder: Path) -> dict[str, tuple[int, int]]:
    """Return which file each path leads to: one that is written anew is another."""
    found = {str(p.relative_to(folder)): p.stat() for p in folder.rglob("*") if p.is_file()}
    return {path: (look.st_ino, look.st_mtime_ns) for path, look in found.items()}


class Yard:
    """A house, the site that is kept up with it, and how to compare it with a new one.

    With *again* the house is read and proofed by what is known of it, as `kb publish` does.
    """

    def __init__(self, folder: Path, again: bool = True) -> None:
        self.folder = folder
        self.house = write_house(folder / "bulletins")
        self.today = TODAY
        self.again = again

    def publish(self, name: str = "site") -> Published:
        if not self.again:
            return publish(read_house(self.house), self.today, self.folder / name)
        return publish_from(self.house, self.today, self.folder / name, self._accept)

    def _accept(self, house: House, before: Proofed | None) -> Proofed:
        found, proofed = run_again(house, self.today, before)
        assert found == run_again(house, self.today, None)[0]
        return proofed

    def differs(self) -> dict[str, tuple[bytes | None, bytes | None]]:
        """Return where the site kept up differs from one made from nothing."""
        self.publish("fresh")
        kept, fresh = files(self.folder / "site"), files(self.folder / "fresh")
        for name in ("fresh", ".fresh.kb"):
            shutil.rmtree(self.folder / name)
        return {
            path: (kept.get(path), fresh.get(path))
            for path in kept.keys() | fresh.keys()
            if kept.get(path) != fresh.get(path)
        }

    def change(self, name: str, old: str, new: str) -> None:
        path = self.house / name
        text = path.read_text()
        assert old in text
        path.write_text(text.replace(old, new))


@pytest.fixture(params=["read anew", "read again"])
def yard(tmp_path: Path, request: pytest.FixtureRequest) -> Yard:
    return Yard(tmp_path, request.param == "read again")


EDITS: dict[str, Callable[[Yard], object]] = {
    "text": lambda y: y.change("2024/2024-007.md", "Drum.", "The drum grinds, see 2024-001."),
    "a title": lambda y: y.change("2024/2024-005.md", "Newer word", "Newest word"),
    "a title that others link to": lambda y: y.change("2023/2023-001.md", "Hums,", "Hums and"),
    "a date of issue": lambda y: y.change("2024/2024-001.md", "2025-03-02", "2021-05-05"),
    "a revision": lambda y: y.change("2024/2024-001.md", "kind:", "revised: 2026-02-02\nkind:"),
    "a kind": lambda y: y.change("2024/2024-006.md", "kind: reference", "kind: parts"),
    "a range of production": lambda y: y.change("2023/2023-001.md", "2022-W20", "2023-W20"),
    "an open range": lambda y: y.change("2022/2022-001.md", "..2021", "2018..2021"),
    "models": lambda y: y.change("2024/2024-008.md", "TD60?", "TD45?"),
    "a family": lambda y: y.change("2024/2024-007.md", "Cairn", "Tarn"),
    "a symptom": lambda y: y.change("2023/2023-002.md", "drips at the door", "drips, at the door"),
    "a code": lambda y: y.change("2023/2023-001.md", "[E21]", "[E21, E22]"),
    "a component": lambda y: y.change("2024/2024-007.md", "drain pump", "sump"),
    "what is ordered": lambda y: y.change("2024/2024-005.md", "HR-310-4120", "HR-310-4126"),
    "withdrawn": lambda y: y.change("2024/2024-005.md", "family:", "status: withdrawn\nfamily:"),
    "a draft put in force": lambda y: y.change("2024/2024-002.md", "status: draft\n", ""),
    "no longer superseded": lambda y: y.change("2024/2024-005.md", "[2024-004]", "[]"),
    "a bulletin more": lambda y: write_house(
        y.house, {"2026/2026-001.md": bulletin("2026-001", "related: [2024-007]\ncodes: [DOOR]")}
    ),
    "a bulletin in the middle": lambda y: write_house(
        y.house, {"2024/2024-0041.md": bulletin("2024-0041", "supersedes: [2024-007]")}
    ),
    "a bulletin less": lambda y: (y.house / "2024/2024-001.md").unlink(),
    "a bulletin elsewhere": lambda y: (y.house / "2024/2024-001.md").rename(y.house / "x.md"),
    "a picture": lambda y: write_house(
        y.house,
        {
            "2026/x.svg": SVG.format(20),
            "2026/2026-002.md": bulletin("2026-002", "", "![A bent pin](x.svg)"),
        },
    ),
    "another day": lambda y: setattr(y, "today", date(2026, 12, 24)),
}
ROWS: dict[str, tuple[str, str]] = {
    "a part's name": ("Drain pump", "Pump for drainage"),
    "a part's status": ("gone", "current"),
    "a part's number": ("HR-310-4126", "HR-310-4129"),
}


@pytest.mark.parametrize("edit", EDITS)
def test_after_an_edit_the_site_is_as_one_made_from_nothing(yard: Yard, edit: str) -> None:
    yard.publish()
    EDITS[edit](yard)
    yard.publish()
    assert not yard.differs()


@pytest.mark.parametrize("row", ROWS)
def test_after_an_edit_of_the_part_list_the_site_is_as_one_made_from_nothing(
    yard: Yard, row: str
) -> None:
    path = yard.house / "reference/parts.csv"
    before = path.read_text()
    yard.publish()
    path.write_text(before.replace(*ROWS[row]))
    yard.publish()
    assert not yard.differs()


def test_a_picture_that_changes_is_shown_anew(yard: Yard) -> None:
    EDITS["a picture"](yard)
    yard.publish()
    (yard.house / "2026/x.svg").write_text(SVG.format(30))
    done = yard.publish()
    assert done.removed  # the picture under its former name
    assert not yard.differs()


@pytest.mark.parametrize("table", ["families.yaml", "serials.yaml", "words.yaml", "house.yaml"])
def test_after_an_edit_of_a_table_the_site_is_as_one_made_from_nothing(
    yard: Yard, table: str
) -> None:
    yard.publish()
    path = yard.house / "reference" / table
    text = path.read_text() if path.exists() else ""
    changed = {
        "families.yaml": text.replace("TD45B", "TD45C"),
        "serials.yaml": text.replace("Kirkholm", "Kirkby"),
        "words.yaml": "same: [[drum, bowl]]\n",
        "house.yaml": text + "contact: Ask the desk\n",
    }
    assert changed[table] != text
    path.write_text(changed[table])
    yard.publish()
    assert not yard.differs()


def test_a_text_alone_touches_no_model_and_no_span(yard: Yard) -> None:
    yard.publish()
    before = written(yard.folder / "site")
    EDITS["text"](yard)
    yard.publish()
    after = written(yard.folder / "site")
    touched = {path for path in after if after[path] != before.get(path)}
    assert "bulletins/2024-007/index.html" in touched
    assert not {path for path in touched if path.startswith(("models/", "parts/", "components/"))}


def test_pages_that_nothing_changed_for_are_not_made_at_all(
    yard: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    from kb.render import Renderer

    made: list[str] = []
    text = Renderer.text

    def noting(self: Renderer, page: object) -> str:
        made.append(page.path)  # type: ignore[attr-defined]
        return text(self, page)  # type: ignore[arg-type]

    yard.publish()
    monkeypatch.setattr(Renderer, "text", noting)
    yard.publish()
    assert made == []
    EDITS["text"](yard)
    yard.publish()
    assert set(made) <= {"index.html", "404.html", "bulletins/2024-007/index.html"} | {
        path for path in made if path.startswith(("roundups/", "feed", "families/"))
    }
    assert len(made) < 12


def spoil(database: Path, *commands: str) -> None:
    """Do something to a database that nobody should."""
    with closing(sqlite3.connect(database)) as data, data:
        for command in commands:
            data.execute(command)


DAMAGE: dict[str, Callable[[Path], object]] = {
    "a note of nonsense": lambda room: (room / "made").write_bytes(b"\x80\x05garbage"),
    "no database": lambda room: (room / "known").unlink(),
    "an empty one": lambda room: (room / "known").write_bytes(b""),
    "one of nonsense": lambda room: (room / "known").write_bytes(b"SQLite format 3\0" * 500),
    "half of one": lambda room: os.truncate(room / "known", 20_000),
    "a section less": lambda room: spoil(room / "known", "DELETE FROM section WHERE name='phone'"),
    "packs of nonsense": lambda room: spoil(
        room / "known", "UPDATE section SET value=x'80' WHERE name LIKE 'packs %'"
    ),
    "pages of nonsense": lambda room: spoil(room / "known", "UPDATE unit SET files=x'8005'"),
    "bulletins of nonsense": lambda room: spoil(room / "known", "UPDATE file SET value=x'00'"),
    "no facts": lambda room: spoil(room / "known", "DROP TABLE seen"),
    "templates of nonsense": lambda room: spoil(
        room / "known", "UPDATE section SET value=x'80' WHERE name LIKE 'template %'"
    ),
}


@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize("edit", ["text", "a bulletin more"])
def test_what_is_kept_is_done_without_where_it_is_damaged(
    yard: Yard, damage: str, edit: str
) -> None:
    yard.publish()
    DAMAGE[damage](yard.folder / ".site.kb")
    EDITS[edit](yard)
    yard.publish()
    assert not yard.differs()
    EDITS["a title"](yard)
    yard.publish()
    assert not yard.differs()


def test_a_page_of_ours_that_somebody_deleted_comes_back(yard: Yard) -> None:
    yard.publish()
    (yard.folder / "site/bulletins/2024-007/index.html").unlink()
    yard.publish()
    assert not yard.differs()


def test_after_going_back_the_next_publish_gives_what_the_house_holds(yard: Yard) -> None:
    from kb.publish import go_back

    yard.publish()
    before = files(yard.folder / "site")
    EDITS["a title"](yard)
    yard.publish()
    go_back(yard.folder / "site")
    assert files(yard.folder / "site") == before
    yard.publish()
    assert not yard.differs()


@pytest.fixture(scope="module")
def workshop() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder)


@settings(max_examples=12, deadline=None)
@given(st.lists(st.sampled_from(sorted(EDITS)), min_size=2, max_size=6, unique=True))
def test_after_any_edits_in_turn_the_site_is_as_one_made_from_nothing(
    workshop: Path, edits: list[str]
) -> None:
    yard = Yard(Path(tempfile.mkdtemp(dir=workshop)))
    yard.publish()
    for edit in edits:
        try:
            EDITS[edit](yard)
        except (AssertionError, FileNotFoundError):  # an earlier edit took away what it changes
            continue
        yard.publish()
    assert not yard.differs()
