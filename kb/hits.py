"""The fits of documents to what was asked: all of them by their scores, the best in full."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from heapq import nlargest

from kb.matching import Variant
from kb.tally import Named, Tally


@dataclass(slots=True)
class Hit:
    """One bulletin's fit: its *score*, the *share* (0..1) of the line that it holds, and why.

    *named* tells that it bears the code, part number or title asked for itself; *exact* also that
    it mentions the code or a part that the number leads to.
    """

    document: int
    score: float = 0.0
    weighed: float = 0.0
    found: float = 0.0
    share: float = 0.0
    exact: bool = False
    named: bool = False
    through: list[tuple[str, Variant]] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Measure:
    """What is asked as a whole, against which a bulletin is measured.

    *wanted* words and numbers are to be found, which are worth *total*. What is not among the
    *right* documents (None: all are) counts less by *penalty*.
    """

    wanted: float
    total: float
    power: float
    penalty: float
    right: Collection[int] | None

    def factor(self, found: float) -> float:
        """Return what finding so many of the words and numbers asked makes of a score."""
        return min(1.0, found / self.wanted) ** self.power if self.wanted else 1.0

    def scores(self, tally: Tally) -> dict[int, float]:
        """Return the scores: more for a greater share of the line, less for other products."""
        scores = tally.scores
        if self.wanted:
            scores = tally.times(lambda mark: self.factor(tally.found(mark)))
        right, penalty = self.right, self.penalty
        if right is None:
            return scores
        return {doc: s if doc in right else s * penalty for doc, s in scores.items()}

    def share(self, document: int, weighed: float) -> float:
        """Return how much of the line a document holds whose words are worth *weighed*."""
        share = weighed / self.total if self.total else 1.0
        return share if self.right is None or document in self.right else share * self.penalty


Scored = tuple[Tally, Mapping[int, float]]


@dataclass(slots=True)
class Fit:
    """Every document that holds anything asked; those that stand *first* are ready, best first.

    The first are some sixty that were looked at closely, and all that bear a number asked for. The
    rest stand behind them, in the order of their *scores*. Where *whole* is false only those are
    scored that can be among the first; *score* scores some documents, or all there are.
    """

    measure: Measure
    numbers: Mapping[int, Named]
    score: Callable[[Collection[int] | None], Scored]
    tally: Tally
    scores: Mapping[int, float]
    whole: bool
    first: list[Hit] = field(default_factory=list)

    def rest(
        self, floor: float = 0.0, most: int | None = None, within: Collection[int] | None = None
    ) -> list[Hit]:
        """Return at most *most* further hits, the best first, whose share reaches *floor*.

        Those that name a number asked for need not. *within* leaves out all other documents.
        """
        known = {hit.document for hit in self.first}
        self.widen(within)
        some = self.scores if within is None else [doc for doc in within if doc in self.scores]
        left: Iterable[int] = (doc for doc in some if doc not in known)
        if floor > 0:
            left = (doc for doc in left if doc in self.numbers or self.share(doc) >= floor)
        return [self.hit(doc) for doc in best_of({d: self.scores[d] for d in left}, most)]

    def widen(self, within: Collection[int] | None = None) -> None:
        """Score the documents *within* too; all that there are where none are given."""
        if not self.whole:
            self.tally, self.scores = self.score(within)
            self.whole = within is None

    def share(self, document: int) -> float:
        """Return how much of the line a document holds."""
        return self.measure.share(document, self.weighed(self.tally.marks[document]))

    def weighed(self, mark: int) -> float:
        """Return what the words are worth that a mark tells of."""
        return sum((s.worth * trust(v) for s, v in self.tally.held(mark) if s.words), 0.0)

    def hit(self, document: int) -> Hit:
        """Return all that is known of one document."""
        mark = self.tally.marks[document]
        number = self.numbers.get(document)
        through = [(slot.text, variant) for slot, variant in self.tally.held(mark)]
        return Hit(
            document=document,
            score=self.scores[document],
            weighed=self.weighed(mark),
            found=self.tally.found(mark),
            share=self.share(document),
            exact=number is not None,
            named=number is not None and number.named,
            through=(number.through if number else []) + through,
        )


def best_of(scores: Mapping[int, float], most: int | None) -> list[int]:
    """Return the *most* documents with the highest scores, the best and then the first first."""
    if most is not None and most < len(scores):
        floor = nlargest(most, scores.values())[-1] if most else math.inf
        scores = {document: score for document, score in scores.items() if score >= floor}
    return sorted(scores, key=lambda document: (-scores[document], document))[:most]


def trust(variant: Variant) -> float:
    """Return how far finding *variant* counts as finding the asked word itself (0..1)."""
    return variant.factor if variant.through == "near" else variant.factor**0.5
