"""Names made fit for folder names on every file system."""

from __future__ import annotations

import re
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.slugs import folder_name, folders, slug


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("drain pump", "drain-pump"),
        ("Hums, but does not drain!", "hums-but-does-not-drain"),
        ("won't start", "wont-start"),
        ("  a  --  b  ", "a-b"),
        ("Türdichtung", "türdichtung"),
        ("pompe de vidange d’eau", "pompe-de-vidange-d-eau"),
        ("مضخة التصريف", "مضخة-التصريف"),
        ("排水ポンプ", "排水ポンプ"),
        ("1/2 in", "1-2-in"),
        ("..", "x"),
        ("", "x"),
        ("///", "x"),
        ("CON", "con-"),
        ("index", "index-"),
        ("a" * 300, "a" * 80),
    ],
)
def test_a_name_becomes_a_folder_name(name: str, expected: str) -> None:
    assert slug(name) == expected


@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("2026-014", "2026-014"),
        ("2026.014", "2026.014"),
        ("TD45A", "TD45A"),
        ("HR-310-4126", "HR-310-4126"),
        ("../../etc/passwd", "etc-passwd"),
        ("..", "x"),
        (".hidden", "hidden"),
        ("a.", "a"),
        ("a/b", "a-b"),
        ("a\\b", "a-b"),
        ("a b", "a-b"),
        ("NUL", "NUL-"),
        ("com1.txt", "com1-txt"),
        ("index.html", "index-html"),
    ],
)
def test_a_number_keeps_its_writing_where_that_is_safe(number: str, expected: str) -> None:
    assert folder_name(number) == expected


def test_names_that_look_alike_are_told_apart_in_the_same_way_every_time() -> None:
    assert folders(["a b", "a-b", "A B"]) == folders(["A B", "a b", "a-b"])
    assert sorted(folders(["a b", "a-b", "A B"]).values()) == ["a-b", "a-b-2", "a-b-3"]


def test_numbers_that_differ_in_case_only_get_folders_of_their_own() -> None:
    made = folders(["td45a", "TD45A"], plain=False)
    assert len({place.casefold() for place in made.values()}) == 2


# What Windows does not take in a name, from Microsoft's "Naming Files, Paths, and Namespaces"
# (from memory): these characters, a dot or blank at the end, and these device names.
BAD = re.compile(r'[<>:"/\\|?*\x00-\x1f]|[. ]$|^(con|prn|aux|nul|com\d|lpt\d)(\..*)?$', re.I)


@given(st.text(max_size=100), st.booleans())
def test_no_name_makes_a_folder_that_a_file_system_refuses(name: str, plain: bool) -> None:
    made = slug(name) if plain else folder_name(name)
    assert made
    assert not BAD.search(made)
    assert made not in (".", "..")
    assert "~" not in made
    assert len(made.encode()) <= 90


@given(st.lists(st.text(max_size=8), max_size=20), st.booleans())
def test_every_name_gets_a_folder_of_its_own(names: list[str], plain: bool) -> None:
    made = folders(names, plain)
    assert set(made) == set(names)
    assert len({place.casefold() for place in made.values()}) == len(set(names))


@pytest.mark.parametrize(
    ("names", "made"),
    [
        (["a b", "a-b", "a b 2"], {"a b": "a-b", "a b 2": "a-b-2", "a-b": "a-b-3"}),
        (["", "..", "//"], {"": "x", "..": "x-2", "//": "x-3"}),
        (["Straße", "STRASSE"], {"STRASSE": "strasse", "Straße": "strasse-2"}),
        (["e\u0301", "\u00e9"], {"e\u0301": "é", "\u00e9": "é-2"}),
        (["index", "INDEX"], {"INDEX": "index-", "index": "index--2"}),
    ],
)
def test_names_that_make_the_same_folder_are_numbered(
    names: list[str], made: dict[str, str]
) -> None:
    assert folders(names) == made


@given(st.lists(st.text(max_size=8), max_size=12), st.randoms(use_true_random=False))
def test_the_order_of_names_does_not_matter(names: list[str], rng: Random) -> None:
    shuffled = [*names]
    rng.shuffle(shuffled)
    assert folders(names) == folders(shuffled + names[:2])


@given(st.text(max_size=100))
def test_a_folder_name_stays_when_it_is_made_again(name: str) -> None:
    assert slug(slug(name)) == slug(name)


def test_very_long_names_that_begin_alike_are_told_apart() -> None:
    made = folders(["a" * 200 + "b", "a" * 200 + "c"])
    assert sorted(made.values()) == ["a" * 80, "a" * 80 + "-2"]
