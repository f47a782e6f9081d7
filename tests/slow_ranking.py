"""Ranking written the obvious way, a record for each document from the first word on: the oracle.

``kb.ranking`` adds up the same figures for all documents at once and must agree to the last bit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from kb.asking import Asked
from kb.folding import fold
from kb.hits import Hit
from kb.matching import Group, Variant, Word
from kb.ranking import Index as Postings
from kb.wording import Wording

_CLOSER_LOOK = 60
_BEGUN = ("own", "start")


class SlowRanking:
    """Ranks the documents of one index, one after another, with all that is known of each."""

    def __init__(self, index: Postings, wording: Wording) -> None:
        self._index = index
        self._wording = wording
        self._weights = wording.weights
        self._idf: dict[str, float] = {}

    def idf(self, term: str) -> float:
        """Return how telling a term is."""
        if term not in self._idf:
            n = self._index.frequency(term)
            self._idf[term] = math.log(1 + (self._index.count - n + 0.5) / (n + 0.5))
        return self._idf[term]

    def rank(self, asked: Asked, groups: Sequence[Group], parts: Mapping[str, float]) -> list[Hit]:
        """Return every document that holds anything asked, the best first.

        *parts* gives the folded part numbers asked for and those that lead to or from them, with
        the factor (1 for the number itself) by which they count.
        """
        hits: dict[int, Hit] = {}
        for group in groups:
            self._add_group(hits, group)
        self._add_numbers(hits, asked, parts)
        weights = [self._asked_weight(word) for group in groups for word in group.words]
        told = len(asked.codes) - len(asked.unknown_codes) + len(asked.parts)
        self._settle(hits.values(), weights, told)
        self._other_products(hits, asked)
        kept = [hit for hit in hits.values() if self._quoted(hit, asked)]
        kept.sort(key=lambda hit: (-hit.score, hit.document))
        self._look_closer(kept[:_CLOSER_LOOK], asked, groups)
        self._lift_named(kept)
        kept.sort(key=lambda hit: (-hit.score, hit.document))
        return kept

    def _asked_weight(self, word: Word) -> float:
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

    def _add_group(self, hits: dict[int, Hit], group: Group) -> None:
        own = [(word, self._best(word.variants)) for word in group.words]
        phrase = self._best(group.phrase)
        documents = set(phrase)
        for _, best in own:
            documents |= set(best)
        worth = sum(self._asked_weight(word) for word in group.words)
        text = " ".join(word.text for word in group.words)
        for document in documents:
            hit = hits.setdefault(document, Hit(document))
            by_words = [(word, best[document]) for word, best in own if document in best]
            alone = sum(score for _, (score, _) in by_words)
            if document in phrase and phrase[document][0] >= alone:
                score, variant = phrase[document]
                hit.score += score
                hit.weighed += worth * _trust(variant)
                hit.found += sum(not word.light for word in group.words)
                hit.through.append((text, variant))
            else:
                for word, (score, variant) in by_words:
                    self._add_word(hit, word, score, variant)

    def _add_word(self, hit: Hit, word: Word, score: float, variant: Variant) -> None:
        hit.score += score
        hit.through.append((word.text, variant))
        if not word.light:
            hit.found += 1
            hit.weighed += self._asked_weight(word) * _trust(variant)

    def _best(self, variants: Sequence[Variant]) -> dict[int, tuple[float, Variant]]:
        """Return for each document the variant that counts most, with its score."""
        best: dict[int, tuple[float, Variant]] = {}
        k1 = self._weights["k1"]
        # Of the words that a beginning can grow into the rare ones tell no more than the common.
        begun = [self.idf(v.term) for v in variants if v.through in _BEGUN]
        for variant in variants:
            idf = min(begun) if variant.through == "start" else self.idf(variant.term)
            scale = variant.factor * idf * (k1 + 1)
            for document, weight in self._index.postings(variant.term).items():
                score = scale * weight / (k1 + weight)
                if document not in best or best[document][0] < score:
                    best[document] = (score, variant)
        return best

    def _add_numbers(self, hits: dict[int, Hit], asked: Asked, parts: Mapping[str, float]) -> None:
        for code in asked.codes:
            for document, weight in self._index.postings(fold(code), "codes").items():
                front = weight > 1
                bonus = self._weights["codes_front" if front else "codes_body"]
                self._add_number(hits, document, code, bonus, "code")
                hits[document].named |= front
        best: dict[int, tuple[float, bool]] = {}
        for number, factor in parts.items():
            for document, share in self._index.postings(number, "parts").items():
                held = best.get(document, (0.0, False))
                best[document] = max(held[0], factor * share), held[1] or factor == 1
        for document, (factor, itself) in best.items():
            through = "part" if itself else "substitution"
            bonus = self._weights["part"] * factor
            self._add_number(hits, document, " ".join(asked.parts), bonus, through)
            hits[document].named |= itself

    def _add_number(
        self, hits: dict[int, Hit], document: int, text: str, bonus: float, through: str
    ) -> None:
        hit = hits.setdefault(document, Hit(document))
        hit.score += bonus
        hit.found += 1
        hit.exact = True
        hit.through.insert(0, (text, Variant(text, 1.0, through, text)))

    def _settle(self, hits: Iterable[Hit], weights: Sequence[float], told: int) -> None:
        asked, total = sum(1 for w in weights if w), sum(weights)
        for hit in hits:
            wanted = asked + told
            hit.share = hit.weighed / total if total else 1.0
            if wanted:
                hit.score *= min(1.0, hit.found / wanted) ** self._weights["share_power"]

    def _other_products(self, hits: dict[int, Hit], asked: Asked) -> None:
        """Halve what fits bulletins of another product than the one that was named."""
        named = self._wording.products([self._wording.stem(word) for word in asked.words])
        if not named:
            return
        right: set[int] = set()
        for product in named:
            right |= set(self._index.postings(f"={product}"))
        if right:
            for document, hit in hits.items():
                if document not in right:
                    hit.score *= self._weights["product_penalty"]
                    hit.share *= self._weights["product_penalty"]

    def _quoted(self, hit: Hit, asked: Asked) -> bool:
        text = f" {self._index.text(hit.document)} " if asked.quotes else ""
        return all(f" {' '.join(quote)} " in text for quote in asked.quotes)

    def _look_closer(self, hits: Sequence[Hit], asked: Asked, groups: Sequence[Group]) -> None:
        """Raise bulletins of which one line (title or a symptom) holds much of what was asked."""
        stems = self._wording.stems(asked.text)
        whole = sum(self._asked_weight(word) for group in groups for word in group.words)
        for hit in hits:
            lines = [set(line.split()) for line in self._index.lines(hit.document)]
            if whole:
                best = max((self._held(line, groups) for line in lines), default=0.0) / whole
                hit.score *= 1 + self._weights["line_bonus"] * best * best
            title = [t for t in self._index.lines(hit.document)[0].split() if t[0] != "~"]
            if title == stems and len(stems) > 1:
                hit.score += self._weights["exact_title"]
                hit.exact = hit.named = True

    def _lift_named(self, hits: Sequence[Hit]) -> None:
        """Put what bears the code, number or title asked for above all that is only like it."""
        others = max((hit.score for hit in hits if not hit.named), default=0.0)
        for hit in hits:
            if hit.named:
                hit.score += others * (1 + self._weights["narrower"])

    def _held(self, line: set[str], groups: Sequence[Group]) -> float:
        held = 0.0
        for group in groups:
            phrase = max((v.factor for v in group.phrase if v.term in line), default=0.0)
            for word in group.words:
                own = max((v.factor for v in word.variants if v.term in line), default=0.0)
                held += self._asked_weight(word) * max(own, phrase)
        return held


def _trust(variant: Variant) -> float:
    """Return how far finding *variant* counts as finding the asked word itself (0..1)."""
    return variant.factor if variant.through == "near" else variant.factor**0.5
