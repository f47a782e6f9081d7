"""Span pages against the answer for real units: the page a plate leads to never says otherwise."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from kb.applies import answer
from kb.pages import models
from kb.pages.desk import Desk
from kb.pages.page import Page
from kb.records import Bulletin, House, Unit
from kb.render import Renderer
from kb.units import make_unit
from tests.random_blocks import TODAY, WORLD, made_serial, random_day, random_where
from tests.rendered import target

RENDERER = Renderer()


def pages_of(desk: Desk) -> Iterator[Page]:
    for unit in models.units(desk):
        yield from (made for made in unit.make() if isinstance(made, Page))


def house_of(rng: random.Random) -> House:
    """Return the made-up world with a few bulletins that apply here and there in it."""
    return House(
        folder=Path("nowhere"),
        families=WORLD.families,
        schemes=WORLD.schemes,
        bulletins=tuple(
            Bulletin(
                number=f"2024-{at:03}",
                title=f"Title {at}",
                kind="repair",
                issued=date(2024, 1, 1) + timedelta(days=at),
                component=("pump",),
                where=random_where(rng),
                file=f"{at}.md",
            )
            for at in range(6)
        ),
    )


def span_pages(house: House) -> dict[str, list[Page]]:
    """Return the span pages of each model, from the pages as they are made."""
    found: dict[str, list[Page]] = {}
    for page in pages_of(Desk(house, TODAY)):
        if page.template == "span.html":
            found.setdefault(page.data["model"], []).append(page)
    return found


def told(page: Page) -> dict[str, str]:
    """Return what a span page tells of each bulletin that it names."""
    yes = {entry.number: "yes" for entry in page.data["yes"]}
    return yes | {entry.number: "maybe" for entry, _ in page.data["maybe"]}


def within(prefix: str, page: Page) -> bool:
    """Tell whether a page's table of prefixes holds *prefix* as an end of one of its lines."""
    return any(prefix in (row.first, row.last) for row in page.data["prefixes"])


def shared(prefix: str, page: Page) -> bool:
    return any(prefix in row.note for row in page.data["prefixes"])


def units(rng: random.Random, model: str, prefix: str) -> Iterator[Unit]:
    """Yield units with a serial that begins so, of no known and of several known revisions."""
    scheme = next(s for s in WORLD.schemes.values() if len(s.layout) > len(prefix))
    for revision in ("", "1", "4", "9"):
        for tail in ("00", "57", "99"):
            serial = (prefix + tail)[: len(scheme.layout)]
            unit = make_unit(WORLD, model + revision, serial, TODAY)
            if len(unit.readings) == 1:
                yield unit


@pytest.mark.parametrize("seed", range(8))
def test_a_unit_is_never_told_otherwise_than_by_the_page_of_its_prefix(seed: int) -> None:
    rng = random.Random(seed)
    house = house_of(rng)
    seen = 0
    for model, found in span_pages(house).items():
        for page in found:
            ends = {end for row in page.data["prefixes"] for end in (row.first, row.last)}
            for prefix in sorted(ends):
                if shared(prefix, page) or sum(within(prefix, each) for each in found) > 1:
                    continue
                for unit in units(rng, model, prefix):
                    for bulletin in house.bulletins:
                        said = told(page).get(bulletin.number, "no")
                        verdict = answer(bulletin.where, unit, WORLD, TODAY).applies
                        assert said in (verdict, "maybe"), (model, prefix, bulletin.number)
                        seen += 1
    assert seen > 100


@pytest.mark.parametrize("seed", range(8))
def test_a_page_says_maybe_only_where_no_revision_plant_or_number_decides_alike(
    seed: int,
) -> None:
    """For each *maybe* there is a unit of the stretch for which it is no plain yes."""
    rng = random.Random(100 + seed)
    house = house_of(rng)
    for model, found in span_pages(house).items():
        family = next(f for f in WORLD.families.values() if model in f.models)
        for page in found:
            for number in [entry.number for entry, _ in page.data["maybe"]]:
                where = next(b.where for b in house.bulletins if b.number == number)
                unknown = Unit(model=model, family=family)
                assert answer(where, unknown, WORLD, TODAY).applies == "maybe", (model, number)


@pytest.mark.parametrize("seed", range(4))
def test_every_maybe_says_what_would_settle_it(seed: int) -> None:
    house = house_of(random.Random(200 + seed))
    for found in span_pages(house).values():
        for page in found:
            text = RENDERER.text(replace(page, data={**page.data, "shell": shell()}))
            assert text.count("<strong>Look for:</strong>") == len(page.data["maybe"])
            assert all(settle for _, settle in page.data["maybe"])


def shell() -> dict[str, object]:
    scripts = dict.fromkeys(("page", "worker", "carrying", "scanning"), "assets/x.js")
    told = {"name": "x", "language": "en", "contact": "", "site": "", "style": "assets/x.css"}
    return {**told, "scripts": scripts}


@pytest.mark.parametrize("seed", range(6))
def test_stretches_lead_on_in_order_from_the_first_to_the_last(seed: int) -> None:
    for found in span_pages(house_of(random.Random(300 + seed))).values():
        by_path = {page.path: page for page in found}
        assert len(by_path) == len(found)
        assert found[0].data["earlier"] == ""
        walked, page = [found[0].path], found[0]
        while page.data["later"]:
            path = target("index.html", page.data["later"])
            page = by_path[str(path)]
            walked.append(page.path)
        assert walked == [page.path for page in found]
        for before, after in pairwise(found):
            assert target("index.html", after.data["earlier"]) == before.path


@pytest.mark.parametrize("seed", range(6))
def test_the_models_own_page_counts_what_each_span_says(seed: int) -> None:
    house = house_of(random.Random(400 + seed))
    spans = span_pages(house)
    for page in pages_of(Desk(house, TODAY)):
        if page.template != "model.html":
            continue
        found = spans[page.data["model"]]
        assert [(s.yes, s.maybe) for s in page.data["stretches"]] == [
            (len(each.data["yes"]), len(each.data["maybe"])) for each in found
        ]
        named = {number for each in found for number in told(each)}
        assert {entry.number for entry in page.data["entries"]} == named


@pytest.mark.parametrize("seed", range(3))
def test_every_day_of_production_falls_into_one_span(seed: int) -> None:
    """A serial made for any day is found by the prefix of exactly one page or of two neighbours."""
    rng = random.Random(500 + seed)
    found = span_pages(house_of(rng))["SD7"]
    months = WORLD.schemes["months"]
    for _ in range(60):
        day = random_day(rng)
        if not date(2017, 1, 1) <= day <= date(2021, 12, 31):
            continue
        prefix = made_serial(rng, months, day)[:4]
        rows = [(page, row) for page in found for row in page.data["prefixes"]]
        holding = [page.path for page, row in rows if row.first <= prefix <= row.last]
        assert 1 <= len(holding) <= 2 or all(shared(prefix, page) for page, _ in rows), day
