"""The full-text index of the desk (Whoosh): written once into a fresh folder, then only read.

Whoosh keeps, for each term, the bulletins that hold it and how heavily; what a term weighs in a
bulletin is settled before (``kb.entries``), and how weights become a rank is settled after
(``kb.ranking``), so that the phone ranks alike from the same figures. An index is made of pickles
and never leaves the desk.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate
from pathlib import Path
from typing import Any

from kb.entries import Entry
from kb.errors import KbError
from kb.lightwhoosh import bring_in

bring_in()

from whoosh import fields, formats  # noqa: E402  # only after it was brought in light
from whoosh.codec.whoosh3 import W3Codec, W3LeafMatcher  # noqa: E402
from whoosh.filedb.filestore import FileStorage  # noqa: E402
from whoosh.index import FileIndex  # noqa: E402

_MEMORY_MB = 512
_MOST_KEPT = 500_000  # postings held in memory, at some eighty bytes each
# A term's postings are read to the last, so they lie in few blocks, as they are.
_BLOCK = 1 << 15


class WeightedTerms(formats.Format):  # type: ignore[misc]  # Whoosh has no types
    """Postings whose weight is given with the term instead of counted from a text."""

    def __init__(self) -> None:
        super().__init__(field_boost=1.0)

    def word_values(
        self, value: Sequence[tuple[str, float]], analyzer: object, **kwargs: object
    ) -> Iterator[tuple[str, int, float, bytes]]:
        """Yield (term, frequency, weight, payload) as Whoosh wants them."""
        return ((term, 1, weight, b"") for term, weight in value)


class _Terms(fields.FieldType):  # type: ignore[misc]  # Whoosh has no types
    indexed = True
    scorable = False
    stored = False
    vector = None
    column_type = None
    multitoken_query = "default"
    unique = False
    sortable_typecode = None
    spelling = False

    def __init__(self) -> None:
        self.format = WeightedTerms()
        self.analyzer = None


@dataclass(frozen=True, slots=True)
class Stored:
    """What the index keeps whole for each bulletin."""

    number: str
    lines: tuple[str, ...]
    text: str


def build(folder: Path, entries: Iterable[Entry]) -> None:
    """Write the index of *entries* into the empty *folder*."""
    folder.mkdir(parents=True, exist_ok=True)
    schema = fields.Schema(
        terms=_Terms(),
        words=_Terms(),
        codes=_Terms(),
        parts=_Terms(),
        numbers=_Terms(),
        kept=fields.STORED,
    )
    index = FileIndex.create(FileStorage(str(folder)), schema, "MAIN")
    codec = W3Codec(blocklimit=_BLOCK, compression=0)
    writer = index.writer(limitmb=_MEMORY_MB, codec=codec)
    for entry in entries:
        writer.add_document(
            terms=sorted(entry.terms.items()),
            words=[(word, 1.0) for word in sorted(entry.words)],
            codes=[
                (code, 2.0 if at == "front" else 1.0) for code, at in sorted(entry.codes.items())
            ],
            parts=sorted(entry.parts.items()),
            numbers=[(entry.number, 1.0)],
            kept=(entry.number, entry.lines, entry.text),
        )
    writer.commit(optimize=True)


Held = tuple[Sequence[int], Sequence[float]]


def _all_of(matcher: Any) -> Held:
    """Return the documents and weights of all postings, read by whole blocks."""
    documents, weights = array("I"), array("f")
    while matcher.is_active():
        if isinstance(matcher, W3LeafMatcher):
            matcher._read_data()
            matcher._read_weights()
            # Documents are kept as distances; Whoosh would add them up one call at a time.
            documents.extend(accumulate(matcher._data[0]))
            weights.extend(matcher._weights)
            matcher._next_block()
        else:
            documents.append(matcher.id())
            weights.append(matcher.weight())
            matcher.next()
    return documents, weights


class FullText:
    """An index opened for reading."""

    def __init__(self, folder: Path) -> None:
        try:
            self._reader: Any = FileStorage(str(folder)).open_index().reader()
        except Exception as error:  # pickles: a broken one can raise anything
            raise KbError(
                f"the search index does not open: {error}", "delete the folder and publish again"
            ) from error
        self._stored: dict[int, Stored] = {}
        self._postings: dict[tuple[str, str], Mapping[int, float]] = {}
        self._kept = 0  # how many postings are held in memory
        self._frequencies: dict[str, int] = {}
        self.count: int = self._reader.doc_count()

    def postings(self, term: str, field: str = "terms") -> Mapping[int, float]:
        """Return the weight of *term* by document; empty where no bulletin holds it."""
        return self._held(term, field)

    def document(self, number: str) -> int | None:
        """Return the document of a bulletin."""
        return next(iter(self._held(number, "numbers")), None)

    def _held(self, term: str, field: str) -> Mapping[int, float]:
        held = self._postings.get((field, term))
        if held is None:
            there = (field, term) in self._reader
            documents, weights = _all_of(self._reader.postings(field, term)) if there else ((), ())
            # Shares of part numbers come back from single precision; all other weights are exact.
            exact = (round(share, 6) for share in weights) if field == "parts" else weights
            held = dict(zip(documents, exact, strict=True))
            self._kept += len(held)
            if self._kept > _MOST_KEPT:
                self._postings.clear()
                self._kept = len(held)
            self._postings[field, term] = held
        return held

    def frequency(self, term: str) -> int:
        """Return how many bulletins hold *term*."""
        known = self._frequencies.get(term)
        if known is None:
            known = self._frequencies[term] = int(self._reader.doc_frequency("terms", term))
        return known

    def words(self) -> Iterator[str]:
        """Yield every word of the house as written (lower case), in order."""
        return (word.decode("utf-8") for word in self._reader.lexicon("words"))

    def words_starting(self, prefix: str) -> list[str]:
        """Return the words as written that begin with *prefix*."""
        found = self._reader.expand_prefix("words", prefix)
        return [word.decode("utf-8") for word in found]

    def stored(self, document: int) -> Stored:
        """Return what is kept whole for one document."""
        held = self._stored.get(document)
        if held is None:
            kept: Mapping[str, tuple[Any, ...]] = self._reader.stored_fields(document)
            held = self._stored[document] = Stored(*kept["kept"])
        return held

    def lines(self, document: int) -> tuple[str, ...]:
        """Return title and symptoms of a document as stems and rings."""
        return self.stored(document).lines

    def text(self, document: int) -> str:
        """Return the words of a document in order, as written."""
        return self.stored(document).text

    def documents(self) -> Iterator[int]:
        """Yield every document's place in the index."""
        return iter(self._reader.all_doc_ids())
