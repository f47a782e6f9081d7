"""What the phone is given of a house, gathered once: its documents and what the search holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from kb.folding import fold
from kb.indexing import entries
from kb.markup import Body
from kb.phone.pieces import in_order
from kb.phone.terms import Found, Postings
from kb.records import Bulletin, House
from kb.standing import in_force, superseded_by
from kb.wording import Wording
from kb.wordtable import load_words, prepare

Read = Callable[[Bulletin], Body]


class Held(NamedTuple):
    """What a document in force gives to the search beside its terms, as in its entry."""

    text: str
    codes: Mapping[str, str]
    parts: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Gathered:
    """A house with its published bulletins in order: a bulletin's place is its document's number.

    *held* tells of each document in force, *terms* which of these documents hold a term, *spoken*
    how many of them are written with a word; *names* the name of each part by folded number, of
    several rows the first one's; *by_number* is the place of each folded number.
    """

    house: House
    documents: Sequence[Bulletin]
    held: Mapping[int, Held]
    terms: Mapping[str, Postings]
    spoken: Mapping[str, int]
    names: Mapping[str, str]
    superseded: Mapping[str, str]
    by_number: Mapping[str, int]
    wording: Wording
    read: Read

    def summary(self, bulletin: Bulletin) -> str:
        """Return a bulletin's summary, its first paragraph where none is given."""
        return bulletin.summary or self.read(bulletin).first_paragraph


def in_turn(bulletins: Sequence[Bulletin]) -> list[Bulletin]:
    """Return the bulletins that have a page, by number."""
    published = (b for b in bulletins if b.status != "draft")
    return sorted(published, key=lambda b: order_of(b.number))


def order_of(number: str) -> tuple[bytes, str]:
    """Return the key by which bulletin numbers are in order."""
    return in_order(fold(number)), number


def gather(house: House, read: Read) -> Gathered:
    """Return *house* made ready to be written for the phone; *read* gives a bulletin's body."""
    wording = Wording(prepare(load_words(), house.words))
    documents = in_turn(house.bulletins)
    places = {bulletin.number: place for place, bulletin in enumerate(documents)}
    texts = {b.number: read(b).text for b in in_force(house.bulletins)}
    held: dict[int, Held] = {}
    spoken: Counter[str] = Counter()
    found = Found()
    for entry in entries(house, wording, texts):  # in the order of the documents
        place = places[entry.number]
        found.add(place, entry)
        spoken.update(entry.words.keys())
        held[place] = Held(entry.text, entry.codes, entry.parts)
    return Gathered(
        house=house,
        documents=documents,
        held=held,
        terms=found.terms(),
        spoken=spoken,
        names={fold(row.number): row.name for row in reversed(house.parts)},
        superseded=superseded_by(house.bulletins),
        by_number={fold(b.number): place for place, b in reversed(list(enumerate(documents)))},
        wording=wording,
        read=read,
    )
