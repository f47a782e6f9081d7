"""Hand-outs, talks and the pages of quarters, exact on a small house and whole on the demo house.

References: html5lib parses the pages without errors; webvtt-py reads the captions.
"""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import html5lib
import pytest
import webvtt

from kb.dates import Days, parse_days
from kb.house import read_house
from kb.pages.desk import Desk
from kb.pages.roundups import (
    changed,
    digest,
    group_of,
    quarter,
    quarter_days,
    quarter_name,
    quarters,
    replaced,
)
from kb.roundup import folder_for, roundup
from kb.speaking import count_words
from tests.rendered import dead_links, files_of, links, site_of, words
from tests.triphouse import HOUSE, TODAY, run, write_house
from tests.well_formed import problems_of

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "bulletins"
DAY = date.fromisoformat(TODAY)
KEYS = ["period", "bulletins", "minutes", "files"]
FILES = ["handout.html", "talk.html", "talk.vtt"]


@pytest.fixture
def house(tmp_path: Path) -> Path:
    return write_house(tmp_path / "bulletins")


@pytest.fixture
def desk(house: Path) -> Desk:
    return Desk(read_house(house), DAY)


def told(house: Path, period: str, *words: object) -> dict[str, Any]:
    return run("roundup", period, "--json", "--house", house, *words).json


def made(house: Path, period: str) -> dict[str, str]:
    out = house.parent / "out"
    answer = told(house, period, "--out", out)
    return {Path(name).name: Path(name).read_text("utf-8") for name in answer["files"]}


# Which bulletins


@pytest.mark.parametrize(
    ("period", "numbers"),
    [
        # 2026-004 before 2024-002 within Tarn; what is about two families stands first.
        ("2026-01..2026-03", ["2026-007", "2026-004", "2024-002", "2026-006"]),
        ("2026-02", ["2026-004", "2024-002"]),  # one issued, one revised
        ("2026-02-10", ["2024-002"]),
        ("2024-03-04", ["2024-002"]),
        ("2026-03-31", ["2026-007"]),
        ("2026-W06", ["2026-004"]),  # 2 to 8 February
        ("2024", ["2024-001", "2024-002"]),
        ("2023", []),  # superseded since
        ("2026-02-20..2026-02-21", []),  # a withdrawn one and a draft
        ("2026-04..", ["2026-005"]),
        ("..2024-02", ["2024-001"]),
        (
            "..",
            [
                "2026-007",
                "2026-004",
                "2026-005",
                "2024-001",
                "2024-002",
                "2025-003",
                "2026-006",
            ],
        ),
    ],
)
def test_what_was_issued_or_revised_in_the_period_and_is_in_force(
    house: Path, period: str, numbers: list[str]
) -> None:
    answer = told(house, period)
    assert answer["bulletins"] == numbers
    assert answer["period"] == period


def test_a_family_tells_safety_first_then_repairs_changes_parts_and_the_normal(
    tmp_path: Path,
) -> None:
    kinds = ["normal", "parts", "reference", "repair", "introduction", "running-change", "safety"]
    files = {
        f"b{at}.md": HOUSE["2026/2026-006.md"]
        .replace("2026-006", f"2026-{at:03}")
        .replace("kind: normal", f"kind: {kind}")
        for at, kind in enumerate(kinds, 20)
    }
    base = {name: text for name, text in HOUSE.items() if name.startswith("reference/")}
    desk = Desk(read_house(write_house(tmp_path / "bulletins", {**base, **files})), DAY)
    assert [b.kind for b in changed(desk, Days())] == [
        "safety",
        "repair",
        "running-change",
        "introduction",
        "parts",
        "normal",
        "reference",
    ]


def test_families_stand_in_the_order_of_the_house_after_what_is_about_several(
    desk: Desk,
) -> None:
    groups = [group_of(bulletin, desk) for bulletin in changed(desk, Days())]
    assert list(dict.fromkeys(groups)) == ["Several families", "Tarn"]


def test_what_stands_no_more_names_what_to_go_by(desk: Desk) -> None:
    gone = replaced(desk, parse_days("2026-01..2026-03"))
    assert [(r.way.text, r.by.text if r.by else "") for r in gone] == [
        ("2023-008", "2026-007"),
        ("2026-009", ""),
    ]
    assert replaced(desk, parse_days("2026-04")) == []


# The digest


def digest_of(desk: Desk, number: str) -> Any:
    return digest(desk.by_number_exact[number], desk)


