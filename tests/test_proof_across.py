"""Rules across bulletins in force: contradictions, repeated titles, units left without a note."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.proof.look import Look
from kb.records import Block, Bulletin, Check, Count, PartLine
from tests.proof_house import TODAY, broken, bulletin, house, part, said

TABLE = (
    part("HR-40-1", name="main control", replaced_by="HR-40-2", relation="same"),
    part("HR-40-2", name="main control"),
    part("HR-50-1", name="valve"),
)
HUMS = ("hums but does not drain",)


def tarn(built: str = "..", **fields: Any) -> tuple[Block, ...]:
    return (Block(families=("Tarn",), built=parse_days(built), **fields),)


def keeps(name: str = "HR-40-2", **fields: Any) -> Bulletin:
    given_here = {"symptoms": HUMS, "keep": (name,), "issued": date(2025, 1, 1), **fields}
    return bulletin("2025-001", **given_here)


def fits(number: str = "HR-40-2", **fields: Any) -> Bulletin:
    given_here = {"symptoms": HUMS, "parts": (PartLine(number=number),), **fields}
    return bulletin("2026-001", **given_here)


def against(*bulletins: Bulletin) -> list[str]:
    return said(house(*bulletins, parts=TABLE), "keep-against-fit")


@pytest.mark.parametrize("keep", ["HR-40-2", "hr402", "main control", "HR-40-1"])
@pytest.mark.parametrize("fit", ["HR-40-2", "HR-40-1"])
def test_keep_here_and_fit_there_is_a_contradiction(keep: str, fit: str) -> None:
    assert len(against(keeps(keep), fits(fit))) == 1


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (keeps(), fits("HR-50-1")),
        (keeps("HR-50-1"), fits()),
        (keeps(), fits(symptoms=("door leaks",))),
        (keeps(), fits(symptoms=())),
        (keeps(), fits(where=(Block(families=("Cairn",)),))),
        (keeps(where=tarn("2020")), fits(where=tarn("2021.."))),
        (keeps(where=tarn(plants=("K",))), fits(where=tarn(plants=("L",)))),
        (keeps(where=tarn(models=("TD45*",))), fits(where=tarn(models=("TD60A",)))),
        (keeps(where=tarn(revision=Count(1, 2))), fits(where=tarn(revision=Count(3, None)))),
        (keeps(status="withdrawn"), fits()),
        (keeps(), fits(status="draft")),
        (keeps(), fits(supersedes=("2025-001",))),
    ],
)
def test_other_parts_symptoms_units_or_times_are_none(one: Bulletin, other: Bulletin) -> None:
    assert against(one, other) == []


def test_a_check_that_fits_it_contradicts_as_well() -> None:
    checks = (Check(cause="control", parts=("HR-40-2",)),)
    assert len(against(keeps(), fits("HR-50-1", checks=checks))) == 1


def test_the_later_bulletin_is_told() -> None:
    later = keeps(issued=date(2026, 9, 1), lines={"keep": 15, "keep[0]": 16})
    (problem,) = broken(house(later, fits(), parts=TABLE), "keep-against-fit")
    assert (problem.file, problem.line) == ("2026/2025-001.md", 16)
    earlier = fits(lines={"parts[0].number": 21})
    (problem,) = broken(house(keeps(), earlier, parts=TABLE), "keep-against-fit")
    assert (problem.file, problem.line) == ("2026/2026-001.md", 21)
    assert "2025-001 says to keep 'HR-40-2'" in problem.message


def test_a_code_stands_for_the_symptom_where_none_is_given() -> None:
    assert len(against(keeps(codes=("E21",)), fits(symptoms=(), codes=("e-21",)))) == 1
    assert against(keeps(codes=("E21",)), fits(symptoms=("leaks",), codes=("E21",))) == []


def test_a_contradiction_is_told_once_for_all_symptoms_shared() -> None:
    signs = ("hums", "stays wet", "smells")
    assert len(against(keeps(symptoms=signs), fits(symptoms=signs, codes=("E1",)))) == 1


def titled(number: str, title: str = "Drain pump hums", **fields: Any) -> Bulletin:
    return bulletin(number, title=title, **fields)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({}, True),
        ({"title": "DRAIN  pump hums"}, True),
        ({"title": "Drain pump hums again"}, False),
        ({"status": "draft"}, False),
        ({"supersedes": ("2026-001",)}, False),
        ({"where": tarn("..2017")}, True),
        ({"where": (Block(families=("Cairn",)),)}, False),
    ],
)
def test_one_title_for_the_same_units_is_told(fields: dict[str, Any], told: bool) -> None:
    one = house(titled("2026-001"), titled("2026-002", issued=date(2026, 4, 1), **fields))
    assert [p.file for p in broken(one, "title-twice")] == ["2026/2026-002.md"] * told


def test_a_heap_of_one_title_is_told_at_each_but_the_first() -> None:
    heap = [titled(f"2026-{n:03}") for n in range(120)]
    assert len(said(house(*heap), "title-twice")) == 119


def replaced(old: tuple[Block, ...], *new: tuple[Block, ...]) -> list[str]:
    later = [bulletin(f"2026-{n:03}", where=w, supersedes=("2025-1",)) for n, w in enumerate(new)]
    first = bulletin("2025-1", where=old, issued=date(2025, 1, 1))
    return said(house(first, *later), "successor-narrower")


@pytest.mark.parametrize(
    ("old", "new", "left"),
    [
        (tarn(), tarn(), ""),
        (tarn("2020"), tarn("2019..2021"), ""),
        (tarn("2020..2022"), tarn("2020..2021"), "2022"),
        (tarn(), tarn(models=("TD45*",)), "TD60A"),
        (tarn(), tarn(plants=("K",)), "plant L"),
        (tarn(), tarn(revision=Count(2, None)), "revision"),
        (tarn(), (Block(families=("Cairn",)),), "TD45A, TD45B and TD60A"),
        (tarn(models=("TD60A",)), (Block(models=("TD*",)),), ""),
    ],
)
def test_units_left_without_their_note_are_named(
    old: tuple[Block, ...], new: tuple[Block, ...], left: str
) -> None:
    messages = replaced(old, new)
    assert bool(messages) is bool(left)
    assert all(left in message for message in messages)


def test_two_successors_cover_together() -> None:
    assert replaced(tarn(), tarn(models=("TD45*",)), tarn(models=("TD60A",))) == []


def test_what_was_withdrawn_needs_no_cover() -> None:
    old = bulletin("2025-1", status="withdrawn")
    new = bulletin("2026-1", where=tarn("2020"), supersedes=("2025-1",))
    assert said(house(old, new), "successor-narrower") == []


DAY = st.dates(date(2017, 1, 1), date(2025, 12, 31))
RANGE = st.builds(lambda a, b: Days(min(a, b), max(a, b)), DAY, DAY)


@given(RANGE, RANGE)
def test_a_successor_is_narrower_just_where_a_day_is_left_over(old: Days, new: Days) -> None:
    messages = replaced(
        (Block(families=("Tarn",), built=old),), (Block(families=("Tarn",), built=new),)
    )
    assert bool(messages) == (not new.covers(old))


@given(RANGE, RANGE)
def test_two_bulletins_overlap_just_where_they_share_a_day(a: Days, b: Days) -> None:
    one = bulletin("2026-001", where=(Block(families=("Tarn",), built=a),))
    other = bulletin("2026-002", where=(Block(families=("Tarn",), built=b),))
    look = Look(house(one, other), TODAY)
    assert look.overlap(one, other) == look.overlap(other, one) == (a.meet(b) is not None)


@pytest.mark.parametrize("rule", ["keep-against-fit", "title-twice", "applies-to-none"])
def test_a_bulletin_with_errors_is_not_held_against_others(rule: str) -> None:
    sound = house(keeps(title="One"), parts=TABLE)
    away = replace(tarn()[0], but_not=tarn())
    broken_one = fits(title="One", where=(*tarn(), away))
    one = replace(sound, unsound=(broken_one,))
    assert said(one, rule) == []


@pytest.mark.parametrize(("kept", "fitted"), [(HUMS, ()), ((), HUMS), ((), ())])
def test_a_code_is_enough_where_one_of_the_two_names_no_symptom(
    kept: tuple[str, ...], fitted: tuple[str, ...]
) -> None:
    one, other = keeps(symptoms=kept, codes=("E21",)), fits(symptoms=fitted, codes=("E21",))
    assert len(against(one, other)) == 1


def test_of_one_day_the_higher_number_is_told() -> None:
    day = date(2026, 3, 2)
    (problem,) = broken(house(keeps(issued=day), fits(issued=day), parts=TABLE), "keep-against-fit")
    assert problem.file == "2026/2026-001.md"
