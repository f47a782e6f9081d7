"""Pieces of data under names made from their content, and layers of them cut by their own keys.

Where a layer is cut depends on the keys beside the cut alone, so a change in one place leaves the
pieces of all other places, and with them their names, as they were.
"""

from __future__ import annotations

import gzip
import json
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, NamedTuple

FOLDER = "data/"
_GZIP = 31  # zlib's sign for a gzip file, which then tells no time of day
_BARE = -15  # zlib's sign for bare DEFLATE
_told = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode
_NAME = 5  # bytes of a digest that name a piece: 40 bits, for some thousands of pieces


class Piece(NamedTuple):
    """One file below ``data/``: *name* is 10 hex figures made from its *content*."""

    name: str
    content: bytes

    @property
    def path(self) -> str:
        """The address of the piece below the site."""
        return f"{FOLDER}{self.name}.bin"

    @property
    def size(self) -> int:
        """Its bytes."""
        return len(self.content)


class Left(NamedTuple):
    """A piece that lies there from before and stays: its *name*, and its *size* in bytes."""

    name: str
    size: int

    @property
    def path(self) -> str:
        """The address of the piece below the site."""
        return f"{FOLDER}{self.name}.bin"


def pack(value: object, *streams: bytes, dictionary: bytes = b"") -> Piece:
    """Return the piece that holds a JSON *value* and, behind it, *streams* of bytes.

    Each stream begins a block of its own: what is unlike packs better apart. With a *dictionary*,
    which the reader must have, the piece is bare DEFLATE (RFC 1951) and no gzip file: it goes on as
    if the dictionary stood before it.
    """
    text = as_json(value)
    packer = zlib.compressobj(9, zlib.DEFLATED, _GZIP, 9)
    if dictionary:
        packer = zlib.compressobj(9, zlib.DEFLATED, _BARE, 9, zdict=dictionary)
    packed = [packer.compress(len(text).to_bytes(4, "little") + text)]
    for stream in filter(None, streams):
        packed.append(packer.flush(zlib.Z_BLOCK))
        packed.append(packer.compress(stream))
    content = b"".join((*packed, packer.flush()))
    return Piece(sha256(content).hexdigest()[: 2 * _NAME], content)


class Json(str):
    """A value that is JSON already."""


def as_json(value: object) -> bytes:
    """Return *value* as JSON without blanks."""
    text = value if isinstance(value, Json) else _told(value)
    return text.encode("utf-8", "replace")


def unpack(content: bytes, dictionary: bytes = b"") -> tuple[Any, bytes]:
    """Return what ``pack`` put into a piece: the JSON value and the bytes behind it."""
    if dictionary:
        whole = zlib.decompressobj(_BARE, zdict=dictionary).decompress(content)
    else:
        whole = gzip.decompress(content)
    end = 4 + int.from_bytes(whole[:4], "little")
    return json.loads(whole[4:end]), whole[end:]


def varints(numbers: Iterable[int]) -> bytes:
    """Return whole numbers from 0 up, seven bits a byte, the lowest first; the last is below 128.

    >>> varints([0, 127, 300]).hex()
    '007fac02'
    """
    out = bytearray()
    for number in numbers:
        while number > 127:
            out.append(number & 127 | 128)
            number >>= 7
        out.append(number)
    return bytes(out)


def gaps(numbers: Sequence[int]) -> list[int]:
    """Return rising numbers as the steps between them, the first as it is."""
    return [after - before for before, after in zip([0, *numbers], numbers, strict=False)]


def in_order(text: str) -> bytes:
    """Return a key that sorts texts as a browser compares them: by UTF-16 units."""
    return text.encode("utf-16-be", "surrogatepass")


class Atom(NamedTuple):
    """What is never cut: a *value* under its *key*, which is a text or a document's number.

    *mark* decides whether a piece may begin here; *size* is about its bytes before packing. *told*
    is the value as JSON where that has been made already.
    """

    key: str | int
    value: Any
    mark: str
    size: int
    told: str = ""


def atom(key: str | int, value: Any, mark: str = "") -> Atom:
    """Return an atom as large as its value is in JSON."""
    told = _told(value)
    return Atom(key, value, mark or str(key), len(told), told)


@dataclass(frozen=True, slots=True)
class Sizes:
    """Bytes of a piece before packing: *least* and *most*, and *usual*, at which cuts are aimed."""

    least: int
    usual: int
    most: int


def cut(atoms: Iterable[Atom], sizes: Sizes) -> Iterator[list[Atom]]:
    """Yield runs of *atoms*; a run begins where an atom's mark says so, or the last is full.

    An atom of more than the most is a run by itself.
    """
    run: list[Atom] = []
    held = 0
    for each in atoms:
        if run and begins(each, held, sizes):
            yield run
            run, held = [], 0
        run.append(each)
        held += each.size
    if run:
        yield run


def begins(each: Atom, held: int, sizes: Sizes) -> bool:
    """Tell whether an atom begins a run behind one of *held* bytes."""
    return held + each.size > sizes.most or (held >= sizes.least and _draws(each, sizes))


