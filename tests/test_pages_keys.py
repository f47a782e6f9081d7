"""What each key of the contract puts on a bulletin's page, where it stands, what comes first."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from kb.hazards import WORDS, hazards
from kb.pages.desk import KIND_NAMES
from kb.records import HAZARDS, KINDS
from tests.conftest import MakeHouse
from tests.rendered import bulletin, page_of, section, site_of, words

Show = Callable[..., str]
PATH = "bulletins/2026-014/index.html"

PARTS = """\
number,name,component,status,replaced_by,relation,models,since,note
A-100,Old pump,drain pump,gone,A-200,forward,,2019-W08,
A-200,New pump,drain pump,current,,,,,
B-100,Old valve,inlet valve,gone,B-200,same,TD45*,,
B-100,Old valve,inlet valve,gone,B-300,same,TD60?,,
B-200,Narrow valve,inlet valve,current,,,,,
B-300,Wide valve,inlet valve,running-out,,,,,
C-100,Belt,belt,current,C-200,same,,2027-02,
C-200,Stronger belt,belt,pending,,,,2027-02,
D-100,Lost lamp,lamp,gone,,,,,
E-100,Rope,door,gone,K-500,kit,,2020-01,
K-500,Rope kit,door,current,,,,,
F-100,Sensor,sensor,current,,changed,,2021-03,white plug since then
G-100,Seal,seal,pending,,,,2027-05,
"""


@pytest.fixture
def show(make_house: MakeHouse) -> Show:
    """Return the page of one bulletin made with these keys."""

    def shown(body: str = "Text.", /, **front: str | None) -> str:
        files = {
            "a.md": bulletin(body, **front),
            "reference/parts.csv": PARTS,
            "reference/kits.csv": "kit,number,quantity\nK-500,B-200,2\n",
        }
        return page_of(make_house(files), PATH)

    return shown


# Each key, the part of the page where it stands, and how it is said

SAID: list[tuple[dict[str, str | None], str, str]] = [
    ({"number": "2026-014"}, "", "Repair 2026-014 Pump hums"),
    ({"title": "Hums & stops"}, "", "Hums & stops"),
    ({"issued": "2026-03-02"}, "", "Issued 2 Mar 2026"),
    ({"revised": "2026-05-09"}, "", "Revised 9 May 2026"),
    ({"summary": "Thaw it first."}, "", "Pump hums Thaw it first."),
    ({"minutes": "25"}, "", "Labour 25 min"),
    ({"minutes": "7.5"}, "", "Labour 7.5 min"),
    ({"component": "[drain pump, sump]"}, "", "Component drain pump, sump"),
    ({"family": "Tarn"}, "applies", "Tarn dishwasher, all: TD45A, TD45B, TD60A, TD60B"),
    ({"models": "TD60*"}, "applies", "Tarn dishwasher: TD60A, TD60B"),
    ({"revision": "2.."}, "applies", "Revision 2 or later"),
    ({"built": "2024-03"}, "applies", "Built 2024-03 1 Mar 2024 to 31 Mar 2024"),
    ({"built": "2024-03"}, "applies", "Serial begins KS09… to KS13…"),
    ({"plant": "L"}, "applies", "Plant Langrigg works (L)"),
    ({"plant": "L", "built": "2024-03"}, "applies", "Serial begins LS09… to LS13…"),
    ({"serials": "KP1400031..KP1400090"}, "applies", "Serials KP1400031 to KP1400090"),
    ({"except": "{models: TD60B}"}, "applies", "But not Tarn TD60B"),
    ({"age": "{years: 5, advice: renew it}"}, "applies", "When a unit is 5 years old: renew it"),
    (
        {"coverage": "{component: drum, years: 10, from: purchase}"},
        "applies",
        "Warranty: drum, 10 years from the date of purchase.",
    ),
    (
        {"coverage": "{component: drum, years: 2.5, from: built}"},
        "applies",
        "Warranty: drum, 2.5 years from the date of production.",
    ),
    ({"symptoms": "[hums, stands]"}, "noticed", "hums stands"),
    ({"codes": "[E21, E24]"}, "noticed", "E21 E24"),
    ({"tools": "[torque wrench, lamp]"}, "parts", "Tools torque wrench lamp"),
    ({"consumables": "[grease]"}, "parts", "Consumables grease"),
    ({"keep": "[A-200]"}, "parts", "Leave in: not the cause A-200 New pump"),
]


@pytest.mark.parametrize(("front", "place", "said"), SAID)
def test_every_key_is_said_in_its_place(
    front: dict[str, str | None], place: str, said: str, show: Show
) -> None:
    page = show(**front)
    assert said in (section(page, place) if place else words(page))


@pytest.mark.parametrize("key", ["x-owner", "x-ticket"])
def test_keys_of_the_authors_own_are_kept_to_himself(key: str, show: Show) -> None:
    assert "hush-hush" not in show(**{key: "hush-hush"})


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_named_in_the_head(kind: str, show: Show) -> None:
    page = show(kind=kind)
    assert words(page).startswith(f"{KIND_NAMES[kind]} 2026-014")
    assert f'<article class="bulletin {kind}"' in page


@pytest.mark.parametrize(
    ("kind", "noticed", "text"),
    [
        ("repair", "What is noticed", "What to do"),
        ("safety", "What is noticed", "What to do"),
        ("normal", "What the owner notices", "In full"),
        ("reference", "What is noticed", "In full"),
    ],
)
def test_headings_fit_the_kind(kind: str, noticed: str, text: str, show: Show) -> None:
    page = show(kind=kind, symptoms="[hums]")
    assert f'<h2 id="noticed-h">{noticed}</h2>' in page
    assert f'<h2 id="text-h">{text}</h2>' in page


# What decides comes first


FULL: dict[str, str | None] = {
    "hazards": "[heavy]",
    "symptoms": "[hums]",
    "checks": "[{cause: a, minutes: 1}]",
    "keep": "[A-200]",
    "parts": "[{number: B-200}]",
    "related": "[2026-099]",
}
LATER = ["applies", "safety", "noticed", "checks", "parts", "text", "see"]


@pytest.mark.parametrize("left_out", [None, *FULL])
def test_sections_stand_in_the_same_order_whatever_is_left_out(
    left_out: str | None, show: Show
) -> None:
    page = show(**{key: value for key, value in FULL.items() if key != left_out})
    found = re.findall(r'<section class="sheet[^"]*" id="(\w+)"', page)
    assert found == [name for name in LATER if name in found]
    assert len(found) >= 5


@pytest.mark.parametrize("left_out", [None, *FULL])
def test_the_row_of_jumps_names_what_is_there_and_nothing_else(
    left_out: str | None, show: Show
) -> None:
    page = show(**{key: value for key, value in FULL.items() if key != left_out})
    row = page.partition('<nav class="jump"')[2].partition("</nav>")[0]
    for goal in re.findall(r'href="#(\w+)"', row):
        assert f'id="{goal}"' in page
    assert ('href="#safety"' in row) == (left_out != "hazards")
    assert ('href="#checks"' in row) == (left_out != "checks")


@pytest.mark.parametrize("status", ["withdrawn", "in-force"])
def test_what_a_bulletin_is_worth_stands_before_its_title(
    status: str, make_house: MakeHouse
) -> None:
    files = {"a.md": bulletin(status=status)}
    if status == "in-force":
        files["b.md"] = bulletin(number="2026-020", title="New", supersedes="[2026-014]")
    page = site_of(make_house(files))[PATH]
    assert page.index('class="standing"') < page.index("<h1")
    assert page.count('role="note"') == 1


def test_a_withdrawn_bulletin_with_a_successor_names_it(make_house: MakeHouse) -> None:
    new = bulletin(number="2026-020", title="New", supersedes="[2026-014]")
    page = site_of(make_house({"a.md": bulletin(status="withdrawn"), "b.md": new}))[PATH]
    assert "Withdrawn. Do not go by this bulletin any more. See 2026-020 New." in words(page)


def test_a_draft_has_no_page_and_is_named_nowhere(make_house: MakeHouse) -> None:
    other = bulletin("See 2026-014.", number="2026-020", related="[2026-014]")
    pages = site_of(make_house({"a.md": bulletin(status="draft", title="Secret"), "b.md": other}))
    assert PATH not in pages
    assert [path for path, text in pages.items() if "Secret" in text] == []
    assert 'href="../../bulletins/2026-014' not in pages["bulletins/2026-020/index.html"]


# Hazards. Signal words: ANSI Z535.4-2007 section 4.14 as quoted by safetylabel.com.


@pytest.mark.parametrize("name", HAZARDS)
def test_every_hazard_shows_word_consequence_and_how_to_avoid_it(name: str, show: Show) -> None:
    told, hazard = section(show(hazards=f"[{name}]"), "safety"), hazards()[name]
    assert told.startswith(f"{hazard.word} {hazard.title}")
    assert hazard.consequence in told
    assert all(step in told for step in hazard.avoid)
    assert told.endswith(hazard.defer or hazard.avoid[-1])


def test_the_gravest_hazard_comes_first_whatever_the_author_wrote(show: Show) -> None:
    page = show(hazards=f"[{', '.join(reversed(HAZARDS))}]")
    found = re.findall(r'<section class="panel (\w+)"', page)
    assert len(found) == len(HAZARDS)
    assert found == sorted(found, key=lambda word: WORDS.index(word.upper()))


# Checks: least expected time first, figures reckoned by hand


@pytest.mark.parametrize(
    ("checks", "order", "told"),
    [
        ("[{cause: a, minutes: 4}]", "a", "Takes 4 min."),
        # 0.5 x 2 + 0.5 x (2 + 6) = 5 either way
        (
            "[{cause: a, likelihood: 0.5, minutes: 2}, {cause: b, likelihood: 0.5, minutes: 6}]",
            "ab",
            "after 5 min on average. It is also the order in which it was written (5 min).",
        ),
        # best: 0.5 x 2 + 0.5 x 8 = 5; written: 0.5 x 6 + 0.5 x 8 = 7
        (
            "[{cause: b, likelihood: 0.5, minutes: 6}, {cause: a, likelihood: 0.5, minutes: 2}]",
            "ab",
            "after 5 min on average. In the order it was written it takes 7 min.",
        ),
        # b is held behind c for safety: c first though it is the slow one
        (
            "[{cause: b, likelihood: 0.8, minutes: 1, before: [c]},"
            " {cause: c, likelihood: 0.2, minutes: 9}]",
            "cb",
            "not before: c",
        ),
        (
            "[{cause: z, likelihood: 0.9, minutes: 1, last: yes},"
            " {cause: y, likelihood: 0.1, minutes: 30}]",
            "yz",
            "after all others",
        ),
        ("[{cause: a, minutes: 4, test: look at it}]", "a", "Check look at it"),
        ("[{cause: a, minutes: 4, fix: see E21 there}]", "a", "If so see E21 there"),
        ("[{cause: a, minutes: 4, parts: [A-100]}]", "a", "Needs A-100 Old pump"),
        ("[{cause: a, minutes: 2.5, likelihood: 0.125}]", "a", "2.5 min 12.5 % likely"),
    ],
)
def test_checks_are_told_in_the_order_to_go_by(
    checks: str, order: str, told: str, show: Show
) -> None:
    page = show(checks=checks)
    assert "".join(re.findall(r'<h3 dir="auto">(\w)</h3>', page)) == order
    assert told in section(page, "checks")


# Parts


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("{number: A-200}", "1 × A-200 New pump"),
        ("{number: a 200, quantity: 3}", "3 × A-200 New pump"),
        ("{number: A-100, quantity: 2}", "2 × A-200 New pump"),
        ("{number: A-100}", "A-100 → A-200, since 2019-W08: the new one may replace the old"),
        ("{number: A-100}", "The new part may replace the old one, never the other way round."),
        ("{number: B-100}", "One of these, by model:"),
        ("{number: B-100}", "1 × B-200 Narrow valve for TD45A, TD45B"),
        ("{number: B-100}", "1 × B-300 Wide valve for TD60A, TD60B running out"),
        ("{number: C-100}", "1 × C-100 Belt Coming: C-200, from 2027-02"),
        ("{number: D-100}", "1 × D-100 Lost lamp nothing to order"),
        ("{number: E-100}", "1 × K-500 Rope kit"),
        ("{number: E-100}", "since 2020-01: now sold only inside this kit"),
        ("{number: F-100}", "white plug since then"),
        ("{number: G-100}", "1 × G-100 Seal nothing to order"),
        ("{number: A-200, note: only with E21}", "1 × A-200 New pump only with E21"),
    ],
)
def test_a_line_says_what_to_order_today(line: str, said: str, show: Show) -> None:
    assert said in section(show(parts=f"[{line}]"), "parts")


IN_HAND = "In hand first: the old one cannot be refitted."
TOGETHER = "Replace all of them together, never just one."


@pytest.mark.parametrize("in_hand", ["yes", "no", None])
@pytest.mark.parametrize("together", ["yes", "no", None])
def test_what_must_be_is_said_where_it_must_be_and_nowhere_else(
    in_hand: str | None, together: str | None, show: Show
) -> None:
    keys = [f"{k}: {v}" for k, v in (("in-hand", in_hand), ("all", together)) if v]
    told = section(show(parts=f"[{{{', '.join(['number: A-200', *keys])}}}]"), "parts")
    assert (IN_HAND in told) == (in_hand == "yes")
    assert (TOGETHER in told) == (together == "yes")


def test_every_line_keeps_its_own_musts(show: Show) -> None:
    page = show(parts="[{number: A-200, in-hand: yes}, {number: B-200, all: yes}]")
    first, second = re.findall(r'<li class="order boxed">(.*?)</li>', page, re.S)
    assert (IN_HAND in words(first), TOGETHER in words(first)) == (True, False)
    assert (IN_HAND in words(second), TOGETHER in words(second)) == (False, True)


def test_a_part_to_leave_in_is_never_offered_for_ordering_above_the_line(show: Show) -> None:
    page = show(keep="[A-200, D-100]", parts="[{number: B-200}]")
    told = section(page, "parts")
    kept, ordered = told.split("Order today")
    assert "A-200 New pump" in kept
    assert "D-100 Lost lamp" in kept
    assert "A-200" not in ordered


def test_exceptions_stay_together_in_words(show: Show) -> None:
    page = show(**{"except": "[{models: TD60B, plant: L, built: 2024}, {revision: 4..}]"})
    assert section(page, "applies").startswith(
        "All Tarn, but not Tarn TD60B built 2024 from Langrigg works (L), nor revision 4 or later."
    )


def test_alternatives_are_rows_of_their_own(show: Show) -> None:
    page = show(family=None, applies="[{family: Tarn, built: 2024}, {family: Cairn, plant: K}]")
    told = section(page, "applies")
    assert told.startswith("All Tarn, built 2024; or all Cairn, from Kirkholm works (K).")
    assert page.count('<dl class="fields wide">') == 2
    assert page.count('<p class="or">or</p>') == 1
