"""How well each bulletin fits what was asked: BM25F over the index's weighted terms.

For an asked word the best of its variants counts; the words add up. idf is ln(1 + (N - n + ½) /
(n + ½)), a term's weight w counts (k1 + 1) · w / (k1 + w). (Robertson and Zaragoza, "The
Probabilistic Relevance Framework: BM25 and Beyond", 2009; formulas from memory.)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from heapq import nlargest
from typing import NamedTuple, Protocol

from kb.asking import Asked
from kb.folding import fold
from kb.matching import Group, Variant, Word
from kb.tally import Found, Tally
from kb.wording import Wording

_CLOSER_LOOK = 60
_BEGUN = ("own", "start")


class Postings(Protocol):
    """The part of the index that ranking reads."""

    count: int

    def frequency(self, term: str) -> int:
        """How many bulletins hold *term*."""

    def postings(self, term: str, field: str = "terms") -> Mapping[int, float]:
        """The weight of *term* by document."""

    def lines(self, document: int) -> Sequence[str]:
        """Title and symptoms of a document as stems and rings."""

    def text(self, document: int) -> str:
        """The words of a document in order, as written."""


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


@dataclass(slots=True)
class _Named:
    """What of a line's codes and part numbers one document names."""

    named: bool = False
    through: list[tuple[str, Variant]] = field(default_factory=list)


