"""What a bulletin gives to the search: weighted terms, its lines and its words in order."""

from __future__ import annotations

import math
from bisect import bisect
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise

from kb.folding import fold
from kb.records import Bulletin
from kb.wording import Wording


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
    sums: dict[str, float] = defaultdict(float)
    words: dict[str, str] = {}
    for name, text in fields.items():
        for term, weight in _field_terms(name, text, wording, words).items():
            sums[term] += weight
    sorts = sorted(wording.products(wording.stems(fields["product"])))
    sums.update({f"={product}": 1.0 for product in sorts})
    lines = [bulletin.title, *bulletin.symptoms]
    return Entry(
        number=bulletin.number,
        terms={term: stepped(weight) for term, weight in sums.items()},
        words=words,
        lines=tuple(" ".join(_with_rings(wording.stems(line), wording)) for line in lines),
        text=" | ".join(" ".join(wording.words(line)) for line in _lines(fields)),
        codes=dict(codes),
        parts=_part_numbers(bulletin, said, wording),
    )


def _lines(fields: Mapping[str, str]) -> Iterable[str]:
    return (line for text in fields.values() for line in text.split("\n"))


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


def _with_rings(stems: list[str], wording: Wording) -> list[str]:
    rings = {ring for phrase in wording.phrases(stems) for ring in phrase.rings}
    return stems + [f"~{ring}" for ring in sorted(rings)]


def _field_terms(name: str, text: str, wording: Wording, words: dict[str, str]) -> dict[str, float]:
    """Return a field's terms with weight × frequency ÷ length norm; note its words in *words*."""
    counts: Counter[str] = Counter()
    length = 0
    for line in text.split("\n"):
        written = wording.words(line)
        stems = [wording.stem(word) for word in written]
        words.update(zip(written, stems, strict=True))
        counts.update(stems)
        counts.update(f"~{ring}" for phrase in wording.phrases(stems) for ring in phrase.rings)
        length += len(stems)
    field = wording.weights["fields"][name]
    norm = field["weight"] / (1 - field["b"] + field["b"] * length / field["length"])
    return {term: count * norm for term, count in counts.items()}
