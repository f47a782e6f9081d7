"""The search's terms: which documents hold them, how heavily, and in which of their lines.

A piece holds its terms in order, joined by line ends, how many documents hold each, and behind
them three streams, each for all its terms in turn: steps between documents, weights (a byte each,
in sixteenths), and lines. Lines are a number whose bit i tells that the term stands in line i: the
title, then the symptoms. Terms hold no line end: they are word forms, ``~7`` for a ring,
``=washer`` for a product.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, gaps, in_order, layer, varints

_SIZES = Sizes(least=2500, usual=6000, most=12000)
_MOST_LINES = 31  # lines that a mask tells of: what a browser's bit operations hold

Posting = tuple[int, int, int]  # document, weight in sixteenths, mask of lines


def postings(gathered: Gathered) -> dict[str, list[Posting]]:
    """Return the postings of every term, documents in order."""
    found: dict[str, list[Posting]] = {}
    for document, entry in gathered.entries.items():
        masks = _masks(entry.lines)
        for term, weight in entry.terms.items():
            found.setdefault(term, []).append((document, round(weight * 16), masks.get(term, 0)))
    return found


def _masks(lines: Sequence[str]) -> dict[str, int]:
    """Return for each term of a document's lines the lines that it stands in, as bits."""
    masks: dict[str, int] = {}
    for at, line in enumerate(lines[:_MOST_LINES]):
        for term in line.split():
            masks[term] = masks.get(term, 0) | 1 << at
    return masks


def terms(found: Mapping[str, Sequence[Posting]]) -> Layer:
    """Return the layer of terms."""
    return layer("terms", _atoms(found), _SIZES, encode)


def _atoms(found: Mapping[str, Sequence[Posting]]) -> Iterator[Atom]:
    for term in sorted(found, key=in_order):
        yield Atom(term, found[term], term, len(term) + 3 * len(found[term]))


def encode(run: Sequence[Atom]) -> tuple[object, bytes]:
    """Return the piece of a run of terms."""
    steps = b"".join(varints(gaps([document for document, _, _ in each.value])) for each in run)
    weights = bytes(weight for each in run for _, weight, _ in each.value)
    masks = varints(mask for each in run for _, _, mask in each.value)
    counts = [len(each.value) for each in run]
    joined = "\n".join(str(each.key) for each in run)
    return [joined, counts], steps + weights + masks
