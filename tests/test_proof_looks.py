"""Each rule looks at nothing but what it says that it looks at (`Rule.own` and `Rule.over`).

The records are watched while a rule is asked about each bulletin of every small house, sound or
with mistakes, so a name that is left out in the table of rules is seen here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from kb.house import read_house
from kb.proof import RULES
from kb.proof.base import DISK, FILES, NOTHING, TABLES, Each, Rule, these
from kb.proof.look import Look
from kb.proof.text import NOTES
from kb.records import Bulletin, House
from tests.proof_cases import TODAY, write
from tests.proof_many import every_house

EVERY = (NOTES, *RULES)
FIELDS = frozenset(field.name for field in fields(Bulletin))
MEMBERS = "members"
_HOUSE = {"bulletins": MEMBERS, "unsound": MEMBERS, "files": FILES, "folder": DISK}

Read = tuple[str, str]  # the file of a bulletin, or nothing for the house, and what was looked at

seen: set[Read] = set()


class _Line(int):
    """A line found by its path; as part of what is told it counts as looked at."""

    file = ""

    def __str__(self) -> str:
        seen.add((self.file, "lines"))
        return super().__repr__()


class WatchedBulletin(Bulletin):
    """A bulletin that notes which of its fields are looked at."""

    __slots__ = ()

    def __getattribute__(self, name: str) -> Any:
        if name in FIELDS and name != "file":
            seen.add((object.__getattribute__(self, "file"), name))
        return object.__getattribute__(self, name)

    def line(self, path: str) -> int:
        """Return the line of a path, which the next proof finds again by itself."""
        file = object.__getattribute__(self, "file")
        before = (file, "lines") in seen
        line = _Line(Bulletin.line(self, path))
        line.file = file
        if not before:
            seen.discard((file, "lines"))
        return line


class WatchedHouse(House):
    """A house that notes which of its tables are looked at."""

    __slots__ = ()

    def __getattribute__(self, name: str) -> Any:
        if not name.startswith("_"):
            seen.add(("", _HOUSE.get(name, TABLES)))
        return object.__getattribute__(self, name)


class WatchingLook(Look):
    """A look whose reading of a table's text counts as looking at the tables."""

    def text_of(self, file: str) -> str:
        """Return the text of a file."""
        before = set(seen)
        text = super().text_of(file)
        seen.clear()
        seen.update(before, {("", TABLES)})
        return text


def values(record: Any) -> dict[str, Any]:
    return {field.name: getattr(record, field.name) for field in fields(record)}


def watched(house: House) -> House:
    given = values(house)
    for key in ("bulletins", "unsound"):
        given[key] = tuple(WatchedBulletin(**values(each)) for each in given[key])
    return WatchedHouse(**given)


def asked(rule: Rule, house: House) -> Iterator[tuple[str, frozenset[Read]]]:
    """Yield the file that a rule is asked about, nothing for all, and what it looked at."""
    find = rule.find
    among: tuple[Bulletin, ...] = house.bulletins
    if isinstance(find, Each):
        for bulletin in among if find.sound else (*among, *house.unsound):
            look, file = WatchingLook(house, TODAY), bulletin.file
            seen.clear()
            list(map(rule.problem, find.find(look, bulletin)))
            yield file, frozenset(seen)
    else:
        look = WatchingLook(house, TODAY)
        seen.clear()
        list(map(rule.problem, find(look)))
        yield "", frozenset(seen)


@cache
def houses(folder: Path) -> tuple[House, ...]:
    """Every small house, read and watched."""
    return tuple(
        watched(read_house(write(folder / str(n), files))) for n, files in enumerate(every_house())
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("cases")


@pytest.mark.parametrize("rule", EVERY, ids=lambda rule: rule.name.strip("{}"))
def test_a_rule_looks_at_what_it_names_and_at_nothing_else(rule: Rule, folder: Path) -> None:
    over, own = set[str](), set[str]()
    for house in houses(folder):
        for file, reads in asked(rule, house):
            over |= {what for of, what in reads if of != file or not file}
            own |= {what for of, what in reads if file and of == file}
    alone = own - rule.over
    assert over - {MEMBERS} == rule.over, "of the house"
    assert alone == (rule.own - rule.over if isinstance(rule.find, Each) else NOTHING), "of its own"
    assert rule.over or MEMBERS not in over


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_each_rule_is_broken_in_one_of_these_houses(rule: Rule, folder: Path) -> None:
    assert any(any(True for _ in rule.find(Look(house, TODAY))) for house in houses(folder))


def test_each_rule_that_is_kept_has_a_name_of_its_own() -> None:
    assert len({rule.name for rule in EVERY}) == len(EVERY)


def test_what_a_rule_names_is_there_to_be_looked_at() -> None:
    with pytest.raises(ValueError, match="bodies"):
        these("body", "bodies")
