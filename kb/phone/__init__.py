"""A house written for the phone: pieces of data that a browser fetches as it needs them.

A *piece* is a file ``data/<name>.bin``, named by the first ten hex figures of the SHA-256 of its
content. Unpacked it is a length (four bytes, the lowest first), so many bytes of JSON, and bytes
behind them. It is a gzip file, or bare DEFLATE that goes on from what cards have in common.

A *layer* holds atoms, each under a key, in the order of UTF-16 units; it is cut into pieces where
the keys' own digests say so, so that one change leaves all pieces but a few as they are.

=========== ================================================ ===================================
layer       key                                              value
=========== ================================================ ===================================
words       two letters                                      rows of the word table by word
spoken      word, as a bulletin in force writes it           (itself)
rings       word of a ring                                   (itself)
common      everyday stem                                    (itself)
sounds      how words sound                                  the words that sound so
alike       ring                                             its phrases as stems
terms       stem, ``~ring`` or ``=product``                  postings: see ``kb.phone.terms``
cards       document                                         what a result shows
plates      family                                           bulletins in force for its models
texts       document                                         its words in order, for quotes
models      folded model                                     name, family, place in the family
numbers     folded bulletin number                           number; with its piece's first document
codes       folded code                                      documents that name it
parts, ends folded part number, and that read backwards      number; ``+`` where only kits know it
links       folded part number                               tied numbers, documents, shares
rows        folded part number                               rows, newer numbers, contents
=========== ================================================ ===================================

The piece to *start* from holds what every question needs (house, schemes, families, codes, the
small rest of the word table) and where the pieces of each layer lie. For a layer of many pieces
that few questions need it tells of further pieces that do so (``far``). Documents are the published
bulletins by number: one that is superseded leaves all others in their places.

``data/head.json`` is the one file whose name stays. It tells the newest edition, which is a digest
of all that the start leads to: the same house gives the same edition on any day.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from kb.entries import LEVELS
from kb.folding import fold
from kb.phone import cards, numbers, parts, speech, terms
from kb.phone.gathered import Gathered, Read, gather
from kb.phone.kept import Kept, keep
from kb.phone.written import Written, written
from kb.records import House
from kb.uncollected import uncollected

__all__ = ["Kept", "Written", "write", "write_to_keep"]


def write(house: House, today: date, read: Read) -> Written:
    """Return *house* as pieces of data; the same house on the same day gives the same bytes.

    *read* gives the body of a bulletin.
    """
    with uncollected():
        return _write(gather(house, read), today)


def write_to_keep(house: House, today: date, read: Read) -> tuple[Written, Kept]:
    """Return the same, and what must be kept for ``kb.phone.changing`` to write it anew."""
    with uncollected():
        gathered = gather(house, read)
        made = _write(gathered, today)
        return made, keep(gathered, made)


def _write(gathered: Gathered, today: date) -> Written:
    shared = cards.dictionary(gathered)
    layers = (
        *speech.layers(gathered),
        *terms.layers(gathered.terms),
        *cards.layers(gathered, shared),
        *numbers.layers(gathered),
        *parts.layers(gathered),
    )
    return written(_facts(gathered), layers, shared, today)


def _facts(gathered: Gathered) -> dict[str, Any]:
    """Return what every question needs."""
    house = gathered.house
    families = list(house.families.values())
    facts = {key: getattr(house, key) for key in ("name", "language", "units", "site", "contact")}
    part_numbers = [row.number for row in house.parts] + [row.kit for row in house.kits]
    return {
        "house": facts,
        "count": len(gathered.held),
        "schemes": {name: numbers.scheme_facts(scheme) for name, scheme in house.schemes.items()},
        "families": [numbers.family_facts(family) for family in families],
        "starts": numbers.model_starts(families),
        "codes": numbers.codes(gathered),
        "shapes": {
            "models": numbers.shapes(fold(m) for each in families for m in each.models),
            "numbers": numbers.shapes(gathered.by_number),
            "parts": numbers.shapes({fold(number) for number in part_numbers}),
        },
        "levels": LEVELS,
        "table": speech.small_table(gathered.wording.data),
    }
