"""What a publish keeps in its database is there again, and is found by the facts looked up."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from zlib import crc32

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.making.keeping import Sections
from kb.making.memory import Damaged, Made, Memory

NAMES = st.sampled_from(["bulletin 1", "bulletin 2", "model A", "model B", "part ä", ""])
FACTS = st.frozensets(st.sampled_from(["card 1", "card 2", "today", "part x", "\udc80"]))
FILES = st.lists(st.tuples(st.text("ab/", max_size=4), st.integers(0, 9)), max_size=3).map(tuple)
MADE = st.builds(Made, st.sampled_from(["one", "other"]), FILES, st.just(()))
PUTS = st.lists(st.tuples(NAMES, st.none() | st.tuples(MADE, FACTS)), max_size=12)


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    with tempfile.TemporaryDirectory() as name:
        yield Path(name)


@settings(deadline=None)
@given(first=st.dictionaries(NAMES, st.tuples(MADE, FACTS)), then=PUTS, asked=FACTS)
def test_units_are_as_they_were_last_put_and_found_by_every_fact(
    folder: Path,
    first: dict[str, tuple[Made, frozenset[str]]],
    then: list[tuple[str, tuple[Made, frozenset[str]] | None]],
    asked: frozenset[str],
) -> None:
    there = dict(first)
    with closing(Memory.new(folder / "known")) as memory:
        for name, value in first.items():
            memory.put_unit(name, *value)
        memory.index()
        for name, again in then:
            if again is None:
                memory.drop_units([name])
                there.pop(name, None)
            else:
                memory.put_unit(name, *again)
                there[name] = again
        memory.commit(lasting=True)
    with closing(Memory(folder / "known")) as memory:
        assert memory.every() == {name: made for name, (made, _) in there.items()}
        assert memory.made(["model A", "nobody"]) == {
            name: made for name, (made, _) in there.items() if name == "model A"
        }
        for group in ("one", "other"):
            assert memory.names(group) == {n for n, (m, _) in there.items() if m.group == group}
        found = memory.units_that_saw(asked)
        assert all(
            name in found[made.group] for name, (made, facts) in there.items() if facts & asked
        )
        assert all(there[name][0].group == group for group in found for name in found[group])


def test_two_facts_of_one_number_find_each_others_units_and_no_others(tmp_path: Path) -> None:
    one, other = "plumless", "buckeroo"  # a known pair; the assertion holds it to that
    assert crc32(one.encode()) == crc32(other.encode())
    with closing(Memory.new(tmp_path / "known")) as memory:
        memory.put_unit("a", Made("g", (), ()), [one])
        memory.put_unit("b", Made("g", (), ()), ["else"])
        memory.index()
        assert memory.units_that_saw([other]) == {"g": {"a"}}


def test_very_many_facts_and_names_are_asked_for_at_once(tmp_path: Path) -> None:
    with closing(Memory.new(tmp_path / "known")) as memory:
        for number in range(3_000):
            memory.put_unit(f"u{number}", Made("g", ((f"p{number}", 1),), ()), [f"f{number}"])
        memory.index()
        names = {f"u{number}" for number in range(3_000)}
        assert memory.units_that_saw(f"f{number}" for number in range(3_000)) == {"g": names}
        assert memory.made(names).keys() == names


@settings(deadline=None)
@given(
    before=st.dictionaries(st.text(max_size=2), st.integers()),
    turns=st.lists(st.tuples(st.text(max_size=2), st.none() | st.integers())),
)
def test_sections_are_a_dictionary_and_are_there_again(
    folder: Path, before: dict[str, int], turns: list[tuple[str, int | None]]
) -> None:
    with closing(Memory.new(folder / "known")) as memory:
        memory.put_section("another", "kind")
        for name, number in before.items():
            memory.put_section(f"kind {name}", number)
        memory.commit(lasting=False)
        there, sections = dict(before), Sections("kind", memory)
        for name, value in turns:
            assert sections.get(name) == there.get(name)
            if value is not None:
                there[name] = value
                sections[name] = value
            elif name in there:
                del there[name], sections[name]
            else:
                with pytest.raises(KeyError):
                    del sections[name]
        assert dict(sections) == there
        assert len(sections) == len(there)
        memory.begin()
        sections.put(memory)
        memory.commit(lasting=False)
        assert dict(Sections("kind", memory)) == there
        assert memory.section("another") == "kind"


def test_what_is_not_there_is_damage(tmp_path: Path) -> None:
    with closing(Memory.new(tmp_path / "known")) as memory, pytest.raises(Damaged):
        memory.section("nothing")
