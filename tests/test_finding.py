"""The answer to a typed line: what applies to the unit, what stands, and how it is given."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from kb.applies import answer
from kb.desk import Desk
from kb.errors import NotFound
from kb.house import read_house
from kb.plate import RANK
from kb.records import House
from kb.units import make_unit
from tests.conftest import SMALL_HOUSE
from tests.search_house import ODD_HOUSE, TODAY, ask, numbers, write_house

QUESTIONS = [
    "noise", "does not drain", "door", "water on the floor", "leak", "too hot", "E21", "F-21",
    "Er 5", "H21", "L-31", "err 21", "no power", "hums but does not drain", "burning smell",
    "frost", "drum does not turn", "HR-310-4126", "hr 320", "fan", "code", "safety recall",
    "takes too long", "clicks", "pump", "heater", "light", "wont start", "vibrates", "se",
]  # fmt: skip
SERIALS = {
    "Tarn": ["", "KH1000001", "LM0500123", "KP1400031", "LS2300007", "KU0100001", "KX0100001"],
    "Cairn": ["", "KE2000001", "KM2000345", "LU0300500", "KX0100001"],
    "Scree": ["", "KN0300100", "LT4500010", "KP2500010"],
    "Moraine": ["", "18045K0117", "S07300412", "L20200111", "20366S0009"],
    "Lantern": ["", "18045K0117", "S07300412", "L40200111", "12 001 K 0001"],
}


@pytest.fixture(scope="module")
def house(demo_bulletins: Path) -> House:
    """Return the demo house."""
    return read_house(demo_bulletins)


UNITS = [
    (f"{model}{digit}", serial)
    for family, models in {
        "Tarn": ["TD45A", "TD45B", "TD60A", "TD60B", "TD60S"],
        "Cairn": ["CW7A", "CW8A", "CW8B", "CW9A", "CW9D"],
        "Scree": ["SD7V", "SD8C", "SD8H", "SD9H", "SD8G"],
        "Moraine": ["MR30F", "MR30K", "MR36D", "MZ20U", "MR36W"],
        "Lantern": ["LN60E", "LN60P", "LN60G", "LN80N", "LN90R"],
    }.items()
    for model, (digit, serial) in product(models, zip("0123456", SERIALS[family], strict=False))
]


def test_every_model_of_the_demo_house_is_tried(house: House) -> None:
    tried = {model[:-1] for model, _ in UNITS}
    assert tried == {model for family in house.families.values() for model in family.models}


@pytest.mark.parametrize("question", QUESTIONS)
def test_with_a_unit_nothing_is_shown_that_cannot_apply(
    demo_desk: Desk, house: House, question: str
) -> None:
    where = {bulletin.number: bulletin.where for bulletin in house.bulletins}
    for model, serial in UNITS:
        unit = make_unit(house, model, serial, TODAY)
        for result in demo_desk.finder.find(question, model, serial, limit=1000).results:
            truth = answer(where[result.card.number], unit, house, TODAY)
            assert result.answer == truth
            assert truth.applies in {"yes", "maybe"}, (model, serial, result.card.number)
            assert result.card.stands


@pytest.mark.parametrize("question", QUESTIONS[:12])
def test_with_everything_what_does_not_apply_is_shown_as_such(
    demo_desk: Desk, house: House, question: str
) -> None:
    where = {bulletin.number: bulletin.where for bulletin in house.bulletins}
    for model, serial in UNITS[::9]:
        found = demo_desk.finder.find(question, model, serial, limit=1000, everything=True)
        fewer = demo_desk.finder.find(question, model, serial, limit=1000)
        unit = make_unit(house, model, serial, TODAY)
        for result in found.results:
            assert result.answer is not None
            truth = answer(where[result.card.number], unit, house, TODAY)
            assert result.answer.applies == truth.applies
        kept = {r.card.number for r in found.results if r.answer and r.answer.applies != "no"}
        assert kept <= set(numbers(fewer))


@pytest.mark.parametrize("model", ["TD60B", "CW8A/2", "MR30F", "LN60P"])
def test_yes_stands_before_maybe_among_what_fits_well(demo_desk: Desk, model: str) -> None:
    share = demo_desk.wording.thresholds["fits_well"]
    for question in QUESTIONS:
        results = demo_desk.finder.find(question, model, limit=1000).results
        best = max((result.score for result in results), default=0.0)
        well = [r for r in results if r.score >= share * best]
        ranks = [RANK[r.answer.applies] for r in well if r.answer and r.card.kind != "safety"]
        assert ranks == sorted(ranks), question
        assert list(results[: len(well)]) == well


def test_a_unit_in_the_line_is_the_same_as_one_given_apart(demo_desk: Desk) -> None:
    for question in QUESTIONS[:15]:
        apart = demo_desk.finder.find(question, "TD60B/4", "KP1400031").results
        inside = demo_desk.finder.find(f"td60b4 {question} kp 14 00031").results
        before = demo_desk.finder.find(f"KP-14-00031 TD60B/4 {question}").results
        assert [r.card.number for r in apart] == [r.card.number for r in inside]
        assert [r.card.number for r in apart] == [r.card.number for r in before]


def test_a_unit_alone_shows_all_that_applies_to_it(demo_desk: Desk, house: House) -> None:
    unit = make_unit(house, "TD60B/4", "KP1400031", TODAY)
    found = demo_desk.finder.find("TD60B/4 KP1400031", limit=1000)
    standing = {r.card.number for r in found.results}
    superseded = {number for bulletin in house.bulletins for number in bulletin.supersedes}
    expected = {
        bulletin.number
        for bulletin in house.bulletins
        if bulletin.status == "in-force"
        and bulletin.number not in superseded
        and answer(bulletin.where, unit, house, TODAY).applies != "no"
    }
    assert standing == expected


def test_without_a_unit_no_result_says_that_it_applies(demo_desk: Desk) -> None:
    results = demo_desk.finder.find("drain").as_json()["results"]
    assert results
    assert {result["applies"] for result in results} == {None}


def test_an_unknown_model_given_apart_is_named_with_the_nearest(odd_desk: Desk) -> None:
    with pytest.raises(NotFound, match="TD45X") as raised:
        odd_desk.finder.find("drain", "TD45X")
    assert "did you mean TD45" in f"{raised.value} {raised.value.remedy}"


def test_an_unreadable_serial_hides_nothing(odd_desk: Desk) -> None:
    without = odd_desk.finder.find("TD45A")
    broken = odd_desk.finder.find("TD45A KP9900031")
    assert numbers(broken) == numbers(without)
    assert broken.unit is not None
    assert broken.unit.unreadable


# What stands: superseded ones, drafts, and what was taken back.


def test_words_find_only_what_is_in_force(odd_desk: Desk) -> None:
    assert ask(odd_desk, "zigzag spring snaps draft taken back") == ["2026-020"]


def test_a_superseded_bulletin_is_found_by_number_and_leads_to_its_successors(
    odd_desk: Desk,
) -> None:
    found = odd_desk.finder.find("2025-001")
    assert numbers(found) == ["2025-001", "2025-002", "2026-020"]
    assert found.results[0].why == "its number; superseded by 2025-002"
    assert found.as_json()["results"][0]["superseded_by"] == "2025-002"


def test_a_withdrawn_bulletin_is_found_by_number_and_says_so(odd_desk: Desk) -> None:
    (result,) = odd_desk.finder.find("2026-022").results
    assert result.why == "its number; withdrawn"


def test_a_draft_is_never_found(odd_desk: Desk) -> None:
    for typed in ("2026-021", "2026021", "draft of a thought", '"draft of a thought"'):
        assert "2026-021" not in ask(odd_desk, typed)


def test_superseded_withdrawn_and_draft_of_the_demo_house_never_show_by_words(
    demo_desk: Desk, house: House
) -> None:
    superseded = {number for bulletin in house.bulletins for number in bulletin.supersedes}
    gone = [b for b in house.bulletins if b.status != "in-force" or b.number in superseded]
    assert len(gone) > 5
    for bulletin in gone:
        for line in (bulletin.title, *bulletin.symptoms):
            assert bulletin.number not in ask(demo_desk, line)


def test_each_number_leads_to_its_bulletin_first(demo_desk: Desk, house: House) -> None:
    for bulletin in house.bulletins:
        if bulletin.status != "draft":
            assert ask(demo_desk, f"drain {bulletin.number}")[0] == bulletin.number


def test_supersession_in_a_ring_comes_to_an_end(tmp_path: Path) -> None:
    files = dict(ODD_HOUSE)
    ring = files["2025/2025-001.md"].replace("component:", "supersedes: [2026-020]\ncomponent:")
    files["2025/2025-001.md"] = ring
    desk = Desk(write_house(tmp_path / "bulletins", files), TODAY)
    assert set(ask(desk, "2025-001")) == {"2025-001", "2025-002", "2026-020"}


# How an answer is given.


@pytest.mark.parametrize("limit", [0, 1, 3, 1000])
def test_a_limit_cuts_the_same_answer(demo_desk: Desk, limit: int) -> None:
    whole = ask(demo_desk, "does not drain")
    assert numbers(demo_desk.finder.find("does not drain", limit=limit)) == whole[:limit]


def test_no_bulletin_stands_twice(demo_desk: Desk, house: House) -> None:
    for bulletin in house.bulletins[::7]:
        found = ask(demo_desk, f"{bulletin.number} {bulletin.title} {' '.join(bulletin.codes)}")
        assert len(found) == len(set(found))


def test_scores_never_rise_down_the_list(demo_desk: Desk) -> None:
    for question in QUESTIONS:
        scores = [r.score for r in demo_desk.finder.find(question, limit=1000).results]
        assert scores == sorted(scores, reverse=True), question


def test_json_has_the_keys_of_the_contract(demo_desk: Desk) -> None:
    answered = demo_desk.finder.find("TD60B e21 drain").as_json()
    assert answered.keys() >= {"asked", "read_as", "results"}
    assert answered["asked"] == "TD60B e21 drain"
    assert answered["read_as"].keys() >= {"words", "model", "serial", "codes", "parts"}
    for result in answered["results"]:
        assert result.keys() >= {"number", "title", "kind", "score", "applies", "why"}
        assert result["applies"] in {"yes", "maybe"}


@pytest.mark.parametrize(
    ("typed", "note"),
    [
        ("E99", "no bulletin knows the code E99"),
        ("coffee machine", "no bulletin answers this"),
        ("qqqqq", "no bulletin answers this"),
        ("", "no bulletin answers this"),
    ],
)
def test_where_nothing_fits_a_note_says_so(demo_desk: Desk, typed: str, note: str) -> None:
    found = demo_desk.finder.find(typed)
    assert found.results == ()
    assert found.note == note


def test_a_part_that_no_bulletin_names_is_sent_on(odd_desk: Desk) -> None:
    found = odd_desk.finder.find("HR-310-7620")
    assert found.results == ()
    assert "kb part" in found.note


def test_a_part_leads_to_bulletins_that_name_its_successor_too(odd_desk: Desk) -> None:
    (result,) = odd_desk.finder.find("HR-310-4126").results
    assert result.card.number == "SB-7.12"  # it names HR-310-4120, which 4126 replaces
    assert result.why == "a part that HR-310-4126 leads to or comes from"


def test_a_kit_leads_to_bulletins_about_what_it_holds(odd_desk: Desk) -> None:
    assert ask(odd_desk, "HR-310-1223") == ["SB-7.12"]


@pytest.mark.parametrize("typed", ["car", "tent", "fi", "hi"])
def test_a_half_typed_word_is_not_taken_for_a_thing_made_elsewhere(
    demo_desk: Desk, typed: str
) -> None:
    assert ask(demo_desk, typed)


@pytest.mark.parametrize(
    "typed", ["coffee machine", "my car will not start", "tv", "television has no picture"]
)
def test_things_made_elsewhere_find_nothing(demo_desk: Desk, typed: str) -> None:
    assert ask(demo_desk, typed) == []


def test_further_bulletins_for_the_unit_are_named_once(demo_desk: Desk) -> None:
    found = demo_desk.finder.find("TD60B drain", limit=1000)
    others = [line.card.number for line in found.others]
    assert others
    assert not set(others) & set(numbers(found))
    assert all(line.answer.applies != "no" for line in found.others)
    assert found.as_json()["others"] == others


SAFETY = """\
---
number: {number}
title: {title}
kind: {kind}
issued: 2026-03-0{day}
family: Tarn
component: drain pump
symptoms: [{symptom}]
---
The drain pump hums. {text}
"""


def safety_desk(folder: Path, safe_text: str, symptom: str) -> Desk:
    """Return a desk on a house with a repair that is all about a hum, and a safety bulletin."""
    repair = SAFETY.format(
        number="2026-001",
        title="Drain pump hums, shakes",
        kind="repair",
        day=1,
        symptom="hums or shakes",
        text="",
    )
    safety = SAFETY.format(
        number="2026-002", title="Bare wire", kind="safety", day=2, symptom=symptom, text=safe_text
    )
    files = {"2026/2026-001.md": repair, "2026/2026-002.md": safety}
    return Desk(write_house(folder / "bulletins", {**SMALL_HOUSE, **files}), TODAY)


def test_for_a_unit_a_safety_bulletin_stands_before_what_the_words_fit_better(
    tmp_path: Path,
) -> None:
    desk = safety_desk(tmp_path, "It shakes.", "hums and shakes while it fills")
    without = desk.finder.find("hums and shakes")
    assert numbers(without) == ["2026-001", "2026-002"]
    assert without.results[1].score >= 0.5 * without.results[0].score
    assert numbers(desk.finder.find("hums and shakes", "TD45A")) == ["2026-002", "2026-001"]


def test_a_safety_bulletin_for_the_unit_that_the_words_do_not_find_is_named_apart(
    tmp_path: Path,
) -> None:
    desk = safety_desk(tmp_path, "", "sparks")
    found = desk.finder.find("rattling basket", "TD45A")
    assert "2026-002" not in numbers(found)
    assert [line.card.number for line in found.safety] == ["2026-002"]
    assert found.as_json()["safety"] == ["2026-002"]
