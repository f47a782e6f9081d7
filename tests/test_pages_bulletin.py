"""A bulletin's page: what it tells, in which order, and what it keeps to itself."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.conftest import MakeHouse
from tests.rendered import bulletin, files_of, section, site_of, words

PATH = "bulletins/2026-014/index.html"


@pytest.fixture
def page(make_house: MakeHouse) -> str:
    return site_of(make_house({"a.md": FULL}))[PATH]


FULL = bulletin(
    "The text.\n\n::: caution\nSharp.\n:::",
    built="2024-W10..2025-W22",
    symptoms="[hums but does not drain]",
    codes="[E21]",
    hazards="[electricity, hot-water]",
    tools="[star driver T20]",
    consumables="[cloths]",
    minutes="25",
    keep="[HR-310-1204]",
    parts="[{number: HR-310-4120, quantity: 2, in-hand: yes, all: yes, note: see E21}]",
    coverage="{component: drain pump, years: 3, from: built}",
    age="{years: 5, advice: replace the hose}",
    checks="[{cause: control, likelihood: 0.05, minutes: 10, last: yes},"
    " {cause: hose, test: feel it, likelihood: 0.2, minutes: 10, fix: lay it anew},"
    " {cause: connector, likelihood: 0.5, minutes: 5, parts: [HR-310-7620]}]",
)


def test_what_decides_comes_first(page: str) -> None:
    order = [page.index(f'id="{name}"') for name in
             ("applies", "safety", "noticed", "checks", "parts", "text")]  # fmt: skip
    assert order == sorted(order)


def test_where_it_applies_is_told_in_words_dates_and_serial_prefixes(page: str) -> None:
    told = section(page, "applies")
    assert told.startswith("All Tarn, built 2024-W10 to 2025-W22.")
    # date.fromisocalendar is the reference: 2024-W10 begins on 4 March, 2025-W22 ends on 1 June.
    assert "4 Mar 2024 to 1 Jun 2025" in told
    assert "KS10… to KT22…" in told
    assert "LS10… to LT22…" in told


WHERE = [
    ({"models": "TD45*"}, "Tarn TD45A, TD45B."),
    ({"models": "[TD45A, TD60?]"}, "Tarn TD45A, TD60A, TD60B."),
    ({"family": "[Tarn, Cairn]"}, "All Tarn and all Cairn."),
    ({"revision": "2.."}, "All Tarn, revision 2 or later."),
    ({"revision": "..3"}, "All Tarn, revision up to 3."),
    ({"revision": "2..4"}, "All Tarn, revision 2 to 4."),
    ({"revision": "2"}, "All Tarn, revision 2."),
    ({"plant": "K"}, "All Tarn, from Kirkholm works (K)."),
    ({"built": "2024.."}, "All Tarn, built 2024 or later."),
    ({"built": "..2024-03"}, "All Tarn, built up to 2024-03."),
    ({"serials": "K P 14 00031..K P 14 00090"}, "serial K P 14 00031 to K P 14 00090."),
    ({"except": "{models: TD60B}"}, "All Tarn, but not Tarn TD60B."),
    ({"except": "{built: 2024}"}, "All Tarn, but not built 2024."),
    (
        {"family": None, "applies": "[{family: Tarn, built: 2024}, {family: Cairn}]"},
        "All Tarn, built 2024; or all Cairn.",
    ),
]


@pytest.mark.parametrize(("front", "told"), WHERE)
def test_every_condition_is_told_in_words(
    front: dict[str, str | None], told: str, make_house: MakeHouse
) -> None:
    page = site_of(make_house({"a.md": bulletin(**front)}))[PATH]
    assert told in section(page, "applies")


def test_the_usual_cautions_are_shown_for_each_hazard(page: str) -> None:
    told = section(page, "safety")
    assert "WARNING Electric shock" in told
    assert "WARNING Scalding water and steam" in told
    assert "licensed electrician" in told
    assert "Sharp edges" not in told


def test_checks_stand_in_the_best_order_with_both_orders_minutes(page: str) -> None:
    told = section(page, "checks")
    assert [told.index(cause) for cause in ("connector", "hose", "control")] == sorted(
        told.index(cause) for cause in ("connector", "hose", "control")
    )
    # Reckoned by hand, sums of likelihood x minutes spent over 0.75:
    # best (0.5 x 5 + 0.2 x 15 + 0.05 x 25) / 0.75 = 9; written (0.05 x 10 + 0.2 x 20 + 0.5 x 25)
    # / 0.75 = 22.7.
    assert "after 9 min on average" in told
    assert "it takes 22.7 min" in told
    assert "5 min 50 % likely" in told
    assert "after all others" in told
    assert "If so lay it anew" in told
    assert "Needs HR-310-7620 Pump connector" in told


def test_a_wrong_order_of_checks_falls_back_on_the_written_one(make_house: MakeHouse) -> None:
    checks = "[{cause: a, minutes: 1, before: [b]}, {cause: b, minutes: 1, before: [a]}]"
    page = site_of(make_house({"a.md": bulletin(checks=checks)}))[PATH]
    assert section(page, "checks").index(" a ") < section(page, "checks").index(" b ")


def test_the_number_to_order_today_is_told_with_the_chain(page: str) -> None:
    told = section(page, "parts")
    assert "2 × HR-310-4126 Drain pump, sealed rotor" in told
    assert "HR-310-4120 → HR-310-4126, since 2019-W08" in told
    assert "never the other way" in told


def test_what_must_be_in_hand_and_what_goes_together_is_said(page: str) -> None:
    told = section(page, "parts")
    assert "Do not take it out before the new one is there" in told
    assert "Replace all of them together" in told


def test_what_to_have_in_hand_stands_first_under_todays_numbers(page: str) -> None:
    told = section(page, "parts")
    assert told.startswith(
        "In hand before you open it New parts 2 × HR-310-4126 Drain pump, sealed rotor"
        " Tools star driver T20 Consumables cloths"
    )


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ("[{number: HR-310-7620}]", ""),  # nothing that must be there first
        ("[{number: HR-310-1223, in-hand: yes}]", "New parts 1 × HR-310-1223 Filter set"),
        (
            "[{number: HR-310-1204, in-hand: yes}]",
            "New parts 1 × HR-310-1204 Filter cylinder for TD45A, TD60A",
        ),
    ],
)
def test_only_parts_that_must_be_there_first_are_named_first(
    parts: str, told: str, make_house: MakeHouse
) -> None:
    page = site_of(make_house({"a.md": bulletin(parts=parts)}))[PATH]
    before = section(page, "parts").partition("Order today")[0]
    assert before.removeprefix("In hand before you open it").strip() == told


@pytest.mark.parametrize(
    ("revised", "edition"), [(None, "2026-03-02"), ("2026-04-01", "2026-04-01")]
)
def test_a_page_tells_scripts_its_edition_and_each_checks_minutes(
    revised: str | None, edition: str, make_house: MakeHouse
) -> None:
    checks = "[{cause: hose, minutes: 2.5}, {cause: control, minutes: 10, last: yes}]"
    page = site_of(make_house({"a.md": bulletin(checks=checks, revised=revised)}))[PATH]
    assert f'data-edition="{edition}"' in page
    assert re.findall(r'<li class="step" data-minutes="([^"]+)">', page) == ["2.5", "10"]


def test_what_must_not_be_replaced_is_said_before_what_to_order(page: str) -> None:
    told = section(page, "parts")
    assert "Leave in: not the cause HR-310-1204 Filter cylinder" in told
    assert told.index("Leave in") < told.index("Order today")


def test_tools_consumables_minutes_coverage_and_age_are_told(page: str) -> None:
    told = words(page)
    for part in (
        "Labour 25 min",
        "Tools star driver T20",
        "Consumables cloths",
        "drain pump, 3 years from the date of production",
        "When a unit is 5 years old: replace the hose",
    ):
        assert part in told


def test_a_bare_bulletin_has_no_empty_sections(make_house: MakeHouse) -> None:
    page = site_of(make_house({"a.md": bulletin("")}))[PATH]
    assert re.findall(r'<section class="sheet[^"]*" id="(\w+)"', page) == ["applies"]


def test_a_code_to_scan_leads_to_the_public_address(page: str, make_house: MakeHouse) -> None:
    address = "https://service.hollin-ridge.example/bulletins/2026-014/"
    assert f'<link rel="canonical" href="{address}">' in page
    assert '<svg xmlns="http://www.w3.org/2000/svg"' in page
    assert 'class="qr"' in page
    bare = {"a.md": FULL, "reference/house.yaml": "name: x\n"}
    assert 'class="qr"' not in site_of(make_house(bare))[PATH]


def three(make_house: MakeHouse, status: str = "in-force") -> dict[str, str]:
    return site_of(
        make_house(
            {
                "a.md": bulletin(title="Old", issued="2025-01-01"),
                "b.md": bulletin(
                    number="2026-020", title="New", supersedes="[2026-014]", status=status
                ),
                "c.md": bulletin("See 2026-014.", number="2026-030", related="[2026-020]"),
            }
        )
    )


def test_a_superseded_bulletin_points_to_its_successor_first_of_all(make_house: MakeHouse) -> None:
    pages = three(make_house)
    assert words(pages[PATH]).find("Superseded. Go by 2026-020 New instead.") < 60
    assert 'data-standing="superseded"' in pages[PATH]
    for path in ("bulletins/index.html", "components/drain-pump/index.html", "index.html"):
        assert "Old" not in words(pages[path])
        assert "New" in words(pages[path])


def test_a_successor_in_draft_supersedes_nothing(make_house: MakeHouse) -> None:
    pages = three(make_house, "draft")
    assert "Superseded" not in pages[PATH]
    assert "bulletins/2026-020/index.html" not in pages
    assert "2026-020" not in pages["feed.xml"] + pages["sitemap.xml"]


def test_a_withdrawn_bulletin_keeps_its_page_with_a_plain_notice(make_house: MakeHouse) -> None:
    pages = site_of(make_house({"a.md": bulletin(status="withdrawn")}))
    assert "Withdrawn. Do not go by this bulletin any more." in words(pages[PATH])
    assert "2026-014" not in words(pages["bulletins/index.html"])


def test_neighbours_are_shown_from_both_sides(make_house: MakeHouse) -> None:
    pages = three(make_house)
    assert "2026-020 New" in section(pages["bulletins/2026-030/index.html"], "see")
    new = section(pages["bulletins/2026-020/index.html"], "see")
    assert "2026-030 Pump hums" in new
    assert "Replaces 2026-014 Old" in new


def test_numbers_in_the_text_become_links_but_not_to_the_page_itself(
    make_house: MakeHouse,
) -> None:
    body = "2026-014, 2026-020, HR-310-4126, E21, 10 and 2025."
    other = bulletin(number="2026-020", codes="[E21]")
    page = site_of(make_house({"a.md": bulletin(body), "b.md": other}))[PATH]
    text = page.partition('id="text-h"')[2].partition("</section>")[0]
    assert re.findall(r'href="([^"]+)"', text) == [
        "../../bulletins/2026-020/index.html",
        "../../parts/HR-310-4126/index.html",
        "../../codes/E21/index.html",
    ]


SVG = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 200"><path d="M0 0"/></svg>'


def test_a_picture_is_published_beside_its_page_at_its_size(make_house: MakeHouse) -> None:
    body = "![pump](2026-014/a.svg)"
    folder = make_house({"2026/a.md": bulletin(body), "2026/2026-014/a.svg": SVG})
    page, files = site_of(folder)[PATH], files_of(folder)
    (name,) = re.findall(
        r'<img src="(a\.[0-9a-f]+\.svg)" alt="pump" width="320" height="200">', page
    )
    assert files[f"bulletins/2026-014/{name}"] == SVG


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.svg", SVG.replace(b"<path", b"<script>alert(1)</script><path")),
        ("a.svg", b"<!DOCTYPE svg>" + SVG),
        ("a.html", b"<script>alert(1)</script>"),
        ("a.js", b"alert(1)"),
    ],
)
def test_a_file_with_more_in_it_than_a_picture_is_not_published(
    name: str, content: bytes, make_house: MakeHouse
) -> None:
    body = f"![pump]({name}) [file]({name})"
    folder = make_house({"2026/a.md": bulletin(body), f"2026/{name}": content})
    assert "[pump] file" in words(site_of(folder)[PATH])
    assert not [path for path in files_of(folder) if path.startswith("bulletins/")]


def test_no_link_in_the_house_publishes_a_file_from_outside(
    make_house: MakeHouse, tmp_path: Path
) -> None:
    (tmp_path / "secret.svg").write_bytes(SVG)
    folder = make_house({"2026/a.md": bulletin("![pump](s.svg) ![out](../../secret.svg)")})
    (folder / "2026" / "s.svg").symlink_to(tmp_path / "secret.svg")
    assert not [path for path in files_of(folder) if path.startswith("bulletins/")]


def test_us_houses_show_us_units_first(make_house: MakeHouse) -> None:
    house = {"a.md": bulletin("{12 N m}"), "reference/house.yaml": "name: x\nunits: us\n"}
    assert "106 lbf·in (12 N·m)" in words(site_of(make_house(house))[PATH])
