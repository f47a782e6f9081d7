"""The bulletins that hold one term, and how heavily: as plain arrays, which are read at once.

A common term stands in thousands of bulletins but has a few weights, so a byte says which of them.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

_SEARCHED = 20  # so many documents are gone through in the time in which one is searched for


@dataclass(frozen=True, slots=True, eq=False)
class Holders(Mapping[int, float]):
    """Documents in order with the weight of a term in each: the one at its *place* in *weights*."""

    documents: Sequence[int] = ()
    places: bytes = b""
    weights: Sequence[float] = ()

    def __getitem__(self, document: int) -> float:
        at = bisect_left(self.documents, document)
        if at == len(self.documents) or self.documents[at] != document:
            raise KeyError(document)
        return self.weights[self.places[at]]

    def __iter__(self) -> Iterator[int]:
        return iter(self.documents)

    def __len__(self) -> int:
        return len(self.documents)

    def weighed(self) -> Iterator[tuple[int, float]]:
        """Yield documents with their weights."""
        return zip(self.documents, map(self.weights.__getitem__, self.places), strict=True)

    def worth(
        self, worth: Callable[[float], float], within: Collection[int] | None = None
    ) -> dict[int, float]:
        """Return what the weight of each document is worth; of those *within* alone if given."""
        table = [worth(weight) for weight in self.weights]
        if within is None:
            return dict(zip(self.documents, map(table.__getitem__, self.places), strict=True))
        if len(within) * _SEARCHED < len(self.documents):
            return {doc: worth(weight) for doc in within if (weight := self.get(doc)) is not None}
        both = zip(self.documents, self.places, strict=True)
        return {document: table[place] for document, place in both if document in within}


def holders(found: Mapping[int, float]) -> Holders:
    """Return the holders of a term from its weight by document."""
    weights = sorted(set(found.values()))
    place = {weight: at for at, weight in enumerate(weights)}
    documents = sorted(found)
    return Holders(documents, bytes(place[found[document]] for document in documents), weights)
