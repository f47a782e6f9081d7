"""What a bulletin gives to the search: weighted terms, its lines and its words in order."""

from __future__ import annotations

import math
from bisect import bisect
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from kb.folding import fold
from kb.records import Bulletin
from kb.wording import LINES_APART, Counted, Wording

_ALIKE = ("component", "product", "parts")  # fields that are the same for many bulletins


@dataclass(frozen=True, slots=True)
class Entry:
    """One bulletin as the index holds it.

    *terms* maps a term to its weighted frequency (BM25F: each field's frequency, times the field's
    weight, over its length norm; then summed). Terms are stems, ``~7`` for ring 7, ``=dryer`` for a
    product. *words* maps each word as written to its stem; *lines* are title and symptoms as stems;
    *codes* maps a folded code to ``front`` or ``body``, *parts* a folded number to how much counts.
    """

    number: str
    terms: Mapping[str, float]
    words: Mapping[str, str]
    lines: tuple[str, ...]
    text: str
    codes: Mapping[str, str]
    parts: Mapping[str, float]


# A term's weight is one of these: three to each doubling, in 64ths, which every machine reckons
# with exactly. That is far below what two ways of wording a bulletin differ by, and packs well.
LEVELS: tuple[float, ...] = tuple(round(2 ** (step / 3 + 2)) / 64 for step in range(25))
_BETWEEN = tuple(math.sqrt(one * other) for one, other in pairwise(LEVELS))


def level_of(weight: float) -> int:
    """Return the place in LEVELS of the level that is nearest to *weight* by ratio."""
    return bisect(_BETWEEN, weight)


def stepped(weight: float) -> float:
    """Return the level that is nearest to a term's weight.

    Desk and phone add up the same figures because both get them like this.
    """
    return LEVELS[level_of(weight)]


def fields_of(
    bulletin: Bulletin, body: str, products: Iterable[str], part_names: Mapping[str, str]
) -> dict[str, str]:
    """Return the texts of a bulletin by search field, one line a part of it."""
    numbers = {line.number for line in bulletin.parts} | {
        number for check in bulletin.checks for number in check.parts
    }
    names = sorted({part_names.get(fold(number), "") for number in numbers} - {""})
    checks = [line for c in bulletin.checks for line in (c.cause, c.test, c.fix) if line]
    return {
        "title": bulletin.title,
        "symptoms": "\n".join(bulletin.symptoms),
        "component": "\n".join(bulletin.component),
        "product": "\n".join(products),
        "checks": "\n".join(checks),
        "parts": "\n".join([*names, *(line.note for line in bulletin.parts if line.note)]),
        "body": "\n".join(filter(None, [bulletin.summary, body])),
    }


def entry_of(
    bulletin: Bulletin,
    fields: Mapping[str, str],
    wording: Wording,
    codes: Mapping[str, str],
    said: Iterable[str],
) -> Entry:
    """Return the search entry of a bulletin from its *fields*.

    *codes* are the codes that it names; *said* the folded part numbers named in its text.
    """
    counted = {
        name: wording.often[text] if name in _ALIKE else wording.counted(text)
        for name, text in fields.items()
    }
    weights = _weights(counted, wording)
    weights.update((f"={sort}", 1.0) for sort in wording.products_in[fields["product"]])
    levels = {weight: stepped(weight) for weight in set(weights.values())}
    words: dict[str, str] = {}
    for each in counted.values():
        words |= each.forms
    return Entry(
        number=bulletin.number,
        terms={term: levels[weight] for term, weight in weights.items()},
        words=words,
        lines=tuple(_with_rings(text, wording) for text in (bulletin.title, *bulletin.symptoms)),
        text=LINES_APART.join(each.written for each in counted.values()),
        codes=dict(codes),
        parts=_part_numbers(bulletin, said, wording),
    )


def _weights(counted: Mapping[str, Counted], wording: Wording) -> dict[str, float]:
    """Return for each term its weight × frequency ÷ length norm, summed over the fields."""
    sums: dict[str, float] = {}
    for name, each in counted.items():
        field = wording.weights["fields"][name]
        norm = field["weight"] / (1 - field["b"] + field["b"] * each.length / field["length"])
        for term, count in each.counts.items():
            sums[term] = sums.get(term, 0.0) + count * norm
    return sums


def _part_numbers(bulletin: Bulletin, said: Iterable[str], wording: Wording) -> dict[str, float]:
    """Return the folded part numbers that a bulletin names, with how much each naming counts."""
    shares = wording.weights["part_at"]
    places = {
        "said": list(said),
        "keep": [fold(number) for number in bulletin.keep],
        "checks": [fold(number) for check in bulletin.checks for number in check.parts],
        "parts": [fold(line.number) for line in bulletin.parts],
    }
    found: dict[str, float] = {}
    for place, numbers in places.items():
        for number in numbers:
            found[number] = max(found.get(number, 0.0), shares[place])
    if bulletin.kind == "parts":
        found = {number: share * shares["kind"] for number, share in found.items()}
    return found


def _with_rings(text: str, wording: Wording) -> str:
    """Return a title or symptom as one line of word forms, its rings behind them."""
    stems = wording.stems(text)
    rings = {int(ring[1:]) for ring in wording.rings(stems)}
    return " ".join(stems + [f"~{ring}" for ring in sorted(rings)])
