"""What one changed bulletin comes to in each layer, from its entries as it was and as it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Any

from kb.entries import Entry
from kb.folding import fold
from kb.indexing import Surroundings
from kb.phone import cards, edits, parts, speech, terms
from kb.phone.changes import Change, Told
from kb.phone.kept import Kept
from kb.phone.numbers import number_atom
from kb.phone.pieces import atom
from kb.phone.rewriting import Reader
from kb.records import Family
from kb.spelling import sound
from kb.standing import standing


@dataclass(frozen=True, slots=True)
class Side:
    """How the house was, or is: what stands, and what entries depend on."""

    superseded: Mapping[str, str]
    around: Surroundings
    names: Mapping[str, str]

    def stands(self, told: Told | None) -> bool:
        """Tell whether a bulletin is in force."""
        return told is not None and standing(told.bulletin, self.superseded) == "in-force"

    def entry(self, told: Told | None) -> Entry | None:
        """Return the entry of a bulletin; those in force have one."""
        if told is None or not self.stands(told):
            return None
        return self.around.entry(told.bulletin, told.text)


class Entering:
    """What changed bulletins come to, gathered as *edits* of layers.

    *count* is how many more bulletins are in force.
    """

    def __init__(
        self,
        kept: Kept,
        families: Mapping[str, Family],
        places: Mapping[str, int],
        readers: Mapping[str, Reader],
        ring_words: AbstractSet[str],
    ) -> None:
        self.edits = edits.Edits()
        self.count = 0
        self._kept, self._places, self._readers = kept, places, readers
        self._families = cards.Places(families)
        self._ring_words = ring_words
        self._words: Counter[str] = Counter()
        self._shares: dict[str, dict[int, float | None]] = {}

    def bulletin(self, number: str, change: Change, before: Side, after: Side) -> None:
        """Note every edit that a bulletin's change comes to."""
        place = self._places[number]
        was, now = before.entry(change.before), after.entry(change.after)
        self.count += (now is not None) - (was is not None)
        self._enter_terms(place, was, now)
        self._enter_names(place, change, was, now)
        self._enter_plates(place, change, was, now)
        for way, entry in ((-1, was), (1, now)):
            for word in entry.words if entry else ():
                self._words[word] += way
        self._enter_rows(number, change, now, after)

    def _enter_rows(self, number: str, change: Change, now: Entry | None, after: Side) -> None:
        """Note what is told of a document by its place: card, text and number."""
        place, told = self._places[number], change.after
        if told is None:
            for name in ("cards", "texts"):
                self.edits.add(name, place, edits.always(None))
            self.edits.add("numbers", fold(number), edits.always(None))
            return
        card = cards.card_atom(
            place, told.bulletin, lambda b: told.summary, after.superseded, after.names
        )
        self.edits.add("cards", place, edits.always(card))
        text = atom(place, now.text if now else "", number)
        self.edits.add("texts", place, edits.always(text))
        if change.before is None:
            self.edits.add("numbers", fold(number), edits.always(number_atom(place, number)))

    def _enter_terms(self, place: int, was: Entry | None, now: Entry | None) -> None:
        old, new = _postings(place, was), _postings(place, now)
        for term in old.keys() | new.keys():
            if old.get(term) != new.get(term):
                self.edits.add("terms", term, edits.posting(term, place, new.get(term)))

    def _enter_names(
        self, place: int, change: Change, was: Entry | None, now: Entry | None
    ) -> None:
        """Note the codes and the part numbers that a bulletin names."""
        old = was.codes if was else {}
        new = now.codes if now else {}
        for code in old.keys() | new.keys():
            if old.get(code) != new.get(code):
                self.edits.add("codes", code, edits.code(code, place, new.get(code)))
        had = parts.named(change.before.bulletin, was.parts) if change.before and was else {}
        has = parts.named(change.after.bulletin, now.parts) if change.after and now else {}
        for number in had.keys() | has.keys():
            if had.get(number) != has.get(number):
                self._shares.setdefault(number, {})[place] = has.get(number)

    def _enter_plates(
        self, place: int, change: Change, was: Entry | None, now: Entry | None
    ) -> None:
        old = self._plates(place, change.before if was else None)
        new = self._plates(place, change.after if now else None)
        for family in old.keys() | new.keys():
            if old.get(family) != new.get(family):
                self.edits.add("plates", family, edits.plate(family, place, new.get(family)))

    def _plates(self, place: int, told: Told | None) -> dict[str, list[Any]]:
        if told is None:
            return {}
        bulletin = told.bulletin
        return {
            family: cards.model_card(place, bulletin, models)
            for family, models in self._families.of(bulletin)
        }

    def links(self) -> None:
        """Note which numbers lead to bulletins now, and which no longer."""
        for number, changed in self._shares.items():
            held = self._readers["links"].atom(number)
            were = set(held.value[1]) if held else set()
            are = {at for at in were if at not in changed}
            are |= {at for at, share in changed.items() if share is not None}
            self.edits.add("links", number, edits.shares(number, changed))
            if bool(were) != bool(are):
                for other, step in parts.reached(number, self._kept.beside).items():
                    if step:
                        tied = edits.tie(other, number, step, bool(are))
                        self.edits.add("links", other, tied)

    def words(self) -> dict[str, int]:
        """Note the words that came and went; return how many documents hold each."""
        words = dict(self._kept.words)
        for word, more in self._words.items():
            held = words.get(word, 0)
            words[word] = held + more
            if not words[word]:
                del words[word]
            if bool(held) == (word in words):
                continue
            there = word in words
            self.edits.add("spoken", word, edits.always(speech.word_atom(word) if there else None))
            if speech.is_heard(word) and word not in self._ring_words:
                self.edits.add("sounds", sound(word), edits.sound(sound(word), word, there))
        return words


def _postings(place: int, entry: Entry | None) -> dict[str, tuple[int, int]]:
    """Return posting and mask of each term of a document."""
    if entry is None:
        return {}
    masks = terms.masks_of(entry.lines)
    found = terms.postings_of(place, entry, masks)
    return {term: (posting, masks.get(term, 0)) for term, posting in found.items()}
