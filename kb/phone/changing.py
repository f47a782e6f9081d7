"""A house written for the phone anew, where little changed since it was last written.

Documents are places in the list of published bulletins. So a bulletin that comes or goes amid the
others moves all behind it, and only a whole new write is right: ``rewrite`` then returns None.
"""

from __future__ import annotations

from collections import ChainMap, Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NamedTuple, cast

from kb.entries import Entry
from kb.folding import fold
from kb.indexing import Surroundings
from kb.phone import cards, edits, parts, speech, terms
from kb.phone.changes import (
    Beyond,
    Change,
    RowChange,
    Told,
    numbers_after,
    published,
    superseding_after,
)
from kb.phone.kept import Kept, keep_layers
from kb.phone.numbers import codes_told, number_atom, shapes
from kb.phone.pieces import Layer, atom
from kb.phone.rewriting import Load, Reader, as_it_was
from kb.phone.rewriting import rewrite as rewrite_layer
from kb.phone.written import Written, written
from kb.records import Bulletin, Family
from kb.spelling import sound
from kb.standing import standing, superseded_by
from kb.wording import Wording


class Rewritten(NamedTuple):
    """A house written anew, and what to keep of it. Pieces that stay have no content."""

    written: Written
    kept: Kept


def rewrite(
    kept: Kept,
    families: Mapping[str, Family],
    changes: Sequence[Change],
    told: Callable[[str], Told],
    load: Load,
    today: date,
    rows: Sequence[RowChange] = (),
) -> Rewritten | None:
    """Return the house as ``kb.phone.write`` would; None where it must be written as a whole.

    Nothing but *changes* and *rows* may have changed since *kept* was. *families* are those of the
    house, *told* gives an unchanged bulletin by its number where one must be looked at, *load* the
    bytes of a piece by its name.
    """
    try:
        work = _Work(kept, families, told, load, published(changes))
        for row in rows:
            work.change_row(row)
        return work.done(today)
    except Beyond:
        return None


@dataclass(frozen=True, slots=True)
class _Side:
    """How the house was, or is: what stands, and what entries depend on."""

    superseded: Mapping[str, str]
    around: Surroundings
    names: Mapping[str, str]

    def stands(self, told: Told | None) -> bool:
        return told is not None and standing(told.bulletin, self.superseded) == "in-force"

    def entry(self, told: Told | None) -> Entry | None:
        if told is None or not self.stands(told):
            return None
        return self.around.entry(told.bulletin, told.text)


