"""The store: a house written into one SQLite file, which is read by ``kb.lookup``."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from kb.checks import OrderError, best_order
from kb.errors import KbError
from kb.folding import fold
from kb.records import Bulletin, Check, House
from kb.schema import TABLES, VIEWS, Table
from kb.scope import models_of
from kb.standing import in_force, superseded_by
from kb.stretches import by_model
from kb.wire import block_to_json, day_text, scheme_to_json

Row = dict[str, Any]
Plain = tuple[str | None, ...]
# Their rows, hundreds of thousands in a large house, come as plain values in the columns' order.
_LONG = ("bulletin_models", "applicability")


def write(path: Path, house: House, summaries: dict[str, str]) -> None:
    """Write *house* into a new SQLite file at *path*; the same house gives the same bytes.

    *summaries* gives the summary of each bulletin by number.
    """
    database = Database(str(path))
    try:
        _fill(database, house, summaries)
    except sqlite3.OperationalError as error:  # the house cannot be at fault, so the disk is
        raise KbError(
            f"the store cannot be written: {error}", f"make room in {path.parent}"
        ) from error
    finally:
        database.close()


def _fill(database: Database, house: House, summaries: dict[str, str]) -> None:
    # Nobody reads the file before it is whole and brought to the disk (``kb.editions``).
    database.conn.execute("PRAGMA journal_mode = OFF")
    database.conn.execute("PRAGMA synchronous = OFF")
    with database.conn:
        for table in TABLES:
            _create(database, table)
        for name, rows in _contents(house, summaries):
            _insert(database, name, rows)
        for table in TABLES:  # an index of rows that are there is sorted once
            _index(database, table)
        for name, query in VIEWS.items():
            database.create_view(name, query)
    database.conn.execute("ANALYZE")
    database.conn.commit()


def _create(database: Database, table: Table) -> None:
    made = database.table(table.name)
    made.create(table.columns, pk=table.key, foreign_keys=list(table.refers))


def _index(database: Database, table: Table) -> None:
    for columns in table.indexes:
        database.table(table.name).create_index(list(columns))


def _insert(database: Database, name: str, rows: Iterable[Row | Plain]) -> None:
    # Plain executemany: insert_all() looks at each batch for new columns, which costs more than
    # the writing itself at 200,000 rows.
    columns = next(t for t in TABLES if t.name == name).columns
    marks = ", ".join("?" if name in _LONG else f":{column}" for column in columns)
    database.conn.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)


def _contents(
    house: House, summaries: dict[str, str]
) -> Iterator[tuple[str, Iterable[Row | Plain]]]:
    yield "house", _house_rows(house)
    yield "families", _family_rows(house)
    yield "models", _model_rows(house)
    yield "serial_schemes", _scheme_rows(house)
    yield "family_schemes", _family_scheme_rows(house)
    yield "bulletins", _bulletin_rows(house, summaries)
    yield "bulletin_models", _bulletin_model_rows(house)
    yield "applicability", _applicability_rows(house)
    for name, item, of in _LISTS:
        yield f"bulletin_{name}", _list_rows(house, item, of)
    for name, item, of in _NUMBERS:
        yield f"bulletin_{name}", _number_rows(house, item, of)
    yield "codes", _code_rows(house)
    yield "checks", _check_rows(house)
    yield "check_parts", _check_part_rows(house)
    yield "bulletin_parts", _bulletin_part_rows(house)
    yield "parts", _part_rows(house)
    yield "kits", _kit_rows(house)


_LISTS: tuple[tuple[str, str, Callable[[Bulletin], tuple[str, ...]]], ...] = (
    ("components", "component", lambda b: b.component),
    ("symptoms", "symptom", lambda b: b.symptoms),
    ("hazards", "hazard", lambda b: b.hazards),
    ("tools", "tool", lambda b: b.tools),
    ("consumables", "consumable", lambda b: b.consumables),
    ("supersedes", "superseded", lambda b: b.supersedes),
    ("related", "related", lambda b: b.related),
)
_NUMBERS: tuple[tuple[str, str, Callable[[Bulletin], tuple[str, ...]]], ...] = (
    ("keeps", "part", lambda b: b.keep),
    ("codes", "code", lambda b: b.codes),
)


def _house_rows(house: House) -> Iterator[Row]:
    for name in ("name", "language", "units", "site", "contact"):
        yield {"name": name, "value": getattr(house, name)}
    # How much was left out of this store, because it could not be read.
    errors = sum(problem.level == "error" for problem in house.problems)
    yield {"name": "errors", "value": str(errors)}


def _family_rows(house: House) -> Iterator[Row]:
    for family in house.families.values():
        yield {
            "name": family.name,
            "product": family.product,
            "produced_first": day_text(family.produced.first),
            "produced_last": day_text(family.produced.last),
        }


def _model_rows(house: House) -> Iterator[Row]:
    seen: set[str] = set()
    for family in house.families.values():
        for model in family.models:
            if model in seen:  # in two families: an error that the proof reports
                continue
            seen.add(model)
            yield {"model": model, "model_folded": fold(model), "family": family.name}


def _scheme_rows(house: House) -> Iterator[Row]:
    for name, scheme in house.schemes.items():
        yield {"name": name, "definition": json.dumps(scheme_to_json(scheme), sort_keys=True)}


def _family_scheme_rows(house: House) -> Iterator[Row]:
    for family in house.families.values():
        # An unknown scheme is an error that the proof reports; no row may refer to it.
        known = (use for use in family.schemes if use.name in house.schemes)
        for position, use in enumerate(known):
            yield {
                "family": family.name,
                "position": position,
                "scheme": use.name,
                "used_first": day_text(use.used.first),
                "used_last": day_text(use.used.last),
            }


def _bulletin_rows(house: House, summaries: dict[str, str]) -> Iterator[Row]:
    superseded = superseded_by(house.bulletins)
    for bulletin in house.bulletins:
        coverage, age = bulletin.coverage, bulletin.age
        yield {
            "number": bulletin.number,
            "number_folded": fold(bulletin.number),
            "title": bulletin.title,
            "kind": bulletin.kind,
            "status": bulletin.status,
            "issued": day_text(bulletin.issued),
            "revised": day_text(bulletin.revised),
            "superseded_by": superseded.get(fold(bulletin.number)),
            "summary": summaries.get(bulletin.number, bulletin.summary),
            "minutes": bulletin.minutes,
            "coverage_component": coverage.component if coverage else None,
            "coverage_years": coverage.years if coverage else None,
            "coverage_from": coverage.start if coverage else None,
            "age_years": age.years if age else None,
            "age_advice": age.advice if age else None,
            "applies_definition": json.dumps([block_to_json(block) for block in bulletin.where]),
            "file": bulletin.file,
            "body": bulletin.body,
        }


def _bulletin_model_rows(house: House) -> Iterator[Plain]:
    for bulletin in house.bulletins:
        for model in dict.fromkeys(models_of(bulletin.where, house.families)):
            yield model, bulletin.number


def _applicability_rows(house: House) -> Iterator[Plain]:
    family_of = {m: family for family in house.families.values() for m in family.models}
    for bulletin in house.bulletins:
        models = dict.fromkeys(models_of(bulletin.where, house.families))
        for family, alike in groupby(models, key=family_of.__getitem__):
            for model, found in by_model(bulletin.where, alike, family, house):
                for stretch in found:
                    first, last = day_text(stretch.days.first), day_text(stretch.days.last)
                    yield bulletin.number, model, first, last, stretch.applies


def _list_rows(house: House, item: str, of: Callable[[Bulletin], tuple[str, ...]]) -> Iterator[Row]:
    for bulletin in house.bulletins:
        for position, value in enumerate(of(bulletin)):
            yield {"bulletin": bulletin.number, "position": position, item: value}


def _number_rows(
    house: House, item: str, of: Callable[[Bulletin], tuple[str, ...]]
) -> Iterator[Row]:
    for row in _list_rows(house, item, of):
        yield {**row, f"{item}_folded": fold(row[item])}


def _code_rows(house: House) -> Iterator[Row]:
    codes = {code for bulletin in in_force(house.bulletins) for code in bulletin.codes}
    shown = {fold(code): code for code in sorted(codes, reverse=True)}
    for folded, code in sorted(shown.items()):
        yield {"code_folded": folded, "code": code}


def _best(checks: tuple[Check, ...]) -> tuple[int, ...]:
    try:
        return best_order(checks)
    except OrderError:  # reported by the proof; the written order is as good as any
        return tuple(range(len(checks)))


def _check_rows(house: House) -> Iterator[Row]:
    for bulletin in house.bulletins:
        best = _best(bulletin.checks)
        for position, check in enumerate(bulletin.checks):
            yield {
                "bulletin": bulletin.number,
                "position": position,
                "cause": check.cause,
                "test": check.test,
                "likelihood": check.likelihood,
                "minutes": check.minutes,
                "fix": check.fix,
                "is_last": int(check.last),
                "best_position": best.index(position),
            }


def _check_part_rows(house: House) -> Iterator[Row]:
    for bulletin in house.bulletins:
        for position, check in enumerate(bulletin.checks):
            for part in check.parts:
                yield {
                    "bulletin": bulletin.number,
                    "check_position": position,
                    "part": part,
                    "part_folded": fold(part),
                }


def _bulletin_part_rows(house: House) -> Iterator[Row]:
    for bulletin in house.bulletins:
        for position, line in enumerate(bulletin.parts):
            yield {
                "bulletin": bulletin.number,
                "position": position,
                "part": line.number,
                "part_folded": fold(line.number),
                "quantity": line.quantity,
                "in_hand_first": int(line.in_hand),
                "replace_all": int(line.all),
                "note": line.note,
            }


def _part_rows(house: House) -> Iterator[Row]:
    for row, part in enumerate(house.parts):
        yield {
            "row": row,
            "number": part.number,
            "number_folded": fold(part.number),
            "name": part.name,
            "component": part.component,
            "status": part.status,
            "replaced_by": part.replaced_by,
            "replaced_by_folded": fold(part.replaced_by),
            "relation": part.relation,
            "models": " ".join(part.models),
            "since": part.since_text,
            "note": part.note,
        }


def _kit_rows(house: House) -> Iterator[Row]:
    for row in house.kits:
        yield {
            "kit": row.kit,
            "kit_folded": fold(row.kit),
            "part": row.number,
            "part_folded": fold(row.number),
            "quantity": row.quantity,
        }
