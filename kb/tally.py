"""What was found in each bulletin, added up word by word for all of them at once.

A common word stands in thousands of bulletins, of which a few are shown. So each bulletin has but a
score and one number, its *mark*, which tells what of the line it holds: a digit for each slot (an
asked word, or a phrase in place of its words). All else is told from the mark, and asked for few.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from operator import mul
from typing import TypeVar

from kb.matching import Variant

_N = TypeVar("_N", int, float)
Found = tuple[Mapping[int, float], Mapping[int, int] | int]


@dataclass(frozen=True, slots=True)
class Slot:
    """An asked word or phrase: what it is worth, and for how many words it counts if found."""

    text: str
    variants: Sequence[Variant]
    worth: float
    words: int
    shift: int

    @property
    def bits(self) -> int:
        """How much room the slot takes in a mark."""
        return (len(self.variants) + 1).bit_length()

    def held(self, mark: int) -> Variant | None:
        """Return the variant through which a bulletin with this *mark* holds the slot."""
        digit = (mark >> self.shift) & ((1 << self.bits) - 1)
        return self.variants[digit - 1] if digit else None


@dataclass(slots=True)
class Named:
    """What of a line's codes and part numbers one document names, and how much that counts."""

    named: bool = False
    bonuses: list[float] = field(default_factory=list)
    through: list[tuple[str, Variant]] = field(default_factory=list)


def _sum(one: dict[int, _N], other: Mapping[int, _N], both: Collection[int]) -> dict[int, _N]:
    """Return two tables added up; *both* are the documents that stand in either."""
    # Joined as wholes, which costs little; only what stands in both is gone through one by one.
    total = {**one, **other}
    for document in both:
        total[document] = one[document] + other[document]
    return total


@dataclass(slots=True)
class Tally:
    """Scores and marks by document; both are filled in the same order."""

    scores: dict[int, float] = field(default_factory=dict)
    marks: dict[int, int] = field(default_factory=dict)
    slots: list[Slot] = field(default_factory=list)
    room: int = 16  # the first bits count the numbers that were found

    def slot(self, text: str, variants: Sequence[Variant], worth: float, words: int) -> Slot:
        """Return a new slot, behind all others."""
        made = Slot(text, variants, worth, words, self.room)
        self.room += made.bits
        self.slots.append(made)
        return made

    def add(self, slot: Slot, found: Found, apart_from: Collection[int] = ()) -> None:
        """Add what was *found* of a slot, *apart_from* some documents."""
        scores, digits = found
        if apart_from:
            scores = {doc: score for doc, score in scores.items() if doc not in apart_from}
        if isinstance(digits, int):
            marks = dict.fromkeys(scores, digits << slot.shift)
        else:
            marks = {document: digits[document] << slot.shift for document in scores}
        both = self.scores.keys() & scores.keys()
        self.scores = _sum(self.scores, scores, both)
        self.marks = _sum(self.marks, marks, both)

    def add_number(self, document: int, bonus: float) -> None:
        """Add a code or part number that *document* names."""
        self.scores[document] = self.scores.get(document, 0.0) + bonus
        self.marks[document] = self.marks.get(document, 0) + 1

    def add_numbers(self, numbers: Mapping[int, Named]) -> None:
        """Add the codes and part numbers that documents name."""
        for document, named in numbers.items():
            for bonus in named.bonuses:
                self.add_number(document, bonus)

    def keep(self, documents: Container[int]) -> None:
        """Forget all other documents."""
        self.scores = {doc: score for doc, score in self.scores.items() if doc in documents}
        self.marks = {doc: self.marks[doc] for doc in self.scores}

    def found(self, mark: int) -> float:
        """Return how many words and numbers a mark tells of."""
        return sum(slot.words for slot, _ in self.held(mark)) + self.numbers(mark)

    def numbers(self, mark: int) -> int:
        """Return how many codes and part numbers a mark counts."""
        return mark & 0xFFFF

    def held(self, mark: int) -> Iterator[tuple[Slot, Variant]]:
        """Yield the slots that a mark tells of, in order, with what they were found through."""
        for slot in self.slots:
            variant = slot.held(mark)
            if variant is not None:
                yield slot, variant

    def times(self, factor: Callable[[int], float]) -> dict[int, float]:
        """Return the scores times what *factor* gives for their mark."""
        marks = self.marks.values()
        factors = {mark: factor(mark) for mark in set(marks)}
        by_mark = map(factors.__getitem__, marks)
        return dict(zip(self.scores, map(mul, self.scores.values(), by_mark), strict=True))