def _draws(each: Atom, sizes: Sizes) -> bool:
    """Tell whether an atom's mark begins a piece: the larger the atom, the likelier."""
    draw = int.from_bytes(sha256(each.mark.encode("utf-8", "replace")).digest()[:4], "big")
    return draw * max(sizes.usual - sizes.least, 1) < each.size << 32


# How many pieces of a layer the start tells of itself. All else costs one more round trip, which
# the terms never may; that of the cards is made while the words are still on their way.
_NEAR_USUAL = 48
_NEAR = {"terms": 10**6, "plates": 200, "words": 200, "cards": 250}
_AT_ONCE = ("cards",)
_FAR = Sizes(least=400, usual=1000, most=2000)
_WHOLE = Sizes(least=10**9, usual=10**9, most=10**9)

Encode = Callable[[Sequence[Atom]], tuple[object, *tuple[bytes, ...]]]


def by_key(run: Sequence[Atom]) -> tuple[object]:
    """Return the values of a run by their keys."""
    members = (f"{_told(str(each.key))}:{each.told or _told(each.value)}" for each in run)
    return (Json(f"{{{','.join(members)}}}"),)


def in_turn(run: Sequence[Atom]) -> tuple[object]:
    """Return the values of a run in order; the keys are numbers without gaps."""
    return (Json(f"[{','.join(each.told or _told(each.value) for each in run)}]"),)


@dataclass(slots=True)
class Layer:
    """Pieces in the order of their keys; *bounds* holds for each the least key that it is for.

    *ends* are the first and the last key that each piece holds.
    """

    name: str
    bounds: list[str | int] = field(default_factory=list)
    pieces: list[Piece | Left] = field(default_factory=list)
    ends: list[tuple[str | int, str | int]] = field(default_factory=list)

    @property
    def size(self) -> int:
        """All bytes of the layer's pieces."""
        return sum(piece.size for piece in self.pieces)

    @property
    def made(self) -> list[Piece]:
        """The pieces that do not lie there from before."""
        return [piece for piece in self.pieces if isinstance(piece, Piece)]

    def add(self, piece: Piece | Left, first: str | int, last: str | int) -> None:
        """Take up the next piece, which holds the keys from *first* to *last*."""
        self.bounds.append(_bound(self.ends[-1][1], first) if self.ends else type(first)())
        self.pieces.append(piece)
        self.ends.append((first, last))


def layer(
    name: str,
    atoms: Iterable[Atom],
    sizes: Sizes,
    encode: Encode = by_key,
    dictionary: bytes = b"",
) -> Layer:
    """Return *atoms*, which are in order of their keys, as a layer."""
    made = Layer(name)
    for run in cut(atoms, sizes):
        made.add(pack(*encode(run), dictionary=dictionary), run[0].key, run[-1].key)
    return made


def _bound(before: str | int, key: str | int) -> str | int:
    """Return the shortest beginning of *key* that still stands behind *before*."""
    if isinstance(key, int) or isinstance(before, int):
        return key
    same = next((at for at, (a, b) in enumerate(zip(before, key, strict=False)) if a != b), None)
    return key[: (min(len(before), len(key)) if same is None else same) + 1]


def directory(layers: Iterable[Layer]) -> tuple[dict[str, object], bytes, list[Layer]]:
    """Return where the pieces of every layer lie, by its name, and their names as bytes in turn.

    A near layer tells its bounds: texts joined by line ends, numbers as steps. A far one, of many
    pieces, tells as ``far`` the bounds of the pieces that tell where its own lie; those are
    returned as layers by themselves.
    """
    told: dict[str, object] = {}
    names: list[bytes] = []
    further: list[Layer] = []
    for each in layers:
        near, told[each.name] = each, _joined(each.bounds)
        if len(each.pieces) > _NEAR.get(each.name, _NEAR_USUAL):
            near = _places(each)
            told[each.name] = {"far": _joined(near.bounds)}
            further.append(near)
        names += [bytes.fromhex(piece.name) for piece in near.pieces]
    return told, b"".join(names), further


def _places(each: Layer) -> Layer:
    """Return the layer of pieces that tell where those of a far layer lie."""
    made = Layer(f"{each.name} places")
    entries = zip(each.bounds, each.pieces, strict=True)
    atoms = (Atom(bound, piece.name, piece.name, 8 + _length(bound)) for bound, piece in entries)
    for run in cut(atoms, _WHOLE if each.name in _AT_ONCE else _FAR):
        made.bounds.append(run[0].key)
        made.pieces.append(pack(*_place_piece(run)))
    return made


def _length(bound: str | int) -> int:
    return len(bound) if isinstance(bound, str) else 0


def _place_piece(run: Sequence[Atom]) -> tuple[object, bytes]:
    """Return the bounds of a run, numbers from the first one on, and the names of its pieces."""
    first = run[0].key
    bounds = [_from(first, each.key) for each in run]
    return _joined(bounds), b"".join(bytes.fromhex(each.value) for each in run)


def _from(first: str | int, bound: str | int) -> str | int:
    return bound - first if isinstance(bound, int) and isinstance(first, int) else bound


def _joined(bounds: Sequence[str | int]) -> object:
    numbers = [bound for bound in bounds if isinstance(bound, int)]
    texts = [bound for bound in bounds if isinstance(bound, str)]
    return gaps(numbers) if numbers else "\n".join(texts) if texts else None
