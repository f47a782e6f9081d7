"""A house written for the phone: pieces of data that a browser fetches as it needs them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date
from hashlib import sha256
from typing import Any, NamedTuple

from kb.entries import LEVELS
from kb.folding import fold
from kb.pages.page import Asset
from kb.phone import cards, numbers, parts, speech, terms
from kb.phone.gathered import Gathered, Read, gather
from kb.phone.pieces import FOLDER, Layer, Piece, directory, pack
from kb.records import House

__all__ = ["Written", "write"]

HEAD = f"{FOLDER}head.json"


class Written(NamedTuple):
    """A house as written: the piece to *start* from, and the *layers* that it leads to."""

    start: Piece
    facts: Mapping[str, Any]
    layers: tuple[Layer, ...]

    def pieces(self) -> list[Piece]:
        """Return every piece once, the one to start from first."""
        rest = {piece.name: piece for layer in self.layers for piece in layer.pieces}
        return list({self.start.name: self.start, **rest}.values())

    def head(self, **carried: Any) -> Asset:
        """Return the one file whose name stays: what is newest; *carried* tells more."""
        text = json.dumps({**self.facts, **carried}, separators=(",", ":")) + "\n"
        return Asset(HEAD, text.encode())

    def assets(self) -> Iterator[Asset]:
        """Yield every file, each once."""
        for piece in self.pieces():
            yield Asset(piece.path, piece.content)
        yield self.head()


def write(house: House, today: date, read: Read) -> Written:
    """Return *house* as pieces of data; the same house on the same day gives the same bytes.

    *read* gives the body of a bulletin.
    """
    gathered = gather(house, read)
    found = terms.postings(gathered)
    layers = (
        *speech.layers(gathered, found),
        *terms.layers(found),
        *cards.layers(gathered),
        *numbers.layers(gathered),
        *parts.layers(gathered),
    )
    bounds, names, further = directory(layers)
    layers = (*layers, *further)
    facts = {**_facts(gathered), "layers": bounds}
    edition = sha256(json.dumps(facts, sort_keys=True).encode() + names).hexdigest()[:10]
    start = pack({"edition": edition, "made": today.isoformat(), **facts}, names)
    pieces = {piece.name: piece for layer in layers for piece in layer.pieces} | {start.name: start}
    head = {
        "edition": edition,
        "start": start.path,
        "made": today.isoformat(),
        "count": len(gathered.entries),
        "size": sum(len(piece.content) for piece in pieces.values()),
    }
    return Written(start, head, layers)


def _facts(gathered: Gathered) -> dict[str, Any]:
    """Return what every question needs."""
    house = gathered.house
    families = list(house.families.values())
    facts = {key: getattr(house, key) for key in ("name", "language", "units", "site", "contact")}
    part_numbers = [row.number for row in house.parts] + [row.kit for row in house.kits]
    return {
        "house": facts,
        "count": len(gathered.entries),
        "schemes": {name: numbers.scheme_facts(scheme) for name, scheme in house.schemes.items()},
        "families": [numbers.family_facts(family) for family in families],
        "starts": numbers.model_starts(families),
        "codes": numbers.codes(gathered),
        "shapes": {
            "numbers": numbers.shapes(gathered.by_number),
            "parts": numbers.shapes({fold(number) for number in part_numbers}),
        },
        "levels": LEVELS,
        "table": speech.small_table(gathered.wording.data),
    }
