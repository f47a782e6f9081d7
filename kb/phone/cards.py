"""Bulletins as the phone's answers show them, and what the answer for a rating plate needs."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from hashlib import sha256
from typing import Any

from kb.checks import OrderError, best_order
from kb.folding import fold
from kb.phone.gathered import Gathered
from kb.phone.pieces import Atom, Layer, Sizes, as_json, atom, in_order, in_turn, layer
from kb.records import Bulletin, Check, Family
from kb.scope import models_of
from kb.standing import standing
from kb.wire import block_to_json

_SUMMARY = 160  # characters
_DRAWN = 16  # cards
_LASTING = 12  # columns of a card that hardly change once it is published
_MOST_DICTIONARY = 5000  # bytes
CARDS = Sizes(least=1200, usual=3000, most=6000)
TEXTS = Sizes(least=4000, usual=12000, most=24000)
PLATES = Sizes(least=4000, usual=16000, most=40000)


def layers(gathered: Gathered, dictionary: bytes) -> Iterator[Layer]:
    """Yield the layers of cards, of rating plates, and of texts for quoted words.

    Cards are packed with the *dictionary*.
    """
    yield layer("cards", _card_atoms(gathered), CARDS, in_turn, dictionary)
    yield layer("plates", _plate_atoms(gathered), PLATES)
    yield layer("texts", _text_atoms(gathered), TEXTS, in_turn)


def dictionary(gathered: Gathered) -> bytes:
    """Return what cards have in common: a few of them, drawn by their numbers.

    Another bulletin hardly ever changes the draw, and with it the pieces of all cards.
    """
    numbers = {bulletin.number: bulletin for bulletin in gathered.documents}
    bulletins = [numbers[number] for number in drawn(numbers)]
    return dictionary_of(bulletins, gathered.summary, gathered.superseded, gathered.names)


def drawn(numbers: Iterable[str]) -> list[str]:
    """Return the bulletin numbers whose cards are drawn."""
    return heapq.nsmallest(
        _DRAWN, numbers, key=lambda number: sha256(number.encode("utf-8", "replace")).digest()
    )


def dictionary_of(
    bulletins: Iterable[Bulletin],
    summary: Callable[[Bulletin], str],
    superseded: Mapping[str, str],
    names: Mapping[str, str],
) -> bytes:
    """Return what cards have in common, from the *bulletins* that are drawn."""
    cards = [_card(bulletin, summary, superseded, names) for bulletin in bulletins]
    return as_json([card[:_LASTING] for card in cards])[-_MOST_DICTIONARY:]


def _card_atoms(gathered: Gathered) -> Iterator[Atom]:
    for document, bulletin in enumerate(gathered.documents):
        yield card_atom(document, bulletin, gathered.summary, gathered.superseded, gathered.names)


def card_atom(
    document: int,
    bulletin: Bulletin,
    summary: Callable[[Bulletin], str],
    superseded: Mapping[str, str],
    names: Mapping[str, str],
) -> Atom:
    """Return the card of a document; *names* are those of parts by folded number."""
    return atom(document, _card(bulletin, summary, superseded, names), bulletin.number)


def _card(
    bulletin: Bulletin,
    summary: Callable[[Bulletin], str],
    superseded: Mapping[str, str],
    names: Mapping[str, str],
) -> list[Any]:
    """Return a card as a list, what is often empty at its end.

    A result says one thing in a line: what to check first, what to leave in, or the summary.
    """
    first = _first(bulletin.checks)
    keep = [names.get(fold(number)) or number for number in bulletin.keep]
    successor = superseded.get(fold(bulletin.number), "")
    card = [
        bulletin.number,
        bulletin.title,
        bulletin.kind,
        bulletin.issued.isoformat(),
        [block_to_json(block) for block in bulletin.where],
        list(bulletin.component),
        list(bulletin.symptoms),
        first,
        list(bulletin.codes),
        list(bulletin.hazards),
        keep,
        "" if first or keep else _shortened(summary(bulletin)),
        _age(bulletin),
        "" if bulletin.status == "in-force" else bulletin.status,
        successor if standing(bulletin, superseded) == "superseded" else "",
    ]
    while card and not card[-1]:
        card.pop()
    return card


def _age(bulletin: Bulletin) -> list[Any]:
    return [bulletin.age.years, bulletin.age.advice] if bulletin.age else []


def _shortened(text: str) -> str:
    """Return *text* cut to what a few lines of a result hold, at the end of a word."""
    if len(text) <= _SUMMARY:
        return text
    return text[:_SUMMARY].rpartition(" ")[0].rstrip(",;: ") + " …"


def _first(checks: Sequence[Check]) -> str:
    if not checks:
        return ""
    try:
        first = checks[best_order(checks)[0]]
    except OrderError:  # reported by the proof; the written order is as good as any
        first = checks[0]
    return first.test or first.cause


def _plate_atoms(gathered: Gathered) -> Iterator[Atom]:
    """Yield for each family its bulletins in force, with the models that they can mean."""
    places = Places(gathered.house.families)
    found: dict[str, list[Any]] = {}
    for document in gathered.held:
        bulletin = gathered.documents[document]
        for family, models in places.of(bulletin):
            found.setdefault(family, []).append(model_card(document, bulletin, models))
    for name in sorted(found, key=in_order):
        yield atom(name, found[name])


class Places:
    """Tells which families a bulletin can mean, and the places of its models in each."""

    def __init__(self, families: Mapping[str, Family]) -> None:
        self._families = families
        self._known: dict[Hashable, list[tuple[str, list[int]]]] = {}
        self._named: dict[str, list[tuple[int, int]]] = {}
        for order, family in enumerate(families.values()):
            for at, model in enumerate(family.models):
                self._named.setdefault(model, []).append((order, at))

    def of(self, bulletin: Bulletin) -> list[tuple[str, list[int]]]:
        """Return each family that *bulletin* can mean with places of models; none for all."""
        meant = tuple((block.families, block.models) for block in bulletin.where)
        if meant not in self._known:
            self._known[meant] = list(self._meant(bulletin))
        return self._known[meant]

    def _meant(self, bulletin: Bulletin) -> Iterator[tuple[str, list[int]]]:
        own: dict[int, list[int]] = {}
        for model in dict.fromkeys(models_of(bulletin.where, self._families)):
            for order, at in self._named[model]:
                own.setdefault(order, []).append(at)
        families = list(self._families.values())
        for order in sorted(own):
            every = len(own[order]) == len(families[order].models)
            yield families[order].name, [] if every else sorted(own[order])


def model_card(document: int, bulletin: Bulletin, models: list[int]) -> list[Any]:
    """Return what a family's plates are told of a document; *models* by place, none for all."""
    where = [block_to_json(block) for block in bulletin.where]
    kind, issued = bulletin.kind, bulletin.issued.isoformat()
    card = [document, bulletin.number, kind, issued, where, models, _age(bulletin)]
    while not card[-1]:
        card.pop()
    return card


def _text_atoms(gathered: Gathered) -> Iterator[Atom]:
    for document, bulletin in enumerate(gathered.documents):
        held = gathered.held.get(document)
        yield atom(document, held.text if held else "", bulletin.number)
