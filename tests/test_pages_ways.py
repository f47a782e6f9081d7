"""Front page, lists, components, symptoms, codes and parts: every way in without script."""

from __future__ import annotations

import re

import pytest

from kb.pages.byname import natural
from kb.pages.lists import LONGEST
from tests.conftest import MakeHouse
from tests.rendered import bulletin, site_of, words
from tests.well_formed import elements


@pytest.fixture
def pages(make_house: MakeHouse) -> dict[str, str]:
    return site_of(
        make_house(
            {
                "a.md": bulletin(
                    title="First", symptoms="[Hums, leaks]", codes="[E21]", issued="2026-01-01"
                ),
                "b.md": bulletin(
                    number="2026-015",
                    title="Second",
                    symptoms="[hums]",
                    codes="[e-21, E9]",
                    component="[Drain  Pump, sump]",
                    issued="2026-02-01",
                    parts="[{number: HR-310-4120}]",
                    keep="[HR-310-1204]",
                ),
                "c.md": bulletin(number="2026-016", title="Draft", status="draft"),
            }
        )
    )


def entry_titles(page: str) -> list[str]:
    return re.findall(r'class="title" dir="auto">([^<]+)<', page)


# The front page


def test_the_front_page_has_one_search_box_and_an_empty_place_for_results(
    pages: dict[str, str],
) -> None:
    tags = elements(pages["index.html"])
    boxes = [a for tag, a in tags if tag == "input" and a.get("type") == "search"]
    assert [box["name"] for box in boxes] == ["q"]
    assert [a["for"] for tag, a in tags if tag == "label"] == [boxes[0]["id"]]
    forms = [a for tag, a in tags if tag == "form"]
    assert [(f["method"], f["action"]) for f in forms] == [("get", "./")]
    results = [a for _, a in tags if "data-results" in a]
    assert len(results) == 1
    assert "data-state" not in results[0]


def test_no_other_page_has_a_search_box(pages: dict[str, str]) -> None:
    assert [path for path, text in pages.items() if 'type="search"' in text] == ["index.html"]


def test_the_front_page_has_the_newest_first_and_every_way_in(pages: dict[str, str]) -> None:
    page = pages["index.html"]
    assert entry_titles(page) == ["Second", "First"]
    for href in (
        "families/Tarn/index.html",
        "symptoms/hums/index.html",
        "components/drain-pump/index.html",
        "codes/E21/index.html",
        "models/index.html",
        "parts/index.html",
        "bulletins/index.html",
    ):
        assert f'href="{href}"' in page, href


def test_without_script_the_front_page_says_how_to_find(pages: dict[str, str]) -> None:
    note = re.search(r"<noscript>(.*?)</noscript>", pages["index.html"], re.S)
    assert note
    assert "ways in below" in note[1]


def test_a_missing_page_leads_back(pages: dict[str, str]) -> None:
    # It is shown at any address, so its links start at the site's own folder.
    assert 'href="/index.html"' in pages["404.html"]
    assert "There is no such page" in pages["404.html"]


def test_a_missing_page_knows_the_folder_that_the_site_stands_in(make_house: MakeHouse) -> None:
    house = "name: x\nsite: https://example.com/service/notes/\n"
    page = site_of(make_house({"reference/house.yaml": house}))["404.html"]
    assert 'href="/service/notes/index.html"' in page


# Components, symptoms, codes


def test_names_that_differ_in_case_and_blanks_share_a_page(pages: dict[str, str]) -> None:
    assert entry_titles(pages["components/drain-pump/index.html"]) == ["Second", "First"]
    assert entry_titles(pages["symptoms/hums/index.html"]) == ["Second", "First"]
    assert entry_titles(pages["codes/E21/index.html"]) == ["Second", "First"]


def test_a_component_leads_to_the_symptoms_and_codes_seen_with_it(pages: dict[str, str]) -> None:
    told = words(pages["components/drain-pump/index.html"])
    assert "Symptoms seen with it" in told
    assert "leaks" in told
    assert "E9" in told


def test_a_symptom_leads_to_the_components_behind_it(pages: dict[str, str]) -> None:
    assert "Components behind it" in words(pages["symptoms/hums/index.html"])
    assert "sump" in words(pages["symptoms/hums/index.html"])


