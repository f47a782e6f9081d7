"""What finding a word or a number scores in each document: BM25F over the index's weighted terms.

For an asked word the best of its variants counts; the words add up. idf is ln(1 + (N - n + ½) /
(n + ½)), a term's weight w counts (k1 + 1) · w / (k1 + w). (Robertson and Zaragoza, "The
Probabilistic Relevance Framework: BM25 and Beyond", 2009; formulas from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Protocol

from kb.asking import Asked
from kb.folding import fold
from kb.holders import Holders
from kb.matching import Group, Variant, Word
from kb.tally import Found, Named, Tally
from kb.wording import Wording

_BEGUN = ("own", "start")
_Within = Collection[int] | None


class Postings(Protocol):
    """The part of the index that tells who holds a term."""

    count: int

    def frequency(self, term: str) -> int:
        """How many bulletins hold *term*."""

    def heaviest(self, term: str) -> float:
        """The greatest weight of *term* in any bulletin."""

    def postings(self, term: str, field: str = "terms") -> Holders:
        """The bulletins that hold *term*, with its weight in each."""


class Scoring:
    """Scores the documents of one index."""

    def __init__(self, index: Postings, wording: Wording) -> None:
        self._index = index
        self._weights = wording.weights
        self._idf: dict[str, float] = {}

    def idf(self, term: str) -> float:
        """Return how telling a term is; that of an unknown one is the greatest."""
        if term not in self._idf:
            n = self._index.frequency(term)
            self._idf[term] = math.log(1 + (self._index.count - n + 0.5) / (n + 0.5))
        return self._idf[term]

    def worth(self, word: Word) -> float:
        """Return what finding *word* is worth: light words nothing, unknown ones half the most.

        A word that most bulletins hold still tells something, most of all in a small house.
        """
        if word.light:
            return 0.0
        most = self.idf("")
        if not word.variants:
            return most * float(self._weights["unknown"])
        telling = max(self.idf(variant.term) for variant in word.variants)
        return max(telling, most * float(self._weights["common"]))

    def add(self, tally: Tally, group: Group, within: _Within = None) -> None:
        """Add what a group scores in each document; in those *within* alone if they are given."""
        found = [self._best(word.variants, within) for word in group.words]
        taken: Collection[int] = ()
        if group.phrase:
            phrase, digits = self._best(group.phrase, within)
            taken = {doc for doc, score in phrase.items() if score >= _alone(doc, found)}
            worth = sum(self.worth(word) for word in group.words)
            text = " ".join(word.text for word in group.words)
            slot = tally.slot(text, group.phrase, worth, telling(group))
            tally.add(slot, ({doc: phrase[doc] for doc in taken}, digits))
        for word, best in zip(group.words, found, strict=True):
            slot = tally.slot(word.text, word.variants, self.worth(word), not word.light)
            tally.add(slot, best, taken)

    def most(self, group: Group) -> float:
        """Return what no document scores more than by a group."""
        words = sum(self._most(word.variants) for word in group.words)
        return max(words, self._most(group.phrase))

    def holders(self, group: Group) -> int:
        """Return how many documents hold the variants of a group, each counted by itself."""
        variants = [v for each in (group.phrase, *(w.variants for w in group.words)) for v in each]
        return sum(self._index.frequency(variant.term) for variant in variants)

    def _best(self, variants: Sequence[Variant], within: _Within) -> Found:
        """Return the best score of any variant by document, and which it is (counted from 1)."""
        found = [self._scores_of(v.term, scale, within) for v, scale in self._scaled(variants)]
        if len(found) == 1:
            return found[0], 1
        best: dict[int, float] = {}
        digits: dict[int, int] = {}
        for digit, scores in enumerate(found, 1):
            more = [doc for doc in best.keys() & scores.keys() if best[doc] < scores[doc]]
            best, digits = {**scores, **best}, {**dict.fromkeys(scores, digit), **digits}
            for document in more:
                best[document], digits[document] = scores[document], digit
        return best, digits

    def _scaled(self, variants: Sequence[Variant]) -> Iterator[tuple[Variant, float]]:
        """Yield variants with what a term that filled a document would score."""
        # Of the words that a beginning can grow into the rare ones tell no more than the common.
        begun = min((self.idf(v.term) for v in variants if v.through in _BEGUN), default=0.0)
        for variant in variants:
            idf = begun if variant.through == "start" else self.idf(variant.term)
            yield variant, variant.factor * idf * (self._weights["k1"] + 1)

    def _scores_of(self, term: str, scale: float, within: _Within) -> dict[int, float]:
        k1 = self._weights["k1"]
        held = self._index.postings(term)
        return held.worth(lambda weight: scale * weight / (k1 + weight), within)

    def _most(self, variants: Sequence[Variant]) -> float:
        k1 = self._weights["k1"]
        heaviest = [(scale, self._index.heaviest(v.term)) for v, scale in self._scaled(variants)]
        return max((scale * weight / (k1 + weight) for scale, weight in heaviest), default=0.0)

    def named(self, asked: Asked, parts: Mapping[str, float]) -> dict[int, Named]:
        """Return the documents that name a code or part number asked for.

        *parts* gives the folded part numbers asked for and those that lead to or from them, with
        the factor (1 for the number itself) by which they count.
        """
        numbers: dict[int, Named] = {}

        def add(document: int, text: str, bonus: float, through: str, named: bool) -> None:
            held = numbers.setdefault(document, Named())
            held.named |= named
            held.bonuses.append(bonus)
            held.through.insert(0, (text, Variant(text, 1.0, through, text)))

        for code in asked.codes:
            for document, weight in self._index.postings(fold(code), "codes").weighed():
                front = weight > 1
                bonus = self._weights["codes_front" if front else "codes_body"]
                add(document, code, bonus, "code", front)
        for document, (factor, itself) in self._best_parts(parts).items():
            through = "part" if itself else "substitution"
            add(document, " ".join(asked.parts), self._weights["part"] * factor, through, itself)
        return numbers

    def _best_parts(self, parts: Mapping[str, float]) -> dict[int, tuple[float, bool]]:
        """Return how much the part numbers count by document, and if it bears the very number."""
        best: dict[int, tuple[float, bool]] = {}
        for number, factor in parts.items():
            for document, share in self._index.postings(number, "parts").weighed():
                held = best.get(document, (0.0, False))
                best[document] = max(held[0], factor * share), held[1] or factor == 1
        return best


def telling(group: Group) -> int:
    """Return how many words of a group tell something."""
    return sum(not word.light for word in group.words)


def _alone(document: int, found: Sequence[Found]) -> float:
    """Return what the words of a phrase score by themselves in one document."""
    return sum(scores[document] for scores, _ in found if document in scores)
