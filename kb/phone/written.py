"""A house as written: its layers, the piece that leads to them, and the head file that names it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from hashlib import sha256
from typing import Any, NamedTuple

from kb.pages.page import Asset
from kb.phone.pieces import FOLDER, Layer, Left, Piece, directory, pack

HEAD = f"{FOLDER}head.json"


class Written(NamedTuple):
    """A house as written: the piece to *start* from, and the *layers* that it leads to.

    *facts* are what the head file tells, *own* what the start tells beside the layers' places.
    """

    start: Piece
    facts: Mapping[str, Any]
    layers: tuple[Layer, ...]
    own: Mapping[str, Any]
    shared: bytes

    def every(self) -> list[Piece | Left]:
        """Return every piece once, the one to start from first; some may lie there from before."""
        rest = {piece.name: piece for layer in self.layers for piece in layer.pieces}
        return list({self.start.name: self.start, **rest}.values())

    def pieces(self) -> list[Piece]:
        """Return every piece that was made, once, the one to start from first."""
        return [piece for piece in self.every() if isinstance(piece, Piece)]

    def head(self, **carried: Any) -> Asset:
        """Return the one file whose name stays: what is newest; *carried* tells more."""
        text = json.dumps({**self.facts, **carried}, separators=(",", ":")) + "\n"
        return Asset(HEAD, text.encode())

    def assets(self) -> Iterator[Asset]:
        """Yield every file that was made, each once."""
        for piece in self.pieces():
            yield Asset(piece.path, piece.content)
        yield self.head()


def written(own: Mapping[str, Any], layers: Sequence[Layer], shared: bytes, today: date) -> Written:
    """Return *layers* as a house; *own* is what the start tells beside them.

    *shared* is what the pieces of cards go on from.
    """
    bounds, names, further = directory(layers)
    every = (*layers, *further)
    facts = {**own, "layers": bounds, "shared": len(shared)}
    edition = sha256(json.dumps(facts, sort_keys=True).encode() + names).hexdigest()[:10]
    start = pack({"edition": edition, "made": today.isoformat(), **facts}, names, shared)
    sizes = {piece.name: piece.size for layer in every for piece in layer.pieces}
    head = {
        "edition": edition,
        "start": start.path,
        "made": today.isoformat(),
        "count": own["count"],
        "size": sum({**sizes, start.name: start.size}.values()),
    }
    return Written(start, head, every, own, shared)
