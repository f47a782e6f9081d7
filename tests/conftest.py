"""Houses to test with: the demo house, and small ones made on the spot."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from kb.desk import Desk

if TYPE_CHECKING:
    from playwright.sync_api import Browser

MakeHouse = Callable[[Mapping[str, str | bytes]], Path]

SMALL_HOUSE: dict[str, str] = {
    "reference/house.yaml": """\
name: Hollin Ridge
language: en
units: metric
site: https://service.hollin-ridge.example/
contact: Service desk, desk@hollin-ridge.example
components: [door seal, main control]
""",
    "reference/families.yaml": """\
Tarn:
  product: dishwasher
  models: [TD45A, TD45B, TD60A, TD60B]
  produced: 2016-09..
  scheme: hollin
  codes: [E21, E24]

Cairn:
  product: washer
  models: [CW7A, CW8A, CW8B]
  produced: 2014-03..
  scheme: hollin
""",
    "reference/serials.yaml": """\
hollin:
  layout: P Y WW NNNNN
  plant: {K: Kirkholm works, L: Langrigg works}
  year: {letters: ABCDEFHJKLMNPRSTUVWX, first: 2010}
  week: iso
  used: 2010..
  examples:
    - {serial: K P 14 00031, plant: K, built: 2022-W14, sequence: 31}
""",
    "reference/parts.csv": """\
number,name,component,status,replaced_by,relation,models,since,note
HR-310-4120,"Drain pump, first form",drain pump,gone,HR-310-4126,forward,,2019-W08,
HR-310-4126,"Drain pump, sealed rotor",drain pump,current,,,,,
HR-310-1204,Filter cylinder,filter,current,,,TD45A TD60A,,
HR-310-1216,Filter mesh,filter,current,,,,,
HR-310-1223,Filter set,filter,current,,,,,
HR-310-7620,Pump connector,connector,current,,,,,
""",
    "reference/kits.csv": """\
kit,number,quantity
HR-310-1223,HR-310-1204,1
HR-310-1223,HR-310-1216,2
""",
    "reference/words.yaml": """\
same:
  - [leak, drip, water on floor]
spelled: {gaskit: gasket}
""",
}

SOUND_BULLETIN = """\
---
number: 2026-014
title: Drain pump hums but moves no water after a cold night
kind: repair
issued: 2026-03-02
family: Tarn
built: 2024-W10..2025-W22
component: drain pump
symptoms: [hums but does not drain, water left in the sump]
codes: [E21]
---
Ice in the hose holds the pump. See to the connector first.
"""


@pytest.fixture
def demo_house() -> Path:
    """Return the house that the product is shown with."""
    return Path(__file__).resolve().parent.parent / "bulletins"


@pytest.fixture
def make_house(tmp_path: Path) -> MakeHouse:
    """Return a maker of small sound houses; files given are added, or stand in place of its own."""

    def make(files: Mapping[str, str | bytes]) -> Path:
        house = tmp_path / "bulletins"
        for name, content in {**SMALL_HOUSE, **files}.items():
            path = house / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content.encode() if isinstance(content, str) else content)
        return house

    return make


@pytest.fixture(scope="session")
def demo_bulletins(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a copy of the demo house, without what is derived from it, made once."""
    from tests.search_house import demo_copy

    return demo_copy(tmp_path_factory.mktemp("demo") / "bulletins")


@pytest.fixture(scope="session")
def demo_desk(demo_bulletins: Path) -> Desk:
    """Return a desk on a copy of the demo house, made once."""
    from tests.search_house import TODAY

    return Desk(demo_bulletins, TODAY)


@pytest.fixture(scope="session")
def odd_desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """Return a desk on a small house with awkward numbers, codes and words, made once."""
    from tests.search_house import ODD_HOUSE, TODAY, write_house

    return Desk(write_house(tmp_path_factory.mktemp("odd") / "bulletins", ODD_HOUSE), TODAY)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return the one Chromium that all tests share."""
    from tests.browser import chromium

    with chromium() as running:
        yield running


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with the published demo site, made once."""
    from kb.house import read_house
    from kb.publish import publish
    from tests.search_house import TODAY, demo_copy

    folder = tmp_path_factory.mktemp("web")
    publish(read_house(demo_copy(folder / "bulletins")), TODAY, folder / "service" / "notes")
    return folder / "service" / "notes"
