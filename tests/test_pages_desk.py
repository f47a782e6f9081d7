"""The desk that pages are made from: indexes, addresses, links in running text, files, dates."""

from __future__ import annotations

import sys
import unicodedata
from collections.abc import Callable, Mapping
from datetime import date
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.bodynotes import SIGNAL_WORDS, link_scheme, panel_unclosed, panel_unknown, picture_remote
from kb.dates import Days
from kb.house import read_house
from kb.linking import linked
from kb.pages.assets import Pictures, name_of, own_assets
from kb.pages.bulletins import figure
from kb.pages.byname import natural
from kb.pages.desk import Desk, newest_first, parts_of
from kb.pages.lists import LONGEST, Sheet, cut, entries
from kb.pages.numbers import Linker, pieces
from kb.pages.ordering import ordered
from kb.pages.page import Page
from kb.pages.where import long_date, plain_days, revision_words, serial_words
from kb.records import Count, SerialRange
from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin

MakeDesk = Callable[[Mapping[str, str | bytes]], Desk]
SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 20"/>'


@pytest.fixture
def make_desk(make_house: MakeHouse) -> MakeDesk:
    return lambda files: Desk(read_house(make_house(files)), TODAY)


@pytest.fixture
def desk(make_desk: MakeDesk) -> Desk:
    return make_desk(
        {
            "2026/a.md": bulletin(codes="[E21, OE, 31]", symptoms="[hums]", keep="[HR-310-1204]"),
            "2026/b.md": bulletin(number="2026-015", issued="2026-04-01", supersedes="[2025-001]"),
            "2025/c.md": bulletin(number="2025-001", issued="2025-01-01"),
            "2026/d.md": bulletin(number="2026-016", status="draft"),
            "2026/e.md": bulletin(number="2026-017", status="withdrawn", issued="2026-03-01"),
            "2026/2026-014/a.svg": SVG,
            "2026/bad.svg": b"<svg/>",
        }
    )


def test_lists_hold_what_stands_and_pages_are_for_all_but_drafts(desk: Desk) -> None:
    assert [b.number for b in desk.standing] == ["2026-015", "2026-014"]
    assert [b.number for b in desk.published] == ["2026-015", "2026-014", "2026-017", "2025-001"]


def test_a_bulletin_is_found_however_its_number_is_typed(desk: Desk) -> None:
    for typed in ("2026-014", "2026014", "2026.014", " 2026 014 "):
        assert desk.bulletin_href(typed) == "bulletins/2026-014/index.html"
    assert desk.bulletin_href("2026-016") is None
    assert desk.bulletin_way("9999").href == ""


def test_a_part_is_found_however_its_number_is_typed(desk: Desk) -> None:
    assert desk.part_href("hr 310.4126") == "parts/HR-310-4126/index.html"
    assert desk.part_way("hr3104126") == (
        "HR-310-4126",
        "parts/HR-310-4126/index.html",
        "Drain pump, sealed rotor",
    )
    assert desk.part_href("HR-999") is None
    assert desk.part_name("HR-999") == ""


def test_an_index_counts_bulletins_and_knows_no_other_names(desk: Desk) -> None:
    assert desk.components.ways() == [
        ("drain pump", "components/drain-pump/index.html", "2 bulletins")
    ]
    assert desk.symptoms.href("HUMS") == "symptoms/hums/index.html"
    assert desk.symptoms.href("rattles") is None
    assert desk.symptoms.way("rattles").href == ""


def test_a_family_without_bulletins_is_listed_too(desk: Desk) -> None:
    assert [way.text for way in desk.families.ways()] == ["Cairn", "Tarn"]
    assert [way.remark for way in desk.families.ways()] == ["0 bulletins", "2 bulletins"]


def test_parts_that_a_bulletin_names_lead_back_to_it(desk: Desk) -> None:
    assert [b.number for b in desk.bulletins_of_part("HR3101204")] == ["2026-014"]
    assert parts_of(desk.by_number["2026014"]) == ["HR-310-1204"]


def test_the_summary_is_the_first_paragraph_where_none_is_given(make_desk: MakeDesk) -> None:
    made = make_desk({"a.md": bulletin("# Head\n\nFirst *words*.\n\nMore.")})
    assert made.summary(made.standing[0]) == "First words."
    made = make_desk({"a.md": bulletin("First.", summary="Given.")})
    assert made.summary(made.standing[0]) == "Given."


