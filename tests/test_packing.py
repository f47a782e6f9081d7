"""Likelihoods, quantities and coverage: worked by hand, and held to every possible world."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.catalogue import Catalogue
from kb.checks import best_order
from kb.folding import fold
from kb.jobs import Job
from kb.packing import (
    Candidate,
    Part,
    covered,
    expected_labour,
    labour,
    pack,
    parts,
    shares,
)
from kb.records import Check, PartLine
from kb.supply import Supplier
from tests.partrows import kit, part

ROWS = (
    "P-1,current",
    "P-2,current",
    "P-3,current",
    "P-4,running-out",
    "OLD-4,gone,P-4,forward",
    "GONE,gone",
    "IN-1,gone,KIT,kit",
    "IN-2,gone,KIT,kit",
    "KIT,current",
    "OTHER,current,,,TD60A",
)
KITS = ("KIT,IN-1,1", "KIT,IN-2,2")


def supplier() -> Supplier:
    return Supplier(Catalogue(map(part, ROWS), map(kit, KITS)), "TD45A")


def check(likelihood: float, *numbers: str, minutes: float = 5.0) -> Check:
    return Check(
        cause=f"{likelihood} {numbers}", likelihood=likelihood, minutes=minutes, parts=numbers
    )


def job(
    *checks: Check,
    lines: Iterable[PartLine] = (),
    number: str = "2026-001",
    minutes: float | None = None,
) -> Job:
    order = best_order(checks)
    return Job(number=number, checks=checks, order=order, lines=tuple(lines), minutes=minutes)


def line(
    number: str, quantity: int = 1, *, together: bool = False, in_hand: bool = False
) -> PartLine:
    return PartLine(number=number, quantity=quantity, all=together, in_hand=in_hand)


def packed(
    *candidates: Candidate, kept: Mapping[str, str] | None = None
) -> tuple[dict[str, Part], float]:
    packs = [(c, pack(c, supplier(), kept or {})) for c in candidates]
    return {each.number: each for each in parts(packs)}, covered(packs)


def likelihoods(*candidates: Candidate) -> dict[str, float]:
    return {n: each.likelihood for n, each in packed(*candidates)[0].items()}


def quantities(*candidates: Candidate) -> dict[str, int]:
    return {n: each.quantity for n, each in packed(*candidates)[0].items()}


# Causes


@pytest.mark.parametrize(
    ("given_", "expected"),
    [
        ((), []),
        ((0.6, 0.22, 0.14), [0.6, 0.22, 0.14]),  # the rest belongs to causes not listed
        ((0.5, 0.5), [0.5, 0.5]),
        ((0.6, 0.9), [0.4, 0.6]),  # 1.5 in all, scaled down
        ((1.0, 1.0, 1.0, 1.0), [0.25] * 4),
        ((0.0, 0.0), [0.5, 0.5]),  # none given: each alike
        ((0.5, 0.2, 0.0), [0.5, 0.2, 0.2]),  # one without: as the least of the others
        ((0.5, 0.3, 0.0, 0.0), [0.5, 0.3, 0.1, 0.1]),  # within what they leave
        ((0.9, 0.3, 0.0), [0.75, 0.25, 0.0]),
        ((0.0,), [1.0]),
    ],
)
def test_causes_share_what_is_written(given_: Sequence[float], expected: list[float]) -> None:
    assert shares([check(each) for each in given_]) == pytest.approx(expected)


# One bulletin


def test_a_part_is_needed_as_likely_as_the_causes_that_name_it() -> None:
    only = Candidate(job(check(0.5, "P-1"), check(0.3, "P-2"), check(0.1, "P-2", "P-1")), 1.0)
    assert likelihoods(only) == pytest.approx({"P-1": 0.6, "P-2": 0.4})


def test_a_part_that_no_cause_names_is_needed_whenever_the_bulletin_is_right() -> None:
    only = Candidate(job(check(0.5, "P-1"), lines=[line("P-2"), line("P-1", 2)]), 1.0)
    assert likelihoods(only) == pytest.approx({"P-2": 1.0, "P-1": 0.5})
    assert quantities(only) == {"P-2": 1, "P-1": 2}


def test_an_old_number_and_its_successor_are_one_part() -> None:
    only = Candidate(job(check(0.5, "OLD-4"), check(0.2, "P-4")), 1.0)
    assert likelihoods(only) == pytest.approx({"P-4": 0.7})
    assert quantities(only) == {"P-4": 1}
    assert packed(only)[0]["P-4"].status == "running-out"


def test_rival_causes_share_a_part_and_one_cause_adds_it_up() -> None:
    rivals = job(check(0.5, "P-1"), check(0.2, "P-1"), lines=[line("P-1", 3)])
    assert quantities(Candidate(rivals, 1.0)) == {"P-1": 3}
    both = job(check(0.5, "OLD-4", "P-4"), lines=[line("OLD-4", 2), line("P-4", 1)])
    assert quantities(Candidate(both, 1.0)) == {"P-4": 3}


def test_what_is_always_needed_comes_on_top_of_what_a_cause_needs() -> None:
    only = Candidate(job(check(0.5, "OLD-4"), lines=[line("P-4", 2)]), 1.0)
    assert quantities(only) == {"P-4": 3}
    assert likelihoods(only) == {"P-4": 1.0}


def test_the_same_line_twice_counts_twice() -> None:
    assert quantities(Candidate(job(lines=[line("P-1", 2), line("p1", 1)]), 1.0)) == {"P-1": 3}


def test_parts_of_one_kit_come_in_one_kit() -> None:
    assert quantities(Candidate(job(lines=[line("IN-1"), line("IN-2", 2)]), 1.0)) == {"KIT": 1}
    assert quantities(Candidate(job(lines=[line("IN-1", 2), line("IN-2", 2)]), 1.0)) == {"KIT": 2}
    assert quantities(Candidate(job(check(0.4, "IN-1", "IN-2")), 1.0)) == {"KIT": 1}


def test_a_set_goes_together_as_soon_as_one_of_it_is_named() -> None:
    lines = [line("P-1", together=True), line("P-2", 2, together=True), line("P-3")]
    found, _ = packed(Candidate(job(check(0.4, "P-1"), check(0.3), lines=lines), 1.0))
    shown = {n: (p.likelihood, p.quantity, p.together) for n, p in found.items()}
    assert shown == {"P-1": (0.4, 1, True), "P-2": (0.4, 2, True), "P-3": (1.0, 1, False)}


def test_a_set_that_no_cause_names_is_always_needed_whole() -> None:
    lines = [line("P-1", 4, together=True), line("P-2", together=True)]
    only = Candidate(job(check(0.4, "P-3"), lines=lines), 1.0)
    assert likelihoods(only) == pytest.approx({"P-1": 1.0, "P-2": 1.0, "P-3": 0.4})
    assert quantities(only) == {"P-1": 4, "P-2": 1, "P-3": 1}


def test_in_hand_goes_with_the_number_to_order() -> None:
    lines = [line("OLD-4", in_hand=True), line("P-1")]
    found, _ = packed(Candidate(job(lines=lines), 1.0))
    assert {n: p.in_hand for n, p in found.items()} == {"P-4": True, "P-1": False}


def test_parts_stand_likeliest_first_then_by_number() -> None:
    found, _ = packed(Candidate(job(check(0.2, "P-2", "P-1"), check(0.5, "P-3")), 1.0))
    assert list(found) == ["P-3", "P-1", "P-2"]


# Several bulletins


def test_rival_bulletins_count_by_their_weight() -> None:
    one = Candidate(job(check(0.5, "P-1"), number="1"), 0.75)
    other = Candidate(job(check(0.4, "P-1"), check(0.6, "P-2"), number="2"), 0.25)
    # 0.75 x 0.5 + 0.25 x 0.4, and 0.25 x 0.6
    assert likelihoods(one, other) == pytest.approx({"P-1": 0.475, "P-2": 0.15})


def test_what_is_due_on_any_visit_is_independent_of_the_fault() -> None:
    fault = Candidate(job(check(0.5, "P-1"), number="1"), 1.0)
    due = Candidate(job(lines=[line("P-1"), line("P-2")], number="2"), 0.0, 0.5)
    # 1 - (1 - 0.5)(1 - 0.5)
    assert likelihoods(fault, due) == pytest.approx({"P-1": 0.75, "P-2": 0.5})


def test_rivals_share_a_quantity_and_due_work_adds_its_own() -> None:
    one = Candidate(job(lines=[line("P-1", 2)], number="1"), 0.5)
    other = Candidate(job(lines=[line("P-1", 3)], number="2"), 0.5)
    due = Candidate(job(lines=[line("P-1", 4)], number="3"), 0.0, 1.0)
    assert quantities(one, other) == {"P-1": 3}
    assert quantities(one, other, due) == {"P-1": 7}
    assert packed(one, other, due)[0]["P-1"].bulletins == ("1", "2", "3")


def test_a_recall_that_also_answers_the_words_counts_once() -> None:
    recall = Candidate(job(lines=[line("P-1")]), 0.4, 1.0)
    assert likelihoods(recall) == {"P-1": 1.0}
    assert quantities(recall) == {"P-1": 1}


# What is not packed, and what is covered


@pytest.mark.parametrize(
    ("checks", "lines", "expected"),
    [
        ([check(0.5, "P-1"), check(0.5)], [], 1.0),  # packed, and one that needs nothing
        ([check(0.5, "P-1"), check(0.3, "GONE")], [], 0.625),  # 0.5 of 0.8
        ([check(0.6, "GONE", "P-1"), check(0.2, "P-1")], [], 0.25),
        ([check(0.6, "P-1"), check(0.4)], ["GONE"], 0.0),  # always needed, not to be had
        ([check(0.6, "GONE"), check(0.4)], ["GONE"], 0.4),  # needed by one cause alone
        ([], ["P-1"], 1.0),
        ([], ["P-1", "GONE"], 0.0),
        ([], [], 1.0),  # what is normal needs nothing
        ([check(0.0, "GONE"), check(0.0)], [], 0.5),  # no likelihoods: each alike
        ([check(0.7, "UNKNOWN"), check(0.3)], [], 0.3),
        ([check(0.7, "P-1", "OTHER"), check(0.3)], [], 1.0),  # one of them is for another model
        ([check(0.7, "OTHER"), check(0.3)], [], 0.3),
    ],
)
def test_covered_is_the_share_of_listed_causes_that_can_be_put_right(
    checks: list[Check], lines: list[str], expected: float
) -> None:
    found = packed(Candidate(job(*checks, lines=map(line, lines)), 1.0))[1]
    assert found == pytest.approx(expected)


def test_covered_weighs_bulletins_and_leaves_due_work_out() -> None:
    sound = Candidate(job(check(1.0, "P-1"), number="1"), 0.75)
    lost = Candidate(job(check(1.0, "GONE"), number="2"), 0.25)
    due = Candidate(job(lines=[line("GONE")], number="3"), 0.0, 1.0)
    assert packed(sound, lost, due)[1] == pytest.approx(0.75)
    assert packed()[1] == 0.0


def test_what_is_kept_is_never_packed_but_for_work_that_is_due() -> None:
    kept = {fold("P-4"): "2026-009"}
    work = job(check(0.5, "OLD-4"), check(0.5, "P-1"))
    found, share = packed(Candidate(work, 1.0), kept=kept)
    assert list(found) == ["P-1"]
    assert share == pytest.approx(0.5)
    missing = pack(Candidate(work, 1.0), supplier(), kept).missing
    assert [(m.number, m.bulletin, m.why) for m in missing] == [
        ("OLD-4", "2026-001", "2026-009 says to leave it in")
    ]
    assert set(packed(Candidate(work, 0.0, 1.0), kept=kept)[0]) == {"P-4", "P-1"}


def test_a_missing_part_is_told_once_with_its_reason() -> None:
    work = job(check(0.5, "GONE"), check(0.2, "gone"), lines=[line("UNKNOWN")])
    missing = pack(Candidate(work, 1.0), supplier(), {}).missing
    assert [(m.number, m.why) for m in missing] == [
        ("UNKNOWN", "there is no part UNKNOWN"),
        ("GONE", "GONE is gone and nothing takes its place"),
    ]


# Labour


@pytest.mark.parametrize(
    ("work", "expected"),
    [
        (job(minutes=40.0), 40.0),
        (job(check(0.5), minutes=40.0), 40.0),
        (job(check(0.5, minutes=4), check(0.5, minutes=6)), 7.0),  # (4 + 10) / 2
        (job(check(0.2, minutes=10), check(0.8, minutes=4)), 6.0),  # 0.8 x 4 + 0.2 x 14
        (job(), None),
    ],
)
def test_labour_is_told_or_reckoned_from_the_checks(work: Job, expected: float | None) -> None:
    assert labour(work) == pytest.approx(expected) if expected else labour(work) is None


@pytest.mark.parametrize(
    ("candidates", "expected"),
    [
        ([], 0.0),
        ([(40.0, 1.0, 0.0)], 40.0),
        ([(40.0, 0.75, 0.0), (20.0, 0.25, 0.0)], 35.0),
        ([(40.0, 0.75, 0.0), (None, 0.25, 0.0)], 40.0),  # one that tells nothing is left out
        ([(40.0, 1.0, 0.0), (20.0, 0.0, 1.0)], 60.0),
        ([(40.0, 1.0, 0.0), (20.0, 0.0, 0.5)], 50.0),
        ([(20.0, 1.0, 1.0)], 20.0),  # the recall is the fault
        ([(40.0, 0.5, 0.0), (20.0, 0.5, 1.0)], 40.0),  # 40 x 0.5 + 20
        ([(None, 1.0, 0.0)], 0.0),
    ],
)
def test_labour_of_a_visit_is_one_rival_and_all_that_is_due(
    candidates: list[tuple[float | None, float, float]], expected: float
) -> None:
    going = [Candidate(job(minutes=m, number=str(w)), w, d) for m, w, d in candidates]
    assert expected_labour(going) == pytest.approx(expected)


# Every possible world


NUMBERS = st.sampled_from(["P-1", "P-2", "P-3", "OLD-4", "P-4", "IN-1", "IN-2"])


@st.composite
def jobs(draw: st.DrawFn, number: str) -> Job:
    """Bulletins with a few causes and parts, without sets: those are worked by hand above."""
    causes = draw(
        st.lists(st.tuples(st.integers(1, 10), st.lists(NUMBERS, max_size=3)), max_size=3)
    )
    checks = [check(likely / 20, *numbers) for likely, numbers in causes]
    lines = draw(st.lists(NUMBERS, max_size=2, unique=True))
    return job(*checks, lines=map(line, lines), number=number)


ENDS = {"OLD4": "P-4", "IN1": "KIT", "IN2": "KIT"}


def needed_in(work: Job, cause: int | None) -> set[str]:
    """Return the numbers to order in the world where *cause* (None: one not listed) is true."""
    named = {fold(n) for c in work.checks for n in c.parts}
    wanted = {fold(each.number) for each in work.lines} - named
    if cause is not None:
        wanted |= {fold(n) for n in work.checks[cause].parts}
    return {ENDS.get(n, f"{n[0]}-{n[1:]}") for n in wanted}


def worlds(work: Job) -> list[tuple[float, set[str]]]:
    """Return every cause with its chance, the unlisted one last, and what it takes."""
    chances = shares(work.checks)
    listed = [(chance, needed_in(work, at)) for at, chance in enumerate(chances)]
    return [*listed, (1 - sum(chances), needed_in(work, None))]


@given(jobs("1"), jobs("2"), jobs("3"), st.integers(0, 10), st.sampled_from([0.0, 0.25, 0.5, 1.0]))
def test_likelihoods_add_up_over_every_possible_world(
    one: Job, other: Job, recall: Job, tenths: int, due: float
) -> None:
    weight = tenths / 10
    rivals = [(weight * p, n) for p, n in worlds(one)]
    rivals += [((1 - weight) * p, n) for p, n in worlds(other)]
    extra = [(due * p, n) for p, n in worlds(recall)] + [(1 - due, set())]
    expected: dict[str, float] = {}
    for (chance, fault), (also, more) in product(rivals, extra):
        for number in fault | more:
            expected[number] = expected.get(number, 0.0) + chance * also
    going = [Candidate(one, weight), Candidate(other, 1 - weight)]
    going += [Candidate(recall, 0.0, due)] if due else []
    found = likelihoods(*going)
    assert found.keys() >= {n for n, chance in expected.items() if chance > 1e-12}
    for number, chance in found.items():
        assert chance == pytest.approx(expected.get(number, 0.0), abs=1e-9)


@given(jobs("1"), jobs("2"), st.floats(0.01, 0.99))
def test_shares_stay_between_nothing_and_all(one: Job, other: Job, weight: float) -> None:
    found, share = packed(Candidate(one, weight), Candidate(other, 1 - weight))
    assert share == pytest.approx(1.0)  # every number of this table can be had
    for each in found.values():
        assert 0 < each.likelihood <= 1 + 1e-9
        assert each.quantity >= 1
