"""Answers while one types: half a serial, a serial alone, one letter, beginnings, slips."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st

from kb.asking import Asked
from kb.cli import kb
from kb.dates import Days
from kb.desk import Desk
from kb.matching import Matcher
from kb.places import Code, begins, take_apart
from kb.ranking import Ranking
from kb.records import Scheme
from tests.conftest import SMALL_HOUSE, SOUND_BULLETIN
from tests.memory_index import index_of
from tests.search_house import ODD_HOUSE, TODAY, ask, builtin_wording, numbers, write_house


def scheme(layout: str, **more: object) -> Scheme:
    """Return a scheme with the layout; plants K and L, years by letter unless told otherwise."""
    known: dict[str, Any] = {"plants": {"K": "Kirkholm", "L": "Langrigg"}, "year_first": 2010}
    known |= {"year_letters": "ABCDEFHJKL", "month_letters": "", "week": "iso"}
    return Scheme(name="made", layout=layout, **(known | {"used": Days(None, None)} | more))


@pytest.mark.parametrize("typed", ["K", "KP", "KP1", "KP14", "KP1400", "KP140003", "kp 14", "K-P"])
def test_a_serial_being_typed_leaves_the_unit_in_view(odd_desk: Desk, typed: str) -> None:
    whole = ask(odd_desk, "TD45A")
    assert whole
    assert ask(odd_desk, f"TD45A {typed}") == whole


@pytest.mark.parametrize(
    ("typed", "begun"),
    [("KP14", "KP14"), ("K P 14", "K P 14"), ("serial kp1", "kp1"), ("L", ""), ("ZZ14", "")],
)
def test_what_may_become_a_serial_is_told_apart_from_words(
    odd_desk: Desk, typed: str, begun: str
) -> None:
    asked = odd_desk.finder.find(f"TD45A {typed}").asked
    assert asked.begun == begun
    assert not asked.serial
    if begun:
        assert asked.words == ()


@pytest.mark.parametrize("text", ["TD45A KP14 ", "TD45A KP14 hums", "KP14", "KP14 TD45A"])
def test_only_what_is_typed_last_behind_a_model_is_a_serial_begun(
    odd_desk: Desk, text: str
) -> None:
    assert odd_desk.finder.find(text).asked.begun == ""


def test_the_beginning_of_a_word_or_code_of_the_house_is_no_serial_begun(odd_desk: Desk) -> None:
    # L is a plant and E a year letter, but bulletins speak of leaks; E2 begins the code E21.
    for typed in ("se", "we", "e2", "f"):
        assert odd_desk.finder.find(f"TD45A {typed}").asked.begun == ""


def test_a_serial_without_a_model_says_what_it_can_be_of(odd_desk: Desk) -> None:
    for typed in ("KP1400031", "k p 14 00031"):
        found = odd_desk.finder.find(typed)
        assert found.results == ()
        assert found.asked.words == ()
        assert "add the model" in found.note
        assert typed in found.note


def test_a_serial_that_one_family_alone_bears_names_it_and_when_it_was_built(
    tmp_path: Path,
) -> None:
    families = (
        "Tarn:\n  product: dishwasher\n  models: [TD45A]\n  produced: 2020-01..\n  scheme: hollin\n"
        "Cairn:\n  product: washer\n  models: [CW7A]\n  produced: ..2015-12\n  scheme: hollin\n"
    )
    names = [name for name in SMALL_HOUSE if name.endswith("families.yaml")]
    files = {**SMALL_HOUSE, names[0]: families, "2026/2026-014.md": SOUND_BULLETIN}
    desk = Desk(write_house(tmp_path / "bulletins", files), TODAY)
    note = desk.finder.find("KP1400031").note
    assert note == (
        "the serial KP1400031 alone is that of a dishwasher (Tarn) built 2022-W14: add the model"
    )


def test_words_beside_a_serial_alone_are_answered_and_the_model_asked_for(tmp_path: Path) -> None:
    odd_house = write_house(tmp_path / "bulletins", ODD_HOUSE)
    told = CliRunner().invoke(
        kb, ["--house", str(odd_house), "--today", "2026-11-25", "find", "KP1400031 drum knocks"]
    )
    assert "2026-015" in told.stdout
    assert "The serial KP1400031 alone" in told.stdout
    assert "Nothing found" not in told.stdout


@pytest.mark.parametrize("letter", ["a", "k", "z", "1"])
def test_a_single_letter_behind_a_unit_hides_nothing_yet(odd_desk: Desk, letter: str) -> None:
    assert set(ask(odd_desk, f"TD45A {letter}")) == set(ask(odd_desk, "TD45A"))


def test_two_letters_that_begin_nothing_hide_nothing_yet(odd_desk: Desk) -> None:
    assert set(ask(odd_desk, "TD45A qx")) == set(ask(odd_desk, "TD45A"))
    assert ask(odd_desk, "TD45A qxv") == []
    assert ask(odd_desk, "TD45A qx ") == []


@pytest.mark.parametrize(
    ("serial", "sound"),
    [
        ("", True),
        ("K", True),
        ("M", False),
        ("KA", True),
        ("KI", False),
        ("KA5", True),
        ("KAX", False),
        ("KA53", True),
        ("KA54", False),
        ("KA5300", True),
        ("KA53O", False),
        ("KA53000", True),
        ("KA530001", True),
        ("KA5300012", False),
        ("KA53000123", False),
    ],
)
def test_the_beginning_of_a_serial_is_sound_place_by_place(serial: str, sound: bool) -> None:
    assert begins(serial, scheme("P Y WW NNNNN")) is sound


@given(st.text(alphabet="KLABZ0123456789", min_size=9, max_size=9))
def test_every_beginning_of_a_sound_serial_is_one(serial: str) -> None:
    made = scheme("P Y WW NNNNN")
    if isinstance(take_apart(serial, made), Code):
        assert all(begins(serial[:end], made) for end in range(9))
    assert not begins(serial, made)


@given(st.integers(0, 99), st.integers(1, 12), st.integers(0, 9999))
def test_serials_of_figures_alone_begin_with_figures(year: int, month: int, number: int) -> None:
    made = scheme("YY MM NNNN", plants={}, year_letters="")
    whole = f"{year:02}{month:02}{number:04}"
    assert all(begins(whole[:end], made) for end in range(8))
    assert not any(begins(f"{whole[:end]}X", made) for end in range(7))


def test_a_rare_word_that_is_begun_stands_behind_the_common_one_that_is_typed() -> None:
    wording = builtin_wording()
    titles = ["Water stays in the sump", "Water drips", "Water is cold", "Waterworks and their age"]
    index = index_of(wording, [{"title": title} for title in titles] + [{"title": "Belt"}] * 6)
    groups = Matcher(wording, index).groups(["water"], unfinished=True)
    asked = Asked(text="water", words=("water",), unfinished=True)
    hits = Ranking(index, wording).rank(asked, groups, {})
    assert [hit.document for hit in hits][-1] == 3
    assert len(hits) == 4


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("squaels", "squeals"),
        ("sueqals", "squeals"),
        ("qsueals", "squeals"),
        ("xsqueals", "squeals"),
        ("squels", "squeals"),
        ("dqueals", "squeals"),  # neither letter is right, and no word with them is like it
    ],
)
def test_slips_are_looked_for_among_words_that_begin_alike_first(typed: str, meant: str) -> None:
    wording = builtin_wording()
    index = index_of(wording, [{"title": "Belt squeals"}, {"title": "Drum knocks"}])
    (group,) = Matcher(wording, index).groups([typed], unfinished=False)
    assert meant in {variant.shown for variant in group.words[0].variants}


def test_a_word_that_begins_alike_is_meant_rather_than_one_that_does_not() -> None:
    wording = builtin_wording()
    index = index_of(wording, [{"title": "Quebble turns"}, {"title": "Zuebbla turns"}])
    (group,) = Matcher(wording, index).groups(["quebbla"], unfinished=False)
    assert {variant.shown for variant in group.words[0].variants} == {"quebble"}


def test_bulletins_that_fit_alike_stand_by_number(odd_desk: Desk) -> None:
    found = odd_desk.finder.find("TD45A")
    assert found.results
    index = odd_desk.finder._index
    held = [index.stored(document).number for document in index.documents()]
    assert held == sorted(held)
    assert numbers(found)
