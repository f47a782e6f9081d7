"""Pieces and layers: what is packed comes back, cuts follow keys, and a browser reads the same."""

from __future__ import annotations

import gzip
import random
from collections.abc import Sequence
from hashlib import sha256

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.phone.numbers import shape, shapes
from kb.phone.pieces import (
    Atom,
    Layer,
    Sizes,
    atom,
    by_key,
    cut,
    directory,
    gaps,
    in_order,
    in_turn,
    layer,
    pack,
    unpack,
    varints,
)
from kb.phone.terms import Postings, encode, steps_of
from tests.nodejs import ask_node

SIZES = Sizes(least=40, usual=100, most=200)
RISING = st.sets(st.integers(0, 30000), min_size=1, max_size=60).map(sorted)


def words(count: int, seed: int) -> list[str]:
    """Return so many made-up words in order."""
    rng = random.Random(seed)
    made = {"".join(rng.choices("abcdefgh", k=rng.randint(2, 9))) for _ in range(count)}
    return sorted(made)


def atoms(keys: Sequence[str]) -> list[Atom]:
    """Return an atom of ten bytes for each key."""
    return [Atom(key, key, key, 10) for key in keys]


# Pieces


@settings(deadline=None)
@given(st.recursive(st.none() | st.integers() | st.text(), st.lists), st.lists(st.binary()))
def test_what_is_packed_comes_back(value: object, streams: list[bytes]) -> None:
    """Lone surrogates are no text that a file holds; all else survives."""
    if "\\ud" not in ascii(value):
        assert unpack(pack(value, *streams).content) == (value, b"".join(streams))


def test_a_piece_is_named_after_its_content_and_is_plain_gzip() -> None:
    piece = pack({"pump": [1, 2]}, b"\x00\xff" * 50)
    assert piece.name == sha256(piece.content).hexdigest()[:10]
    assert piece.path == f"data/{piece.name}.bin"
    whole = gzip.decompress(piece.content)
    assert whole == (14).to_bytes(4, "little") + b'{"pump":[1,2]}' + b"\x00\xff" * 50


def test_a_piece_tells_no_time_and_is_the_same_twice() -> None:
    """RFC 1952, section 2.3: bytes 4 to 7 are the time of change, nought for none."""
    one, other = pack(["hums"], b"abc"), pack(["hums"], b"abc")
    assert one == other
    assert one.content[4:8] == b"\0\0\0\0"


@settings(deadline=None)
@given(st.text(max_size=50), st.binary(min_size=1, max_size=200))
def test_a_piece_that_goes_on_from_a_dictionary_comes_back(text: str, dictionary: bytes) -> None:
    piece = pack(text, b"behind", dictionary=dictionary)
    if "\\ud" not in ascii(text):
        assert unpack(piece.content, dictionary) == (text, b"behind")


@settings(deadline=None)
@given(st.lists(st.text()), st.binary(min_size=1, max_size=60))
def test_bare_deflate_never_begins_as_gzip_does(texts: list[str], dictionary: bytes) -> None:
    """RFC 1951, section 3.2.3: block type 3, which 1f would stand for, is reserved."""
    assert pack(texts, dictionary=dictionary).content[0] != 0x1F
    assert pack(texts).content[0] == 0x1F


# Numbers as bytes


@settings(deadline=None)
@given(st.lists(st.integers(0, 2**31 - 1)))
def test_varints_are_those_of_leb128(numbers: list[int]) -> None:
    """Unsigned LEB128 as DWARF 5, section 7.6, gives it: seven bits a byte, low ones first."""
    data, found = varints(numbers), []
    value = shift = 0
    for byte in data:
        value |= (byte & 0x7F) << shift
        shift += 7
        if byte < 0x80:
            found.append(value)
            value = shift = 0
    assert found == numbers
    assert shift == 0


@pytest.mark.parametrize(
    ("number", "written"), [(2, "02"), (127, "7f"), (128, "8001"), (129, "8101"), (12857, "b964")]
)
def test_varints_of_the_published_examples(number: int, written: str) -> None:
    """DWARF 5, figure 50, from memory."""
    assert varints([number]).hex() == written


@settings(deadline=None)
@given(RISING)
def test_gaps_add_up_to_the_numbers(numbers: list[int]) -> None:
    total, found = 0, []
    for step in gaps(numbers):
        total += step
        found.append(total)
    assert found == numbers


READ_STEPS = """
import { readMasks, readSteps } from "SITE/data/terms.js";
const { steps, masks, codes } = asked;
const bytes = (hex) => Uint8Array.from(Buffer.from(hex, "hex"));
answer({
  steps: steps.map(([hex, count]) => {
    const into = new Uint32Array(count);
    return [readSteps(bytes(hex), 0, into), Array.from(into)];
  }),
  masks: Array.from(readMasks(bytes(masks), 0, Uint8Array.from(codes))),
});
"""


