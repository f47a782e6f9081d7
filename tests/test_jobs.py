"""The work of bulletins as read from the store is what the bulletins themselves say."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from kb import store
from kb.checks import best_order
from kb.house import read_house
from kb.jobs import Job, jobs
from kb.lookup import Lookup
from kb.records import Bulletin, House
from tests.conftest import MakeHouse
from tests.triphouse import HOUSE, write_house

DEMO = Path(__file__).resolve().parent.parent / "bulletins"


def opened(house: House, path: Path) -> Lookup:
    store.write(path, house, {})
    return Lookup(path)


def expected(bulletin: Bulletin) -> Job:
    """Return a bulletin's work; the store keeps no ``before``, only the order that follows."""
    return Job(
        number=bulletin.number,
        minutes=bulletin.minutes,
        checks=tuple(replace(check, before=()) for check in bulletin.checks),
        order=best_order(bulletin.checks),
        lines=bulletin.parts,
        keep=bulletin.keep,
        hazards=bulletin.hazards,
        tools=bulletin.tools,
        consumables=bulletin.consumables,
    )


@pytest.fixture(scope="module")
def demo() -> House:
    return read_house(DEMO)


@pytest.fixture(scope="module")
def lookup(demo: House, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lookup]:
    found = opened(demo, tmp_path_factory.mktemp("store") / "kb.sqlite")
    yield found
    found.close()


def test_every_bulletin_of_the_demo_house_comes_back_as_written(
    demo: House, lookup: Lookup
) -> None:
    found = jobs(lookup, [bulletin.number for bulletin in demo.bulletins])
    assert list(found.values()) == [expected(bulletin) for bulletin in demo.bulletins]


def test_jobs_stand_in_the_asked_order_each_once(demo: House, lookup: Lookup) -> None:
    numbers = [bulletin.number for bulletin in demo.bulletins][:5]
    asked = [*reversed(numbers), numbers[0]]
    assert list(jobs(lookup, asked)) == list(reversed(numbers))


@pytest.mark.parametrize("numbers", [[], ["2099-999"], ["'; DROP TABLE bulletins; --"], [""]])
def test_unknown_numbers_give_nothing(lookup: Lookup, numbers: list[str]) -> None:
    assert jobs(lookup, numbers) == {}


def test_a_bulletin_without_work_gives_an_empty_job(make_house: MakeHouse, tmp_path: Path) -> None:
    text = HOUSE["2026/2026-006.md"]
    found = opened(read_house(make_house({"a.md": text})), tmp_path / "kb.sqlite")
    assert jobs(found, ["2026-006"]) == {"2026-006": Job(number="2026-006")}


def test_checks_keep_their_written_order_and_tell_the_best(tmp_path: Path) -> None:
    text = HOUSE["2024/2024-001.md"].replace("minutes: 5, fix", "minutes: 50, fix")
    files = {**HOUSE, "2024/2024-001.md": text}
    found = opened(read_house(write_house(tmp_path / "bulletins", files)), tmp_path / "kb.sqlite")
    job = jobs(found, ["2024-001"])["2024-001"]
    assert [check.cause for check in job.checks] == [
        "connector loose",
        "rotor slips",
        "valve stuck",
    ]
    assert job.order == (1, 2, 0)  # 0.3 in 6 min, 0.1 in 4, 0.5 in 50
    assert job.checks[1].parts == ("HR-310-4120",)
    assert job.lines[0].in_hand
    assert job.keep == ("HR-310-7318",)
