"""Following numbers: long chains, forks, rings, nested kits, and a walk for one model at a time."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from fnmatch import fnmatchcase

import pytest

from kb.catalogue import Catalogue, order
from kb.records import KitRow, PartRow
from kb.substitution import ANY_OTHER, Branch, Coming, Step, differ
from kb.substitution import follow as follow_for
from tests.partrows import catalogue, kit, part

MODELS = ("TD45A", "TD45B", "TD60A", "CW7A")


def follow(cat: Catalogue, number: str, model: str = "TD45A") -> list[Branch]:
    """Follow a number for a model that most tables here know nothing of."""
    return follow_for(cat, number, model)


def _ends(cat: Catalogue, number: str, model: str = "TD45A") -> list[list[str]]:
    branches = follow(cat, number, model)
    return [[line.part.number for line in branch.lines] for branch in branches]


# ---- Long chains ----------------------------------------------------------------------------


def _chain(length: int, last: str, relation: str = "same") -> Catalogue:
    rows = [f"A{at},gone,A{at + 1},{relation}" for at in range(length)]
    return catalogue([*rows, f"A{length},{last}"])


def test_five_thousand_steps_are_followed_and_told_in_order() -> None:
    (branch,) = follow(_chain(5000, "current"), "A0")
    assert [line.part.number for line in branch.lines] == ["A5000"]
    assert [step.new for step in branch.steps] == [f"A{at}" for at in range(1, 5001)]


def test_five_thousand_steps_to_nothing_say_why() -> None:
    (branch,) = follow(_chain(5000, "gone"), "A0")
    assert branch.lines == ()
    assert "A5000 is gone and nothing takes its place" in branch.notes


def test_a_thousand_kits_one_in_the_other_are_opened() -> None:
    kits = [f"K{at},K{at + 1},1" for at in range(1000)]
    cat = catalogue([*(f"K{at},gone" for at in range(1000)), "K1000,current"], kits)
    assert _ends(cat, "K0") == [["K1000"]]


def test_a_long_chain_limited_to_models_at_every_step_keeps_the_models() -> None:
    rows = [f"A{at},gone,A{at + 1},same,TD45*" for at in range(500)]
    (branch,) = follow(catalogue([*rows, "A500,current,,,TD45*"]), "A0")
    assert len(branch.steps) == 500
    (other,) = follow(catalogue([*rows, "A500,current"]), "A0", "TD60A")
    assert other.notes == ("A0 is listed for TD45*, not for TD60A",)


# ---- Forks ----------------------------------------------------------------------------------

FORK = ["A,gone,B,same,TD45*", "A,gone,C,same,TD60*", "B,current", "C,current"]


@pytest.mark.parametrize(("model", "ends"), [("TD45A", [["B"]]), ("td-60 a", [["C"]])])
def test_a_fork_is_taken_as_the_model_says(model: str, ends: list[list[str]]) -> None:
    assert _ends(catalogue(FORK), "A", model) == ends


def test_rows_that_all_speak_for_the_model_are_alternatives() -> None:
    rows = ["A,gone,B,same,TD*", "A,gone,C,same,TD45*", "B,current", "C,current"]
    assert _ends(catalogue(rows), "A", "TD45A") == [["B"], ["C"]]
    assert _ends(catalogue(rows), "A", "TD60A") == [["B"]]


def test_a_model_that_no_row_fits_gets_nothing_and_is_told() -> None:
    (branch,) = follow(catalogue(FORK), "A", "CW7A")
    assert branch.lines == ()
    assert branch.notes == ("A is listed for TD45*, TD60*, not for CW7A",)


def test_a_row_without_models_speaks_for_those_that_no_other_row_names() -> None:
    cat = catalogue([*FORK, "A,gone,D,forward", "D,running-out"])
    assert _ends(cat, "A", "CW7A") == [["D"]]
    assert _ends(cat, "A", "TD45A") == [["B"]]
    assert _ends(cat, "A", ANY_OTHER) == [["D"]]


def test_a_fork_after_a_fork_is_within_the_first() -> None:
    cat = catalogue([*FORK, "E,gone,A,same,TD45A"])
    assert _ends(cat, "E", "TD45A") == [["B"]]
    assert _ends(cat, "E", "TD45B") == [[]]


def test_models_that_no_row_names_are_called_other_models() -> None:
    (branch,) = follow(catalogue(FORK), "A", ANY_OTHER)
    assert branch.notes == ("A is listed for TD45*, TD60*, not for other models",)
    notes = order(catalogue(["A,gone,B,same", "B,current,,,TD45*"]), "A").notes
    assert all(note.isprintable() for note in notes)


@pytest.mark.parametrize("width", [2, 5, 40])
def test_forks_that_all_end_at_one_number_need_no_choice(width: int) -> None:
    rows = [f"A,gone,B{at},same,TD{'*' * (at + 1)}" for at in range(width)]
    rows += [f"B{at},gone,Z,same" for at in range(width)]
    branches = [b for b in follow(catalogue([*rows, "Z,current"]), "A") if b.lines]
    assert {b.outcome for b in branches} == {(("Z", 1),)}
    assert not differ(branches)


# ---- Rings ----------------------------------------------------------------------------------


@pytest.mark.parametrize("length", [1, 2, 3, 50, 3000])
@pytest.mark.parametrize("status", ["current", "gone"])
def test_a_ring_of_any_length_ends(length: int, status: str) -> None:
    rows = [f"A{at},{status},A{(at + 1) % length},same" for at in range(length)]
    (branch,) = follow(catalogue(rows), "A0")
    wanted = [f"A{length - 1}"] if status == "current" else []
    assert [line.part.number for line in branch.lines] == wanted
    assert any("leads back to it" in note for note in branch.notes)


def test_a_ring_of_kits_ends_and_says_what_cannot_be_had() -> None:
    cat = catalogue(["K,gone", "L,gone", "A,current"], ["K,L,1", "L,K,1", "L,A,2"])
    (branch,) = follow(cat, "K")
    assert [(line.part.number, line.quantity) for line in branch.lines] == [("A", 2)]
    assert "K, held by kit L, cannot be ordered" in branch.notes


def test_a_part_sold_in_a_kit_that_needs_the_part_does_not_go_round() -> None:
    cat = catalogue(["A,gone,K,kit", "K,gone"], ["K,A,1"])
    (branch,) = follow(cat, "A")
    assert branch.lines == ()
    assert branch.notes


# ---- Kits -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("needed", "held", "kits"), [(1, 1, 1), (1, 4, 1), (4, 4, 1), (5, 4, 2), (9, 4, 3), (3, 1, 3)]
)
def test_as_many_kits_as_cover_the_parts_needed(needed: int, held: int, kits: int) -> None:
    cat = catalogue(["S,gone", "A,gone,K,kit", "K,current"], [f"S,A,{needed}", f"K,A,{held}"])
    (branch,) = follow(cat, "S")
    assert [(line.part.number, line.quantity) for line in branch.lines] == [("K", kits)]


def test_nested_gone_kits_add_up_all_their_contents() -> None:
    parts = ["K,gone", "L,gone", "M,gone", "A,current", "B,gone,C,same", "C,current"]
    kits = ["K,L,2", "K,M,1", "L,A,3", "L,B,1", "M,A,1", "M,B,4"]
    (branch,) = follow(catalogue(parts, kits), "K")
    assert {line.part.number: line.quantity for line in branch.lines} == {"A": 7, "C": 6}
    assert branch.opened == {"K", "L", "M"}


def test_what_is_sold_only_in_a_kit_says_what_the_kit_holds() -> None:
    cat = catalogue(["A,gone,K,kit", "K,current", "B,current"], ["K,A,1", "K,B,2", "K,Q,3"])
    (branch,) = follow(cat, "A")
    assert branch.steps == (Step("A", "K", "kit", ""),)
    assert branch.notes == (
        "A is sold only in kit K, which holds 1 × A part A, 2 × B part B, 3 × Q",
    )


def test_what_is_coming_carries_the_date_of_the_substitution_or_else_of_the_part() -> None:
    for step, own, since in (("2027", "2028", "2027"), ("", "2028", "2028"), ("2027", "", "2027")):
        cat = catalogue([f"A,current,B,same,,{step}", f"B,pending,,,,{own}"])
        (branch,) = follow(cat, "A")
        assert branch.coming == (Coming("B", since),)
        assert [line.part.number for line in branch.lines] == ["A"]


def test_an_unknown_number_has_no_branch() -> None:
    assert follow(catalogue(["A,current"]), "Q") == []
    assert follow(catalogue([]), "") == []


def test_branches_differ_where_their_lines_or_their_kits_do() -> None:
    one, other = (follow(catalogue([f"{n},current"]), n)[0] for n in "AB")
    assert differ([one, other])
    assert not differ([one, one])
    assert not differ([])
    assert differ([Branch(choose=True)])


# ---- Random tables, one model at a time ------------------------------------------------------


def _fits(row: PartRow, model: str) -> bool:
    return any(fnmatchcase(model, pattern) for pattern in row.models)


class _Walk:
    """One model's order by plain recursion, on tables in which everything leads further down."""

    def __init__(self, parts: Sequence[PartRow], kits: Sequence[KitRow], model: str) -> None:
        self.model = model
        self.kits = kits
        self.rows: dict[str, list[PartRow]] = {}
        for row in parts:
            self.rows.setdefault(row.number, []).append(row)

    def row(self, number: str) -> PartRow | None:
        """The one row that speaks for the model: limited before general."""
        rows = self.rows.get(number, [])
        limited = [row for row in rows if row.models and _fits(row, self.model)]
        return next(iter(limited or [row for row in rows if not row.models]), None)

    def order(self, number: str, count: int = 1) -> Counter[str]:
        row = self.row(number)
        if row is None or row.status == "pending":
            return Counter()
        if row.replaced_by and (found := self.order(row.replaced_by, count)):
            return found
        if row.status != "gone":
            return Counter({number: count})
        total: Counter[str] = Counter()
        for held in self.kits:
            if held.kit == number:
                total += self.order(held.number, count * held.quantity)
        return total