def test_what_is_made_once_is_kept(desk: Desk) -> None:
    numbers = iter(range(9))
    assert [desk.once(("test", "x"), lambda: next(numbers)) for _ in range(3)] == [0, 0, 0]


@given(st.lists(st.text(max_size=6), max_size=12))
def test_sorting_by_what_is_meant_is_a_sound_order(names: list[str]) -> None:
    once = sorted(names, key=natural)
    back = sorted(once, key=natural, reverse=True)
    assert [natural(name) for name in back[::-1]] == [natural(name) for name in once]


def test_the_newest_comes_first_and_the_higher_number_of_a_day(make_desk: MakeDesk) -> None:
    made = make_desk({f"{n}.md": bulletin(number=f"2026-{n}") for n in (9, 10, 11)})
    assert [b.number for b in newest_first(made.standing)] == ["2026-11", "2026-10", "2026-9"]


# Links in running text


@pytest.mark.parametrize(
    ("typed", "leads"),
    [
        ("2026-015", True),
        ("2026-014", False),  # the page itself
        ("2026-016", False),  # a draft has no page
        ("HR-310-4126", True),
        ("E21", True),
        ("e-21", True),
        ("OE", True),
        ("oe", False),  # a code of letters alone only as displayed
        ("31", False),  # figures alone are too common to be a code
        ("E99", False),
        ("", False),
    ],
)
def test_a_number_in_the_text_leads_on_where_it_is_surely_one(
    desk: Desk, typed: str, leads: bool
) -> None:
    assert (Linker(desk, "2026-014")(typed) is not None) is leads


def test_text_is_cut_at_its_links(desk: Desk) -> None:
    assert pieces("see E21, then go", Linker(desk)) == (
        ("see ", "", ""),
        ("E21", "codes/E21/index.html", ""),
        (", then go", "", ""),
    )
    assert pieces("", Linker(desk)) == ()


# What to order


def test_quantities_multiply_with_what_a_kit_holds(make_desk: MakeDesk) -> None:
    parts = "number,name,component,status,replaced_by,relation,models,since,note\n"
    parts += "K-1,Kit,,gone,,,,,\nA-1,A,,current,,,,,\nB-1,B,,current,,,,,\n"
    made = make_desk(
        {
            "reference/parts.csv": parts,
            "reference/kits.csv": "kit,number,quantity\nK-1,A-1,1\nK-1,B-1,2\n",
        }
    )
    found = ordered("K-1", made, 3)
    assert [(item.way.text, item.quantity) for item in found.items] == [("A-1", 3), ("B-1", 6)]
    assert found.changed


def test_an_unknown_part_is_shown_with_why_nothing_is_ordered(desk: Desk) -> None:
    found = ordered("HR-999-9999", desk)
    assert found.items == ()
    assert "HR-999-9999" in found.notes[0]


def test_a_current_part_is_ordered_as_it_is(desk: Desk) -> None:
    found = ordered("HR-310-4126", desk)
    assert not found.changed
    assert found.chain == ()
    assert found.interchange == ""


# Files


def test_a_file_is_placed_by_its_content(desk: Desk) -> None:
    pictures = Pictures(desk.house)
    placed = pictures.place("2026", "2026-014/a.svg")
    assert placed is not None
    assert placed.href == name_of("2026/2026-014/a.svg", SVG)
    assert (placed.width, placed.height) == (32, 20)


@pytest.mark.parametrize(
    "address", ["bad.svg", "gone.svg", "a.md", "../reference/house.yaml", "../../x.svg", "/x.svg"]
)
def test_what_must_not_be_published_has_no_place(desk: Desk, address: str) -> None:
    assert Pictures(desk.house).place("2026", address) is None


@pytest.mark.parametrize("name", ["ä b.svg", "a?b#.SVG", "...svg", "a/../b.svg"])
def test_a_published_file_has_a_plain_name(name: str) -> None:
    made = name_of(name, b"x")
    assert made.isascii()
    assert made.endswith(".svg") or "." in made
    assert not set(made) & set("/\\?# %")


def test_the_products_own_files_are_there() -> None:
    paths = [asset.path for asset in own_assets()]
    assert paths == sorted(paths, key=lambda path: path.split("/")[-1])
    assert {"icon.svg", "icon-192.png", "icon-512.png"} <= set(paths)
    assert sum(path.startswith("assets/style.") for path in paths) == 1


# Lists