class _Work:
    """What one change comes to, gathered as edits of layers."""

    def __init__(
        self,
        kept: Kept,
        families: Mapping[str, Family],
        told: Callable[[str], Told],
        load: Load,
        changes: dict[str, Change],
    ) -> None:
        self.kept, self.told, self.changes = kept, told, changes
        self.numbers = numbers_after(kept.numbers, changes)
        self.places = {number: at for at, number in enumerate(self.numbers)}
        self.places |= {number: at for at, number in enumerate(kept.numbers)}
        kinds = edits.kinds(kept.numbers, kept.shared)
        self.readers = {name: Reader(kept.layers[name], kinds[name], load) for name in kinds}
        self.edits = edits.Edits()
        self.families = cards.Places(families)
        self.around = Surroundings(Wording(kept.table), families, {}, kept.codes)
        self.names, self.later = dict(kept.names), dict(kept.later)
        self.superseding = superseding_after(kept.superseding, changes)
        self.rows: dict[str, list[Any]] = {}
        self.words: Counter[str] = Counter()
        self.shares: dict[str, dict[int, float | None]] = {}
        self.count = int(kept.own["count"])

    def take_along(self, numbers: Iterable[str]) -> None:
        """Look at unchanged bulletins too: what stands in them now comes to something else."""
        for number in numbers:
            if number not in self.changes:
                told = self.told(number)
                self.changes[number] = Change(told, told)

    def change_row(self, row: RowChange) -> None:
        """Take up a row of parts.csv; its number and what replaces it must be as they were."""
        was, now = row.before, row.after
        key = fold(now.number)
        held = self.readers["rows"].atom(key)
        if (was.number, was.replaced_by) != (now.number, now.replaced_by) or held is None:
            raise Beyond
        rows = self.rows.setdefault(key, list(held.value[0]))
        rows[:] = [
            parts.row_told(row.place, now) if each[0] == row.place else each for each in rows
        ]
        changed = atom(key, [rows, *held.value[1:]])
        self.edits.add("rows", key, edits.always(changed))
        if was.name != now.name:
            self._rename(key, [each[2] if len(each) > 2 else "" for each in rows])

    def _rename(self, key: str, names: Sequence[str]) -> None:
        self.names[key] = names[0]
        self.later.pop(key, None)
        if names[-1] != names[0]:
            self.later[key] = names[-1]
        linked = self.readers["links"].atom(key)
        self.take_along(self.kept.numbers[at] for at in (linked.value[1] if linked else ()))
        self.take_along(self.kept.asleep.get(key, ()))

    def sides(self) -> tuple[_Side, _Side]:
        """Return how the house was and how it is, and take along what that comes to."""
        were = superseded_by(cast(Iterable[Bulletin], self.kept.superseding))
        now = superseded_by(cast(Iterable[Bulletin], self.superseding))
        moved = {key for key, _ in were.items() ^ now.items()}
        if moved:
            self.take_along([n for n in self.numbers if fold(n) in moved])
        before = self._side(were, self.kept.names, self.kept.later)
        after = self._side(now, self.names, self.later)
        self.codes = self._codes(before, after)
        for code in self.codes.keys() ^ self.kept.codes.keys():
            if not code.isascii() or code.lower() in self.kept.table["spelled"]:
                raise Beyond
            told = self.readers["terms"].atom(code.lower())
            self.take_along(
                self.kept.numbers[at] for at in (told.value[0].documents if told else ())
            )
        around = self._around(self.names, self.later, self.codes)
        return before, _Side(now, around, self.names)

    def _side(
        self, superseded: Mapping[str, str], names: Mapping[str, str], later: Mapping[str, str]
    ) -> _Side:
        return _Side(superseded, self._around(names, later, self.kept.codes), names)

    def _around(
        self, names: Mapping[str, str], later: Mapping[str, str], codes: Mapping[str, Any]
    ) -> Surroundings:
        every = ChainMap(cast(dict[str, str], later), cast(dict[str, str], names))
        return Surroundings(self.around.wording, self.around.families, every, codes)

    def _codes(self, before: _Side, after: _Side) -> dict[str, dict[str, int]]:
        """Return how many documents in force give each code, by how they write it."""
        found: dict[str, Counter[str]] = {}
        for side, way, which in ((before, -1, 0), (after, 1, 1)):
            for change in self.changes.values():
                told = change[which]
                for code in told.bulletin.codes if told and side.stands(told) else ():
                    key = fold(code)
                    found.setdefault(key, Counter(self.kept.codes.get(key, {})))[code] += way
        left = {key: {c: n for c, n in each.items() if n > 0} for key, each in found.items()}
        every = {**self.kept.codes, **left}
        return {key: dict(each) for key, each in every.items() if each}

    def enter(self, number: str, before: _Side, after: _Side) -> None:
        """Note every edit that a bulletin's change comes to."""
        change, place = self.changes[number], self.places[number]
        was, now = before.entry(change.before), after.entry(change.after)
        self.count += (now is not None) - (was is not None)
        self._enter_terms(place, was, now)
        self._enter_names(place, change, was, now)
        self._enter_plates(place, change, was, now)
        for way, entry in ((-1, was), (1, now)):
            for word in entry.words if entry else ():
                self.words[word] += way
        told = change.after
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
                self.shares.setdefault(number, {})[place] = has.get(number)

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
            for family, models in self.families.of(bulletin)
        }

    def enter_links(self) -> None:
        """Note which numbers lead to bulletins now, and which no longer."""
        for number, changed in self.shares.items():
            held = self.readers["links"].atom(number)
            were = set(held.value[1]) if held else set()
            are = {at for at in were if at not in changed}
            are |= {at for at, share in changed.items() if share is not None}
            self.edits.add("links", number, edits.shares(number, changed))
            if bool(were) != bool(are):
                for other, step in parts.reached(number, self.kept.beside).items():
                    if step:
                        tied = edits.tie(other, number, step, bool(are))
                        self.edits.add("links", other, tied)

    def enter_words(self) -> dict[str, int]:
        """Note the words that came and went; return how many documents hold each."""
        words = dict(self.kept.words)
        ring_words = self.around.wording.ring_words
        for word, more in self.words.items():
            held = words.get(word, 0)
            words[word] = held + more
            if not words[word]:
                del words[word]
            if bool(held) == (word in words):
                continue
            there = word in words
            self.edits.add("spoken", word, edits.always(speech.word_atom(word) if there else None))
            if speech.is_heard(word) and word not in ring_words:
                self.edits.add("sounds", sound(word), edits.sound(sound(word), word, there))
        return words

    def check_dictionary(self, after: _Side) -> None:
        """See that what all cards go on from is as it was."""
        drawn = cards.drawn(self.numbers)
        if self.numbers == self.kept.numbers and self.changes.keys().isdisjoint(drawn):
            return
        told = {
            n: cast(Told, self.changes[n].after) if n in self.changes else self.told(n)
            for n in drawn
        }
        shared = cards.dictionary_of(
            [told[n].bulletin for n in drawn],
            lambda b: told[b.number].summary,
            after.superseded,
            after.names,
        )
        if shared != self.kept.shared:
            raise Beyond

    def living(self) -> frozenset[str]:
        """Return the terms of the word table that lead to a document now."""
        living = set(self.kept.living)
        relevant = speech.told_by_table(self.kept.table)
        for term in self.edits.of("terms").keys() & relevant:
            held = self.readers["terms"].atom(str(term))
            if self.edits.of("terms")[term](held) is None:
                living.discard(str(term))
            else:
                living.add(str(term))
        return frozenset(living)

    def layers(self, living: frozenset[str]) -> dict[str, Layer]:
        """Return every layer with its edits."""
        made = {
            name: rewrite_layer(self.readers[name], self.edits.of(name))
            if name in self.readers
            else as_it_was(layer)
            for name, layer in self.kept.layers.items()
        }
        if living != self.kept.living:
            made["words"] = speech.words_layer(self.kept.table, living)
            made["alike"] = speech.alike_layer(self.kept.table, living)
        return made

    def asleep(self, after: _Side) -> dict[str, list[str]]:
        """Return the documents not in force by the folded numbers that they keep."""
        found = {key: [n for n in numbers if n not in self.changes]
                 for key, numbers in self.kept.asleep.items()}  # fmt: skip
        for number, change in self.changes.items():
            if change.after and not after.stands(change.after):
                for key in dict.fromkeys(map(fold, change.after.bulletin.keep)):
                    found.setdefault(key, []).append(number)
        return {key: numbers for key, numbers in found.items() if numbers}

    def done(self, today: date) -> Rewritten:
        """Return the house with every edit."""
        before, after = self.sides()
        self.check_dictionary(after)
        for number in self.changes:
            self.enter(number, before, after)
        self.enter_links()
        words = self.enter_words()
        living = self.living()
        own = {**self.kept.own, "count": self.count, "codes": codes_told(self.codes)}
        if self.numbers != self.kept.numbers:
            own["shapes"] = {**own["shapes"], "numbers": shapes(map(fold, self.numbers))}
        made = written(own, list(self.layers(living).values()), self.kept.shared, today)
        kept = self.kept._replace(
            layers=keep_layers(made), own=own, living=living, numbers=self.numbers, words=words,
            superseding=self.superseding, asleep=self.asleep(after), codes=self.codes,
            names=self.names, later=self.later,
        )  # fmt: skip
        return Rewritten(made, kept)


def _postings(place: int, entry: Entry | None) -> dict[str, tuple[int, int]]:
    """Return posting and mask of each term of a document."""
    if entry is None:
        return {}
    masks = terms.masks_of(entry.lines)
    found = terms.postings_of(place, entry)
    return {term: (posting, masks.get(term, 0)) for term, posting in found.items()}
