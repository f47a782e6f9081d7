"""The tables of the store, in the words of the trade, for anyone who opens it with an SQLite tool.

Dates are ISO text (an open end is NULL), yes and no are 1 and 0, minutes and years are numbers. A
column that ends in ``_folded`` holds a number without blanks, hyphens, dots and case, as numbers
are compared.

Questions that a stranger can ask::

    -- what applies to a model and a day of production
    SELECT bulletin, title, applies FROM what_applies
     WHERE model = 'TD45A' AND '2024-03-18' BETWEEN built_first AND built_last;

    -- every part that has a successor, with what it is
    SELECT w.number, w.replaced_by, p.name FROM what_replaces AS w
      JOIN parts AS p ON p.number = w.replaced_by;

    -- the checks of a bulletin in the order that takes the least time
    SELECT cause, test, fix FROM checks WHERE bulletin = '2026-014' ORDER BY best_position;

    -- which bulletins speak of a fault code, the newest first
    SELECT b.number, b.title FROM bulletins AS b
      JOIN bulletin_codes AS c ON c.bulletin = b.number
     WHERE c.code = 'E21' ORDER BY b.issued DESC;

    -- how many bulletins were issued each year
    SELECT substr(issued, 1, 4) AS year, count(*) FROM bulletins GROUP BY year ORDER BY year;
"""

from __future__ import annotations

from typing import NamedTuple


class Table(NamedTuple):
    """One table: its columns with their Python types, its key and what it refers to."""

    name: str
    columns: dict[str, type]
    key: str | tuple[str, ...] | None = None
    refers: tuple[tuple[str, str, str], ...] = ()
    indexes: tuple[tuple[str, ...], ...] = ()


def _list_of(name: str, item: str, folded: bool = False) -> Table:
    """A table of what one bulletin lists, in the written order."""
    extra: dict[str, type] = {f"{item}_folded": str} if folded else {}
    return Table(
        f"bulletin_{name}",
        {"bulletin": str, "position": int, item: str, **extra},
        ("bulletin", "position"),
        (("bulletin", "bulletins", "number"),),
        ((f"{item}_folded" if folded else item,),),
    )


TABLES: tuple[Table, ...] = (
    Table("house", {"name": str, "value": str}, "name"),
    Table(
        "families",
        {"name": str, "product": str, "produced_first": str, "produced_last": str},
        "name",
    ),
    Table(
        "models",
        {"model": str, "model_folded": str, "family": str},
        "model",
        (("family", "families", "name"),),
        (("model_folded",), ("family",)),
    ),
    Table("serial_schemes", {"name": str, "definition": str}, "name"),
    Table(
        "family_schemes",
        {"family": str, "position": int, "scheme": str, "used_first": str, "used_last": str},
        ("family", "position"),
        (("family", "families", "name"), ("scheme", "serial_schemes", "name")),
    ),
    Table(
        "bulletins",
        {
            "number": str,
            "number_folded": str,
            "title": str,
            "kind": str,
            "status": str,
            "issued": str,
            "revised": str,
            "superseded_by": str,
            "summary": str,
            "minutes": float,
            "coverage_component": str,
            "coverage_years": float,
            "coverage_from": str,
            "age_years": float,
            "age_advice": str,
            "applies_definition": str,
            "file": str,
            "body": str,
        },
        "number",
        indexes=(("number_folded",), ("status",)),
    ),
    Table(
        "bulletin_models",
        {"model": str, "bulletin": str},
        ("model", "bulletin"),
        (("bulletin", "bulletins", "number"), ("model", "models", "model")),
        (("bulletin",),),
    ),
    Table(
        "applicability",
        {"bulletin": str, "model": str, "built_first": str, "built_last": str, "applies": str},
        None,
        (("bulletin", "bulletins", "number"), ("model", "models", "model")),
        (("model", "built_first", "built_last"), ("bulletin",)),
    ),
    _list_of("components", "component"),
    _list_of("symptoms", "symptom"),
    _list_of("hazards", "hazard"),
    _list_of("tools", "tool"),
    _list_of("consumables", "consumable"),
    _list_of("supersedes", "superseded"),
    _list_of("related", "related"),
    _list_of("keeps", "part", folded=True),
    _list_of("codes", "code", folded=True),
    # Every code of a bulletin in force, as one of them displays it.
    Table("codes", {"code_folded": str, "code": str}, "code_folded"),
    Table(
        "checks",
        {
            "bulletin": str,
            "position": int,
            "cause": str,
            "test": str,
            "likelihood": float,
            "minutes": float,
            "fix": str,
            "is_last": int,
            "best_position": int,
        },
        ("bulletin", "position"),
        (("bulletin", "bulletins", "number"),),
    ),
    Table(
        "check_parts",
        {"bulletin": str, "check_position": int, "part": str, "part_folded": str},
        None,
        (("bulletin", "bulletins", "number"),),
        (("bulletin",), ("part_folded",)),
    ),
    Table(
        "bulletin_parts",
        {
            "bulletin": str,
            "position": int,
            "part": str,
            "part_folded": str,
            "quantity": int,
            "in_hand_first": int,
            "replace_all": int,
            "note": str,
        },
        ("bulletin", "position"),
        (("bulletin", "bulletins", "number"),),
        (("part_folded",),),
    ),
    Table(
        "parts",
        {
            "row": int,
            "number": str,
            "number_folded": str,
            "name": str,
            "component": str,
            "status": str,
            "replaced_by": str,
            "replaced_by_folded": str,
            "relation": str,
            "models": str,
            "since": str,
            "note": str,
        },
        "row",
        indexes=(("number_folded",), ("replaced_by_folded",)),
    ),
    Table(
        "kits",
        {"kit": str, "kit_folded": str, "part": str, "part_folded": str, "quantity": int},
        None,
        indexes=(("kit_folded",), ("part_folded",)),
    ),
)

# What applies to a model on a day of production, for plain SQL:
#   SELECT * FROM what_applies
#   WHERE model = 'TD45A' AND '2024-03-18' BETWEEN built_first AND built_last;
VIEWS: dict[str, str] = {
    "what_applies": """
        SELECT a.model,
               coalesce(a.built_first, '0001-01-01') AS built_first,
               coalesce(a.built_last, '9999-12-31') AS built_last,
               a.applies, b.number AS bulletin, b.title, b.kind, b.issued
          FROM applicability AS a JOIN bulletins AS b ON b.number = a.bulletin
         WHERE b.status = 'in-force' AND b.superseded_by IS NULL
    """,
    "what_replaces": """
        SELECT number, name, status, replaced_by, relation, models, since, note
          FROM parts WHERE replaced_by <> ''
    """,
}