def test_the_digest_tells_what_decides(desk: Desk) -> None:
    pump = digest_of(desk, "2024-001")
    assert pump.where == "all Tarn"
    assert pump.first.cause == "connector loose"  # 0.5 in 5 min, before 0.3 in 6
    assert pump.checks == 3
    assert [way.text for way in pump.keep] == ["HR-310-7318"]
    assert [hazard.word for hazard in pump.hazards] == ["WARNING", "WARNING"]
    assert pump.dated == "issued 5 Feb 2024"


def test_orders_stand_under_today_s_numbers_and_spares_apart(desk: Desk) -> None:
    pump = digest_of(desk, "2024-001")
    (order,) = pump.orders
    assert [(i.way.text, i.quantity) for i in order.items] == [("HR-310-4126", 1)]
    assert (order.in_hand, order.all) == (True, False)
    assert [spare.asked.text for spare in pump.spares] == ["HR-310-4144"]


def test_a_revised_bulletin_says_both_days(desk: Desk) -> None:
    assert digest_of(desk, "2024-002").dated == "issued 4 Mar 2024, revised 10 Feb 2026"


def test_age_and_warranty_are_told(tmp_path: Path) -> None:
    text = HOUSE["2026/2026-006.md"].replace(
        "---\nIt keeps",
        "age: {years: 8, advice: Renew it.}\n"
        "coverage: {component: sump, years: 2.5, from: built}\n---\nIt keeps",
    )
    folder = write_house(tmp_path / "bulletins", {**HOUSE, "2026/2026-006.md": text})
    found = digest_of(Desk(read_house(folder), DAY), "2026-006")
    assert found.due == (
        "At 8 years of age: Renew it.",
        "Warranty: sump, 2.5 years from production.",
    )


# The command


def test_the_answer_has_the_keys_of_the_contract(house: Path) -> None:
    answer = told(house, "2026-01..2026-03")
    assert list(answer) == KEYS
    assert [Path(name).name for name in answer["files"]] == FILES
    assert all(Path(name).is_file() for name in answer["files"])


@pytest.mark.parametrize(
    ("period", "name"),
    [
        ("2026-01..2026-03", "2026-01..2026-03"),
        ("2026-01 .. 2026-03", "2026-01..2026-03"),
        ("2026", "2026"),
        ("2026-W06", "2026-W06"),
        ("2026-01..", "from-2026-01"),
        ("..2025", "to-2025"),
        ("..", "all"),
    ],
)
def test_files_go_beside_the_house_unless_told(house: Path, period: str, name: str) -> None:
    assert folder_for(house, period) == house.parent.resolve() / "roundups" / name
    answer = told(house, period)
    assert {Path(file).parent for file in answer["files"]} == {folder_for(house, period)}


def test_nothing_in_the_period_ends_with_1_and_writes_nothing(house: Path) -> None:
    out = house.parent / "out"
    told_ = run("roundup", "2023", "--json", "--house", house, "--out", out)
    assert told_.status == 1
    assert told_.json == {"period": "2023", "bulletins": [], "minutes": 0.0, "files": []}
    assert not out.exists()
    assert "No bulletin in force" in run("roundup", "2023", "--house", house).out


@pytest.mark.parametrize("period", ["", "last quarter", "2026-13", "2026-3", "2026-05..2026-01"])
def test_what_is_no_period_is_wrong_usage_and_says_how_to_write_one(
    house: Path, period: str
) -> None:
    done = run("roundup", period, "--house", house)
    assert done.status == 2
    assert "Remedy: " in done.err


@pytest.mark.parametrize("inside", [".", "handouts", "2026"])
def test_hand_outs_are_never_mixed_with_the_bulletins(house: Path, inside: str) -> None:
    before = sorted(house.rglob("*"))
    done = run("roundup", "2026", "--house", house, "--out", house / inside)
    assert done.status == 1
    assert "lies in the house" in " ".join(done.err.split())
    assert sorted(house.rglob("*")) == before


def test_a_broken_bulletin_is_left_out_and_said_so(house: Path) -> None:
    (house / "2026" / "2026-050.md").write_text("---\nnumber: 2026-050\n---\n", encoding="utf-8")
    done = run("roundup", "2026", "--json", "--house", house)
    assert done.status == 0
    assert "kb proof" in done.err
    assert "2026-050" not in done.json["bulletins"]


def test_the_same_period_gives_the_same_bytes_again(house: Path) -> None:
    first = made(house, "2026")
    assert made(house, "2026") == first
    assert not [p for p in (house.parent / "out").iterdir() if p.name not in FILES]


def test_the_screen_tells_files_and_running_time(house: Path) -> None:
    done = run("roundup", "2026-02", "--house", house, "--out", house.parent / "o")
    lines = done.out.splitlines()
    assert re.fullmatch(r"2 bulletins, \d+ min of talk", lines[0])
    assert [Path(line).name for line in lines[1:]] == FILES


