"""What changes in a house changes few pieces of its data; what stays the same keeps its name."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from kb import phone
from kb.house import read_house
from kb.markup import Body, read
from kb.records import Bulletin, House
from tests.bench import big_house
from tests.phonedata import TODAY

SIZE = {"bulletins": 240, "models": 60, "parts": 2400}


@cache
def body(text: str, line: int) -> Body:
    """Return a body read once, however often its house is written."""
    return read(text, line)


def write(house: House, today: date = TODAY) -> phone.Written:
    """Return *house* as it is written for the phone."""
    return phone.write(house, today, lambda bulletin: body(bulletin.body, bulletin.body_line))


def files(made: phone.Written) -> dict[str, bytes]:
    """Return every file by its path."""
    return {asset.path: asset.content for asset in made.assets()}


@dataclass(frozen=True)
class Before:
    """A made-up house, and what was written of it."""

    house: House
    made: phone.Written

    def after(self, *bulletins: Bulletin) -> phone.Written:
        """Return what is written once *bulletins* stand in place of those with their numbers."""
        fresh = {bulletin.number: bulletin for bulletin in bulletins}
        kept = [b for b in self.house.bulletins if b.number not in fresh]
        changed = sorted([*kept, *fresh.values()], key=lambda b: b.number)
        return write(replace(self.house, bulletins=tuple(changed)))

    def changed(self, made: phone.Written, layer: str = "") -> tuple[float, int]:
        """Return the share of bytes and the number of pieces that are new in *made*."""
        own = {piece.name for each in self.made.layers for piece in each.pieces}
        pieces = [p for each in made.layers if layer in ("", each.name) for p in each.pieces]
        fresh = [piece for piece in pieces if piece.name not in own]
        whole = sum(piece.size for piece in pieces)
        return sum(piece.size for piece in fresh) / whole, len(fresh)

    @property
    def last(self) -> Bulletin:
        """The bulletin in force with the highest number."""
        return next(b for b in reversed(self.house.bulletins) if b.status == "in-force")


@pytest.fixture(scope="module")
def before(tmp_path_factory: pytest.TempPathFactory) -> Before:
    folder = tmp_path_factory.mktemp("changing")
    big_house.write_house(folder, **SIZE)
    house = read_house(folder)
    return Before(house, write(house))


def next_number(house: House) -> str:
    """Return a number behind all others."""
    return max(b.number for b in house.bulletins)[:-1] + "x9"


def test_the_same_house_on_the_same_day_gives_the_same_bytes(before: Before) -> None:
    assert files(write(before.house)) == files(before.made)


def test_the_order_of_the_bulletins_folder_does_not_matter(before: Before) -> None:
    turned = replace(before.house, bulletins=before.house.bulletins[::-1])
    assert files(write(turned)) == files(before.made)


def test_another_day_changes_the_start_and_no_other_piece(before: Before) -> None:
    later = write(before.house, date(2026, 11, 26))
    one, other = files(before.made), files(later)
    assert one.keys() ^ other.keys() == {before.made.start.path, later.start.path}
    assert [path for path in one.keys() & other.keys() if one[path] != other[path]] == [
        "data/head.json"
    ]


def test_a_word_in_one_bulletin_changes_little(before: Before) -> None:
    old = before.last
    made = before.after(replace(old, title=f"{old.title} zonked"))
    share, _ = before.changed(made)
    assert share < 0.12
    assert before.changed(made, "cards")[1] <= 2
    assert before.changed(made, "texts")[1] <= 2
    assert before.changed(made, "terms")[1] <= 12
    for untouched in ("rows", "parts", "ends", "models", "numbers", "common", "rings", "codes"):
        assert before.changed(made, untouched) == (0, 0), untouched


def test_one_more_bulletin_leaves_the_others_cards_and_texts(before: Before) -> None:
    fresh = replace(before.last, number=next_number(before.house), supersedes=())
    made = before.after(fresh)
    assert before.changed(made, "cards")[1] <= 2
    assert before.changed(made, "texts")[1] <= 2
    assert before.changed(made, "numbers")[1] <= 2
    assert before.changed(made, "plates")[1] <= len(before.house.families) // 2
    assert before.changed(made, "rows") == (0, 0)
    assert before.changed(made)[0] < 0.5  # its terms are in most pieces of so small a house


def test_a_bulletin_that_is_superseded_keeps_all_documents_in_their_places(before: Before) -> None:
    old, new = before.house.bulletins[20], before.last
    made = before.after(replace(new, supersedes=(*new.supersedes, old.number)))
    assert before.changed(made, "cards")[1] <= 3
    assert before.changed(made, "numbers") == (0, 0)
    assert before.changed(made, "texts")[1] <= 2
    assert before.changed(made)[0] < 0.5


def test_a_bulletin_amid_the_others_moves_no_card(before: Before) -> None:
    """Cards do not hold their documents' numbers, so that those behind a new one stay."""
    amid = before.house.bulletins[50].number
    made = before.after(replace(before.last, number=f"{amid}b", supersedes=()))
    assert before.changed(made, "cards")[1] <= 3
    assert before.changed(made, "texts")[1] <= 3


def test_a_part_that_is_renamed_changes_its_rows_alone(before: Before) -> None:
    named = {number for b in before.house.bulletins for number in _numbers(b)}
    at = next(at for at, row in enumerate(before.house.parts) if row.number not in named)
    rows = list(before.house.parts)
    rows[at] = rows[at]._replace(name="Renamed thing")
    made = write(replace(before.house, parts=tuple(rows)))
    assert before.changed(made)[1] == before.changed(made, "rows")[1] == 1


def _numbers(bulletin: Bulletin) -> Sequence[str]:
    checked = [number for check in bulletin.checks for number in check.parts]
    return [line.number for line in bulletin.parts] + checked + list(bulletin.keep)


def test_what_is_written_is_told_in_the_head(before: Before) -> None:
    every = files(before.made)
    head = json.loads(every.pop("data/head.json"))
    assert head["start"] == before.made.start.path
    assert head["made"] == TODAY.isoformat()
    assert head["size"] == sum(map(len, every.values()))
    assert 0 < head["count"] <= SIZE["bulletins"]
    later = write(before.house, date(2026, 12, 1)).facts
    assert later["edition"] == head["edition"]
    other = before.after(replace(before.last, title="Other")).facts
    assert other["edition"] != head["edition"]


def test_a_house_without_anything_can_be_written(tmp_path: Path) -> None:
    made = write(House(folder=tmp_path))
    assert len(files(made)) > 2
    held = {each.name for each in made.layers if each.pieces}
    assert held <= {"words", "rings", "common", "sounds"}
