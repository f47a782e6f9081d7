"""Rules on the parts and checks that one bulletin names."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.records import Bulletin, Check, PartLine, PartRow
from tests.proof_house import broken, bulletin, house, kit, part, said

TABLE = (
    part("HR-10-1", name="pump", status="gone", replaced_by="HR-10-2", relation="same"),
    part("HR-10-2", name="pump", replaced_by="HR-10-3", relation="forward"),
    part("HR-10-3", name="pump"),
    part("HR-20-1", name="seal", status="gone"),
    part("HR-30-1", name="hose", status="pending"),
    part("HR-40-1", name="main control", component="control"),
    part("HR-50-1", name="valve", replaced_by="HR-50-2", relation="same"),
    part("HR-50-2", name="valve", status="pending"),
    part("HR-60-1", name="heater", relation="changed", note="red dot"),
)


def asks(*numbers: str, **fields: Any) -> Bulletin:
    return bulletin(parts=tuple(PartLine(number=number) for number in numbers), **fields)


def checked(*checks: Check, **fields: Any) -> Bulletin:
    return bulletin(checks=checks, **fields)


@pytest.mark.parametrize("typed", ["HR-10-3", "hr103", "HR 10 3", "hr.10.3"])
def test_a_part_is_known_however_it_is_typed(typed: str) -> None:
    assert said(house(asks(typed), parts=TABLE), "part-unknown") == []


@pytest.mark.parametrize(("typed", "near"), [("HR-40-2", "HR-40-1"), ("HR-01-3", "HR-10-3")])
def test_an_unknown_part_is_told_with_one_like_it(typed: str, near: str) -> None:
    (problem,) = broken(house(asks(typed), parts=TABLE), "part-unknown")
    assert problem.message == f"there is no part {typed}"
    assert problem.remedy.startswith("did you mean HR-")
    assert near[:3] in problem.remedy


def test_an_unknown_part_of_a_check_is_told_on_its_line() -> None:
    one = checked(
        Check(cause="a", parts=("HR-10-3", "HR-77-7")),
        lines={"checks": 9, "checks[0].parts": 12, "checks[0].parts[1]": 14},
    )
    assert [p.line for p in broken(house(one, parts=TABLE), "part-unknown")] == [14]


def test_a_kit_that_only_kits_csv_knows_is_no_unknown_part() -> None:
    one = house(asks("KIT-1"), parts=TABLE, kits=kit("KIT-1", "HR-10-3"))
    assert said(one, "part-unknown") == []


@pytest.mark.parametrize(
    ("number", "rule", "words"),
    [
        ("HR-10-1", "part-replaced", "is gone: order HR-10-3 today"),
        ("HR-10-2", "part-replaced", "has a successor: order HR-10-3 today"),
        ("HR-20-1", "part-not-to-be-had", "is gone and nothing takes its place"),
        ("HR-30-1", "part-not-to-be-had", "cannot be ordered yet"),
        ("HR-10-3", None, ""),
        ("HR-50-1", None, ""),  # its successor cannot be ordered yet, so it is still the one
        ("HR-60-1", None, ""),
    ],
)
def test_what_to_order_instead_is_told(number: str, rule: str | None, words: str) -> None:
    one = house(asks(number), parts=TABLE)
    for name in ("part-replaced", "part-not-to-be-had"):
        messages = said(one, name)
        assert bool(messages) == (name == rule)
        assert all(words in message for message in messages)


def test_a_part_gone_is_only_a_warning() -> None:
    (problem,) = broken(house(asks("HR-10-1"), parts=TABLE), "part-replaced")
    assert problem.level == "warning"


@pytest.mark.parametrize("numbers", [("HR-10-1", "HR-10-3"), ("HR-10-3", "HR-10-1")])
def test_a_bulletin_that_names_both_numbers_knows_already(numbers: tuple[str, ...]) -> None:
    assert said(house(asks(*numbers), parts=TABLE), "part-replaced") == []


@pytest.mark.parametrize("status", ["withdrawn", "draft"])
def test_only_bulletins_in_force_are_asked_for_today_s_numbers(status: str) -> None:
    assert said(house(asks("HR-10-1", status=status), parts=TABLE), "part-replaced") == []


def test_a_superseded_bulletin_may_name_old_numbers() -> None:
    newer = bulletin("2026-002", supersedes=("2026-001",))
    assert said(house(asks("HR-10-1"), newer, parts=TABLE), "part-replaced") == []


def test_a_ring_of_parts_is_not_told_of_the_bulletin() -> None:
    ring = (
        part("HR-1-1", status="gone", replaced_by="HR-1-2", relation="same"),
        part("HR-1-2", status="gone", replaced_by="HR-1-1", relation="same"),
    )
    one = house(asks("HR-1-1"), parts=ring)
    assert said(one, "part-replaced") == []


def test_a_part_named_twice_is_told_at_the_second() -> None:
    one = asks("HR-10-3", "hr103", lines={"parts[0].number": 9, "parts[1].number": 10})
    assert [p.line for p in broken(house(one, parts=TABLE), "part-twice")] == [10]


@pytest.mark.parametrize(
    ("name", "known"),
    [
        ("HR-40-1", True),
        ("main control", True),
        ("Main Control", True),
        ("control", True),
        ("drain pump", True),
        ("HR-40-9", False),
        ("gramophone", False),
    ],
)
def test_keep_names_a_number_a_part_or_a_component(name: str, known: bool) -> None:
    assert said(house(bulletin(keep=(name,)), parts=TABLE), "keep-unknown") == (
        [] if known else [f"'{name}' under 'keep' is no part number, part name or component"]
    )


@pytest.mark.parametrize(
    ("keep", "rule"),
    [
        ("HR-40-1", "keep-and-fit"),
        ("hr 40 1", "keep-and-fit"),
        ("main control", "keep-and-fit-name"),
        ("control", "keep-and-fit-name"),
        ("HR-10-3", None),
    ],
)
def test_a_part_is_not_kept_and_fitted_in_one_bulletin(keep: str, rule: str | None) -> None:
    one = house(asks("HR-40-1", keep=(keep,)), parts=TABLE)
    for name in ("keep-and-fit", "keep-and-fit-name"):
        assert bool(said(one, name)) == (name == rule)


@given(st.lists(st.integers(0, 100), max_size=6))
def test_likelihoods_come_to_one_at_most(shares: list[int]) -> None:
    checks = [Check(cause=str(n), likelihood=share / 100) for n, share in enumerate(shares)]
    assert bool(said(house(checked(*checks)), "likelihood-sum")) == (sum(shares) > 100)


@pytest.mark.parametrize(("count", "typed"), [(7, 0.143), (3, 0.334), (6, 0.167), (10, 0.1)])
def test_rounded_likelihoods_are_sound(count: int, typed: float) -> None:
    checks = [Check(cause=str(n), likelihood=typed) for n in range(count)]
    assert said(house(checked(*checks)), "likelihood-sum") == []


def test_before_names_a_cause_of_the_list_whatever_its_case() -> None:
    one = checked(Check(cause="Fuse blown"), Check(cause="pump", before=("fuse  BLOWN",)))
    assert said(house(one), "before-unknown") == []


def test_before_an_unknown_cause_is_told_with_the_one_meant() -> None:
    one = checked(Check(cause="fuse blown"), Check(cause="pump", before=("fuse blwon",)))
    (problem,) = broken(house(one), "before-unknown")
    assert problem.remedy.startswith("did you mean fuse blown?")


STEPS = st.dictionaries(st.sampled_from("abcd"), st.lists(st.sampled_from("abcd"), max_size=2))


@given(STEPS)
def test_checks_that_wait_for_one_another_are_told(steps: dict[str, list[str]]) -> None:
    one = checked(*(Check(cause=cause, before=tuple(steps[cause])) for cause in steps))

    def waits(cause: str, seen: frozenset[str] = frozenset()) -> bool:
        onward = [c for c in steps[cause] if c in steps]
        return any(c in seen | {cause} or waits(c, seen | {cause}) for c in onward)

    assert bool(said(house(one), "before-ring")) == any(map(waits, steps))


def test_a_check_does_not_wait_for_one_marked_last() -> None:
    control = Check(cause="control", last=True)
    assert (
        len(said(house(checked(control, Check(cause="a", before=("control",)))), "before-last"))
        == 1
    )
    both = Check(cause="b", last=True, before=("control",))
    assert said(house(checked(control, both)), "before-last") == []


def test_a_cause_given_twice_is_told() -> None:
    one = checked(Check(cause="Pump worn"), Check(cause="pump worn"))
    assert said(house(one), "cause-twice") == ["the cause 'pump worn' stands twice under 'checks'"]


def test_the_table_of_this_file_is_sound() -> None:
    rows: tuple[PartRow, ...] = TABLE
    for rule in ("successor-unknown", "parts-ring", "changed-note", "relation-missing"):
        assert said(house(parts=rows), rule) == []


def test_keep_names_a_component_that_only_bulletins_know_whatever_its_case() -> None:
    others = [bulletin(f"2025-00{n}", component=("door lock",)) for n in (1, 2)]
    assert said(house(*others, bulletin(keep=("Door  LOCK",))), "keep-unknown") == []


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ((PartLine(number="HR-20-1", note="glue the old one"),), False),
        ((PartLine(number="HR-20-1", note="  "),), True),
        ((PartLine(number="HR-20-1"), PartLine(number="HR-30-1", note="in spring")), True),
        ((PartLine(number="HR-30-1", note="in spring"),), False),
    ],
)
def test_a_note_at_the_part_says_what_to_do_without_it(
    lines: tuple[PartLine, ...], told: bool
) -> None:
    assert bool(said(house(bulletin(parts=lines), parts=TABLE), "part-not-to-be-had")) is told


def test_a_note_does_not_excuse_an_old_number() -> None:
    one = bulletin(parts=(PartLine(number="HR-10-1", note="blue"),))
    assert len(said(house(one, parts=TABLE), "part-replaced")) == 1