@dataclass(slots=True)
class Fit:
    """Every document that holds anything asked; those that stand *first* are ready, best first.

    The first are some sixty that were looked at closely, and all that bear a number asked for. The
    rest stand behind them, in the order of their *scores*.
    """

    tally: Tally
    scores: Mapping[int, float]
    numbers: Mapping[int, _Named]
    total: float
    penalty: float
    right: Collection[int] | None
    first: list[Hit] = field(default_factory=list)

    def rest(
        self, floor: float = 0.0, most: int | None = None, within: Collection[int] | None = None
    ) -> list[Hit]:
        """Return at most *most* further hits, the best first, whose share reaches *floor*.

        Those that name a number asked for need not. *within* leaves out all other documents.
        """
        known = {hit.document for hit in self.first}
        some = self.scores if within is None else [doc for doc in within if doc in self.scores]
        left: Iterable[int] = (doc for doc in some if doc not in known)
        if floor > 0:
            left = (doc for doc in left if doc in self.numbers or self.share(doc) >= floor)
        return [self.hit(doc) for doc in best_of({d: self.scores[d] for d in left}, most)]

    def share(self, document: int) -> float:
        """Return how much of the line a document holds."""
        weighed = self.weighed(self.tally.marks[document])
        share = weighed / self.total if self.total else 1.0
        return share if self.right is None or document in self.right else share * self.penalty

    def weighed(self, mark: int) -> float:
        """Return what the words are worth that a mark tells of."""
        return sum((s.worth * _trust(v) for s, v in self.tally.held(mark) if s.words), 0.0)

    def found(self, mark: int) -> float:
        """Return how many words and numbers a mark tells of."""
        words = sum(slot.words for slot, _ in self.tally.held(mark))
        return words + self.tally.numbers(mark)

    def hit(self, document: int) -> Hit:
        """Return all that is known of one document."""
        mark = self.tally.marks[document]
        number = self.numbers.get(document)
        through = [(slot.text, variant) for slot, variant in self.tally.held(mark)]
        return Hit(
            document=document,
            score=self.scores[document],
            weighed=self.weighed(mark),
            found=self.found(mark),
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


class Ranking:
    """Ranks the documents of one index."""

    def __init__(self, index: Postings, wording: Wording) -> None:
        self._index = index
        self._wording = wording
        self._weights = wording.weights
        self._idf: dict[str, float] = {}

    def idf(self, term: str) -> float:
        """Return how telling a term is; that of an unknown one is the greatest."""
        if term not in self._idf:
            n = self._index.frequency(term)
            self._idf[term] = math.log(1 + (self._index.count - n + 0.5) / (n + 0.5))
        return self._idf[term]

    def rank(self, asked: Asked, groups: Sequence[Group], parts: Mapping[str, float]) -> list[Hit]:
        """Return every document that holds anything asked, the best first."""
        fit = self.fit(asked, groups, parts)
        return fit.first + fit.rest()

    def fit(self, asked: Asked, groups: Sequence[Group], parts: Mapping[str, float]) -> Fit:
        """Return how well each document fits that holds anything asked.

        *parts* gives the folded part numbers asked for and those that lead to or from them, with
        the factor (1 for the number itself) by which they count.
        """
        tally = Tally()
        for group in groups:
            self._add_group(tally, group)
        numbers = self._add_numbers(tally, asked, parts)
        weights = [self._asked_weight(word) for group in groups for word in group.words]
        told = len(asked.codes) - len(asked.unknown_codes) + len(asked.parts)
        wanted = sum(1 for weight in weights if weight) + told
        right = self._right_products(asked)
        penalty = self._weights["product_penalty"]
        fit = Fit(tally, {}, numbers, sum(weights), penalty, right)
        fit.scores = self._scores(fit, wanted, asked)
        self._take_first(fit, asked, groups)
        return fit

    def _scores(self, fit: Fit, wanted: int, asked: Asked) -> dict[int, float]:
        """Return the scores: more for a greater share of the line, less for other products."""
        power, penalty, right = self._weights["share_power"], fit.penalty, fit.right
        scores = fit.tally.scores
        if wanted:
            scores = fit.tally.times(lambda mark: min(1.0, fit.found(mark) / wanted) ** power)
        if right is not None:
            scores = {doc: s if doc in right else s * penalty for doc, s in scores.items()}
        if asked.quotes:
            scores = {doc: score for doc, score in scores.items() if self._quoted(doc, asked)}
        return scores

    def _take_first(self, fit: Fit, asked: Asked, groups: Sequence[Group]) -> None:
        looked = [fit.hit(document) for document in best_of(fit.scores, _CLOSER_LOOK)]
        self._look_closer(looked, asked, groups)
        known = {hit.document for hit in looked}
        bearing = [doc for doc, held in fit.numbers.items() if held.named and doc in fit.scores]
        fit.first = looked + [fit.hit(doc) for doc in bearing if doc not in known]
        if any(hit.named for hit in fit.first):
            self._lift_named(fit)
        fit.first.sort(key=lambda hit: (-hit.score, hit.document))

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

    def _add_group(self, tally: Tally, group: Group) -> None:
        found = [self._best(word.variants) for word in group.words]
        taken: Collection[int] = ()
        if group.phrase:
            phrase, digits = self._best(group.phrase)
            taken = {doc for doc, score in phrase.items() if score >= _alone(doc, found)}
            worth = sum(self._asked_weight(word) for word in group.words)
            text = " ".join(word.text for word in group.words)
            words = sum(not word.light for word in group.words)
            slot = tally.slot(text, group.phrase, worth, words)
            tally.add(slot, ({doc: phrase[doc] for doc in taken}, digits))
        for word, best in zip(group.words, found, strict=True):
            worth = self._asked_weight(word)
            slot = tally.slot(word.text, word.variants, worth, not word.light)
            tally.add(slot, best, taken)

    def _best(self, variants: Sequence[Variant]) -> Found:
        """Return the best score of any variant by document, and which it is (counted from 1)."""
        # Of the words that a beginning can grow into the rare ones tell no more than the common.
        begun = min((self.idf(v.term) for v in variants if v.through in _BEGUN), default=0.0)
        found = [
            self._scores_of(v, begun if v.through == "start" else self.idf(v.term))
            for v in variants
        ]
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

    def _scores_of(self, variant: Variant, idf: float) -> dict[int, float]:
        k1 = self._weights["k1"]
        scale = variant.factor * idf * (k1 + 1)
        held = self._index.postings(variant.term)
        # There are few weights (``kb.entries.LEVELS``), so each is reckoned with once.
        scores = _Once(lambda weight: scale * weight / (k1 + weight))
        return dict(zip(held, map(scores.__getitem__, held.values()), strict=True))

    def _add_numbers(
        self, tally: Tally, asked: Asked, parts: Mapping[str, float]
    ) -> dict[int, _Named]:
        numbers: dict[int, _Named] = {}

        def add(document: int, text: str, bonus: float, through: str, named: bool) -> None:
            tally.add_number(document, bonus)
            held = numbers.setdefault(document, _Named())
            held.named |= named
            held.through.insert(0, (text, Variant(text, 1.0, through, text)))

        for code in asked.codes:
            for document, weight in self._index.postings(fold(code), "codes").items():
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
            for document, share in self._index.postings(number, "parts").items():
                held = best.get(document, (0.0, False))
                best[document] = max(held[0], factor * share), held[1] or factor == 1
        return best

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

    def _look_closer(self, hits: Sequence[Hit], asked: Asked, groups: Sequence[Group]) -> None:
        """Raise bulletins of which one line (title or a symptom) holds much of what was asked."""
        stems = self._wording.stems(asked.text)
        told = [telling for group in groups for telling in self._telling(group)]
        whole = sum(telling.worth for telling in told)
        for hit in hits:
            lines = [set(line.split()) for line in self._index.lines(hit.document)]
            if whole:
                best = max((_held(line, told) for line in lines), default=0.0) / whole
                hit.score *= 1 + self._weights["line_bonus"] * best * best
            title = [t for t in self._index.lines(hit.document)[0].split() if t[0] != "~"]
            if title == stems and len(stems) > 1:
                hit.score += self._weights["exact_title"]
                hit.exact = hit.named = True

    def _lift_named(self, fit: Fit) -> None:
        """Put what bears the code, number or title asked for above all that is only like it."""
        known = {hit.document: hit for hit in fit.first}
        others = [hit.score for hit in fit.first if not hit.named]
        most = max(others or (s for doc, s in fit.scores.items() if doc not in known), default=0.0)
        for hit in fit.first:
            if hit.named:
                hit.score += most * (1 + self._weights["narrower"])

    def _telling(self, group: Group) -> Iterator[_Telling]:
        phrase = _factors(group.phrase)
        for word in group.words:
            yield _Telling(self._asked_weight(word), _factors(word.variants), phrase)


class _Telling(NamedTuple):
    """What a line is held against for one asked word: factors by term, its own and its phrase's."""

    worth: float
    own: Mapping[str, float]
    phrase: Mapping[str, float]


def _factors(variants: Iterable[Variant]) -> dict[str, float]:
    factors: dict[str, float] = {}
    for variant in variants:
        factors[variant.term] = max(variant.factor, factors.get(variant.term, 0.0))
    return factors


def _held(line: Collection[str], told: Iterable[_Telling]) -> float:
    """Return how much of what was asked stands in one line."""
    held = 0.0
    for worth, own, phrase in told:
        in_line = [own[term] for term in own.keys() & line]
        in_line += [phrase[term] for term in phrase.keys() & line] if phrase else []
        if in_line:
            held += worth * max(in_line)
    return held


def _alone(document: int, found: Sequence[Found]) -> float:
    """Return what the words of a phrase score by themselves in one document."""
    return sum(scores[document] for scores, _ in found if document in scores)


class _Once(dict[float, float]):
    """A table that reckons what it does not hold yet."""

    def __init__(self, reckon: Callable[[float], float]) -> None:
        super().__init__()
        self._reckon = reckon

    def __missing__(self, key: float) -> float:
        value = self[key] = self._reckon(key)
        return value


def _trust(variant: Variant) -> float:
    """Return how far finding *variant* counts as finding the asked word itself (0..1)."""
    return variant.factor if variant.through == "near" else variant.factor**0.5
