"""The search's terms: which documents hold them, how heavily, and in which of their lines.

A piece holds its terms in order, joined by line ends, and how many documents hold each; behind them
three streams, each for all its terms in turn: documents (the bytes of ``steps_of``), a byte for
each posting (the level of its weight, and 32 where lines follow), and for those the lines: a number
whose bit i tells that the term stands in line i, the title first, then the symptoms. Terms hold no
line end: they are word forms, ``~7`` for a ring, ``=washer`` for a product.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import log2

from kb.entries import level_of
from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, in_order, layer, varints

_SIZES = Sizes(least=1500, usual=3500, most=6000)
_MOST_LINES = 31  # lines that a mask tells of: what a browser's bit operations hold
_HAS_LINES = 32

Posting = tuple[int, int, int]  # document, level of its weight, mask of lines


def postings(gathered: Gathered) -> dict[str, list[Posting]]:
    """Return the postings of every term, documents in order."""
    found: dict[str, list[Posting]] = {}
    for document, entry in gathered.entries.items():
        masks = _masks(entry.lines)
        for term, weight in entry.terms.items():
            posting = (document, level_of(weight), masks.get(term, 0))
            found.setdefault(term, []).append(posting)
    return found


def _masks(lines: Sequence[str]) -> dict[str, int]:
    """Return for each term of a document's lines the lines that it stands in, as bits."""
    masks: dict[str, int] = {}
    for at, line in enumerate(lines[:_MOST_LINES]):
        for term in line.split():
            masks[term] = masks.get(term, 0) | 1 << at
    return masks


def layers(found: Mapping[str, Sequence[Posting]]) -> Iterator[Layer]:
    """Yield the layer of terms."""
    yield layer("terms", _atoms(found), _SIZES, encode)


def _atoms(found: Mapping[str, Sequence[Posting]]) -> Iterator[Atom]:
    for term in sorted(found, key=in_order):
        held = found[term]
        steps = steps_of([document for document, _, _ in held])
        size = len(term) // 2 + len(steps) + len(held) // 2 + 1  # as large as it is once packed
        yield Atom(term, (held, steps), term, size)


def encode(run: Sequence[Atom]) -> tuple[object, bytes, bytes, bytes]:
    """Return the piece of a run of terms."""
    every = [posting for each in run for posting in each.value[0]]
    steps = b"".join(each.value[1] for each in run)
    codes = bytes(level | (_HAS_LINES if mask else 0) for _, level, mask in every)
    masks = varints(mask for _, _, mask in every if mask)
    counts = [len(each.value[0]) for each in run]
    return ["\n".join(str(each.key) for each in run), counts], steps, codes, masks


def steps_of(documents: Sequence[int]) -> bytes:
    """Return rising numbers as bits: Rice codes of what lies between one and the next.

    The first four bits tell how many low bits of each stand as they are; before them stands the
    rest as so many ones and a nought. (R. F. Rice, "Some practical universal noiseless coding
    techniques", JPL 79-22, 1979; from memory.)
    """
    between = [after - before - 1 for before, after in pairwise([-1, *documents])]
    low = _low_bits(between)
    bits = [format(low, "04b")]
    for number in between:
        bits.append("1" * (number >> low) + "0")
        if low:
            bits.append(format(number & (1 << low) - 1, f"0{low}b"))
    text = "".join(bits)
    text += "0" * (-len(text) % 8)
    return int(text, 2).to_bytes(len(text) // 8, "big")


def _low_bits(numbers: Sequence[int]) -> int:
    """Return with how many low bits the codes of *numbers* are shortest."""
    mean = sum(numbers) / len(numbers)
    about = int(log2(mean + 1))
    likely = range(max(about - 2, 0), min(about + 2, 16))
    return min(
        likely, key=lambda low: sum(number >> low for number in numbers) + low * len(numbers)
    )
