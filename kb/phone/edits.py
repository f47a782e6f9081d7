"""Edits of single atoms: one document, word or row put in, changed or taken out of each layer."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from itertools import accumulate
from typing import Any

from kb.phone import cards, numbers, parts, speech, terms
from kb.phone.pieces import Atom, atom, gaps, in_order, in_turn
from kb.phone.rewriting import Edit, Key, Kind


class Edits:
    """Edits by layer and key; several of one key follow each other."""

    def __init__(self) -> None:
        self._layers: dict[str, dict[Key, Edit]] = {}

    def add(self, layer: str, key: Key, edit: Edit) -> None:
        """Take up an edit of the atom under *key*."""
        held = self._layers.setdefault(layer, {})
        before = held.get(key)
        held[key] = edit if before is None else lambda atom: edit(before(atom))

    def of(self, layer: str) -> Mapping[Key, Edit]:
        """Return the edits of one layer."""
        return self._layers.get(layer, {})


def kinds(documents: Sequence[str], shared: bytes) -> dict[str, Kind]:
    """Return how each layer that bulletins change is written; *documents* are the numbers so far.

    *shared* is what the pieces of cards go on from.
    """

    def by_document(value: Any, rest: bytes, first: int) -> list[Atom]:
        return [atom(at, each, documents[at]) for at, each in enumerate(value, first)]

    return {
        "spoken": Kind(speech.WORDS, _words, speech.joined),
        "sounds": Kind(speech.WORDS, _by_key),
        "terms": Kind(terms.SIZES, _terms, terms.encode),
        "cards": Kind(cards.CARDS, by_document, in_turn, shared),
        "plates": Kind(cards.PLATES, _by_key),
        "texts": Kind(cards.TEXTS, by_document, in_turn),
        "numbers": Kind(numbers.NUMBERS, _numbers, numbers.from_first),
        "codes": Kind(numbers.CODES, _by_key),
        "links": Kind(parts.LINKS, _by_key),
        "rows": Kind(parts.ROWS, _by_key),
    }  # fmt: skip


def _by_key(value: Any, rest: bytes, first: str) -> list[Atom]:
    return [atom(key, each) for key, each in value.items()]


def _terms(value: Any, rest: bytes, first: str) -> list[Atom]:
    return list(terms.decode(value, rest))


def _words(value: Any, rest: bytes, first: str) -> list[Atom]:
    return [speech.word_atom(word) for word in value.split(" ")]


def _numbers(value: Any, rest: bytes, first: str) -> list[Atom]:
    return [numbers.number_atom(at, each) for at, each in enumerate(value[1].split("\n"), value[0])]


def always(changed: Atom | None) -> Edit:
    """Return the edit that puts *changed* there, whatever was there."""
    return lambda atom: changed


def _edit_list(key: str, edit: Callable[[list[Any]], None]) -> Edit:
    """Return an edit of an atom that holds a list and goes when nothing is left in it."""

    def edited(before: Atom | None) -> Atom | None:
        value = list(before.value) if before else []
        edit(value)
        return atom(key, value) if value else None

    return edited


def posting(term: str, document: int, told: tuple[int, int] | None) -> Edit:
    """Return the edit that gives a term its posting and mask of lines in *document*, or none."""

    def edited(before: Atom | None) -> Atom | None:
        was = before.value[0] if before else terms.Postings(())
        held, masks = list(was.held), list(was.masks)
        at = bisect_left(held, document << 6)
        lined = sum(terms.has_lines(each) for each in held[:at])
        if at < len(held) and held[at] >> 6 == document and terms.has_lines(held.pop(at)):
            del masks[lined]
        if told:
            held.insert(at, told[0])
            masks[lined:lined] = [told[1]] if terms.has_lines(told[0]) else []
        return terms.term_atom(term, terms.Postings(held, masks)) if held else None

    return edited


def sound(heard: str, word: str, is_there: bool) -> Edit:
    """Return the edit that puts *word* among those that sound so, or takes it away."""

    def edited(before: Atom | None) -> Atom | None:
        words = set(before.value.split(" ")) if before else set()
        words = words | {word} if is_there else words - {word}
        return atom(heard, " ".join(sorted(words, key=in_order))) if words else None

    return edited


def plate(family: str, document: int, card: list[Any] | None) -> Edit:
    """Return the edit that gives a family's plates the card of *document*, or none."""

    def edit(value: list[Any]) -> None:
        at = bisect_left(value, document, key=lambda each: each[0])
        if at < len(value) and value[at][0] == document:
            del value[at]
        if card:
            value.insert(at, card)

    return _edit_list(family, edit)


def code(folded: str, document: int, place: str | None) -> Edit:
    """Return the edit that notes that *document* names a code, in ``front`` or ``body``, or not."""

    def edit(value: list[Any]) -> None:
        documents = accumulate(each >> 1 for each in value)
        fronts = {at: each & 1 for at, each in zip(documents, value, strict=True)}
        fronts.pop(document, None)
        if place:
            fronts[document] = int(place == "front")
        steps = gaps(sorted(fronts))
        rows = zip(steps, sorted(fronts), strict=True)
        value[:] = [2 * step + fronts[at] for step, at in rows]

    return _edit_list(folded, edit)


def shares(number: str, changed: Mapping[int, float | None]) -> Edit:
    """Return the edit that gives documents their share in a part number, None for none."""

    def edited(before: Atom | None) -> Atom | None:
        tied, documents, told = before.value if before else ([], [], [])
        found = {**dict(zip(documents, told, strict=True)), **changed}
        rows = [(at, share) for at, share in sorted(found.items()) if share is not None]
        return _link(number, tied, rows)

    return edited


def tie(number: str, other: str, step: int, is_tied: bool) -> Edit:
    """Return the edit that ties *number* to an *other* that bulletins name, or unties it."""

    def edited(before: Atom | None) -> Atom | None:
        tied, documents, told = before.value if before else ([], [], [])
        kept = [each for each in tied if each[0] != other]
        kept += [[other, step]] if is_tied else []
        kept.sort(key=lambda each: in_order(each[0]))
        return _link(number, kept, list(zip(documents, told, strict=True)))

    return edited


def _link(number: str, tied: list[Any], rows: Sequence[tuple[int, float]]) -> Atom | None:
    if not (tied or rows):
        return None
    return atom(number, [tied, [row[0] for row in rows], [row[1] for row in rows]])
