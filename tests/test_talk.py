"""The talk: what is said about a bulletin, what is shown, and how long it runs."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from kb.hazards import cautions
from kb.pages.ordering import Item, Ordered
from kb.pages.page import Way
from kb.pages.roundups import Digest, Replaced
from kb.records import Check, Kind
from kb.speaking import Said, count_words
from kb.talk import demonstration, minutes, script, spoken, talk

PLAIN = Digest(
    group="Tarn",
    way=Way("2026-014", "bulletins/2026-014/index.html", "Drain pump hums"),
    kind="repair",
    kind_name="Repair",
    dated="issued 2 Mar 2026",
    where="all Tarn, built 2024-W10 to 2025-W22",
    summary="",
    symptoms=(),
    codes=(),
    hazards=(),
    first=None,
    checks=0,
    keep=(),
    orders=(),
    spares=(),
    replaces=(),
    due=(),
)
OPENING = [
    "Repair, Tarn, number 2026-014.",
    "Drain pump hums.",
    "It applies to all Tarn, built 2024-W10 to 2025-W22.",
]
CHECK = Check(cause="ice in the sump", test="measure at the wall", minutes=3, fix="thaw it")


def order(
    *items: tuple[str, int, str], choose: bool = False, in_hand: bool = False, all_: bool = False
) -> Ordered:
    return Ordered(
        asked=Way("HR-1", ""),
        name="Asked part",
        items=tuple(Item(Way(n, ""), q, name, "", "") for n, q, name in items),
        choose=choose,
        chain=(),
        interchange="",
        coming=(),
        notes=(),
        in_hand=in_hand,
        all=all_,
    )


@pytest.mark.parametrize(
    ("digest", "more"),
    [
        (PLAIN, []),
        (replace(PLAIN, symptoms=("hums",)), ["What is noticed: hums."]),
        (replace(PLAIN, symptoms=("a", "b", "c")), ["What is noticed: a, b and c."]),
        (replace(PLAIN, symptoms=tuple("abcdef")), ["What is noticed: a, b, c, d and 2 more."]),
        (replace(PLAIN, codes=("E21", "E24")), ["The display shows E21 and E24."]),
        (
            replace(PLAIN, hazards=cautions(["electricity"])),
            ["Warning: electric shock. Touching them can kill."],
        ),
        (
            replace(PLAIN, summary="One. Two. Three. Four."),
            ["One.", "Two.", "Three."],
        ),
        (
            replace(PLAIN, first=CHECK, checks=1),
            ["Check first: ice in the sump.", "If so: thaw it."],
        ),
        (
            replace(PLAIN, first=CHECK, checks=3),
            [
                "Check first: ice in the sump.",
                "If so: thaw it.",
                "The bulletin has 3 checks in their best order.",
            ],
        ),
        (replace(PLAIN, first=Check(cause="Why?"), checks=1), ["Check first: Why?"]),
        (
            replace(PLAIN, keep=(Way("HR-9", "", "Sump"), Way("HR-8", ""))),
            ["Leave in: Sump HR-9 and HR-8. That is not the cause."],
        ),
        (
            replace(PLAIN, orders=(order(("HR-2", 2, "Spring"), all_=True),)),
            [
                "Order today: 2 × Spring HR-2.",
                "Replace all of them together, never just one.",
            ],
        ),
        (
            replace(PLAIN, orders=(order(("HR-2", 1, "A"), ("HR-3", 1, "B"), choose=True),)),
            ["Order today: 1 × A HR-2 or 1 × B HR-3."],
        ),
        (
            replace(PLAIN, orders=(order(("HR-2", 1, ""), in_hand=True),)),
            ["Order today: 1 × HR-2.", "Have it in hand before the old one comes out."],
        ),
        (replace(PLAIN, orders=(order(),)), ["Nothing can be ordered for Asked part."]),
        (
            replace(PLAIN, spares=(order(("HR-2", 1, "Valve")),)),
            ["If a check asks for it, order: 1 × Valve HR-2."],
        ),
        (replace(PLAIN, due=("At 8 years of age: look",)), ["At 8 years of age: look."]),
        (replace(PLAIN, replaces=(Way("2020-001", ""),)), ["It replaces 2020-001."]),
    ],
)
def test_what_is_said_is_drawn_from_the_bulletin(digest: Digest, more: list[str]) -> None:
    assert list(spoken(digest)) == [*OPENING, *more]


@pytest.mark.parametrize(
    ("first", "shown"),
    [
        (None, None),
        (CHECK, Said("measure at the wall", 180.0)),
        (Check(cause="bare cause", minutes=1.5), Said("bare cause", 90.0)),
    ],
)
def test_the_first_check_is_shown_and_takes_its_own_minutes(
    first: Check | None, shown: Said | None
) -> None:
    assert demonstration(replace(PLAIN, first=first)) == shown


def test_running_time_is_words_and_what_is_shown() -> None:
    sheets = talk([replace(PLAIN, first=CHECK, checks=1)], "from May", [], "Hollin Ridge")
    words = sum(count_words(note.text) for sheet in sheets for note in sheet.notes)
    assert minutes(sheets) == pytest.approx(words / 130 + 3)
    # 24 words about the bulletin by hand: 4 + 3 + 9, then 6 and 4 about its check
    assert sum(count_words(note.text) for note in sheets[1].notes) == 4 + 3 + 9 + 6 + 4


def test_each_page_starts_where_the_one_before_ends() -> None:
    gone = [Replaced(Way("2020-001", ""), None)]
    sheets = talk([PLAIN, replace(PLAIN, first=CHECK)], "from May", gone, "")
    assert [sheet.number for sheet in sheets] == ["", "2026-014", "2026-014", ""]
    for before, after in pairwise(sheets):
        assert after.start == pytest.approx(before.start + before.seconds)
    assert sheets[0].start == 0.0


@pytest.mark.parametrize(
    ("kinds", "said"),
    [
        (["repair"], ["There is one bulletin."]),
        (["repair", "parts"], ["There are 2 bulletins."]),
        (
            ["safety", "repair"],
            ["There are 2 bulletins.", "Those on safety matter most: 2026-014."],
        ),
    ],
)
def test_the_opening_counts_and_names_what_is_on_safety(kinds: list[Kind], said: list[str]) -> None:
    digests = [replace(PLAIN, kind=kind) for kind in kinds]
    notes = [note.text for note in talk(digests, "from May to June", [], "Hollin Ridge")[0].notes]
    assert notes[0] == "This is what changed at Hollin Ridge, from May to June."
    assert notes[1:-2] == said
    assert notes[-2:] == [
        "Local codes win over all of it.",
        "Work on gas, refrigerant and fixed wiring is for licensed people.",
    ]


def test_what_stands_no_more_closes_the_talk() -> None:
    gone = [
        Replaced(Way("2020-001", ""), Way("2026-014", "")),
        Replaced(Way("2020-002", ""), None),
    ]
    last = talk([PLAIN], "now", gone, "")[-1]
    assert last.heading == "What stands no more"
    assert [note.text for note in last.notes] == [
        "Do not go by 2020-001 any more: it is replaced by 2026-014.",
        "Do not go by 2020-002 any more: it is withdrawn.",
    ]


def test_the_script_says_all_notes_in_turn_and_marks_what_is_shown() -> None:
    sheets = talk([replace(PLAIN, first=CHECK)], "now", [], "")
    told = list(script(sheets))
    assert told[-1] == Said("[Shown: measure at the wall]", 180.0)
    assert [s.text for s in told[:-1]] == [n.text for sheet in sheets for n in sheet.notes]
    assert sum(s.seconds for s in told) == pytest.approx(minutes(sheets) * 60)
