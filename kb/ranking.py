"""How well each bulletin fits what was asked: what it scores, and a closer look at the best."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Protocol

from kb.asking import Asked
from kb.closer import Lines, raise_lines
from kb.hits import Fit, Hit, Measure, Scored, best_of
from kb.matching import Group
from kb.narrowing import narrowed
from kb.scoring import Postings, Scoring
from kb.tally import Named, Tally
from kb.wording import Wording

_CLOSER_LOOK = 60


class Index(Postings, Lines, Protocol):
    """The part of the index that ranking reads."""

    def text(self, document: int) -> str:
        """The words of a document in order, as written."""


class Ranking:
    """Ranks the documents of one index."""

    def __init__(self, index: Index, wording: Wording) -> None:
        self._index = index
        self._wording = wording
        self._scoring = Scoring(index, wording)

    def idf(self, term: str) -> float:
        """Return how telling a term is; that of an unknown one is the greatest."""
        return self._scoring.idf(term)

    def rank(self, asked: Asked, groups: Sequence[Group], parts: Mapping[str, float]) -> list[Hit]:
        """Return every document that holds anything asked, the best first."""
        fit = self.fit(asked, groups, parts)
        return fit.first + fit.rest()

    def fit(self, asked: Asked, groups: Sequence[Group], parts: Mapping[str, float]) -> Fit:
        """Return how well each document fits that holds anything asked.

        *parts* gives the folded part numbers asked for and those that lead to or from them, with
        the factor (1 for the number itself) by which they count.
        """
        scoring = self._scoring
        numbers = scoring.named(asked, parts)
        measure = self._measure(asked, groups)

        def score(within: Collection[int] | None) -> Scored:
            return self._scored(asked, groups, numbers, measure, within)

        within = None
        if not asked.quotes:  # how many of the best bear the quoted words is not known yet
            within = narrowed(scoring, groups, numbers, measure, _CLOSER_LOOK)
        fit = Fit(measure, numbers, score, *score(within), whole=within is None)
        self._take_first(fit, asked, groups)
        return fit

    def _measure(self, asked: Asked, groups: Sequence[Group]) -> Measure:
        weights = [self._scoring.worth(word) for group in groups for word in group.words]
        told = len(asked.codes) - len(asked.unknown_codes) + len(asked.parts)
        return Measure(
            wanted=sum(1 for weight in weights if weight) + told,
            total=sum(weights),
            power=self._wording.weights["share_power"],
            penalty=self._wording.weights["product_penalty"],
            right=self._right_products(asked),
        )

    def _scored(
        self,
        asked: Asked,
        groups: Sequence[Group],
        numbers: Mapping[int, Named],
        measure: Measure,
        within: Collection[int] | None,
    ) -> Scored:
        """Return what the documents hold and score, those *within* alone if they are given."""
        tally = Tally()
        for group in groups:
            self._scoring.add(tally, group, within)
        tally.add_numbers(
            numbers if within is None else {d: n for d, n in numbers.items() if d in within}
        )
        scores = measure.scores(tally)
        if asked.quotes:
            scores = {doc: score for doc, score in scores.items() if self._quoted(doc, asked)}
        return tally, scores

    def _take_first(self, fit: Fit, asked: Asked, groups: Sequence[Group]) -> None:
        looked = [fit.hit(document) for document in best_of(fit.scores, _CLOSER_LOOK)]
        raise_lines(looked, asked, groups, self._index, self._scoring, self._wording)
        known = {hit.document for hit in looked}
        bearing = [doc for doc, held in fit.numbers.items() if held.named and doc in fit.scores]
        fit.first = looked + [fit.hit(doc) for doc in bearing if doc not in known]
        if any(hit.named for hit in fit.first):
            self._lift_named(fit)
        fit.first.sort(key=lambda hit: (-hit.score, hit.document))

    def _right_products(self, asked: Asked) -> Collection[int] | None:
        """Return what is about a product that was named; None where none counts for less."""
        named = self._wording.products([self._wording.stem(word) for word in asked.words])
        right: set[int] = set()
        for product in named:
            right |= set(self._index.postings(f"={product}"))
        return right or None

    def _quoted(self, document: int, asked: Asked) -> bool:
        text = f" {self._index.text(document)} "
        return all(f" {' '.join(quote)} " in text for quote in asked.quotes)

    def _lift_named(self, fit: Fit) -> None:
        """Put what bears the code, number or title asked for above all that is only like it."""
        others = [hit.score for hit in fit.first if not hit.named]
        if not others:
            fit.widen()
            known = {hit.document for hit in fit.first}
            others = [score for doc, score in fit.scores.items() if doc not in known]
        most = max(others, default=0.0)
        for hit in fit.first:
            if hit.named:
                hit.score += most * (1 + self._wording.weights["narrower"])
