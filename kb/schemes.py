"""serials.yaml: serial schemes with everything that can be wrong in one, at its line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from typing import Literal

from kb.dates import Days, parse_days
from kb.faults import Faults
from kb.fields import Fields, Unfit, days, known_keys
from kb.folding import fold
from kb.records import Example, Scheme
from kb.reference import entries
from kb.yamlrepair import read_keys
from kb.yamltext import Keys, Node, Text
from kb.yamlwords import no_blank

_SCHEME_NEEDS = ("layout", "plant", "year", "month", "week", "used")
_SCHEME_KEYS = known_keys(*_SCHEME_NEEDS, "examples", needed=_SCHEME_NEEDS)
_YEAR_KEYS = known_keys("letters", "first", "digits", needed=("letters", "first"))
_MONTH_KEYS = known_keys("letters", needed=("letters",))
_EXAMPLE_KEYS = known_keys("serial", "plant", "built", "sequence", needed=("serial",))
_PLACES = "PYWMDJNX"
_WEEKS: tuple[Literal["iso", "jan-1"], ...] = ("iso", "jan-1")
_MEANINGS = (
    "P plant, Y year, W week, M month, D day of month, J day of year, N sequence, X anything"
)
_TOO_WIDE = 40


def read_schemes(text: str, faults: Faults) -> dict[str, Scheme]:
    """Return the schemes of serials.yaml by name."""
    found = {}
    for name, line, keys in entries(read_keys(text, faults), faults, "scheme", "layout"):
        found[name] = _scheme(name, line, keys, faults)
    return found


def _scheme(name: str, line: int, keys: Keys, faults: Faults) -> Scheme:
    """Return one scheme; where something is wrong in it, its examples would prove nothing."""
    before = faults.errors
    fields = Fields(keys, faults, _SCHEME_KEYS, name, is_open=True)
    fields.need("layout", "P Y WW NNNNN", line)
    typed = fields.text("layout")
    layout = fold(typed)
    if typed and not layout:
        _odd_layout(fields, "the layout has no places", f"places are {_MEANINGS}")
    pieces = _pieces(fields, layout) if layout else {}
    letters, first = _year(fields, pieces)
    used = fields.read("used", days) or Days()
    if first and not letters:  # years in digits that are told to begin with one
        used = used.meet(parse_days(f"{first}..")) or used
    scheme = Scheme(
        name=name,
        layout=layout,
        plants=_plants(fields, pieces),
        year_letters=letters,
        year_first=first,
        month_letters=_month(fields, pieces),
        week=fields.one_of("week", _WEEKS) or "iso",
        used=used,
        examples=tuple(_examples(fields)),
        line=line,
    )
    return scheme if faults.errors == before else replace(scheme, examples=())


def _pieces(fields: Fields, layout: str) -> dict[str, int]:
    """Return how wide each place of the layout is; report what cannot be read by it."""
    pieces: dict[str, int] = {}
    for letter, run in groupby(layout):
        width = sum(1 for _ in run)
        if letter not in _PLACES:
            _odd_layout(fields, f"“{letter}” is no place of a layout", f"places are {_MEANINGS}")
        elif letter in pieces and letter != "X":
            message = f"the place {letter} stands in two pieces"
            _odd_layout(fields, message, "write the signs of one place next to each other")
        pieces[letter] = width
    if len(layout) > _TOO_WIDE:
        _odd_layout(fields, "the layout is longer than any serial", "one letter for each sign")
    for message, remedy in _contradictions(pieces, fields):
        _odd_layout(fields, message, remedy)
    return pieces


def _odd_layout(fields: Fields, message: str, remedy: str) -> None:
    fields.wrong(fields.at("layout"), "layout", message, remedy)


def _contradictions(pieces: dict[str, int], fields: Fields) -> Iterator[tuple[str, str]]:
    year, month = pieces.get("Y", 0), pieces.get("M", 0)
    if year and "year" not in fields and year not in (1, 2, 4):
        yield f"a year of {year} digits cannot be read", "write Y, YY or YYYY"
    for letter, right in (("W", 2), ("D", 2), ("J", 3)):
        if pieces.get(letter, right) != right:
            yield (
                f"the place {letter} is {pieces[letter]} wide, and it takes {right} digits",
                f"write {letter * right}",
            )
    if month and "month" not in fields and month != 2:
        yield (
            f"a month {month} wide needs to be told how it is written",
            "write MM for digits, or add “month: {letters: 123456789OND}”",
        )
    if not year and any(letter in pieces for letter in "WMDJ"):
        yield "the layout has a week, month or day and no year", "add Y, YY or YYYY"
    both = [letter for letter in "WMJ" if letter in pieces]
    if len(both) > 1:
        yield f"{' and '.join(both)} both say when in the year", "keep one of them"
    if "D" in pieces and "M" not in pieces:
        yield "a day of the month needs a month", "add MM, or use JJJ for the day of the year"


def _plants(fields: Fields, pieces: dict[str, int]) -> dict[str, str]:
    width = pieces.get("P", 0)
    if width and "plant" not in fields:
        fields.faults.add(
            fields.at("layout"),
            "missing-key",
            "the layout has a plant, and no plant is listed",
            "add a line such as “plant: {K: Kirkholm works}”",
            level="warning",
        )
    keys = fields.block("plant")
    if keys is None:
        return {}
    if pieces and not width:
        fields.wrong(
            fields.at("plant"), "layout", "plants are listed, and the layout has no P", "add P"
        )
    before = fields.faults.errors
    inner = Fields(keys, fields.faults, known_keys(*keys.pairs, needed=keys.pairs), "plant")
    found: dict[str, str] = {}
    for code, pair in keys.pairs.items():
        if code.startswith("x-"):
            continue
        folded = fold(code)
        if ":" in code:
            slip = no_blank(0, code)
            inner.wrong(pair.line, "syntax", slip.message, slip.remedy)
            continue
        if folded in found or (width and len(folded) != width):
            why = "is listed twice" if folded in found else f"does not fill the {width} of P"
            inner.wrong(pair.line, "layout", f"the plant “{code}” {why}", "correct the plant code")
        found[folded] = inner.text(code)
    # With one code wrong, a bulletin that names the right one shall not be blamed for it.
    return found if fields.faults.errors == before else {}


def _year(fields: Fields, pieces: dict[str, int]) -> tuple[str, int]:
    """Return the year letters, empty for digits, and the first year, 0 where none is told."""
    pair = fields.pairs.get("year")
    if pair is None or _is_digits(pair.value):
        return "", 0
    keys = fields.block("year")
    if keys is None:
        return "", 0
    inner = Fields(keys, fields.faults, _YEAR_KEYS, "year")
    if "letters" not in inner and ("digits" in inner or pieces.get("Y", 0) > 1):
        return "", inner.read("first", _first_year) or 0
    if not inner.need("letters", "ABCDEFHJKLMNPRSTUVWX", pair.line):
        return "", 0
    inner.need("first", "2010", pair.line)
    letters = inner.read("letters", _letters) or ""
    if letters and pieces and pieces.get("Y", 0) != 1:
        message = f"year letters fill one place, the layout has {pieces.get('Y', 0)} of Y"
        fields.wrong(fields.at("layout"), "layout", message, "write a single Y")
    return letters, inner.read("first", _first_year) or 0


def _is_digits(value: Node) -> bool:
    """Tell whether a year or month is told to be written in digits, as it is without a word."""
    return isinstance(value, Text) and value.text.strip().casefold() == "digits"


def _month(fields: Fields, pieces: dict[str, int]) -> str:
    pair = fields.pairs.get("month")
    if pair and pieces.get("M", 0) == 2 and _is_digits(pair.value):
        return ""
    keys = fields.block("month")
    if keys is None:
        return ""
    inner = Fields(keys, fields.faults, _MONTH_KEYS, "month")
    if not inner.need("letters", "123456789OND", fields.at("month")):
        return ""
    if pieces and pieces.get("M", 0) != 1:
        message = f"month letters fill one place, the layout has {pieces.get('M', 0)} of M"
        fields.wrong(fields.at("layout"), "layout", message, "write a single M")
    return inner.read("letters", _month_letters) or ""


def _letters(text: str) -> str:
    letters = fold(text)
    twice = next((sign for sign in letters if letters.count(sign) > 1), "")
    if twice:
        raise Unfit(f"the letter {twice} stands twice", "give each year or month its own letter")
    return letters


def _month_letters(text: str) -> str:
    letters = _letters(text)
    if len(letters) != 12:
        raise Unfit(f"{len(letters)} letters for 12 months", "write 12, such as 123456789OND")
    return letters


def _first_year(text: str) -> int:
    if not re.fullmatch(r"(19|20|21)\d\d", text):
        raise Unfit(f"“{text}” is no year", "write the year of the first letter, such as 2010")
    return int(text)


def _sequence(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,12}", text):
        raise Unfit(f"“{text}” is no whole number", "write the sequence number, such as 31")
    return int(text)


def _examples(fields: Fields) -> Iterator[Example]:
    for keys, _ in fields.blocks("examples", scalar="serial"):
        inner = Fields(keys, fields.faults, _EXAMPLE_KEYS, "examples")
        inner.need("serial", "K P 14 00031")
        yield Example(
            serial=inner.text("serial"),
            plant=inner.text("plant") or None,
            built=inner.read("built", days),
            sequence=inner.read("sequence", _sequence),
            line=keys.line,
        )
