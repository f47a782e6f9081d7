"""The table of words that desk and phone compare by, prepared once for a house.

Made from ``kb/data/words.json`` (rings, spellings, weights, thresholds) and the house's words.yaml:
rings become phrases of word forms, so that a question needs no word form that is known beforehand.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from kb.records import HouseWords
from kb.resources import data
from kb.wording import Wording

_PLAIN = ("weights", "thresholds", "stop", "code_words", "part_words", "unit_words")


def load_words() -> Mapping[str, Any]:
    """Return the built-in words, rings, weights and thresholds (``kb/data/words.json``)."""
    words: Mapping[str, Any] = json.loads(data("words.json").read_text(encoding="utf-8"))
    return words


def prepare(words: Mapping[str, Any], house: HouseWords | None = None) -> dict[str, Any]:
    """Return the table for a house from the built-in *words* and its own."""
    house = house or HouseWords()
    table: dict[str, Any] = {key: words[key] for key in _PLAIN}
    table |= {
        "not_words": sorted({w.replace("'", "") for w in words["not_words"] if " " not in w}),
        "not_phrases": [phrase for phrase in words["not_words"] if " " in phrase],
        "spelled": {**words["forms"], **words["spelled"], **house.spelled},
        "stems": "",
        "near": {},
        "phrases": {},
    }
    bare = Wording(table)
    rings: Sequence[Sequence[str]] = [*words["rings"], *house.same]
    ring_words = {w for ring in rings for phrase in ring for w in bare.words(phrase)}
    known = sorted(ring_words | set(words["near"]) | set(words["generic"]))
    return table | {
        "stems": stem_list({word: bare.stem(word) for word in known}),
        "near": {
            bare.stem(word): " ".join(f"{bare.stem(o)} {weight}" for o, weight in others.items())
            for word, others in words["near"].items()
        },
        "phrases": _phrases(bare, rings),
        "ring_words": " ".join(sorted(word for word in ring_words if word.isalpha())),
        "generic": sorted({bare.stem(word) for word in words["generic"]}),
        "products": _products(bare, words["products"]),
        "elsewhere": "\n".join(f"{' '.join(bare.stems(n))}|{n}" for n in words["elsewhere"]),
        "common": " ".join(sorted({bare.stem(word) for word in words["common"].split()})),
    }


def stem_list(stems: Mapping[str, str]) -> str:
    """Return words and their stems in turn, in one text: the cheapest form to read back."""
    single = ((w, s) for w, s in sorted(stems.items()) if len(f"{w} {s}".split()) == 2)
    return " ".join(f"{word} {stem}" for word, stem in single)


def _phrases(bare: Wording, rings: Iterable[Sequence[str]]) -> dict[str, str]:
    """Return ring phrases as word forms by their first form, longest first, with their rings."""
    owners: dict[tuple[str, ...], list[int]] = {}
    for number, ring in enumerate(rings):
        for phrase in sorted({tuple(bare.stems(phrase)) for phrase in ring} - {()}):
            owners.setdefault(phrase, []).append(number)
    table: dict[str, list[str]] = {}
    for phrase in sorted(owners, key=lambda p: (-len(p), p)):
        rings_of = ",".join(map(str, owners[phrase]))
        table.setdefault(phrase[0], []).append(f"{' '.join(phrase)}={rings_of}")
    return {first: "|".join(written) for first, written in table.items()}


def _products(bare: Wording, products: Mapping[str, Sequence[str]]) -> str:
    return "\n".join(
        f"{' '.join(bare.stems(name))}|{sort}"
        for sort, names in products.items()
        for name in dict.fromkeys((sort, *names))
    )