def test_the_browser_reads_back_steps_and_masks() -> None:
    rng = random.Random(5)
    lists = [[0], [1], [19999], [0, 1, 2, 3], list(range(0, 20000, 7)), [5, 19998, 19999]]
    lists += [sorted(rng.sample(range(20000), rng.randint(1, 300))) for _ in range(200)]
    masks = [rng.choice([1, 3, 127, 128, 2**20, 2**31 - 1, 300]) for _ in range(100)]
    codes = [each for at in range(100) for each in (at % 32, 32 | at % 25)]
    written = [steps_of(numbers) for numbers in lists]
    found = ask_node(
        READ_STEPS,
        {
            "steps": [
                [data.hex(), len(numbers)] for data, numbers in zip(written, lists, strict=True)
            ],
            "masks": varints(masks).hex(),
            "codes": codes,
        },
    )
    assert found["steps"] == [[len(d), n] for d, n in zip(written, lists, strict=True)]
    assert found["masks"] == [each for mask in masks for each in (0, mask)]


@settings(deadline=None)
@given(RISING)
def test_steps_take_little_more_room_than_there_is_to_tell(numbers: list[int]) -> None:
    """A Rice code of a number takes its rest, one bit, and the low bits: never above this."""
    between = [b - a - 1 for a, b in zip([-1, *numbers], numbers, strict=False)]
    best = min(sum((n >> low) + 1 + low for n in between) for low in range(16))
    assert len(steps_of(numbers)) <= (4 + best * 1.06 + 8) // 8 + 1


def test_a_piece_of_terms_has_its_streams_in_turn() -> None:
    held = Postings([3 << 6 | 12, 9 << 6 | 32 | 24], [5])
    value, steps, codes, masks = encode([Atom("pump", (held, b"\x12"), "pump", 9)])
    assert value == ["pump", [2]]
    assert (steps, codes, masks) == (b"\x12", bytes([12, 24 | 32]), b"\x05")


# Cuts


@settings(deadline=None)
@given(st.integers(0, 300), st.integers(0, 50))
def test_cuts_keep_every_atom_in_order_within_the_sizes(count: int, seed: int) -> None:
    made = atoms(words(count, seed))
    runs = list(cut(made, SIZES))
    assert [each for run in runs for each in run] == made
    assert all(run for run in runs)
    sizes = [sum(each.size for each in run) for run in runs]
    assert all(size <= SIZES.most for size in sizes)
    assert all(size >= SIZES.least for size in sizes[:-1])


@settings(deadline=None)
@given(st.integers(0, 30), st.data())
def test_one_more_key_changes_the_cuts_beside_it_alone(seed: int, data: st.DataObject) -> None:
    keys = words(400, seed)
    fresh = data.draw(st.text("abcdefgh", min_size=3, max_size=8))
    runs = {tuple(each.key for each in run) for run in cut(atoms(keys), SIZES)}
    after = {tuple(each.key for each in run) for run in cut(atoms(sorted({*keys, fresh})), SIZES)}
    assert len(after - runs) <= 6
    assert len(runs) > 25


def test_an_atom_of_more_than_the_most_is_a_piece_by_itself() -> None:
    heavy = Atom("drain", "", "drain", 5000)
    runs = list(cut([*atoms(["a", "b"]), heavy, *atoms(["x", "y"])], SIZES))
    assert [heavy] in runs


def test_pieces_are_about_as_large_as_is_usual() -> None:
    runs = list(cut(atoms(words(4000, 1)), SIZES))
    mean = sum(len(run) * 10 for run in runs) / len(runs)
    assert 0.75 * SIZES.usual < mean < 1.25 * SIZES.usual


def test_nothing_is_cut_into_nothing() -> None:
    assert list(cut([], SIZES)) == []
    assert layer("none", [], SIZES) == Layer("none")


# Layers and the directory


def test_bounds_are_the_shortest_that_tell_pieces_apart() -> None:
    made = layer("words", (atom(key, 1) for key in words(200, 3)), SIZES)
    bounds = [str(bound) for bound in made.bounds]
    assert bounds[0] == ""
    assert bounds == sorted(bounds)
    for bound, piece, before in zip(bounds[1:], made.made[1:], made.made, strict=False):
        first, last = min(unpack(piece.content)[0]), max(unpack(before.content)[0])
        assert last < bound <= first
        assert not last < bound[:-1]


def test_values_by_key_and_in_turn() -> None:
    run = [atom("a", 1), atom("b", [2])]
    run.append(Atom('ä"', {"c": None}, "", 3))
    assert unpack(pack(*by_key(run)).content)[0] == {"a": 1, "b": [2], 'ä"': {"c": None}}
    assert unpack(pack(*in_turn(run)).content)[0] == [1, [2], {"c": None}]


