"""The way back from paper: the code on a printed sheet, read by a reader of codes.

The reader is zxing-cpp (PyPI ``zxing-cpp``), which knows nothing of how the code was made.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from kb.house import read_house
from kb.publish import publish
from tests.conftest import MakeHouse
from tests.phone_camera import read
from tests.rendered import TODAY, bulletin

SITE = "https://service.hollin-ridge.example/bulletins/"
GREY = """async source => {
  const image = new Image();
  image.src = source;
  await image.decode();
  const canvas = new OffscreenCanvas(image.width, image.height);
  const pen = canvas.getContext('2d');
  pen.drawImage(image, 0, 0);
  const { data } = pen.getImageData(0, 0, image.width, image.height);
  let grey = '';
  for (let at = 0; at < data.length; at += 4) grey += String.fromCharCode(data[at + 1]);
  return [btoa(grey), image.width, image.height];
}"""


def photo(page: Page) -> list[str]:
    """Return the texts of all codes on the screen."""
    source = "data:image/png;base64," + base64.b64encode(page.screenshot()).decode()
    grey, width, height = page.evaluate(GREY, source)
    return read(base64.b64decode(grey), width, height)


@pytest.fixture
def paper(browser: Browser) -> Iterator[Page]:
    """A sheet of A4 between its edges, seen from a hand's breadth (two dots a CSS pixel)."""
    window = browser.new_context(
        viewport={"width": 688, "height": 700}, device_scale_factor=2, color_scheme="dark"
    )
    page = window.new_page()
    page.emulate_media(media="print")
    yield page
    window.close()


@pytest.mark.parametrize(
    "number", ["2026-014", "2017-024", "2018-008", "2020-017", "2024-561", "2018-533"]
)
def test_the_code_on_paper_leads_to_the_bulletin(demo_site: Path, paper: Page, number: str) -> None:
    paper.goto((demo_site / "bulletins" / number / "index.html").as_uri())
    assert photo(paper) == [f"{SITE}{number}/"]
    assert paper.locator(".scan p").inner_text() == f"{SITE}{number}/"


def test_the_code_is_read_though_a_thumb_left_its_print(demo_site: Path, paper: Page) -> None:
    # ISO/IEC 18004: level M mends some 15 % of the code; the mark here covers about 5 %.
    paper.goto((demo_site / "bulletins" / "2026-014" / "index.html").as_uri())
    paper.evaluate(
        """() => {
          const { right, bottom, width } = document.querySelector('.qr').getBoundingClientRect();
          const mark = document.createElement('b');
          Object.assign(mark.style, {
            position: 'fixed', width: `${width / 4.5}px`, height: `${width / 4.5}px`,
            left: `${right - width / 2.2}px`, top: `${bottom - width / 2.2}px`,
            background: '#888',
          });
          document.body.append(mark);
        }"""
    )
    assert photo(paper) == [f"{SITE}2026-014/"]


def test_on_the_screen_there_is_no_code_to_get_in_the_way(demo_site: Path, paper: Page) -> None:
    paper.emulate_media(media="screen")
    paper.goto((demo_site / "bulletins" / "2026-014" / "index.html").as_uri())
    assert photo(paper) == []


@pytest.mark.parametrize(
    "site",
    ["http://a.example", "https://notes.example:8443/deep/er/", "https://a.example/" + "x" * 90],
)
def test_the_code_carries_whatever_address_the_house_gives(
    site: str, make_house: MakeHouse, tmp_path: Path, paper: Page
) -> None:
    house = {"a.md": bulletin(), "reference/house.yaml": f"name: x\nsite: {site}\n"}
    publish(read_house(make_house(house)), TODAY, tmp_path / "site")
    paper.goto((tmp_path / "site" / "bulletins" / "2026-014" / "index.html").as_uri())
    assert photo(paper) == [site.rstrip("/") + "/bulletins/2026-014/"]
