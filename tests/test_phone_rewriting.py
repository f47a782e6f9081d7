"""Rewriting where little changed, against a whole new write: the same pieces, byte for byte."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from pickle import dumps, loads
from typing import Any, NamedTuple

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from kb import phone
from kb.house import read_house
from kb.markup import Body, read
from kb.phone import terms
from kb.phone.changes import Change, RowChange, Told
from kb.phone.changing import Rewritten, rewrite
from kb.phone.edits import always
from kb.phone.kept import Kept
from kb.phone.pieces import Atom, Left, Piece, Sizes, by_key, layer, unpack
from kb.phone.rewriting import Kind, Reader, keep
from kb.phone.rewriting import rewrite as rewrite_layer
from kb.records import Bulletin, House, PartLine
from kb.standing import superseded_by

HOUSE = Path(__file__).resolve().parent.parent / "bulletins"
TODAY = date(2026, 11, 25)


# A layer


def lettered(values: Mapping[str, int]) -> list[Atom]:
    """Return atoms of a few bytes each."""
    return [Atom(key, values[key], key, 1 + values[key] % 40) for key in sorted(values)]


KIND = Kind(
    Sizes(least=40, usual=90, most=160),
    lambda value, rest, first: lettered(value),
    by_key,
)
KEYS = st.integers(0, 400).map(lambda number: f"{number:03}")
VALUES = st.dictionaries(KEYS, st.integers(0, 1000), max_size=120)


@settings(deadline=None)
@given(VALUES, st.dictionaries(KEYS, st.none() | st.integers(0, 1000), max_size=8))
def test_a_layer_with_edits_is_the_layer_of_what_it_then_holds(
    before: dict[str, int], changed: dict[str, int | None]
) -> None:
    was = layer("toy", lettered(before), KIND.sizes)
    files = {piece.name: piece.content for piece in was.pieces if isinstance(piece, Piece)}
    reader = Reader(keep(was), KIND, files.__getitem__)
    atoms = {
        atom.key: atom for atom in lettered({k: v for k, v in changed.items() if v is not None})
    }
    made = rewrite_layer(reader, {key: always(atoms.get(key)) for key in changed})
    after = {k: v for k, v in {**before, **changed}.items() if v is not None}
    whole = layer("toy", lettered(after), KIND.sizes)
    assert made.ends == whole.ends
    assert made.bounds == whole.bounds
    assert [piece.name for piece in made.pieces] == [piece.name for piece in whole.pieces]


def test_pieces_far_from_an_edit_are_neither_read_nor_made() -> None:
    was = layer("toy", lettered({f"{n:03}": n for n in range(400)}), KIND.sizes)
    files = {piece.name: piece.content for piece in was.pieces if isinstance(piece, Piece)}
    asked: list[str] = []

    def load(name: str) -> bytes:
        asked.append(name)
        return files[name]

    made = rewrite_layer(Reader(keep(was), KIND, load), {"200": always(Atom("200", 7, "200", 8))})
    assert len(made.pieces) > 50
    assert len(asked) <= 4
    assert sum(isinstance(piece, Left) for piece in made.pieces) >= len(was.pieces) - 4


RISING = st.lists(st.integers(0, 3000), min_size=1, max_size=60, unique=True).map(sorted)


@settings(deadline=None)
@given(st.dictionaries(st.text("abcdef~=", min_size=1), RISING, min_size=1), st.data())
def test_terms_come_back_from_their_piece(
    documents: dict[str, list[int]], data: st.DataObject
) -> None:
    atoms = []
    for term in sorted(documents):
        flags = [data.draw(st.booleans()) for _ in documents[term]]
        pairs = zip(documents[term], flags, strict=True)
        held = [at << 6 | data.draw(st.integers(0, 24)) | 32 * flag for at, flag in pairs]
        masks = [data.draw(st.integers(1, 2**31 - 1)) for flag in flags if flag]
        atoms.append(terms.term_atom(term, terms.Postings(held, masks)))
    value, *streams = terms.encode(atoms)
    assert list(terms.decode(value, b"".join(streams))) == atoms


# A house


class State(NamedTuple):
    """A house with what its bodies say, as written, its files and what was kept of it."""

    house: House
    bodies: Mapping[str, tuple[str, str]]
    kept: Kept
    files: Mapping[str, bytes]


def body_of(bodies: Mapping[str, tuple[str, str]], bulletin: Bulletin) -> Body:
    """Return a body of which the phone reads text and first paragraph alone."""
    text, first = bodies[bulletin.number]
    return Body((), text, first, (), ())


def state_of(house: House, bodies: Mapping[str, tuple[str, str]]) -> tuple[phone.Written, State]:
    """Return a house written as a whole."""
    made, kept = phone.write_to_keep(house, TODAY, lambda b: body_of(bodies, b))
    files = {piece.name: piece.content for piece in made.pieces()}
    return made, State(house, bodies, loads(dumps(kept)), files)


@cache
def begun() -> State:
    """Return a third of the demo house with all of its tables."""
    house = read_house(HOUSE)
    some = replace(house, bulletins=house.bulletins[::3])
    found = {b.number: read(b.body, b.body_line) for b in some.bulletins}
    return state_of(some, {n: (body.text, body.first_paragraph) for n, body in found.items()})[1]


def rewritten(state: State, house: House, bodies: Mapping[str, tuple[str, str]]) -> Any:
    """Return the house written anew from *state*, and the names of the pieces that were read."""
    was = {b.number: b for b in state.house.bulletins}
    now = {b.number: b for b in house.bulletins}

    def told(bulletins: Mapping[str, Bulletin], said: Any, number: str) -> Told | None:
        return Told(bulletins[number], *said[number]) if number in bulletins else None

    changes = [
        Change(told(was, state.bodies, number), told(now, bodies, number))
        for number in dict.fromkeys([*was, *now])
        if was.get(number) != now.get(number) or state.bodies.get(number) != bodies.get(number)
    ]
    rows = [
        RowChange(place, *pair)
        for place, pair in enumerate(zip(state.house.parts, house.parts, strict=True))
        if pair[0] != pair[1]
    ]
    asked: list[str] = []

    def load(name: str) -> bytes:
        asked.append(name)
        return state.files[name]

    made = rewrite(
        state.kept, house.families, changes, lambda n: Told(now[n], *bodies[n]), load, TODAY, rows
    )
    return made, asked


SAID = "drain|pump|hums|cold|zebra|quux7|E21|e-99|leak|drip|not|water|on|floor|does|spin"
WORDS = st.lists(st.sampled_from(SAID.split("|")), max_size=6).map(" ".join)


def edited(data: st.DataObject, house: House, bodies: dict[str, tuple[str, str]]) -> House:
    """Return the house with one edit drawn from *data*; texts change in *bodies*."""
    bulletins, rows = list(house.bulletins), list(house.parts)
    at = data.draw(st.integers(0, len(bulletins) - 1))
    bulletin, part = bulletins[at], data.draw(st.integers(0, len(rows) - 1))
    number = rows[part].number
    fields: dict[str, dict[str, Any]] = {
        "title": {"title": data.draw(WORDS)},
        "symptoms": {"symptoms": (data.draw(WORDS), data.draw(WORDS))},
        "withdraw": {"status": "withdrawn"},
        "revive": {"status": "in-force"},
        "codes": {"codes": tuple(data.draw(st.sets(st.sampled_from(["E21", "E99", "quux7"]))))},
        "supersede": {"supersedes": (data.draw(st.sampled_from(bulletins)).number,)},
        "parts": {"parts": (PartLine(number=number),)},
        "keep": {"keep": (number,)},
        "where": {"where": data.draw(st.sampled_from(bulletins)).where},
    }
    kind = data.draw(st.sampled_from([*fields, "text", "row", "name", "add", "remove"]))
    if kind in fields:
        bulletins[at] = replace(bulletin, **fields[kind])
    elif kind == "text":
        bodies[bulletin.number] = (f"{data.draw(WORDS)}\n{number}", data.draw(WORDS))
    elif kind == "row":
        rows[part] = rows[part]._replace(note="see the left side")
    elif kind == "name":
        rows[part] = rows[part]._replace(name=data.draw(WORDS))
    elif kind == "add":
        added = replace(bulletin, number=f"zz-{len(bulletins):05}")
        bodies[added.number] = bodies[bulletin.number]
        bulletins.append(added)
    else:
        bulletins.remove(max(bulletins, key=lambda b: b.number))
    return replace(house, bulletins=tuple(bulletins), parts=tuple(rows))


@settings(deadline=None, max_examples=40)
@given(st.data())
def test_a_house_written_anew_is_the_house_written_as_a_whole(data: st.DataObject) -> None:
    state = begun()
    for _ in range(2):  # the second goes on from what the first one kept
        bodies, house = dict(state.bodies), state.house
        for _ in range(data.draw(st.integers(1, 3))):
            house = edited(data, house, bodies)
        made, _ = rewritten(state, house, bodies)
        whole, after = state_of(house, bodies)
        assume(made is not None)
        same_as_whole(made, whole)
        for piece in made.written.pieces():
            assert after.files[piece.name] == piece.content
        state = State(house, bodies, made.kept, {**state.files, **after.files})


def same_as_whole(made: Rewritten, whole: phone.Written) -> None:
    """Hold a house written anew to the same house written as a whole."""
    assert made.written.start == whole.start
    assert made.written.head() == whole.head()
    pairs = zip(made.written.layers, whole.layers, strict=True)
    for one, other in pairs:
        assert [p.name for p in one.pieces] == [p.name for p in other.pieces], one.name
        assert [p.size for p in one.pieces] == [p.size for p in other.pieces], one.name


def changed_house(number: str, **fields: Any) -> House:
    house = begun().house
    return replace(
        house,
        bulletins=tuple(replace(b, **fields) if b.number == number else b for b in house.bulletins),
    )


def test_one_changed_text_reads_and_makes_few_pieces() -> None:
    state = begun()
    bulletin = state.house.bulletins[7]
    text, first = state.bodies[bulletin.number]
    made, asked = rewritten(
        state, state.house, {**state.bodies, bulletin.number: (f"{text} zebra", first)}
    )
    fresh = {piece.name for piece in made.written.pieces()} - state.files.keys()
    assert 0 < len(fresh) < len(state.files) / 3
    assert len(set(asked)) < len(state.files) / 3


def test_a_bulletin_that_stood_in_the_way_and_stands_again_takes_its_place() -> None:
    state = begun()
    other, bulletin = state.house.bulletins[3], state.house.bulletins[9]
    house = changed_house(bulletin.number, supersedes=(other.number,), status="in-force")
    made, _ = rewritten(state, house, state.bodies)
    assert superseded_by(house.bulletins)
    same_as_whole(made, state_of(house, state.bodies)[0])


def test_a_bulletin_that_goes_from_amid_the_others_asks_for_a_whole_new_write() -> None:
    state = begun()
    amid = sorted(b.number for b in state.house.bulletins if b.status != "draft")[5]
    made, _ = rewritten(state, changed_house(amid, status="draft"), state.bodies)
    assert made is None


def test_a_new_number_among_the_parts_asks_for_a_whole_new_write() -> None:
    state = begun()
    rows = list(state.house.parts)
    rows[3] = rows[3]._replace(number="ZZ-1")
    made, _ = rewritten(state, replace(state.house, parts=tuple(rows)), state.bodies)
    assert made is None


def test_what_stays_has_no_content_and_lies_where_it_lay() -> None:
    state = begun()
    made, _ = rewritten(state, state.house, state.bodies)
    assert [piece for piece in made.written.pieces() if piece.name not in state.files] == []
    left = [piece for piece in made.written.every() if isinstance(piece, Left)]
    assert left
    for piece in left:
        assert len(state.files[piece.name]) == piece.size
        assert piece.path == f"data/{piece.name}.bin"
    assert unpack(made.written.start.content)[0]["edition"] == made.written.facts["edition"]
