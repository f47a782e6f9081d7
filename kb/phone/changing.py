"""A house written for the phone anew, where little changed since it was last written.

Documents are places in the list of published bulletins. So a bulletin that comes or goes amid the
others moves all behind it, and only a whole new write is right: ``rewrite`` then returns None.
"""

from __future__ import annotations

from collections import ChainMap, Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple, cast

from kb.folding import fold
from kb.indexing import Surroundings
from kb.phone import cards, edits, parts, speech
from kb.phone.changes import (
    Beyond,
    Change,
    RowChange,
    Told,
    numbers_after,
    published,
    superseding_after,
)
from kb.phone.entering import Entering, Side
from kb.phone.kept import Kept, keep_layers
from kb.phone.numbers import codes_told, shapes
from kb.phone.pieces import Layer, atom
from kb.phone.rewriting import Load, Reader, as_it_was
from kb.phone.rewriting import rewrite as rewrite_layer
from kb.phone.written import Written, written
from kb.records import Bulletin, Family
from kb.standing import superseded_by
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
        self.around = Surroundings(Wording(kept.table), families, {}, kept.codes)
        self.names, self.later = kept.names, kept.later
        self.drawn = kept.drawn if self.numbers == kept.numbers else cards.drawn(self.numbers)
        self.superseding = superseding_after(kept.superseding, changes)
        self.rows: dict[str, list[Any]] = {}
        ring_words = self.around.wording.ring_words
        self.entering = Entering(kept, families, self.places, self.readers, ring_words)
        self.edits = self.entering.edits

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
        self.names = {**self.names, key: names[0]}
        self.later = {**self.later, key: names[-1]}
        if names[-1] == names[0]:
            del self.later[key]
        linked = self.readers["links"].atom(key)
        self.take_along(self.kept.numbers[at] for at in (linked.value[1] if linked else ()))
        self.take_along(self.kept.asleep.get(key, ()))

    def sides(self) -> tuple[Side, Side]:
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
        return before, Side(now, around, self.names)

    def _side(
        self, superseded: Mapping[str, str], names: Mapping[str, str], later: Mapping[str, str]
    ) -> Side:
        return Side(superseded, self._around(names, later, self.kept.codes), names)

    def _around(
        self, names: Mapping[str, str], later: Mapping[str, str], codes: Mapping[str, Any]
    ) -> Surroundings:
        every = ChainMap(cast(dict[str, str], later), cast(dict[str, str], names))
        return Surroundings(self.around.wording, self.around.families, every, codes)

    def _codes(self, before: Side, after: Side) -> dict[str, dict[str, int]]:
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

    def check_dictionary(self, after: Side) -> None:
        """See that what all cards go on from is as it was."""
        if self.numbers == self.kept.numbers and self.changes.keys().isdisjoint(self.drawn):
            return
        told = {
            n: cast(Told, self.changes[n].after) if n in self.changes else self.told(n)
            for n in self.drawn
        }
        shared = cards.dictionary_of(
            [told[n].bulletin for n in self.drawn],
            lambda b: told[b.number].summary,
            after.superseded,
            after.names,
        )
        if shared != self.kept.shared:
            raise Beyond

    def living(self) -> frozenset[str]:
        """Return the terms of the word table that lead to a document now."""
        living = set(self.kept.living)
        for term in self.edits.of("terms").keys() & self.kept.relevant:
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

    def asleep(self, after: Side) -> dict[str, list[str]]:
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
        for number, change in self.changes.items():
            self.entering.bulletin(number, change, before, after)
        self.entering.links()
        words = self.entering.words()
        living = self.living()
        own = {
            **self.kept.own,
            "count": self.kept.own["count"] + self.entering.count,
            "codes": codes_told(self.codes),
        }
        if self.numbers != self.kept.numbers:
            own["shapes"] = {**own["shapes"], "numbers": shapes(map(fold, self.numbers))}
        made = written(own, list(self.layers(living).values()), self.kept.shared, today)
        kept = self.kept._replace(
            layers=keep_layers(made), own=own, living=living, drawn=self.drawn,
            numbers=self.numbers, words=words, superseding=self.superseding,
            asleep=self.asleep(after), codes=self.codes, names=self.names, later=self.later,
        )  # fmt: skip
        return Rewritten(made, kept)