def test_codes_are_listed_in_the_order_of_their_numbers(pages: dict[str, str]) -> None:
    told = words(pages["codes/index.html"])
    assert told.index("E9") < told.index("E21")


def test_drafts_are_on_no_page(pages: dict[str, str]) -> None:
    for path, text in pages.items():
        assert "2026-016" not in text, path


@pytest.mark.parametrize(
    ("names", "ordered"),
    [
        (["E10", "E9", "E1"], ["E1", "E9", "E10"]),
        (["b", "A", "c"], ["A", "b", "c"]),
        (["2026-2", "2025-10", "2025-9"], ["2025-9", "2025-10", "2026-2"]),
        (["x1y10", "x1y9"], ["x1y9", "x1y10"]),
        (["", "a"], ["", "a"]),
    ],
)
def test_numbers_in_names_sort_by_what_they_count(names: list[str], ordered: list[str]) -> None:
    assert sorted(names, key=natural) == ordered


# Parts


def test_every_number_old_or_new_has_a_page(pages: dict[str, str]) -> None:
    for number in ("HR-310-4120", "HR-310-4126", "HR-310-1204", "HR-310-1223"):
        assert f"parts/{number}/index.html" in pages


def test_an_old_numbers_page_says_what_to_order_today(pages: dict[str, str]) -> None:
    told = words(pages["parts/HR-310-4120/index.html"])
    assert "This number no longer supplied" in told
    assert "1 × HR-310-4126 Drain pump, sealed rotor" in told
    assert "HR-310-4120 → HR-310-4126, since 2019-W08" in told
    assert entry_titles(pages["parts/HR-310-4120/index.html"]) == ["Second"]


def test_a_new_numbers_page_names_what_it_takes_the_place_of(pages: dict[str, str]) -> None:
    told = words(pages["parts/HR-310-4126/index.html"])
    assert "Takes the place of HR-310-4120 Drain pump, first form" in told


def test_a_kit_lists_its_contents_and_its_parts_name_the_kit(pages: dict[str, str]) -> None:
    told = words(pages["parts/HR-310-1223/index.html"])
    assert "1 × HR-310-1204 Filter cylinder" in told
    assert "2 × HR-310-1216 Filter mesh" in told
    assert "Kits that hold it HR-310-1223" in words(pages["parts/HR-310-1216/index.html"])


def test_a_part_that_is_to_be_kept_leads_to_the_bulletin_too(pages: dict[str, str]) -> None:
    assert entry_titles(pages["parts/HR-310-1204/index.html"]) == ["Second"]


PARTS = """\
number,name,component,status,replaced_by,relation,models,since,note
A-1,Old,,gone,A-2,forward,TD45A,,
A-1,Old,,gone,A-3,same,TD60A,,
A-2,New for 45,,current,,,,,
A-3,New for 60,,running-out,,,,,
B-1,Lost,,gone,,,,,
C-1,Now,,current,C-2,same,,2027-02,
C-2,Later,,pending,,,,2027-02,
"""


@pytest.fixture
def odd(make_house: MakeHouse) -> dict[str, str]:
    return site_of(make_house({"reference/parts.csv": PARTS, "reference/kits.csv": ""}))


def test_successors_that_depend_on_the_model_are_all_shown(odd: dict[str, str]) -> None:
    told = words(odd["parts/A-1/index.html"])
    assert "One of these, by model" in told
    assert "A-2 New for 45 for TD45A" in told
    assert "A-3 New for 60 for TD60A running out" in told


def test_a_part_without_successor_says_that_nothing_can_be_ordered(odd: dict[str, str]) -> None:
    told = words(odd["parts/B-1/index.html"])
    assert "nothing to order" in told
    assert "B-1 is gone" in told


def test_a_successor_to_come_is_named_but_not_ordered(odd: dict[str, str]) -> None:
    told = words(odd["parts/C-1/index.html"])
    assert "1 × C-1 Now" in told
    assert "Coming: C-2" in told


def test_a_sheet_holds_no_more_than_a_phone_reads_with_ease() -> None:
    assert 50 <= LONGEST <= 200