def _table(rng: random.Random) -> tuple[list[PartRow], list[KitRow]]:
    """Nine numbers; each leads to, and each kit holds, only what stands further down."""
    numbers = [f"N{at}" for at in range(9)]
    rows, kits = [], []
    for at, number in enumerate(numbers):
        later = numbers[at + 1 :]
        for models in rng.choice([[""], ["TD45*", "TD60*"], ["TD45A", ""], ["TD*", "CW7A"]]):
            status = rng.choice(["current", "running-out", "gone", "gone", "gone", "pending"])
            after = rng.choice(["", *later]) if later else ""
            rows.append(part(f"{number},{status},{after},same,{models}"))
        if later and rng.random() < 0.5:
            for held in rng.sample(later, min(len(later), 2)):
                kits.append(kit(f"{number},{held},{rng.randint(1, 3)}"))
    return rows, kits


@pytest.mark.parametrize("seed", range(12))
def test_each_model_gets_what_a_plain_walk_for_it_finds(seed: int) -> None:
    rng = random.Random(seed)
    for _ in range(8):
        rows, kits = _table(rng)
        cat = Catalogue(rows, kits)
        for model in MODELS:
            walk = _Walk(rows, kits, model)
            for number in (f"N{at}" for at in range(9)):
                found: Counter[str] = Counter()
                for line in order(cat, number, model).order:
                    found[line.number] += line.quantity
                assert found == walk.order(number), (rows, kits, number, model)


