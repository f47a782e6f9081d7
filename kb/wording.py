"""Words as the search compares them: tokens, word forms, rings of like words, spellings.

Everything here is decided by one data file (``kb/data/words.json``) and the house's words.yaml; the
phone reads the same data. Word forms are Snowball's English (snowballstemmer, the edition named in
pyproject.toml).
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from typing import Any

from snowballstemmer.english_stemmer import EnglishStemmer

from kb.folding import fold
from kb.records import HouseWords

NOT = "not"
_FRACTION = re.compile(r"(\d)([\u00bc-\u00be\u2150-\u215e])")
_TOKEN = re.compile(r"[^\W_]+(?:['\u2019][^\W\d_]+)*(?:[-./]+[^\W_]+(?:['\u2019][^\W\d_]+)*)*")
_JOINT = re.compile(r"[-./]+")


@dataclass(frozen=True, slots=True)
class Phrase:
    """A run of tokens, ``start`` to ``end`` (not included), that stands in the rings *rings*."""

    start: int
    end: int
    rings: tuple[int, ...]


def plain(text: str) -> str:
    """Return *text* normalised (NFKC, fractions kept apart), in lower case, without accents."""
    spaced = _FRACTION.sub(r"\1 \2", text)
    decomposed = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", spaced))
    return "".join(c for c in decomposed if not unicodedata.combining(c)).casefold()


def raw_tokens(text: str) -> Iterator[str]:
    """Yield the words of a ``plain`` text; a word with a digit keeps its joints, folded."""
    for match in _TOKEN.finditer(text):
        whole = match[0].replace("\u2019", "'")
        pieces = _JOINT.split(whole)
        if len(pieces) > 1 and any(c.isdigit() for c in whole):
            yield fold(whole).lower()
            yield from (piece for piece in pieces if len(piece) > 2)
        else:
            yield from pieces


class Wording:
    """The words of the trade and of one house, ready to compare.

    *data* is the content of words.json, *house* what words.yaml adds to it.
    """

    def __init__(self, data: Mapping[str, Any], house: HouseWords | None = None) -> None:
        house = house or HouseWords()
        self.data = data
        self.weights: Mapping[str, Any] = data["weights"]
        self.thresholds: Mapping[str, Any] = data["thresholds"]
        self._stemmer = EnglishStemmer()
        self._stems: dict[str, str] = {}
        self._stop = frozenset(data["stop"])
        self._not = frozenset(w.replace("'", "") for w in data["not_words"] if " " not in w)
        self._not_phrase = _any_of(w for w in data["not_words"] if " " in w)
        self._spelled = {**data["forms"], **data["spelled"], **house.spelled}
        self._house_rings = house.same

    @cached_property
    def common(self) -> frozenset[str]:
        """Everyday English words, as stems: a typed word among them is hardly a slip."""
        return frozenset(self.stem(word) for word in self.data["common"].split())

    @cached_property
    def near(self) -> Mapping[str, Sequence[tuple[str, float]]]:
        """Everyday stems with the trade stems near them and how near (0..1)."""
        return {
            self.stem(word): [(self.stem(other), weight) for other, weight in others.items()]
            for word, others in self.data.get("near", {}).items()
        }

    @cached_property
    def generic(self) -> frozenset[str]:
        """Stems of words that stand for any appliance."""
        return frozenset(self.stem(word) for word in self.data["generic"])

    def stem(self, word: str) -> str:
        """Return the word form that stands for *word*; words with digits stay as they are."""
        known = self._stems.get(word)
        if known is None:
            known = self._stems[word] = self._find_stem(word)
        return known

    def _find_stem(self, word: str) -> str:
        bare = word.replace("'", "")
        if bare in self._not:
            return NOT
        if any(c.isdigit() for c in word):
            return word
        word = self._spelled.get(bare, self._spelled.get(word, word))
        if word.endswith("'s"):
            word = word[:-2]
        return str(self._stemmer.stemWord(word.replace("'", "")))

    @cached_property
    def unit_words(self) -> frozenset[str]:
        """Words that only announce a model, a serial or a digit."""
        return frozenset(word for words in self.data["unit_words"].values() for word in words)

    def words(self, text: str) -> list[str]:
        """Return the words of *text* as written (lower case) that count in a search."""
        kept: list[str] = []
        for word in raw_tokens(self._not_phrase.sub(NOT, plain(text))):
            right = self._spelled.get(word, "") if " " in self._spelled.get(word, "") else ""
            kept.extend(right.split() if right else [word])
        return [word for word in kept if word.replace("'", "") not in self._stop]

    def stems(self, text: str) -> list[str]:
        """Return the word forms of *text* that count in a search, in order."""
        return [self.stem(word) for word in self.words(text)]

    @cached_property
    def rings(self) -> tuple[frozenset[tuple[str, ...]], ...]:
        """Every ring as a set of phrases, each a tuple of stems; the house's rings come last."""
        both: Iterable[Sequence[str]] = [*self.data["rings"], *self._house_rings]
        return tuple(
            frozenset(filter(None, (tuple(self.stems(phrase)) for phrase in ring))) for ring in both
        )

    @cached_property
    def ring_words(self) -> frozenset[str]:
        """Every word of the rings as written, lower case."""
        both: Iterable[Sequence[str]] = [*self.data["rings"], *self._house_rings]
        texts = (phrase for ring in both for phrase in ring)
        return frozenset(w for text in texts for w in self.words(text) if w.isalpha())

    @cached_property
    def _by_first(self) -> Mapping[str, Sequence[tuple[tuple[str, ...], tuple[int, ...]]]]:
        """Phrases by their first stem, the longest first, each with its rings."""
        owners: dict[tuple[str, ...], list[int]] = {}
        for number, ring in enumerate(self.rings):
            for phrase in sorted(ring):
                owners.setdefault(phrase, []).append(number)
        table: dict[str, list[tuple[tuple[str, ...], tuple[int, ...]]]] = {}
        for phrase in sorted(owners, key=lambda p: (-len(p), p)):
            table.setdefault(phrase[0], []).append((phrase, tuple(owners[phrase])))
        return table

    def phrases(self, stems: Sequence[str]) -> list[Phrase]:
        """Return every ring phrase that stands in *stems*, one word or more, overlaps included."""
        found: list[Phrase] = []
        for start, stem in enumerate(stems):
            for phrase, rings in self._by_first.get(stem, ()):
                end = start + len(phrase)
                if tuple(stems[start:end]) == phrase:
                    found.append(Phrase(start, end, rings))
        return found

    @cached_property
    def _products(self) -> Sequence[tuple[tuple[str, ...], str]]:
        return [
            (tuple(self.stems(name)), product)
            for product, names in self.data["products"].items()
            for name in (product, *names)
        ]

    def products(self, stems: Sequence[str]) -> set[str]:
        """Return the product sorts named in *stems* (``washer``, ``dryer``…)."""
        text = " " + " ".join(stems) + " "
        hits = [(name, sort) for name, sort in self._products if f" {' '.join(name)} " in text]
        longest = [
            (name, sort)
            for name, sort in hits
            if not any(len(other) > len(name) and _inside(name, other) for other, _ in hits)
        ]
        return {sort for _, sort in longest}

    def elsewhere(self, stems: Sequence[str]) -> str:
        """Return the thing named in *stems* that no house of this trade makes, or nothing."""
        text = " " + " ".join(stems) + " "
        for name, phrase in self._elsewhere:
            if f" {phrase} " in text:
                return name
        return ""

    @cached_property
    def _elsewhere(self) -> Sequence[tuple[str, str]]:
        return [(name, " ".join(self.stems(name))) for name in self.data["elsewhere"]]


def _any_of(phrases: Iterable[str]) -> re.Pattern[str]:
    longest_first = sorted(phrases, key=lambda phrase: (-len(phrase), phrase))
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, longest_first)) or '(?!)'})\b")


def _inside(short: tuple[str, ...], long: tuple[str, ...]) -> bool:
    return f" {' '.join(short)} " in f" {' '.join(long)} "


def load_words() -> Mapping[str, Any]:
    """Return the built-in words, rings, weights and thresholds (``kb/data/words.json``)."""
    text = (files("kb") / "data" / "words.json").read_text(encoding="utf-8")
    data: Mapping[str, Any] = json.loads(text)
    return data