@pytest.mark.parametrize(
    ("count", "sheets"), [(0, 1), (1, 1), (LONGEST, 1), (LONGEST + 1, 2), (3 * LONGEST, 3)]
)
def test_a_list_is_cut_without_loss(count: int, sheets: int) -> None:
    pages = list(cut(("codes", "E21"), "x", {}, "items", list(range(count))))
    assert len(pages) == sheets
    assert [item for page in pages for item in page.data["items"]] == list(range(count))
    assert pages[0].path == "codes/E21/index.html"
    assert ends(pages[0])[0] == ends(pages[-1])[1] == ""


def ends(page: Page) -> tuple[str, str]:
    sheet = page.data["sheet"]
    assert isinstance(sheet, Sheet)
    return sheet.before, sheet.after


def test_an_entry_tells_number_kind_date_and_what_it_is_about(desk: Desk) -> None:
    (entry,) = entries(desk.standing[1:], desk)
    assert entry.number == "2026-014"
    assert (entry.kind, entry.kind_name) == ("repair", "Repair")
    assert entry.issued == "2 Mar 2026"
    assert entry.about == "Tarn · drain pump"


# Words


@pytest.mark.parametrize(
    ("revision", "told"),
    [
        (None, ""),
        (Count(2, 2), "revision 2"),
        (Count(2, 4), "revision 2 to 4"),
        (Count(2, None), "revision 2 or later"),
        (Count(None, 3), "revision up to 3"),
        (Count(None, None), "any revision"),
        (Count(0, None), "revision 0 or later"),
    ],
)
def test_revisions_are_told_in_words(revision: Count | None, told: str) -> None:
    assert revision_words(revision) == told


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (Days(date(2024, 3, 4), date(2025, 6, 1)), "4 Mar 2024 to 1 Jun 2025"),
        (Days(date(2024, 3, 4), date(2024, 3, 4)), "4 Mar 2024"),
        (Days(date(2024, 3, 4), None), "4 Mar 2024 or later"),
        (Days(None, date(2024, 3, 4)), "up to 4 Mar 2024"),
        (Days(), ""),
    ],
)
def test_days_are_told_with_the_month_in_letters(days: Days, told: str) -> None:
    assert plain_days(days) == told


@given(st.dates())
def test_a_date_is_never_mistaken_for_another(day: date) -> None:
    number, month, year = long_date(day).split()
    assert (int(number), int(year)) == (day.day, day.year)
    assert month.isalpha()
    assert month == day.strftime("%b")


def test_a_single_serial_is_no_range() -> None:
    assert serial_words(SerialRange("KP1400031", "KP1400031")) == "KP1400031"
    assert serial_words(SerialRange("K1", "K9")) == "K1 to K9"


@pytest.mark.parametrize(
    ("value", "told"),
    [(5, "5"), (5.0, "5"), (7.25, "7.2"), (0.04, "0"), (12.34, "12.3"), (1234567, "1234567")],
)
def test_figures_have_one_decimal_at_most(value: float, told: str) -> None:
    assert figure(value) == told


# What is said about a body


def test_a_note_says_what_is_wrong_and_what_to_do() -> None:
    assert panel_unclosed(3, "danger").remedy.startswith("put a line with ':::'")
    assert "did you mean 'caution'" in panel_unknown(3, "cauton").remedy
    assert "did you mean" not in panel_unknown(3, "xyzzy").remedy
    for word in SIGNAL_WORDS:
        assert word in panel_unknown(1, "x").remedy


def test_a_very_long_address_is_cut_short_in_a_message() -> None:
    for note in (link_scheme(1, "javascript:" + "x" * 500), picture_remote(1, "data:" + "x" * 500)):
        assert len(note.message) < 120
        assert "…" in note.message


def test_a_text_that_is_not_looked_at_holds_no_number(desk: Desk) -> None:
    link, words = Linker(desk), ["E21", "OE", "oe", "e²1", "２０２６", "015", "end", "é", " ", "-"]
    texts = ["".join(parts) for parts in product(words, repeat=3)]
    told = [[(p.text, p.href or None) for p in pieces(text, link)] for text in texts]
    assert told == [list(linked(text, link)) for text in texts]
    assert sum(link.hint.search(text) is None for text in texts) > 50


def test_whatever_can_stand_for_a_figure_is_looked_at(desk: Desk) -> None:
    """Compatibility forms by the Unicode database that comes with Python (UAX 15, NFKC)."""
    hint = Linker(desk).hint
    every = map(chr, range(sys.maxunicode + 1))
    figures = [c for c in every if any(map(str.isdigit, unicodedata.normalize("NFKC", c)))]
    assert len(figures) > 900
    assert [c for c in figures if not hint.search(c)] == []