# The files


def test_running_time_is_the_words_of_the_talk_and_what_is_shown(house: Path) -> None:
    answer = told(house, "2026-02")
    text = Path(answer["files"][1]).read_text("utf-8")
    notes = re.findall(r'<li dir="auto">(.*?)</li>', text)
    # 4 min to show the first check of the door; the recall has none
    assert answer["minutes"] == round(sum(map(count_words, notes)) / 130 + 4, 1)


def test_the_talk_has_a_page_a_bulletin_with_its_clock(house: Path) -> None:
    text = made(house, "2026-02")["talk.html"]
    assert text.count("<section") == 3 + 1  # opening, two bulletins, what stands no more
    clocks = re.findall(r"starts at ([\d:]+), takes ([\d:]+)", text)
    assert clocks[0][0] == "0:00"
    assert len(clocks) == 4
    assert "break-after: page" in text
    assert "<strong>Show, 4:00:</strong> look behind the plinth" in text


@pytest.mark.parametrize(
    "said",
    [
        "What changed from 1 Jan 2026 to 31 Mar 2026",
        "Applies to All Tarn",
        "First check Spring broken: look behind the plinth",
        "Order today 2 × HR-310-6320 Door spring all together",
        "If a check asks HR-310-6321 Door cord (nothing to order)",
        "1 × HR-310-7620 Pump connector in hand first",
        "Hazards WARNING electric shock",
        "2023-008 replaced by 2026-007 Two connectors for the washers",
        "2026-009 withdrawn",
        "Replaces 2023-008",
        "Local codes and the rating plate win over this sheet.",
        "Service desk, desk@hollin-ridge.example",
    ],
)
def test_the_hand_out_says_what_decides(house: Path, said: str) -> None:
    assert said in words(made(house, "2026-01..2026-03")["handout.html"].replace("<main", "<div"))


def test_superseded_and_withdrawn_ones_get_no_digest(house: Path) -> None:
    text = made(house, "2026-01..2026-03")["handout.html"]
    assert text.count("<article") == 4
    assert "One connector for the washers" not in text


def test_the_hand_out_leads_to_the_published_pages(house: Path) -> None:
    text = made(house, "2026-02")["handout.html"]
    assert "https://service.hollin-ridge.example/bulletins/2026-004/" in links(text)


def test_without_a_site_the_hand_out_has_no_links(tmp_path: Path) -> None:
    lines = HOUSE["reference/house.yaml"].splitlines()
    plain = "\n".join(line for line in lines if not line.startswith("site"))
    folder = write_house(tmp_path / "bulletins", {**HOUSE, "reference/house.yaml": plain})
    assert links(made(folder, "2026")["handout.html"]) == []


@pytest.mark.parametrize("name", ["handout.html", "talk.html"])
def test_files_stand_alone_and_are_well_formed(house: Path, name: str) -> None:
    text = made(house, "2026")[name]
    assert problems_of(text) == []
    html5lib.HTMLParser(strict=True).parse(text)
    assert "<script" not in text
    assert "<link" not in text
    assert "@page" in text


def test_the_reference_reads_the_captions_as_long_as_the_talk(house: Path) -> None:
    answer = told(house, "2026-01..2026-03")
    captions = webvtt.read(answer["files"][2]).captions
    assert captions[0].start == "00:00:00.000"
    assert captions[-1].end_in_seconds / 60 == pytest.approx(answer["minutes"], abs=0.1)
    assert any("[Shown: look behind the plinth]" in c.text for c in captions)


@pytest.mark.parametrize("name", FILES)
def test_hostile_text_stays_text(tmp_path: Path, name: str) -> None:
    bad = "<script>alert(1)</script> --> & more"
    text = HOUSE["2026/2026-006.md"].replace("A cup of water in the sump belongs there", f"'{bad}'")
    folder = write_house(tmp_path / "bulletins", {**HOUSE, "2026/2026-006.md": text})
    found = made(folder, "2026-01-12")[name]
    assert "<script>" not in found
    assert "&lt;script&gt;" in found


@pytest.mark.parametrize(
    ("period", "said"),
    [
        ("2026-02", "from 1 Feb 2026 to 28 Feb 2026"),
        ("2026-02-10", "on 10 Feb 2026"),
        ("2026-02..", "since 1 Feb 2026"),
        ("..2026-02", "up to 28 Feb 2026"),
        ("..", "since the first bulletin"),
    ],
)
def test_the_period_is_said_in_words(house: Path, period: str, said: str) -> None:
    assert f'<h1 dir="auto">What changed {said}</h1>' in made(house, period)["handout.html"]


