"""Which documents can be among the best, told before the common words are added up.

The rarest words come first. Once the words left, all found and each as heavy as it ever is, would
not lift a document to where enough others stand already, no document that holds nothing else
counts, and of the others those fall out that cannot get there. (MaxScore: Turtle and Flood, "Query
evaluation: strategies and optimizations", Information Processing and Management 31(6), 1995; from
memory.)
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from heapq import nlargest

from kb.hits import Measure
from kb.matching import Group
from kb.scoring import Scoring, telling
from kb.tally import Named, Tally

# Scores are added up in another order here, so their last bits can differ.
_NEARLY = 1 - 1e-9


def narrowed(
    scoring: Scoring,
    groups: Sequence[Group],
    numbers: Mapping[int, Named],
    measure: Measure,
    most: int,
) -> Collection[int] | None:
    """Return documents among which the best *most* are, and all in *numbers*; None: any can be."""
    if len(groups) < 2:
        return None
    order = sorted(groups, key=scoring.holders)
    tally = Tally()
    tally.add_numbers(numbers)
    within: Collection[int] | None = None
    for at, group in enumerate(order):
        scoring.add(tally, group, within)
        left = order[at + 1 :]
        more, words = sum(map(scoring.most, left)), sum(map(telling, left))
        reach = more * measure.factor(words)
        # No share of the line raises a score, so this is worth a look only if the scores allow it.
        if within is not None or reach < _floor(tally.scores, most):
            floor = _floor(measure.scores(tally), most)
            if within is not None or reach < floor:
                within = _able(tally, measure, more, words, floor) | numbers.keys()
                tally.keep(within)
    return within


def _floor(scores: Mapping[int, float], most: int) -> float:
    """Return what so many documents score at least; 0 where there are not so many."""
    return nlargest(most, scores.values())[-1] * _NEARLY if len(scores) >= most else 0.0


def _able(tally: Tally, measure: Measure, more: float, words: int, floor: float) -> set[int]:
    """Return the documents that can reach *floor* if they also hold all that is left."""
    marks = tally.marks
    factors = {mark: measure.factor(tally.found(mark) + words) for mark in set(marks.values())}
    by_mark = map(factors.__getitem__, marks.values())
    reach = zip(tally.scores.items(), by_mark, strict=True)
    return {doc for (doc, score), factor in reach if (score + more) * factor >= floor}
