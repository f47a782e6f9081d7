"""Lines taken apart for the front page, and addresses of pages, in Node over the demo house."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kb.slugs import folder_name, slug
from tests.nodejs import ask_node
from tests.phonedata import Carried, carried
from tests.search_house import demo_copy

SITE = (Path(__file__).resolve().parent.parent / "site").as_uri()
NONE = {"model": "", "serial": ""}
BARE = {"model": "TD45A", "serial": ""}
FULL = {"model": "TD45A/3", "serial": "KP1400031"}

_LINES = f"""
import {{ readFile }} from "node:fs/promises";
import {{ Lines }} from "{SITE}/app/lines.js";
import {{ openHouse }} from "{SITE}/data/house.js";
import {{ settle }} from "{SITE}/data/missing.js";
const house = await openHouse((path) => readFile(`${{asked.folder}}/${{path}}`), asked.start);
const lines = new Lines(house, 20782);
const answers = [];
for (const [name, ...given] of asked.questions) {{
  answers.push(await settle(house, () => lines[name](...given)).catch((error) => error.message));
}}
answer(answers);
"""

_SLUGS = f"""
import {{ address, folderName, slug }} from "{SITE}/core/slugs.js";
answer(asked.map((name) => [slug(name), folderName(name), address("parts", folderName(name))]));
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Carried:
    """The demo house as a phone has it."""
    folder = tmp_path_factory.mktemp("lines")
    return carried(demo_copy(folder / "bulletins"), folder / "site")


def asked(house: Carried, *questions: list[Any]) -> list[Any]:
    """Return what Lines answers to each question: a method and what it is given."""
    payload = {"folder": str(house.folder), "start": house.made.start.path}
    answers: list[Any] = ask_node(_LINES, {**payload, "questions": questions})
    return answers


LIFTED = [
    ("TD45A/3 KP1400031 hums", "hums"),
    ("hums TD45A/3 KP1400031", "hums"),
    ("KP1400031 hums TD45A", "hums"),
    ("model TD45A digit 3 serial no. K P 14 00031 hums", "hums"),
    ("td45a 3 kp 14 00031, wont drain", "wont drain"),
    ("TD45A/3 KP1400031", ""),
    ("hums", "hums"),
    ("E21 TD45A hums", "E21 hums"),
    ('TD45A "does not drain"', '"does not drain"'),
    ("KP1400031 hums", "KP1400031 hums"),
    ("", ""),
]


@pytest.mark.parametrize("plate", [NONE, {"model": "CW8A", "serial": "KP1400031"}])
def test_a_sent_line_is_left_without_its_plate(house: Carried, plate: dict[str, str]) -> None:
    lines = [line for line in LIFTED if plate is NONE or "TD45A" in line[0].upper()]
    answers = asked(house, *(["lifted", line, plate] for line, _ in lines))
    assert answers == [left for _, left in lines]


def test_a_serial_for_the_model_at_hand_is_lifted_too(house: Carried) -> None:
    assert asked(house, ["lifted", "KP1400031 hums", BARE]) == ["hums"]


def test_a_line_names_the_unit_before_the_one_at_hand_does(house: Carried) -> None:
    cases: list[tuple[str, dict[str, str], dict[str, str]]] = [
        ("hums", FULL, FULL),
        ("CW8A hums", FULL, NONE),
        ("KP1500031 hums", FULL, {"model": "TD45A/3", "serial": ""}),
        ("KP1400031 hums", BARE, BARE),
        ("hums", NONE, NONE),
        ("TD45A hums", NONE, NONE),
    ]
    answers = asked(house, *(["apart", line, plate] for line, plate, _ in cases))
    assert answers == [wanted for _, _, wanted in cases]


def test_the_model_said_again_loses_neither_digit_nor_serial(house: Carried) -> None:
    cases = [
        ("td45a hums", FULL, "hums"),
        ("TD45A/4 hums", FULL, "TD45A/4 hums"),
        ("TD45A KP1500031", FULL, "TD45A KP1500031"),
        ("TD45A hums", BARE, "TD45A hums"),
        ("CW8A hums", FULL, "CW8A hums"),
        ("hums", FULL, "hums"),
    ]
    answers = asked(house, *(["asking", line, plate] for line, plate, _ in cases))
    assert answers == [wanted for _, _, wanted in cases]


@pytest.mark.parametrize(
    ("line", "sort", "value", "left"),
    [
        ("E21 hums", "code", "E21", "hums"),
        ("err 21 hums", "code", "E21", "hums"),
        ("hums e-21", "code", "E21", "hums"),
        ("E21 E33 hums", "code", "E21", "E33 hums"),
        ("E21 E33 hums", "code", "E33", "E21 hums"),
        ("part no. HR-310-4120 leaks", "part", "HR-310-4120", "leaks"),
        ("HR 310 4120 leaks", "part", "HR-310-4120", "leaks"),
        ("2026-014 hums", "number", "2026-014", "hums"),
        ("TD45A/3 KP1400031 hums", "serial", "KP1400031", "TD45A/3 hums"),
        ("hums", "code", "E21", "hums"),
    ],
)
def test_one_thing_is_taken_off_and_the_rest_is_left_as_typed(
    house: Carried, line: str, sort: str, value: str, left: str
) -> None:
    assert asked(house, ["without", line, sort, value, NONE]) == [left]


def test_what_is_given_apart_is_not_taken_off_the_line(house: Carried) -> None:
    questions = [["without", "hums", sort, value, FULL] for sort, value in
                 (("model", "TD45A"), ("serial", "KP1400031"))]  # fmt: skip
    assert asked(house, *questions) == ["hums", "hums"]


def test_an_unknown_model_at_hand_is_named(house: Carried) -> None:
    (answer,) = asked(house, ["apart", "hums", {"model": "TD99", "serial": ""}])
    assert answer == "no model TD99 is known"


def test_whatever_is_typed_is_taken_apart_and_stays_text(house: Carried) -> None:
    hostile = ["(((", "\\\\ ] [ {", "a" * 500, "E21 " * 100, "ⅷ ½ Ａ", "\u202eTD45A"]
    answers = asked(house, *(["lifted", line, NONE] for line in hostile))
    assert all(isinstance(answer, str) for answer in answers)
    assert answers[:4] == hostile[:4]


def names() -> st.SearchStrategy[str]:
    """Return names as people give them: numbers, words, odd signs."""
    numbers = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9.\- /_]{0,12}", fullmatch=True)
    reserved = st.sampled_from(
        ["con", "CON.1", "aux", "index", "com1.x", "..", ".", "a.", "x" * 90]
    )
    return st.one_of(numbers, reserved, st.text(max_size=20), st.text("aäößéİ'’-. 1½", max_size=60))


@settings(max_examples=20, deadline=None)
@given(st.lists(names(), min_size=50, max_size=100))
def test_pages_lie_where_publishing_puts_them(given_names: list[str]) -> None:
    found = ask_node(_SLUGS, given_names)
    for name, (slugged, folder, address) in zip(given_names, found, strict=True):
        if all(ord(c) < 0x250 for c in name):  # of other scripts casefold and lower case differ
            assert (slugged, folder) == (slug(name), folder_name(name)), repr(name)
        assert address.startswith("parts/") and address.endswith("/index.html")
        assert "/" not in address[6:-11]
