"""Families, models and spans: what applies to a unit, by its plate alone and without script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from html import unescape
from pathlib import Path

import pytest

from kb.applies import answer
from kb.house import read_house
from kb.records import House, Unit
from kb.standing import in_force
from kb.units import make_unit
from tests.conftest import MakeHouse
from tests.rendered import TODAY, bulletin, site_of, words


@pytest.fixture
def pages(make_house: MakeHouse) -> dict[str, str]:
    return site_of(
        make_house(
            {
                "a.md": bulletin(title="Ranged", built="2024-W10..2025-W22", issued="2026-01-01"),
                "b.md": bulletin(number="2026-015", title="Always"),
                "c.md": bulletin(number="2026-016", title="By revision", revision="2.."),
                "d.md": bulletin(number="2026-017", title="Washers", family="Cairn"),
                "e.md": bulletin(number="2026-018", title="One model", models="TD60B"),
            }
        )
    )


def titles(page: str, verdict: str = "") -> set[str]:
    part = page.partition(f'class="verdict {verdict}"')[2].partition("</section>")[0]
    found = re.findall(r'class="title" dir="auto">([^<]+)<', part if verdict else page)
    return set(map(unescape, found))


def test_a_family_lists_its_models_and_bulletins(pages: dict[str, str]) -> None:
    page = pages["families/Tarn/index.html"]
    assert titles(page) == {"Ranged", "Always", "By revision", "One model"}
    assert "TD45A TD45B TD60A TD60B" in words(page)
    assert "Produced 2016-09 or later" in words(page)


def test_a_model_has_its_spans_as_a_table_of_serial_prefixes(pages: dict[str, str]) -> None:
    page = pages["models/TD45A/index.html"]
    rows = re.findall(r'<a class="number" href="([^"]+)">([^<]+)<', page)
    assert [prefixes for _, prefixes in rows] == [
        "KT23 – KU48",
        "LT23 – LU48",
        "KS10 – KT22",
        "LS10 – LT22",
        "KH35 – KS09",
        "LH35 – LS09",
    ]
    assert titles(page) == {"Ranged", "Always", "By revision"}


def test_a_span_is_named_by_its_first_serial_prefix(pages: dict[str, str]) -> None:
    assert {path.split("/")[2] for path in pages if re.match("models/TD45A/K", path)} == {
        "KH35",
        "KS10",
        "KT23",
    }


def test_a_span_tells_what_applies_and_what_may(pages: dict[str, str]) -> None:
    page = pages["models/TD45A/KS10/index.html"]
    assert "Built 4 Mar 2024 to 1 Jun 2025" in words(page)
    assert titles(page, "yes") == {"Ranged", "Always"}
    assert titles(page, "maybe") == {"By revision"}
    assert "Look for:" in words(page)
    assert "the digit behind the model number" in words(page).partition("Look for:")[2]
    assert titles(pages["models/TD45A/KT23/index.html"], "yes") == {"Always"}


def test_a_span_leads_to_the_stretches_beside_it(pages: dict[str, str]) -> None:
    first, middle, last = (pages[f"models/TD45A/{n}/index.html"] for n in ("KH35", "KS10", "KT23"))
    assert 'rel="prev" href="../../../models/TD45A/KH35/index.html"' in middle
    assert 'rel="next" href="../../../models/TD45A/KT23/index.html"' in middle
    assert 'rel="prev"' not in first
    assert 'rel="next"' not in last
    assert "Built 2 Jun 2025 or later" in words(last)


def test_the_verdict_is_a_word_and_a_shape_not_a_colour_alone(pages: dict[str, str]) -> None:
    page = pages["models/TD45A/KS10/index.html"]
    assert '<span class="verdict yes">Applies</span>' in page
    assert '<span class="verdict maybe">May apply</span>' in page


def test_a_model_without_bulletins_says_so(make_house: MakeHouse) -> None:
    pages = site_of(make_house({}))
    assert "None is in force." in words(pages["models/TD45A/index.html"])
    assert "None is in force." in words(pages["families/Tarn/index.html"])


def test_every_family_and_model_is_listed(pages: dict[str, str]) -> None:
    assert "Tarn dishwasher TD45A TD45B" in words(pages["families/index.html"])
    told = words(pages["models/index.html"])
    assert told.index("CW7A") < told.index("TD45A") < told.index("TD60B")


DEMO = Path(__file__).resolve().parent.parent / "bulletins"


@pytest.mark.parametrize("model", ["TD45A", "CW8B", "SD8H", "MR36D", "LN60P"])
def test_span_pages_say_what_the_answer_for_a_unit_says(model: str) -> None:
    """One unit for each serial prefix that a span page names is the slow and obvious oracle.

    A page speaks for all plants and revisions, so its *maybe* may be a unit's yes, no or maybe;
    its yes and its silence must be the unit's own. A prefix that two stretches share is left out.
    """
    house, pages = read_house(DEMO), site_of(DEMO)
    standing = {b.title: b for b in in_force(house.bulletins)}
    seen = 0
    for path, page in sorted(pages.items()):
        if not re.fullmatch(rf"models/{model}/[^/~]+/index.html", path):
            continue
        yes, maybe = titles(page, "yes"), titles(page, "maybe")
        shared = set(re.findall(r"\w+", " ".join(re.findall(r">([^<]*) also belongs", page))))
        for prefix in set(re.findall(r'<td class="number">(\w+)</td>', page)) - shared:
            for unit in units(house, model, prefix):
                for title, each in standing.items():
                    told = "yes" if title in yes else "maybe" if title in maybe else "no"
                    verdict = answer(each.where, unit, house, TODAY).applies
                    assert told in (verdict, "maybe"), (path, prefix, title)
                    seen += 1
    assert seen > 50


def units(house: House, model: str, prefix: str) -> Iterator[Unit]:
    for length in (9, 10):
        unit = make_unit(house, model, prefix.ljust(length - 1, "0") + "1", TODAY)
        if len(unit.readings) == 1:
            yield unit


def test_the_latest_span_does_not_change_from_day_to_day(make_house: MakeHouse) -> None:
    folder = make_house({"a.md": bulletin(built="2024-W10..2025-W22")})
    week = [site_of(folder, date(2026, 11, 23) + timedelta(days=n)) for n in range(3)]
    path = "models/TD45A/KT23/index.html"
    assert len({pages[path] for pages in week}) == 1


def test_a_span_with_very_many_bulletins_is_cut_into_sheets(make_house: MakeHouse) -> None:
    many = {
        f"{n}.md": bulletin(
            number=f"2026-{n}", title=f"Title {n}", revision="2.." if n < 102 else None
        )
        for n in range(100, 300)
    }
    pages = site_of(make_house(many))
    first, second = (pages[f"models/TD45A/KH35/{at}index.html"] for at in ("", "~2/"))
    assert len(titles(first, "yes")) + len(titles(second, "yes")) == 198
    assert titles(first, "maybe") == {"Title 100", "Title 101"}
    assert titles(second, "maybe") == set()