@pytest.mark.parametrize("seed", range(12))
def test_without_a_model_all_that_any_model_gets_is_among_the_lines(seed: int) -> None:
    rng = random.Random(1000 + seed)
    for _ in range(8):
        rows, _ = _table(rng)
        cat = Catalogue(rows)
        for number in (f"N{at}" for at in range(9)):
            whole = order(cat, number)
            listed = {line.number for line in whole.order}
            each = [_Walk(rows, [], model).order(number) for model in MODELS]
            assert set().union(*each) <= listed
            # A model that gets nothing is no choice of what to order.
            if len({frozenset(found.items()) for found in each if found}) > 1:
                assert whole.choose


@pytest.mark.parametrize("old", ["current", "running-out", "gone"])
def test_where_the_next_number_is_for_some_models_the_others_keep_the_old_one(old: str) -> None:
    cat = catalogue([f"A,{old},B,same", "B,gone,C,same", "C,current,,,TD45*"])
    found = order(cat, "A")
    kept = [] if old == "gone" else [("A", ())]
    assert [(line.number, line.models) for line in found.order] == [("C", ("TD45*",)), *kept]
    assert found.choose == bool(kept)
    assert [line.number for line in order(cat, "A", "CW7A").order] == [n for n, _ in kept]


def test_a_gone_kit_with_parts_for_some_models_is_a_choice_until_the_model_is_known() -> None:
    rows = ["K,gone", "A,current,,,TD45*", "B,current,,,TD60*", "C,current"]
    cat = catalogue(rows, ["K,A,1", "K,B,1", "K,C,2"])
    assert order(cat, "K").choose
    one = order(cat, "K", "TD45A")
    assert ([line.number for line in one.order], one.choose) == (["A", "C"], False)


@pytest.mark.parametrize("seed", range(12))
def test_the_steps_told_are_rows_of_the_table_from_the_number_asked(seed: int) -> None:
    rng = random.Random(2000 + seed)
    for _ in range(8):
        rows, kits = _table(rng)
        cat = Catalogue(rows, kits)
        written = {(row.number, row.replaced_by) for row in rows}
        for number in (f"N{at}" for at in range(9)):
            for branch in follow(cat, number, rng.choice(MODELS)):
                assert all((step.old, step.new) in written for step in branch.steps)
                if branch.steps and not branch.opened:
                    assert branch.steps[0].old == number
