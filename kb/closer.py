"""A closer look at the best bulletins: which line of them holds how much of what was asked."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple, Protocol

from kb.asking import Asked
from kb.hits import Hit
from kb.matching import Group, Variant
from kb.scoring import Scoring
from kb.wording import Wording


class Lines(Protocol):
    """The part of the index that holds titles and symptoms."""

    def lines(self, document: int) -> Sequence[str]:
        """Title and symptoms of a document as stems and rings."""


class _Telling(NamedTuple):
    """What a line is held against for one asked word: factors by term, its own and its phrase's."""

    worth: float
    own: Mapping[str, float]
    phrase: Mapping[str, float]


def raise_lines(
    hits: Iterable[Hit],
    asked: Asked,
    groups: Sequence[Group],
    index: Lines,
    scoring: Scoring,
    wording: Wording,
) -> None:
    """Raise bulletins of which one line (title or a symptom) holds much of what was asked."""
    stems = wording.stems(asked.text)
    told = [telling for group in groups for telling in _told(group, scoring)]
    whole = sum(telling.worth for telling in told)
    for hit in hits:
        lines = index.lines(hit.document)
        if whole:
            best = max((_held(set(line.split()), told) for line in lines), default=0.0) / whole
            hit.score *= 1 + wording.weights["line_bonus"] * best * best
        title = [term for term in lines[0].split() if term[0] != "~"]
        if title == stems and len(stems) > 1:
            hit.score += wording.weights["exact_title"]
            hit.exact = hit.named = True


def _told(group: Group, scoring: Scoring) -> Iterator[_Telling]:
    phrase = _factors(group.phrase)
    for word in group.words:
        yield _Telling(scoring.worth(word), _factors(word.variants), phrase)


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
