"""An index held in memory: what matching and ranking read, made from plain lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from kb.entries import Entry, entry_of
from kb.fulltext import Stored
from kb.holders import Holders, holders
from kb.records import Bulletin
from kb.wording import Wording

FIELDS = ("title", "symptoms", "component", "product", "checks", "parts", "body")


@dataclass
class MemoryIndex:
    """Entries by their place."""

    entries: Sequence[Entry] = field(default_factory=list)
    count: int = 0

    def __post_init__(self) -> None:
        self.count = len(self.entries)

    def postings(self, term: str, field: str = "terms") -> Holders:
        """Who holds *term*, with its weight in each."""
        found: dict[int, float] = {}
        for document, entry in enumerate(self.entries):
            held: Mapping[str, float] = {
                "terms": entry.terms,
                "codes": {c: 2.0 if at == "front" else 1.0 for c, at in entry.codes.items()},
                "parts": entry.parts,
            }[field]
            if term in held:
                found[document] = held[term]
        return holders(found)

    def frequency(self, term: str) -> int:
        """How many entries hold *term*."""
        return len(self.postings(term))

    def heaviest(self, term: str) -> float:
        """The greatest weight of *term*."""
        return max((entry.terms.get(term, 0.0) for entry in self.entries), default=0.0)

    def words(self) -> Iterator[str]:
        """Every word as written, in order."""
        return iter(sorted({word for entry in self.entries for word in entry.words}))

    def words_starting(self, prefix: str) -> list[str]:
        """The words as written that begin with *prefix*."""
        return [word for word in self.words() if word.startswith(prefix)]

    def document(self, number: str) -> int | None:
        """The place of the entry of a bulletin."""
        places = [place for place, entry in enumerate(self.entries) if entry.number == number]
        return places[0] if places else None

    def stored(self, document: int) -> Stored:
        """What is kept whole for one document."""
        entry = self.entries[document]
        return Stored(entry.number, entry.lines, entry.text)

    def lines(self, document: int) -> tuple[str, ...]:
        """Title and symptoms as stems and rings."""
        return self.entries[document].lines

    def text(self, document: int) -> str:
        """The words in order, as written."""
        return self.entries[document].text


def index_of(
    wording: Wording,
    texts: Iterable[Mapping[str, str]],
    codes: Mapping[int, Mapping[str, str]] | None = None,
) -> MemoryIndex:
    """Return the index of bulletins with these texts by field; *codes* by place."""
    made: list[Entry] = []
    for place, given in enumerate(texts):
        fields = {name: given.get(name, "") for name in FIELDS}
        bulletin = Bulletin(
            number=f"2026-{place:03}",
            title=fields["title"],
            kind="repair",
            issued=date(2026, 1, 1),
            component=(),
            symptoms=tuple(filter(None, fields["symptoms"].split("\n"))),
            where=(),
        )
        made.append(entry_of(bulletin, fields, wording, (codes or {}).get(place, {}), []))
    return MemoryIndex(made)
