"""The full-text index of the desk (Whoosh): written once into a fresh folder, then only read.

Whoosh keeps, for each term, the bulletins that hold it and how heavily; what a term weighs in a
bulletin is settled before (``kb.entries``), and how weights become a rank is settled after
(``kb.ranking``), so that the phone ranks alike from the same figures. An index is made of pickles
and never leaves the desk.
"""

from __future__ import annotations

import json
from array import array
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from mmap import ACCESS_READ, mmap
from pathlib import Path
from typing import Any

from kb.entries import Entry
from kb.errors import KbError
from kb.holders import Holders
from kb.lightwhoosh import bring_in

bring_in()

from whoosh import fields, formats  # noqa: E402  # only after it was brought in light
from whoosh.codec.whoosh3 import W3Codec, W3FieldWriter, W3PostingsWriter  # noqa: E402
from whoosh.filedb.filestore import FileStorage  # noqa: E402
from whoosh.filedb.structfile import StructFile  # noqa: E402
from whoosh.index import FileIndex  # noqa: E402

_MOST_KEPT = 4_000_000  # postings held in memory, at five bytes each
_MEND = "delete the folder and publish again"
_NONE = Holders()

_SIZES = "sizes.json"  # how large the other files are, so that one cut short is noticed

_Listed = tuple["array[int]", "array[float]"]  # documents, and the weight in each


class _Storage(FileStorage):  # type: ignore[misc]  # Whoosh has no types
    """A folder whose files are mapped to be read: Whoosh would copy the whole of each first."""

    def open_file(self, name: str, **more: Any) -> Any:
        with (Path(self.folder) / name).open("rb") as file:
            if file.seek(0, 2):  # what is empty cannot be mapped
                return StructFile(mmap(file.fileno(), 0, access=ACCESS_READ), name=name, **more)
        return super().open_file(name, **more)


class _Codec(W3Codec):  # type: ignore[misc]  # Whoosh has no types
    """Whoosh's own, but a term's postings are arrays that are written and read as wholes."""

    length_stats = False

    def field_writer(self, storage: Any, segment: Any) -> _FieldWriter:
        return _FieldWriter(self, storage, segment)

    def postings_writer(self, dbfile: Any, byteids: bool = False) -> _PostingsWriter:
        return _PostingsWriter(dbfile, blocklimit=0)

    def postings_reader(self, dbfile: Any, terminfo: Any, *more: Any, **known: Any) -> Holders:
        at, count = terminfo.extent()[0], terminfo.doc_frequency()
        documents, weights = array("I"), array("d")
        documents.frombytes(dbfile.get(at, count * documents.itemsize))
        at += count * documents.itemsize
        places = dbfile.get(at, count)
        weights.frombytes(dbfile.get(at + count, (max(places) + 1) * weights.itemsize))
        return Holders(documents, places, weights)


class _FieldWriter(W3FieldWriter):  # type: ignore[misc]  # Whoosh has no types
    def add_postings(self, schema: Any, lengths: object, items: _Gathered) -> None:
        """Write the terms of each field in order, each with all its postings at once."""
        for field, held in sorted(items.fields.items()):
            self.start_field(field, schema[field])
            for term, listed in sorted((term.encode(), listed) for term, listed in held.items()):
                self.start_term(term)
                self._postwriter.take(*listed)
                self.finish_term()
            self.finish_field()


class _PostingsWriter(W3PostingsWriter):  # type: ignore[misc]  # Whoosh has no types
    """Writes documents and the place of each one's weight, then the weights that there are."""

    _terminfo: Any

    def take(self, documents: array[int], weights: array[float]) -> None:
        """Take all postings of the term that was started."""
        self._ids, self._weights, self._maxweight = documents, weights, max(weights)

    def finish_postings(self) -> Any:
        info, self._terminfo = self._terminfo, None
        info.add_block(self)
        kinds = sorted(set(self._weights))
        place = {weight: at for at, weight in enumerate(kinds)}
        self._postfile.write(self._ids.tobytes())
        self._postfile.write(bytes(map(place.__getitem__, self._weights)))
        self._postfile.write(array("d", kinds).tobytes())
        info.set_extent(self._startoffset, self._postfile.tell() - self._startoffset)
        return info


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
        self.format = formats.Existence()
        self.analyzer = None


