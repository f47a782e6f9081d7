"""A layer written anew where its keys changed: every other piece stays, name and bytes, unread.

Where a piece ends depends on the atoms since the last cut alone. So a run is cut anew from the
start of the piece that holds a changed key, and as soon as a new cut falls on an old one all that
follows is as it was, up to the next changed key.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any, NamedTuple

from kb.phone.pieces import (
    Atom,
    Encode,
    Layer,
    Left,
    Piece,
    Sizes,
    begins,
    by_key,
    in_order,
    pack,
    unpack,
)

Key = str | int
Edit = Callable[[Atom | None], Atom | None]  # an atom as it was and as it is; None is for none
Load = Callable[[str], bytes]  # the bytes of a piece by its name


@dataclass(frozen=True, slots=True)
class Kind:
    """How a layer is cut and packed, and how a piece is read back.

    *decode* gives the atoms of a piece, from its value, the bytes behind it and its first key.
    """

    sizes: Sizes
    decode: Callable[[Any, bytes, Any], Iterable[Atom]]
    encode: Encode = by_key
    dictionary: bytes = b""


class KeptLayer(NamedTuple):
    """What is kept of a layer: of each piece its name, its bytes, its first and its last key."""

    name: str
    pieces: Sequence[tuple[str, int, Any, Any]]


def keep(layer: Layer) -> KeptLayer:
    """Return what must be kept of a layer so that it can be written anew."""
    pairs = zip(layer.pieces, layer.ends, strict=True)
    return KeptLayer(layer.name, [(p.name, p.size, first, last) for p, (first, last) in pairs])


def as_it_was(kept: KeptLayer) -> Layer:
    """Return a layer of which nothing changed."""
    made = Layer(kept.name)
    for name, size, first, last in kept.pieces:
        made.add(Left(name, size), first, last)
    return made


class Reader:
    """Reads single atoms of a kept layer."""

    def __init__(self, kept: KeptLayer, kind: Kind, load: Load) -> None:
        self.kept, self.kind = kept, kind
        self._load = load
        self._firsts = [_place(first) for _, _, first, _ in kept.pieces]
        self._read: dict[int, list[Atom]] = {}

    def piece_of(self, key: Key) -> int:
        """Return which piece *key* belongs into."""
        return max(bisect_right(self._firsts, _place(key)) - 1, 0)

    def atoms(self, at: int) -> list[Atom]:
        """Return the atoms of one piece."""
        if at not in self._read:
            name, _, first, _ = self.kept.pieces[at]
            value, rest = unpack(self._load(name), self.kind.dictionary)
            self._read[at] = list(self.kind.decode(value, rest, first))
        return self._read[at]

    def first(self, at: int) -> Atom:
        """Return the first atom of one piece."""
        return self.atoms(at)[0]

    def atom(self, key: Key) -> Atom | None:
        """Return the atom under *key*, None where there is none."""
        if not self.kept.pieces:
            return None
        return next((a for a in self.atoms(self.piece_of(key)) if a.key == key), None)


def _place(key: Key) -> Any:
    return in_order(key) if isinstance(key, str) else key


def rewrite(reader: Reader, edits: Mapping[Key, Edit]) -> Layer:
    """Return a layer with *edits*; what could stay of it has no content."""
    if not edits:
        return as_it_was(reader.kept)
    touched = _touched(reader, edits)
    cutter = _Cutter(Layer(reader.kept.name), reader.kind)
    for at, (name, size, first, last) in enumerate(reader.kept.pieces):
        if at in touched:
            cutter.feed(_edited(reader.atoms(at), touched[at]))
        elif cutter.ends_before(partial(reader.first, at)):
            cutter.layer.add(Left(name, size), first, last)
        else:
            cutter.feed(reader.atoms(at))
    if not reader.kept.pieces:
        cutter.feed(_edited((), edits))
    cutter.close()
    return cutter.layer


def _touched(reader: Reader, edits: Mapping[Key, Edit]) -> dict[int, dict[Key, Edit]]:
    """Return the edits by the piece that they fall into.

    Whether a piece begins with its first atom depends on that atom too, so an edit of it may let
    the piece before go on.
    """
    touched: dict[int, dict[Key, Edit]] = {}
    for key, edit in edits.items():
        at = reader.piece_of(key)
        touched.setdefault(at, {})[key] = edit
        if at and reader.kept.pieces[at][2] == key:
            touched.setdefault(at - 1, {})
    return touched


@dataclass(slots=True)
class _Cutter:
    """Cuts and packs what is fed; *run* is what is not packed yet."""

    layer: Layer
    kind: Kind
    run: list[Atom] = field(default_factory=list)
    held: int = 0

    def feed(self, atoms: Iterable[Atom]) -> None:
        """Take up atoms, packing each run that is full."""
        for each in atoms:
            if self.run and begins(each, self.held, self.kind.sizes):
                self.close()
            self.run.append(each)
            self.held += each.size

    def ends_before(self, first: Callable[[], Atom]) -> bool:
        """Tell whether a cut falls before an atom; if so what stands before it is packed."""
        if self.run and not begins(first(), self.held, self.kind.sizes):
            return False
        self.close()
        return True

    def close(self) -> None:
        """Pack what is left."""
        if self.run:
            piece: Piece = pack(*self.kind.encode(self.run), dictionary=self.kind.dictionary)
            self.layer.add(piece, self.run[0].key, self.run[-1].key)
            self.run, self.held = [], 0


def _edited(atoms: Sequence[Atom], edits: Mapping[Key, Edit]) -> Iterator[Atom]:
    """Yield *atoms*, in the order of their keys, with *edits*."""
    found = {atom.key: atom for atom in atoms}
    for key, edit in edits.items():
        changed = edit(found.get(key))
        if changed is None:
            found.pop(key, None)
        else:
            found[key] = changed
    fresh = edits.keys() - {atom.key for atom in atoms}
    order = sorted(found, key=_place) if fresh else found
    return (found[key] for key in order)
