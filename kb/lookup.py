"""Reading the store: what `kb find`, `kb plate`, `kb part` and `kb visit` need, and no more.

Uses the standard library's sqlite3 alone, so that a question in a terminal is answered before a
larger library would have been loaded.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple
from urllib.parse import quote

from kb.errors import KbError
from kb.folding import fold
from kb.records import Age, Block, Family, KitRow, PartRow, Scheme, SchemeUse
from kb.units import Reference
from kb.wire import block_of, days_of, scheme_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A bulletin as the desk's answers show it."""

    number: str
    title: str
    kind: str
    status: str
    issued: str
    superseded_by: str
    where: tuple[Block, ...]
    age: Age | None

    @property
    def stands(self) -> bool:
        """Tell whether the bulletin is in force and not superseded."""
        return self.status == "in-force" and not self.superseded_by


_CARD = """SELECT number, title, kind, status, issued, coalesce(superseded_by, ''),
                  applies_definition, age_years, age_advice FROM bulletins"""
# What tells of families: of some, given as a JSON list, or of all.
_OF_SOME = """FROM {0} WHERE ?1 IS NULL OR family IN (SELECT value FROM json_each(?1))
              ORDER BY rowid"""
_STANDS = "status = 'in-force' AND superseded_by IS NULL"

# The rows that an order can lead through, forwards: successors, and the contents of kits. What
# leads nowhere falls out at the end: a condition on the way has SQLite go through all parts first.
_FORWARD = """
    WITH RECURSIVE reached(folded) AS (
        SELECT :start
        UNION SELECT p.replaced_by_folded FROM parts AS p JOIN reached AS r
              ON p.number_folded = r.folded
        UNION SELECT k.part_folded FROM kits AS k JOIN reached AS r ON k.kit_folded = r.folded
    ) SELECT folded FROM reached WHERE folded <> ''"""
# One step from a set of numbers along substitution and kits, either way. A set of values is always
# given as one JSON list, so that no number of them is too many for SQLite.
_NEIGHBOURS = """
    WITH edge(folded) AS (SELECT value FROM json_each(?))
    SELECT replaced_by_folded FROM parts JOIN edge ON number_folded = folded
    UNION SELECT number_folded FROM parts JOIN edge ON replaced_by_folded = folded
    UNION SELECT part_folded FROM kits JOIN edge ON kit_folded = folded
    UNION SELECT kit_folded FROM kits JOIN edge ON part_folded = folded"""


class _About(NamedTuple):
    """The tables of some families."""

    families: Mapping[str, Family]
    schemes: Mapping[str, Scheme]


