"""The search's terms: which documents hold them, how heavily, and in which of their lines.

A piece holds its terms in order, joined by line ends, and how many documents hold each; behind them
three streams, each for all its terms in turn: documents (the bytes of ``steps_of``), a byte for
each posting (the level of its weight, and 32 where lines follow), and for those the lines: a number
whose bit i tells that the term stands in line i, the title first, then the symptoms. Terms hold no
line end: they are word forms, ``~7`` for a ring, ``=washer`` for a product.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, islice
from math import log2
from operator import sub
from typing import Any, NamedTuple

from kb.entries import LEVELS, Entry
from kb.phone.pieces import Atom, Layer, Sizes, in_order, layer, varints

SIZES = Sizes(least=1500, usual=3500, most=6000)
_MOST_LINES = 31  # lines that a mask tells of: what a browser's bit operations hold
_HAS_LINES = 32
_PLACES: Mapping[float, int] = {level: place for place, level in enumerate(LEVELS)}


class Postings(NamedTuple):
    """What is told of a term.

    *held* has a number for each document in turn: 64 × document + level of the term's weight, and
    32 more where lines follow; *masks* tells for each of those the lines that the term stands in.
    """

    held: Sequence[int]
    masks: Sequence[int] = ()

    @property
    def documents(self) -> list[int]:
        """The documents that hold the term."""
        return [posting >> 6 for posting in self.held]


class Found:
    """The postings of every term, filled by one entry after the other."""

    def __init__(self) -> None:
        self._held: defaultdict[str, list[int]] = defaultdict(list)
        self._masks: defaultdict[str, list[int]] = defaultdict(list)

    def add(self, document: int, entry: Entry) -> None:
        """Take up the entry of *document*, which is above all documents before."""
        held, masks = self._held, masks_of(entry.lines)
        for term, posting in postings_of(document, entry, masks).items():
            held[term].append(posting)
        for term in masks.keys() & entry.terms.keys():
            self._masks[term].append(masks[term])

    def terms(self) -> dict[str, Postings]:
        """Return what is told of each term."""
        return {
            term: Postings(held, self._masks.get(term, ())) for term, held in self._held.items()
        }


def postings_of(document: int, entry: Entry, masks: Mapping[str, int]) -> dict[str, int]:
    """Return the posting of each term of a document's entry, as ``Postings`` holds them.

    *masks* are those of the document's lines.
    """
    first = document << 6
    places = {level: first + place for level, place in _PLACES.items()}
    found = {term: places[level] for term, level in entry.terms.items()}
    for term in masks.keys() & found.keys():
        found[term] |= _HAS_LINES
    return found


def masks_of(lines: Sequence[str]) -> dict[str, int]:
    """Return for each term of a document's lines the lines that it stands in, as bits."""
    masks: dict[str, int] = {}
    for at, line in enumerate(lines[:_MOST_LINES]):
        for term in line.split():
            masks[term] = masks.get(term, 0) | 1 << at
    return masks


def has_lines(posting: int) -> bool:
    """Tell whether a mask of lines follows for a posting."""
    return bool(posting & _HAS_LINES)


def layers(found: Mapping[str, Postings]) -> Iterator[Layer]:
    """Yield the layer of terms."""
    yield layer("terms", _atoms(found), SIZES, encode)


def _atoms(found: Mapping[str, Postings]) -> Iterator[Atom]:
    return (term_atom(term, found[term]) for term in sorted(found, key=in_order))


def term_atom(term: str, told: Postings) -> Atom:
    """Return the atom of a term, about as large as it is once packed."""
    return _atom(term, told, steps_of(told.documents))


def _atom(term: str, told: Postings, steps: bytes) -> Atom:
    size = len(term) // 2 + len(steps) + len(told.held) // 2 + 1
    return Atom(term, (told, steps), term, size)


def encode(run: Sequence[Atom]) -> tuple[object, bytes, bytes, bytes]:
    """Return the piece of a run of terms."""
    told: list[Postings] = [each.value[0] for each in run]
    steps = b"".join(each.value[1] for each in run)
    codes = bytes([posting & 63 for each in told for posting in each.held])
    masks = varints(chain.from_iterable(each.masks for each in told))
    counts = [len(each.held) for each in told]
    return ["\n".join(str(each.key) for each in run), counts], steps, codes, masks


def decode(value: Any, rest: bytes) -> Iterator[Atom]:
    """Yield the atoms of a piece of terms again."""
    terms, counts = value[0].split("\n"), value[1]
    steps, lengths = _read_steps(rest, counts)
    at = sum(lengths)
    masks = _read_varints(rest[at + sum(counts) :])
    begin = 0
    for term, documents, length in zip(terms, steps, lengths, strict=True):
        codes = rest[at : at + len(documents)]
        held = [document << 6 | code for document, code in zip(documents, codes, strict=True)]
        own = list(islice(masks, sum(code >= _HAS_LINES for code in codes)))
        yield _atom(term, Postings(held, own), rest[begin : begin + length])
        at += len(documents)
        begin += length


def _read_steps(data: bytes, counts: Sequence[int]) -> tuple[list[list[int]], list[int]]:
    """Return the documents of each term, of which there are so many, and how many bytes they take.

    What ``steps_of`` wrote is read back.
    """
    bits = format(int.from_bytes(b"\1" + data, "big"), "b")[1:]
    found, lengths, at = [], [], 0
    for count in counts:
        begun = at
        low = int(bits[at : at + 4], 2)
        at += 4
        document, documents = -1, []
        for _ in range(count):
            end = bits.index("0", at) + 1
            number = end - 1 - at
            at = end + low
            document += (number << low | int("0" + bits[end:at], 2)) + 1
            documents.append(document)
        at += -at % 8
        found.append(documents)
        lengths.append((at - begun) // 8)
    return found, lengths


def _read_varints(data: bytes) -> Iterator[int]:
    number = shift = 0
    for byte in data:
        number |= (byte & 127) << shift
        shift += 7
        if byte < 128:
            yield number
            number = shift = 0


class _Codes(dict[int, str]):
    """The Rice code of each step with *low* bits as they are, made when first asked for."""

    def __init__(self, low: int) -> None:
        super().__init__()
        self._low = low

    def __missing__(self, step: int) -> str:
        number, low = step - 1, self._low
        bits = format(number & (1 << low) - 1, f"0{low}b") if low else ""
        code = self[step] = "1" * (number >> low) + "0" + bits
        return code


_CODES = [_Codes(low) for low in range(16)]


def steps_of(documents: Sequence[int]) -> bytes:
    """Return rising numbers as bits: Rice codes of what lies between one and the next.

    The first four bits tell how many low bits of each stand as they are; before them stands the
    rest as so many ones and a nought. (R. F. Rice, "Some practical universal noiseless coding
    techniques", JPL 79-22, 1979; from memory.)
    """
    steps = list(map(sub, documents, chain((-1,), documents)))
    low = _low_bits(steps)
    text = format(low, "04b") + "".join(map(_CODES[low].__getitem__, steps))
    text += "0" * (-len(text) % 8)
    return int(text, 2).to_bytes(len(text) // 8, "big")


def _low_bits(steps: Sequence[int]) -> int:
    """Return with how many low bits the codes of *steps* are shortest."""
    about = int(log2(sum(steps) / len(steps)))
    likely = range(max(about - 2, 0), min(about + 2, 16))
    counts = Counter(steps).items()
    return min(
        likely, key=lambda low: sum((step - 1 >> low) * n for step, n in counts) + low * len(steps)
    )
