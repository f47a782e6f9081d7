"""house.yaml, families.yaml and words.yaml: what is read, and what is said about slips."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.dates import Days, parse_days
from kb.faults import Faults
from kb.plainfile import decode
from kb.records import Family, HouseWords, SchemeUse
from kb.reference import read_families, read_house_table, read_words
from tests.conftest import SMALL_HOUSE

TARN = """\
Tarn:
  product: dishwasher
  models: [TD45A, TD45B]
  produced: 2016-09..
  scheme: hollin
"""


def house(text: str) -> tuple[dict[str, Any], list[tuple[int, str]]]:
    faults = Faults("reference/house.yaml")
    return read_house_table(text, faults), [(p.line, p.rule) for p in faults.problems]


def families(text: str) -> tuple[dict[str, Family], list[tuple[int, str]]]:
    faults = Faults("reference/families.yaml")
    return read_families(text, faults), [(p.line, p.rule) for p in faults.problems]


def words(text: str) -> tuple[HouseWords, list[tuple[int, str]]]:
    faults = Faults("reference/words.yaml")
    return read_words(text, faults), [(p.line, p.rule) for p in faults.problems]


def test_all_of_house_yaml_is_read() -> None:
    table, problems = house(SMALL_HOUSE["reference/house.yaml"])
    assert table == {
        "name": "Hollin Ridge",
        "language": "en",
        "units": "metric",
        "site": "https://service.hollin-ridge.example/",
        "contact": "Service desk, desk@hollin-ridge.example",
        "components": ("door seal", "main control"),
        "codes": (),
    }
    assert not problems


def test_a_house_needs_no_more_than_a_name() -> None:
    table, problems = house("name: Hollin Ridge\n")
    assert (table["language"], table["units"], table["site"]) == ("en", "metric", "")
    assert not problems


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", [(1, "missing-key")]),
        ("# nothing yet\n", [(1, "missing-key")]),
        ("language: en\n", [(1, "missing-key")]),
        ("name:\n", [(1, "empty")]),
        ("name: Hollin\nlanguage: English please\n", [(2, "bad-value")]),
        ("name: Hollin\nunits: imperial\n", [(2, "unknown-word")]),
        ("name: Hollin\nunits: metrics\n", [(2, "unknown-word")]),
        ("name: Hollin\n\nsite: service.example\n", [(3, "bad-value")]),
        ("name: Hollin\nsite: ftp://service.example\n", [(2, "bad-value")]),
        ("name: Hollin\ncontakt: desk\n", [(2, "unknown-key")]),
        ("name: [Hollin, Ridge]\n", [(1, "wrong-shape")]),
        ("name: Hollin\nname: Ridge\n", [(2, "duplicate-key")]),
        ("name: Hollin: Ridge\nunits: miles\n", [(1, "syntax"), (2, "unknown-word")]),
        ("name: Hollin\ncontact: desk: 5-1234\n", [(2, "syntax")]),
        ("just a line\n", [(1, "syntax"), (1, "missing-key")]),
        ("- name: Hollin\n", [(1, "syntax"), (1, "missing-key")]),
        ("name: Hollin\nx-crest: [a, b]\n", []),
        ("---\nname: Hollin\nunits: us\nlanguage: pt-BR\n", []),
    ],
)
def test_slips_in_house_yaml_are_told_at_their_line(
    text: str, expected: list[tuple[int, str]]
) -> None:
    assert house(text)[1] == expected


def test_all_of_a_family_is_read() -> None:
    found, problems = families(TARN + "  components: [sump]\n  codes: E21\n")
    tarn = found["Tarn"]
    assert tarn == Family(
        name="Tarn",
        product="dishwasher",
        models=("TD45A", "TD45B"),
        produced=parse_days("2016-09.."),
        schemes=(SchemeUse("hollin"),),
        line=1,
        components=("sump",),
        codes=("E21",),
    )
    assert not problems
    assert {path: tarn.lines[path] for path in ("product", "models", "models[1]")} == {
        "product": 2,
        "models": 3,
        "models[1]": 3,
    }


@pytest.mark.parametrize(
    ("scheme", "expected"),
    [
        ("hollin", (SchemeUse("hollin"),)),
        ("[fell, beck]", (SchemeUse("fell"), SchemeUse("beck"))),
        ("{name: fell, used: ..2019}", (SchemeUse("fell", parse_days("..2019")),)),
        ("{scheme: fell}", (SchemeUse("fell", Days()),)),
        (
            "\n    - fell\n    - {name: beck, used: 2019..}",
            (SchemeUse("fell"), SchemeUse("beck", parse_days("2019.."))),
        ),
        (
            "\n    - scheme: fell\n      used: ..2021-06\n    - scheme: beck",
            (SchemeUse("fell", parse_days("..2021-06")), SchemeUse("beck")),
        ),
    ],
)
def test_a_family_uses_one_scheme_or_several(scheme: str, expected: tuple[SchemeUse, ...]) -> None:
    found, problems = families(TARN.replace("scheme: hollin", f"scheme: {scheme}"))
    assert found["Tarn"].schemes == expected and not problems


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("  product: dishwasher\n", "", [(1, "missing-key")]),
        ("  models: [TD45A, TD45B]\n", "", [(1, "missing-key")]),
        ("  produced: 2016-09..\n", "", [(1, "missing-key")]),
        ("  scheme: hollin\n", "", [(1, "missing-key")]),
        ("  scheme: hollin\n", "  scheme:\n", [(5, "empty")]),
        ("  scheme: hollin\n", "  scheme: []\n", [(5, "empty")]),
        ("hollin", "{used: 2019..}", [(5, "missing-key")]),
        ("hollin", "{name: hollin, used: long ago}", [(5, "bad-date")]),
        ("hollin", "{name: hollin, use: 2019..}", [(5, "unknown-key")]),
        ("hollin", "[hollin, [fell]]", [(5, "wrong-shape")]),
        ("2016-09..", "since 2016", [(4, "bad-date")]),
        ("2016-09..", "[2016, 2017]", [(4, "wrong-shape")]),
        ("[TD45A, TD45B]", "[TD45A, TD45*]", [(3, "bad-value")]),
        ("[TD45A, TD45B]", "[TD45A, td-45a]", [(3, "model-twice")]),
        ("[TD45A, TD45B]", "[]", [(3, "empty")]),
        ("[TD45A, TD45B]", "{TD45A: yes}", [(3, "wrong-shape")]),
        ("[TD45A, TD45B]", "\n    - TD45A\n    -\n    - TD45B", [(5, "empty")]),
        ("product:", "produkt:", [(2, "unknown-key")]),
        ("product: dishwasher", "product: dish: washer", [(2, "syntax")]),
        ("Tarn:\n", "Tarn: dishwasher\nScree:\n", [(1, "wrong-shape")]),
        ("Tarn:\n", "Scree:\nTarn:\n", [(1, "wrong-shape")]),
        ("Tarn:\n", "Tarn\n", [(1, "syntax")]),
        ("  models", "\tmodels", [(3, "syntax")]),
    ],
)
def test_slips_in_a_family_are_told_at_their_line(
    old: str, new: str, expected: list[tuple[int, str]]
) -> None:
    assert old in TARN
    assert families(TARN.replace(old, new, 1))[1] == expected


def test_a_slip_in_one_family_leaves_the_others() -> None:
    text = TARN.replace("dishwasher", "dish: washer") + TARN.replace("Tarn", "Cairn").replace(
        "TD", "CW"
    )
    found, problems = families(text)
    assert list(found) == ["Cairn"] and problems == [(2, "syntax")]


def test_a_model_belongs_to_one_family() -> None:
    found, problems = families(TARN + TARN.replace("Tarn", "Cairn").replace("TD45A", "CW7A"))
    assert problems == [(8, "model-twice")] and list(found) == ["Tarn", "Cairn"]


def test_a_family_is_listed_once_whatever_its_case() -> None:
    second = TARN.replace("Tarn", "TARN").replace("TD", "CW")
    assert families(TARN + second)[1] == [(6, "duplicate-key")]
    assert families(TARN + second.replace("TARN", "Tarn"))[1] == [(6, "duplicate-key")]


def test_word_rings_and_spellings_are_read() -> None:
    text = "same:\n  - [leak, drip, water on floor]\n  - [hum, buzz]\nspelled: {gaskit: gasket}\n"
    assert words(text) == (
        HouseWords((("leak", "drip", "water on floor"), ("hum", "buzz")), {"gaskit": "gasket"}),
        [],
    )
    assert words("") == (HouseWords(), [])


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("same: [leak, drip]\n", [(1, "wrong-shape"), (1, "wrong-shape")]),
        ("same:\n  - leak, drip\n", [(2, "wrong-shape")]),
        ("same: leak\n", [(1, "wrong-shape")]),
        ("same:\n  leak: drip\n", [(1, "wrong-shape")]),
        ("same:\n  - [leak, [drip]]\n", [(2, "wrong-shape")]),
        ("same:\n  - [leak, '']\n", [(2, "empty")]),
        ("same:\n  - [leak, drip\n  - [hum, buzz]\n", [(2, "syntax")]),
        ("sames: []\n", [(1, "unknown-key")]),
        ("spelled: [gaskit, gasket]\n", [(1, "wrong-shape")]),
        ("spelled:\n  gaskit:\n", [(2, "empty")]),
        ("spelled:\n  gaskit: [gasket]\n", [(2, "wrong-shape")]),
        ("spelled:\n  gaskit: gasket\n  gaskit: gaskets\n", [(3, "duplicate-key")]),
    ],
)
def test_slips_in_words_are_told_at_their_line(text: str, expected: list[tuple[int, str]]) -> None:
    assert words(text)[1] == expected


@given(st.binary(max_size=30), st.integers(0, len(TARN)), st.integers(0, 20))
def test_no_bytes_whatever_end_in_more_than_problems(data: bytes, at: int, cut: int) -> None:
    text = TARN.encode()
    for reader in (read_families, read_house_table, read_words):
        faults = Faults("reference/families.yaml")
        reader(decode(text[:at] + data + text[at + cut :], faults), faults)
        assert all(p.line >= 1 and p.remedy for p in faults.problems)