class Lookup:
    """One store opened for reading. Also serves as the reference tables that units are read by."""

    def __init__(self, path: Path) -> None:
        address = f"file:{quote(str(path))}?mode=ro&immutable=1"
        try:
            self._connection = sqlite3.connect(address, uri=True)
            self._connection.execute("SELECT 1 FROM house LIMIT 1")
        except sqlite3.Error as error:
            raise KbError(
                f"the store does not open: {error}",
                f"delete the folder {path.parent}; the next question makes it anew",
            ) from error

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def _rows(self, query: str, *values: object) -> list[tuple[str, ...]]:
        return self._connection.execute(query, values).fetchall()

    def _pairs(self, query: str) -> list[tuple[str, str]]:
        return [(one, other) for one, other in self._rows(query)]

    @cached_property
    def house(self) -> Mapping[str, str]:
        """The house's name, language, units, site and contact."""
        return dict(self._pairs("SELECT name, value FROM house"))

    @property
    def errors(self) -> int:
        """How many errors kept something out of this store when the house was read."""
        return int(self.house.get("errors", 0))

    @cached_property
    def schemes(self) -> Mapping[str, Scheme]:
        """The serial schemes by name."""
        rows = self._rows("SELECT name, definition FROM serial_schemes ORDER BY rowid")
        return {name: scheme_of(name, json.loads(text)) for name, text in rows}

    @cached_property
    def families(self) -> Mapping[str, Family]:
        """The families by name, in the house's order."""
        return self._families(None)

    def _families(self, names: Iterable[str] | None) -> dict[str, Family]:
        """Return the families with these *names*, or all."""
        wanted = None if names is None else json.dumps(list(names))
        models: dict[str, list[str]] = {}
        for family, model in self._rows(
            f"SELECT family, model {_OF_SOME.format('models')}", wanted
        ):
            models.setdefault(family, []).append(model)
        uses: dict[str, list[SchemeUse]] = {}
        for family, scheme, first, last in self._rows(
            f"SELECT family, scheme, used_first, used_last {_OF_SOME.format('family_schemes')}",
            wanted,
        ):
            uses.setdefault(family, []).append(SchemeUse(scheme, days_of(first, last)))
        query = f"""SELECT family, product, produced_first, produced_last
                    {_OF_SOME.format("(SELECT rowid, name AS family, * FROM families)")}"""
        return {
            name: Family(
                name=name,
                product=product,
                models=tuple(models.get(name, ())),
                produced=days_of(first, last),
                schemes=tuple(uses.get(name, ())),
            )
            for name, product, first, last in self._rows(query, wanted)
        }

    def about(self, model: str) -> Reference:
        """Return the tables by which a unit of *model*, as typed, is read: its family's alone.

        A large house has thousands of models. Where none is meant all families are there, to tell
        which is near.
        """
        asked = fold(model)
        beginnings = json.dumps([asked[:end] for end in range(1, len(asked) + 1)])
        query = """SELECT DISTINCT family FROM models
                   WHERE model_folded IN (SELECT value FROM json_each(?))"""
        named = [family for (family,) in self._rows(query, beginnings)]
        return _About(self._families(named), self.schemes) if named else self

    @cached_property
    def model_names(self) -> tuple[str, ...]:
        """Every model of the house, in its order."""
        return tuple(model for (model,) in self._rows("SELECT model FROM models ORDER BY rowid"))

    def cards_for(self, model: str) -> list[Card]:
        """Return the bulletins in force that can mean *model*, the newest first."""
        return self._cards(
            f"{_CARD} WHERE {_STANDS} AND number IN "
            "(SELECT bulletin FROM bulletin_models WHERE model = ?) ORDER BY issued DESC, number",
            model,
        )

    def standing_cards(self) -> list[Card]:
        """Return every bulletin in force, the newest first."""
        return self._cards(f"{_CARD} WHERE {_STANDS} ORDER BY issued DESC, number")

    def card(self, number: str) -> Card | None:
        """Return one bulletin of any status by its number as typed."""
        found = self._cards(f"{_CARD} WHERE number_folded = ?", fold(number))
        return found[0] if found else None

    def cards(self, numbers: Iterable[str]) -> dict[str, Card]:
        """Return the bulletins with these numbers."""
        query = f"{_CARD} WHERE number IN (SELECT value FROM json_each(?))"
        return {card.number: card for card in self._cards(query, json.dumps(list(numbers)))}

    def _cards(self, query: str, *values: object) -> list[Card]:
        return [
            Card(
                number=number,
                title=title,
                kind=kind,
                status=status,
                issued=issued,
                superseded_by=superseded,
                where=tuple(block_of(each) for each in json.loads(where)),
                age=Age(float(years), advice) if years is not None else None,
            )
            for number, title, kind, status, issued, superseded, where, years, advice in self._rows(
                query, *values
            )
        ]

    def codes(self) -> dict[str, str]:
        """Return every fault code of a bulletin in force: folded, and as displayed."""
        return dict(self._pairs("SELECT code_folded, code FROM codes"))

    def number_of(self, folded: str) -> str:
        """Return the bulletin number that *folded* stands for, drafts apart, or nothing."""
        query = "SELECT number FROM bulletins WHERE number_folded = ? AND status <> 'draft'"
        rows = self._rows(query, folded)
        return rows[0][0] if rows else ""

    def part_number(self, folded: str) -> str:
        """Return the part or kit number that *folded* stands for, or nothing."""
        query = (
            "SELECT number FROM parts WHERE number_folded = ?1 "
            "UNION SELECT kit FROM kits WHERE kit_folded = ?1"
        )
        rows = self._rows(query, folded)
        return rows[0][0] if rows else ""

    def numbers_like(self, folded: str, most: int) -> list[str]:
        """Return at most *most* part numbers that begin or end with *folded*, in order."""
        query = (
            "SELECT DISTINCT number FROM parts WHERE number_folded GLOB ?1 || '*' "
            "UNION SELECT DISTINCT number FROM parts WHERE number_folded GLOB '*' || ?1 "
            "ORDER BY 1 LIMIT ?2"
        )
        if not folded.isalnum():
            return []
        return [number for (number,) in self._rows(query, folded, most)]

    def related_numbers(self, folded: str, most: int = 4) -> dict[str, int]:
        """Return the folded numbers tied to a part by substitution or kits, with their steps."""
        steps = {folded: 0}
        edge = {folded}
        for step in range(1, most + 1):
            pairs = self._in(_NEIGHBOURS, edge)
            edge = {number for (number,) in pairs if number and number not in steps}
            if not edge:
                break
            steps.update(dict.fromkeys(sorted(edge), step))
        return steps

    def newer_numbers(self, number: str) -> set[str]:
        """Return the folded numbers that an order for *number* can lead to, itself included."""
        return {row[0] for row in self._connection.execute(_FORWARD, {"start": fold(number)})}

    def part_rows(self, folded: Iterable[str]) -> list[PartRow]:
        """Return the rows of parts.csv for these folded numbers, in the order of the file."""
        rows = self._in(
            "SELECT number, name, component, status, replaced_by, relation, models, since, note "
            "FROM parts WHERE number_folded IN (SELECT value FROM json_each(?)) ORDER BY row",
            folded,
        )
        return [
            PartRow(
                number=row[0],
                name=row[1],
                component=row[2],
                status=row[3],  # type: ignore[arg-type]  # checked when the house was read
                replaced_by=row[4],
                relation=row[5] or None,  # type: ignore[arg-type]  # likewise
                models=tuple(row[6].split()),
                since_text=row[7],
                note=row[8],
            )
            for row in rows
        ]

    def kit_rows(self, folded: Iterable[str]) -> list[KitRow]:
        """Return the rows of kits.csv for these folded kit numbers."""
        rows = self._in(
            "SELECT kit, part, quantity FROM kits "
            "WHERE kit_folded IN (SELECT value FROM json_each(?)) ORDER BY rowid",
            folded,
        )
        return [
            KitRow(kit=kit, number=part, quantity=int(quantity)) for kit, part, quantity in rows
        ]

    def _in(self, query: str, values: Iterable[str]) -> list[tuple[str, ...]]:
        return self._rows(query, json.dumps(list(values)))

    def listed(self, query: str, values: Iterable[str]) -> list[tuple[Any, ...]]:
        """Return the rows of *query*, which finds *values* as one JSON list (``json_each(?)``)."""
        return list(self._in(query, values))

    def part_numbers(self) -> list[str]:
        """Return every part and kit number of the house, as written."""
        rows = self._rows("SELECT number FROM parts UNION SELECT kit FROM kits")
        return [number for (number,) in rows]

    def bulletins_naming(self, folded: Iterable[str]) -> list[str]:
        """Return the bulletins in force whose parts, checks or keeps name any of these numbers."""
        query = f"""
            WITH wanted(folded) AS (SELECT value FROM json_each(?))
            SELECT number FROM bulletins WHERE {_STANDS} AND number IN (
                SELECT bulletin FROM bulletin_parts JOIN wanted ON part_folded = folded
                UNION SELECT bulletin FROM check_parts JOIN wanted ON part_folded = folded
                UNION SELECT bulletin FROM bulletin_keeps JOIN wanted ON part_folded = folded
            ) ORDER BY number"""
        return [number for (number,) in self._in(query, folded)]