class _Gathered:
    """The postings of all entries, in place of Whoosh's pool, which sorts each by itself."""

    def __init__(self) -> None:
        def held() -> dict[str, _Listed]:
            return defaultdict(lambda: (array("I"), array("d")))

        self.fields = {name: held() for name in ("terms", "codes", "parts", "numbers")}
        self.fields["words"] = {}
        self._anywhere: _Listed = array("I", [0]), array("d", [1.0])

    def add(self, document: int, entry: Entry) -> None:
        """Add what an entry holds."""
        self._add("terms", document, entry.terms.items())
        codes = ((code, 2.0 if at == "front" else 1.0) for code, at in entry.codes.items())
        self._add("codes", document, codes)
        shares = ((number, round(share, 6)) for number, share in entry.parts.items())
        self._add("parts", document, shares)
        self._add("numbers", document, [(entry.number, 1.0)])
        # Of the words as written it is only asked which there are.
        self.fields["words"].update(dict.fromkeys(entry.words, self._anywhere))

    def _add(self, field: str, document: int, weighed: Iterable[tuple[str, float]]) -> None:
        held = self.fields[field]
        for term, weight in weighed:
            documents, weights = held[term]
            documents.append(document)
            weights.append(weight)

    def iter_postings(self) -> _Gathered:
        """Return itself, for the codec's writer."""
        return self

    def cleanup(self) -> None:
        """Leave nothing: all of it was in memory."""


@dataclass(frozen=True, slots=True)
class Stored:
    """What the index keeps whole for each bulletin."""

    number: str
    lines: tuple[str, ...]
    text: str


def build(folder: Path, entries: Iterable[Entry]) -> None:
    """Write the index of *entries* into the empty *folder*."""
    folder.mkdir(parents=True, exist_ok=True)
    gathered = _Gathered()
    searched = {name: _Terms() for name in gathered.fields}
    schema = fields.Schema(**searched, kept=fields.STORED)
    index = FileIndex.create(FileStorage(str(folder)), schema, "MAIN")
    writer = index.writer(codec=_Codec(), compound=False)
    writer.pool = gathered
    for document, entry in enumerate(entries):
        writer.add_document(kept=(entry.number, entry.lines, entry.text))
        gathered.add(document, entry)
    writer.commit(optimize=True)
    (folder / _SIZES).write_text(json.dumps(_sizes(folder)), encoding="utf-8")


def _sizes(folder: Path) -> dict[str, int]:
    """Return the size of each file of an index."""
    return {path.name: path.stat().st_size for path in folder.iterdir() if path.name != _SIZES}


class FullText:
    """An index opened for reading."""

    def __init__(self, folder: Path) -> None:
        try:
            if json.loads((folder / _SIZES).read_bytes()) != _sizes(folder):
                raise ValueError("a file is not as long as it was written")
            self._reader: Any = _Storage(str(folder)).open_index().reader()
        except Exception as error:  # pickles: a broken one can raise anything
            raise KbError(f"the search index does not open: {error}", _MEND) from error
        self._stored: dict[int, Stored] = {}
        self._holders: dict[tuple[str, str], Holders] = {}
        self._kept = 0  # how many postings are held in memory
        self._terms: dict[str, tuple[int, float]] = {}  # how many hold a term, how heavily at most
        self.count: int = self._reader.doc_count()

    def postings(self, term: str, field: str = "terms") -> Holders:
        """Return the documents that hold *term*, with its weight in each."""
        held = self._holders.get((field, term))
        if held is None:
            there = (field, term) in self._reader
            held = self._reader.postings(field, term) if there else _NONE
            self._kept += len(held)
            if self._kept > _MOST_KEPT:
                self._holders.clear()
                self._kept = len(held)
            self._holders[field, term] = held
        return held

    def document(self, number: str) -> int | None:
        """Return the document of a bulletin."""
        return next(iter(self.postings(number, "numbers")), None)

    def frequency(self, term: str) -> int:
        """Return how many bulletins hold *term*."""
        return self._known(term)[0]

    def heaviest(self, term: str) -> float:
        """Return the greatest weight of *term* in any bulletin."""
        return self._known(term)[1]

    def _known(self, term: str) -> tuple[int, float]:
        known = self._terms.get(term)
        if known is None:
            there = ("terms", term) in self._reader
            info = self._reader.term_info("terms", term) if there else None
            known = (info.doc_frequency(), info.max_weight()) if info else (0, 0.0)
            self._terms[term] = known
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