def test_the_directory_holds_bounds_by_layer_and_names_in_turn() -> None:
    texts = layer("texts", (atom(at, "x" * 30, str(at)) for at in range(40)), SIZES, in_turn)
    keys = layer("keys", (atom(key, 1) for key in words(40, 2)), SIZES)
    bounds, names, further = directory([texts, keys, Layer("none")])
    assert further == []
    assert bounds["texts"] == gaps([int(bound) for bound in texts.bounds])
    assert bounds["keys"] == "\n".join(map(str, keys.bounds))
    assert bounds["none"] is None
    assert names.hex() == "".join(p.name for each in (texts, keys) for p in each.pieces)
    assert texts.size == sum(len(piece.content) for piece in texts.made)


READ_FAR = """
import { Pieces, layersOf } from "SITE/data/pieces.js";
import { settle } from "SITE/data/missing.js";
const pieces = new Pieces(async (path) => Uint8Array.from(Buffer.from(asked.files[path], "hex")));
await pieces.load([asked.start]);
const { keys, rows } = layersOf(pieces, pieces.get(asked.start));
const found = [];
for (const key of asked.keys) {
  const held = keys.isHeld(key);
  const value = await settle(pieces, () => keys.value(key));
  found.push([held, value ?? null, keys.isHeld(key)]);
}
const all = await settle(pieces, () => keys.all().flatMap((piece) => Object.keys(piece.value)));
await settle(pieces, () => rows.need([0, 700, 5]));
const row = [];
for (const at of asked.rows) row.push(await settle(pieces, () => rows.row(at)) ?? null);
answer({ found, all, row, far: [keys.far, rows.far] });
"""


def test_a_browser_finds_every_key_of_a_far_layer() -> None:
    listed = words(1500, 4)
    keys = layer("keys", (atom(key, f"about {key}") for key in listed), SIZES)
    rows = layer("rows", (atom(at, f"row {at}", f"{at * 7}") for at in range(800)), SIZES, in_turn)
    bounds, names, further = directory([keys, rows])
    start = pack({"layers": bounds, "shared": 0}, names)
    assert [each.name for each in further] == ["keys places", "rows places"]
    assert len(further[0].pieces) > 1
    every = [start, *(piece for each in (keys, rows, *further) for piece in each.made)]
    asked = [*listed[::9], "", "aaaaaaaa", "zzz", *(key + "a" for key in listed[::31])]
    found = ask_node(
        READ_FAR,
        {
            "start": start.name,
            "files": {piece.path: piece.content.hex() for piece in every},
            "keys": asked,
            "rows": list(range(0, 805, 3)),
        },
    )
    assert found["far"] == [True, True]
    assert [value for _, value, _ in found["found"]] == [
        f"about {key}" if key in listed else None for key in asked
    ]
    assert not found["found"][0][0]
    assert all(after for _, _, after in found["found"])
    assert found["all"] == listed
    assert found["row"] == [f"row {at}" if at < 800 else None for at in range(0, 805, 3)]


def test_one_more_document_amid_the_others_moves_few_places() -> None:
    """Numbers in the pieces of places begin anew in each, so that those behind stay as they are."""

    def placed(count: int, without: int) -> set[str]:
        marks = [f"m{at}" for at in range(count) if at != without]
        atoms = (atom(at, mark * 8, mark) for at, mark in enumerate(marks))
        _, _, further = directory([layer("rows", atoms, SIZES, in_turn)])
        return {piece.name for each in further for piece in each.pieces}

    whole, less = placed(9000, 9000), placed(9000, 3000)
    assert len(whole) > 5
    assert len(less - whole) <= 3


def test_keys_are_in_the_order_of_a_browser() -> None:
    """ECMA-262, IsLessThan: strings are compared by their UTF-16 code units."""
    keys = ["z", "\uff5e", "\U0001f4a7", "a", "", "é", "ab"]
    ordered = ask_node("answer(asked.sort());", keys)
    assert sorted(keys, key=in_order) == ordered


# Shapes of numbers


@pytest.mark.parametrize(
    ("folded", "told"),
    [("HR3104120", "A2D7"), ("2026014", "D7"), ("", ""), ("A/1", "A2D1"), ("Ä9Z", "A1D1A1")],
)
def test_a_shape_tells_runs_of_letters_and_figures(folded: str, told: str) -> None:
    assert shape(folded) == told


def test_the_browser_tells_the_same_shapes() -> None:
    rng = random.Random(9)
    asked = ["".join(rng.choices("AZÄ019/+_𝒜", k=rng.randint(0, 12))) for _ in range(500)]
    script = 'import { shape } from "SITE/data/numbers.js";\nanswer(asked.map(shape));'
    assert ask_node(script, asked) == [shape(each) for each in asked]


def test_shapes_are_each_told_once() -> None:
    assert shapes(["HR3104120", "HR3104126", "TD45A"]) == "A2D2A1 A2D7"
    assert shapes([]) == ""