# The pages of quarters


@pytest.mark.parametrize(
    ("day", "name", "first", "last"),
    [
        ("2026-01-01", "2026-Q1", "2026-01-01", "2026-03-31"),
        ("2026-03-31", "2026-Q1", "2026-01-01", "2026-03-31"),
        ("2026-04-01", "2026-Q2", "2026-04-01", "2026-06-30"),
        ("2024-09-30", "2024-Q3", "2024-07-01", "2024-09-30"),
        ("2024-12-31", "2024-Q4", "2024-10-01", "2024-12-31"),
        ("0999-02-01", "0999-Q1", "0999-01-01", "0999-03-31"),
    ],
)
def test_quarters_are_of_the_calendar_year(day: str, name: str, first: str, last: str) -> None:
    at = quarter(date.fromisoformat(day))
    assert quarter_name(*at) == name
    assert quarter_days(*at) == Days(date.fromisoformat(first), date.fromisoformat(last))


def test_a_quarter_with_bulletins_has_a_page_and_the_list_leads_to_it(
    house: Path, desk: Desk
) -> None:
    site = site_of(house)
    pages = {path for path in site if path.startswith("roundups/")}
    names = [quarter_name(*each) for each in quarters(desk)]
    assert names == ["2026-Q2", "2026-Q1", "2025-Q1", "2024-Q1"]
    assert pages == {"roundups/index.html", *(f"roundups/{name}/index.html" for name in names)}
    text = words(site["roundups/index.html"])
    assert "First quarter 2026 4 bulletins Fi" in text
    assert "Second quarter 2026 1 bulletin First" in text
    assert "roundups/index.html" in links(site["index.html"])


def test_the_page_of_a_quarter_tells_its_bulletins_and_what_stands_no_more(house: Path) -> None:
    text = site_of(house)["roundups/2026-Q1/index.html"]
    assert re.findall(r'<h3><a href="../../bulletins/([^/]+)/', text) == [
        "2026-007",
        "2026-004",
        "2024-002",
        "2026-006",
    ]
    said = words(text)
    assert "Issued or revised from 1 Jan 2026 to 31 Mar 2026, and in force." in said
    assert "2023-008 replaced by 2026-007 Two connectors for the washers" in said
    assert problems_of(text) == []


def test_a_house_without_bulletins_has_an_empty_list(tmp_path: Path) -> None:
    base = {name: text for name, text in HOUSE.items() if name.startswith("reference/")}
    site = site_of(write_house(tmp_path / "bulletins", base))
    assert [path for path in site if path.startswith("roundups/")] == ["roundups/index.html"]


def test_a_crowded_quarter_goes_over_several_sheets(tmp_path: Path) -> None:
    files = {
        f"b{at}.md": HOUSE["2026/2026-006.md"].replace("2026-006", f"2026-{at:03}")
        for at in range(100, 190)
    }
    folder = write_house(tmp_path / "bulletins", {**HOUSE, **files})
    site = site_of(folder)
    sheets = [text for path, text in site.items() if path.startswith("roundups/2026-Q1/")]
    assert len(sheets) == 3
    assert sum(text.count("<article") for text in sheets) == 90 + 4
    assert all(len(text.encode()) < 80_000 for text in sheets)
    assert dead_links(site, files_of(folder)) == []


def test_another_day_leaves_the_pages_of_quarters_alone(house: Path) -> None:
    one, other = site_of(house), site_of(house, date(2027, 5, 1))
    for path in one:
        if path.startswith("roundups/"):
            assert one[path] == other[path]


# The demo house


def test_every_year_of_the_demo_house_makes_a_sound_round_up(tmp_path: Path) -> None:
    house = read_house(DEMO)
    standing = {b.number for b in Desk(house, DAY).standing}
    seen: set[str] = set()
    for year in range(2017, 2027):
        done = roundup(house, DAY, str(year), parse_days(str(year)), tmp_path / str(year))
        assert done.bulletins
        assert done.minutes > len(done.bulletins) / 10
        seen |= set(done.bulletins)
        for name in done.files[:2]:
            text = Path(name).read_text("utf-8")
            assert problems_of(text) == [], name
            assert "{" not in re.sub(r"<style>.*?</style>", "", text, flags=re.S)
        assert webvtt.read(done.files[2]).captions
    assert seen == standing


def test_the_front_matter_of_the_answer_is_plain_json(tmp_path: Path) -> None:
    house = read_house(DEMO)
    done = roundup(house, DAY, "2026-03", parse_days("2026-03"), tmp_path)
    assert json.loads(json.dumps(done.as_json())) == done.as_json()
