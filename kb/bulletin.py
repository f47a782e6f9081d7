"""One bulletin out of its front matter and body: a frozen record, or every problem in it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any, Literal, NamedTuple

from kb.faults import Faults, quoted
from kb.fields import Fields, Unfit, day, known_keys, number, quantity, share, yes_no
from kb.frontmatter import Front, FrontLines, split
from kb.records import (
    HAZARDS,
    KINDS,
    STATUSES,
    Age,
    Bulletin,
    Check,
    Coverage,
    PartLine,
)
from kb.whereabouts import WHERE_KEYS, where_of

_EXAMPLES = {
    "number": "2026-014",
    "title": "Drain pump hums but moves no water",
    "kind": "repair",
    "issued": "2026-03-02",
    "component": "drain pump",
}
# A bulletin whose status or whose conditions were left blank would say more than is meant.
_KEYS = known_keys(
    "number",
    "title",
    "kind",
    "issued",
    "revised",
    "status",
    "summary",
    "supersedes",
    "related",
    *WHERE_KEYS,
    "applies",
    "component",
    "symptoms",
    "codes",
    "hazards",
    "tools",
    "consumables",
    "minutes",
    "checks",
    "keep",
    "parts",
    "coverage",
    "age",
    needed=(*_EXAMPLES, "status", *WHERE_KEYS, "applies"),
)
_LISTS = (
    "supersedes",
    "related",
    "symptoms",
    "codes",
    "tools",
    "consumables",
    "keep",
)
_CHECK_KEYS = known_keys(
    "cause", "test", "likelihood", "minutes", "fix", "parts", "last", "before", needed=("cause",)
)
_PART_KEYS = known_keys("number", "quantity", "in-hand", "all", "note", needed=("number",))
_COVERAGE_NEEDS = {"component": "drain pump", "years": "5", "from": "purchase"}
_COVERAGE_KEYS = known_keys(*_COVERAGE_NEEDS, needed=_COVERAGE_NEEDS)
_AGE_NEEDS = {"years": "5", "advice": "replace the inlet hose"}
_AGE_KEYS = known_keys(*_AGE_NEEDS, needed=_AGE_NEEDS)
_STARTS: tuple[Literal["purchase", "built"], ...] = ("purchase", "built")

_NUMBER = re.compile(r"[A-Za-z0-9.-]{1,40}")


class Outcome(NamedTuple):
    """What came of one file: a bulletin where there is enough for one, and whether it is sound."""

    bulletin: Bulletin | None
    sound: bool


def read_bulletin(text: str, faults: Faults, families: Mapping[str, str]) -> Outcome:
    """Read the text of one file; *families* are the known names by folded name.

    An unsound bulletin still comes back where number, title, kind and date of issue can be read,
    so that what else is wrong with it can be found in the same run.
    """
    front = split(text, faults)
    if front is None:
        return Outcome(None, False)
    bulletin = _bulletin(front, faults, families)
    return Outcome(bulletin, not faults.problems or not faults.errors)


def _bulletin(front: Front, faults: Faults, families: Mapping[str, str]) -> Bulletin | None:
    fields = Fields(front.keys, faults, _KEYS)
    for key, example in _EXAMPLES.items():
        if key not in fields.pairs:
            fields.need(key, example, 1)
    name = fields.read("number", bulletin_number)
    title = fields.text("title", one_line=True)
    kind = fields.one_of("kind", KINDS)
    issued = fields.read("issued", day)
    where = where_of(fields, families)
    rest = _rest(fields)
    if not (name and title and kind and issued):
        return None
    return Bulletin(
        number=name,
        title=title,
        kind=kind,
        issued=issued,
        where=where,
        body=front.body,
        file=faults.file,
        body_line=front.body_line,
        lines=FrontLines(front.head),
        **rest,
    )


def _rest(fields: Fields) -> dict[str, Any]:
    """Return what else is given, by the name of the record's field."""
    pairs = fields.pairs
    found: dict[str, Any] = {key: fields.texts(key) for key in _LISTS if key in pairs}
    found["component"] = fields.needed_texts("component")
    for key, reader in _READERS.items():
        if key in pairs:
            value = reader(fields)
            if value is not None:
                found[key] = value
    return found


def bulletin_number(text: str) -> str:
    """Return a bulletin number: letters, digits, ``-`` and ``.``, 40 at most; raises `Unfit`."""
    if not _NUMBER.fullmatch(text) or not text.strip("-."):
        raise Unfit(
            f"{quoted(text)} is no bulletin number",
            "use letters, digits, hyphens and dots, 40 signs at most, such as 2026-014",
        )
    return text


def _hazards(fields: Fields) -> tuple[str, ...]:
    named = fields.texts("hazards")
    chosen = [
        fields.choose("hazards", text, HAZARDS, fields.item_line("hazards", index))
        for index, text in enumerate(named)
    ]
    return tuple(filter(None, chosen))


def _checks(fields: Fields) -> tuple[Check, ...]:
    return tuple(
        [
            _check(Fields(keys, fields.faults, _CHECK_KEYS, "checks"))
            for keys, _ in fields.blocks("checks")
        ]
    )


def _check(fields: Fields) -> Check:
    pairs = fields.pairs
    if "cause" not in pairs:
        fields.need("cause", "connector not fully home")
    return Check(
        cause=fields.text("cause"),
        test=fields.text("test"),
        likelihood=fields.read("likelihood", share) or 0.0,
        minutes=fields.read("minutes", number) or 1.0,
        fix=fields.text("fix"),
        parts=fields.texts("parts"),
        last=bool(fields.read("last", yes_no)),
        before=fields.texts("before"),
    )


def _parts(fields: Fields) -> tuple[PartLine, ...]:
    return tuple(
        [
            _part(Fields(keys, fields.faults, _PART_KEYS, "parts"))
            for keys, _ in fields.blocks("parts", scalar="number")
        ]
    )


def _part(fields: Fields) -> PartLine:
    if "number" not in fields.pairs:
        fields.need("number", "HR-310-1118")
    return PartLine(
        number=fields.text("number"),
        quantity=fields.read("quantity", quantity) or 1,
        in_hand=bool(fields.read("in-hand", yes_no)),
        all=bool(fields.read("all", yes_no)),
        note=fields.text("note"),
    )


def _coverage(fields: Fields) -> Coverage | None:
    keys = fields.block("coverage")
    if keys is None:
        return None
    inner = Fields(keys, fields.faults, _COVERAGE_KEYS, "coverage")
    for key, example in _COVERAGE_NEEDS.items():
        inner.need(key, example)
    component = inner.text("component")
    years = inner.read("years", number)
    start = inner.one_of("from", _STARTS)
    return Coverage(component, years, start) if component and years and start else None


def _age(fields: Fields) -> Age | None:
    keys = fields.block("age")
    if keys is None:
        return None
    inner = Fields(keys, fields.faults, _AGE_KEYS, "age")
    for key, example in _AGE_NEEDS.items():
        inner.need(key, example)
    years, advice = inner.read("years", number), inner.text("advice")
    return Age(years, advice) if years and advice else None


# How each optional key is read, apart from the plain lists.
_READERS: dict[str, Callable[[Fields], Any]] = {
    "revised": lambda fields: fields.read("revised", day),
    "status": lambda fields: fields.one_of("status", STATUSES),
    "summary": lambda fields: fields.text("summary"),
    "hazards": _hazards,
    "minutes": lambda fields: fields.read("minutes", number),
    "checks": _checks,
    "parts": _parts,
    "coverage": _coverage,
    "age": _age,
}
