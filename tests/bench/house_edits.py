"""Edits to a house and to the templates, each a little different every time it is made."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date, timedelta
from pathlib import Path

from kb.house import read_house
from kb.records import Bulletin, House
from kb.standing import in_force

Edit = Callable[[int], None]


class Edits:
    """What is edited in a house: one bulletin in force with a range, and a part that it names."""

    def __init__(self, folder: Path, templates: Path) -> None:
        self._folder = folder
        self._templates = templates
        house = read_house(folder)
        self.bulletin = _chosen(house)
        self._last = max(each.issued for each in house.bulletins)
        self._path = folder / self.bulletin.file
        self._part = self.bulletin.parts[0].number

    @property
    def all(self) -> Mapping[str, Edit]:
        """Every edit by what it is called; each takes the turn, from 1 on."""
        return {
            "one text": self.text,
            "one range": self.reach,
            "one added": self.added,
            "one part row": self.part_row,
            "one template": self.template,
        }

    def text(self, turn: int) -> None:
        """Add a sentence to the bulletin."""
        said = f"\nLet the bybolt cool for {turn} minutes before it is touched.\n"
        self._path.write_text(self._path.read_text("utf-8") + said, "utf-8")

    def reach(self, turn: int) -> None:
        """Move the end of the range of production days to some days earlier."""
        end = _end(self.bulletin) - timedelta(days=30 * turn)
        self._replace(self._path, r"(?m)^(built: [^.]*)\.\..*$", rf"\1..{end}")

    def added(self, turn: int) -> None:
        """Write the newest bulletin, like the chosen one but for its number, day and title."""
        number = f"{self._last.year}-9{turn:03}"
        text = re.sub(r"(?m)^(supersedes|related):.*\n", "", self._path.read_text("utf-8"))
        for key, value in {
            "number": number,
            "issued": str(self._last),
            "title": f"Hums after move number {turn}",
        }.items():
            text = re.sub(rf"(?m)^{key}:.*$", f"{key}: {value}", text, count=1)
        (self._folder / str(self._last.year) / f"{number}.md").write_text(text, "utf-8")

    def part_row(self, turn: int) -> None:
        """Give another name to the part that the bulletin asks for."""
        row = rf"(?m)^({re.escape(self._part)}),[^,\n]*,"
        self._replace(self._folder / "reference" / "parts.csv", row, rf"\1,Pump Coldby {turn},")

    def template(self, turn: int) -> None:
        """Put a remark of our own before the body of every bulletin."""
        path = self._templates / "bulletin.html"
        self._replace(path, r"{{ body\|safe }}", f"<p>Seen {turn} times.</p>\n{{{{ body|safe }}}}")

    def _replace(self, path: Path, old: str, new: str) -> None:
        text, found = re.subn(old, new, path.read_text("utf-8"), count=1)
        assert found, f"{path} has no {old}"
        path.write_text(text, "utf-8")


def _chosen(house: House) -> Bulletin:
    """Return a bulletin of the middle of the house, of one family with a range and parts."""
    found = [each for each in in_force(house.bulletins) if _fit(each)]
    return sorted(found, key=lambda each: each.issued)[len(found) // 2]


def _fit(bulletin: Bulletin) -> bool:
    """Tell whether a bulletin names parts and symptoms and has a range of a year at least."""
    days = bulletin.where[0].built
    if not (days and days.first and days.last and bulletin.parts and bulletin.symptoms):
        return False
    return len(bulletin.where) == 1 and days.last - days.first > timedelta(days=365)


def _end(bulletin: Bulletin) -> date:
    days = bulletin.where[0].built
    assert days
    assert days.last
    return days.last
