"""What is kept of a house as written for the phone, so that the next one costs what has changed.

All of it is plain data that pickles well. What can be read back from the pieces is not kept.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from kb.folding import fold
from kb.phone import cards, speech
from kb.phone.gathered import Gathered
from kb.phone.parts import steps_between
from kb.phone.rewriting import KeptLayer
from kb.phone.rewriting import keep as keep_layer
from kb.phone.written import Written
from kb.wordtable import stem_list


class Superseding(NamedTuple):
    """As much of a bulletin as tells what it supersedes."""

    number: str
    issued: date
    status: str
    supersedes: tuple[str, ...]


class Kept(NamedTuple):
    """A house as it was last written.

    *own* is what the start told, *shared* the dictionary of the cards. *numbers* are the documents
    by place, *words* tells how many of those in force are written with a word, *codes* how many
    give a code, by folded code and by how they write it. *names* and *later* hold the parts' names
    by folded number, of the first row and of the last where it differs; *beside* which numbers are
    one step apart. *asleep* are the documents not in force by the folded numbers that they keep.
    *relevant* are the terms that the word table leads to, *living* those of them that lead on to a
    document. *drawn* are the documents whose cards *shared* was made from.
    """

    layers: Mapping[str, KeptLayer]
    own: Mapping[str, Any]
    shared: bytes
    table: Mapping[str, Any]
    relevant: frozenset[str]
    living: frozenset[str]
    drawn: Sequence[str]
    numbers: Sequence[str]
    superseding: Sequence[Superseding]
    asleep: Mapping[str, Sequence[str]]
    words: Mapping[str, int]
    codes: Mapping[str, Mapping[str, int]]
    names: Mapping[str, str]
    later: Mapping[str, str]
    beside: Mapping[str, Sequence[str]]


def keep(gathered: Gathered, written: Written) -> Kept:
    """Return what must be kept of a house for ``kb.phone.changing``."""
    house, wording = gathered.house, gathered.wording
    last = {fold(row.number): row.name for row in house.parts}
    stems = stem_list({word: wording.stem(word) for word in gathered.spoken})
    relevant = frozenset(speech.told_by_table(wording.data))
    numbers = [bulletin.number for bulletin in gathered.documents]
    return Kept(
        layers=keep_layers(written),
        own=written.own,
        shared=written.shared,
        table={**wording.data, "stems": f"{wording.data['stems']} {stems}".strip()},
        relevant=relevant,
        living=relevant & gathered.terms.keys(),
        drawn=cards.drawn(numbers),
        numbers=numbers,
        superseding=[
            Superseding(b.number, b.issued, b.status, b.supersedes)
            for b in gathered.documents
            if b.supersedes
        ],
        asleep=_asleep(gathered),
        words=dict(gathered.spoken),
        codes=_codes(gathered),
        names=dict(gathered.names),
        later={key: name for key, name in last.items() if name != gathered.names[key]},
        beside=steps_between(house).beside,
    )


def keep_layers(written: Written) -> dict[str, KeptLayer]:
    """Return what must be kept of the layers of a house."""
    return {each.name: keep_layer(each) for each in written.layers if " " not in each.name}


def _asleep(gathered: Gathered) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for document, bulletin in enumerate(gathered.documents):
        if document not in gathered.held:
            for number in dict.fromkeys(map(fold, bulletin.keep)):
                found.setdefault(number, []).append(bulletin.number)
    return found


def _codes(gathered: Gathered) -> dict[str, Counter[str]]:
    found: dict[str, Counter[str]] = {}
    for document in gathered.held:
        for code in gathered.documents[document].codes:
            found.setdefault(fold(code), Counter())[code] += 1
    return found
